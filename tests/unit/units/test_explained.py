"""One record for every explanation: its sources, its two JSON forms."""

from __future__ import annotations

from decimal import Decimal

from edgetime.explained import Explained, Explanation, Source, factors_json, figures_json

RAW = {("shop.toml", "price.minimum"): "30 EUR"}


def test_source_in_one_line() -> None:
    """File, key and text; what is missing is left out."""
    assert Source("shop.toml", "price.minimum", "30 EUR").text == (
        'shop.toml, price.minimum = "30 EUR"'
    )
    assert Source("", "--pockets").text == "--pockets"
    assert Source().text == ""


def test_collected_values_know_their_texts() -> None:
    """What the files have is looked up; terms carry their seconds, other values none."""
    made = Explanation(RAW)
    made.add("minimum", 30.0, "EUR", file="shop.toml", key="price.minimum")
    made.add_time("exchange", 16.0, "2 x")
    assert [(v.note, v.source.text) for v in made.values] == [
        ("", 'shop.toml, price.minimum = "30 EUR"'),
        ("2 x", ""),
    ]
    assert factors_json(made.values) == [
        {
            "name": "minimum",
            "value": 30.0,
            "unit": "EUR",
            "note": "",
            "file": "shop.toml",
            "key": "price.minimum",
            "written": "30 EUR",
            "seconds": None,
        },
        {
            "name": "exchange",
            "value": 16.0,
            "unit": "s",
            "note": "2 x",
            "file": "",
            "key": "",
            "written": "",
            "seconds": 16.0,
        },
    ]


def test_figure_with_its_factors() -> None:
    """A formula's inputs stand in it as decimal texts, with their sources."""
    rate = Explained("rate", Decimal("60.00"), "EUR/h", "", Source("shop.toml", "price.rate"))
    made = Explained(
        "machine", Decimal("30.0"), "EUR", "half an hour", formula="rate / 2", inputs=(rate,)
    )
    (told,) = figures_json([made])
    assert told == {
        "figure": "machine",
        "value": "30",
        "unit": "EUR",
        "formula": "rate / 2",
        "factors": [
            {
                "name": "rate",
                "value": "60",
                "unit": "EUR/h",
                "note": "",
                "file": "shop.toml",
                "key": "price.rate",
                "written": "",
            }
        ],
        "note": "half an hour",
    }
