"""Prices asked for: without a drawing, with something changed, the whole list."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from price_builder import an_estimate

from edgetime.errors import UsageError
from edgetime.estimating import Options, estimate_take_off
from edgetime.price import price_lengths, price_list, price_load, price_what_if
from edgetime.price.imagined import straight_edges
from edgetime.tooling import load_catalogue


@pytest.fixture(scope="module")
def catalogue():
    return load_catalogue()


@pytest.fixture(scope="module")
def job():
    est = an_estimate()
    return [est], price_load(est)


def test_lengths_are_priced_with_the_same_models(catalogue) -> None:
    """Parts of one straight front each, told or drawn, are one load and one price."""
    options = Options(machine="large")
    told, estimates = price_lengths("eased=2.4 m, parts=2", catalogue, options)
    drawn = estimate_take_off(straight_edges("eased", 1200.0, 2), catalogue, options)
    assert len(estimates) == 1
    assert float(told.net) == pytest.approx(float(price_load(drawn).net), rel=0.03)
    assert told.error == Decimal("0.15")
    assert price_lengths("eased=2.4 m", catalogue, options)[0].error == Decimal("0.29")


def test_more_tables_than_one(catalogue) -> None:
    """A long inquiry takes several loads, each with its own set-up, and says so."""
    quote, estimates = price_lengths("eased=40 m", catalogue, Options(machine="small"))
    assert quote.loads == len(estimates) > 1
    setup = sum(line.amounts.setup_h for line in quote.lines)
    assert float(setup) == pytest.approx(0.25 * quote.loads)
    assert "several-loads" in {f.code for f in quote.findings}
    assert sum(p.amount for p in quote.parts) == quote.net


def test_what_if_changes_nothing_but_what_is_asked(job) -> None:
    """The same stone again is the same price; twice the feed is less time."""
    estimates, quote = job
    same = price_what_if("stone=stone", estimates, quote)
    assert same.quote is not None
    assert same.quote.as_dict() == quote.as_dict()
    fast = price_what_if("feed=200%", estimates, quote)
    assert fast.quote is not None
    assert fast.quote.machine_s < quote.machine_s


def test_what_if_another_profile(job) -> None:
    """All worked outer edges change, or only the one named; seams and cutouts stay."""
    estimates, quote = job
    every = price_what_if("profile=ogee", estimates, quote).quote
    one = price_what_if("profile=half-bullnose:ogee", estimates, quote).quote
    assert every is not None
    assert one is not None
    assert [x.item for x in every.lines] == [
        "profile:ogee", "profile:seam", "cutout:eased", "holes",
    ]  # fmt: skip
    assert {x.item: x.quantity for x in one.lines}["profile:ogee"] == Decimal("0.8")


def test_what_if_takes_a_stack_that_serves(catalogue) -> None:
    """Marble, for which the shop's stack does not serve, is priced with one that does."""
    quote, estimates = price_lengths("eased=6 m", catalogue, Options())
    made = price_what_if("stone=marble", estimates, quote).quote
    assert made is not None
    assert (made.stone, made.stack) == ("marble", "marble")
    refused = price_what_if("stone=marble stack=standard", estimates, quote)
    assert refused.quote is None
    assert "serves" in refused.refused


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("stoen=marble", "'stoen' in"),
        ("stone=", "no value"),
        ("stone", "no value"),
        ("stone=a stone=b", "stands twice"),
        ("", "Nothing is changed"),
        ("stone=basalt", "No stone 'basalt'"),
        ("stack=none", "No stack 'none'"),
        ("machine=none", "No machine 'none'"),
        ("profile=none", "no profile 'none'"),
        ("profile=ogee:eased", "no profile 'ogee' in this job"),
        ("thickness=thick", "'thick' is no quantity"),
        ("thickness=nan", "nan"),
        ("feed=2000%", "feed override"),
    ],
)
def test_what_if_refuses(job, text, what) -> None:
    """A change nobody can make is wrong use of the option, told with what is known."""
    estimates, quote = job
    with pytest.raises(UsageError, match=what) as caught:
        price_what_if(text, estimates, quote)
    assert caught.value.where.key == "--what-if"
    assert caught.value.remedy


def test_list_holds_every_combination(catalogue) -> None:
    """Each profile in the chosen stone and thickness has its line, made or not."""
    made = price_list(catalogue, stone="granite", thickness_mm=30.0)
    profiles = {n for n, p in catalogue.profiles.items() if p.family != "none"}
    assert {r.profile for r in made.rows} == profiles
    by_profile = {r.profile: r for r in made.rows}
    assert by_profile["mitre"].why_not == "made elsewhere"
    for row in made.rows:
        assert (row.per_m is None) == bool(row.why_not)
        if row.per_m is not None and row.per_ft is not None:
            assert sum(row.shares.values()) == pytest.approx(Decimal(1))
            assert abs(row.per_ft - row.per_m * Decimal("0.3048")) <= Decimal("0.01")


def test_list_line_is_the_price_of_its_load(catalogue) -> None:
    """The line is the net price of the reference load by its metres: 3 edges of 2 m."""
    made = price_list(
        catalogue, edge_mm=2000.0, edges=3, stone="granite", profile="eased", thickness_mm=30.0
    )
    (row,) = made.rows
    load = estimate_take_off(straight_edges("eased", 2000.0, 3), catalogue, Options())
    expected = price_load(load).net / 6
    assert row.per_m == expected.quantize(Decimal("0.01"), "ROUND_HALF_UP")
    assert row.seconds_per_m == pytest.approx(Decimal(repr(load.cycle.total_s)) / 6)


def test_list_without_a_stack(catalogue) -> None:
    """A thickness that no stack serves is in the list, and says so."""
    made = price_list(catalogue, stone="granite", profile="eased", thickness_mm=50.0)
    assert [(r.why_not, r.per_m, r.stack) for r in made.rows] == [("no stack", None, "")]


def test_list_with_the_tax_in_it(catalogue) -> None:
    """A shop that shows prices with the tax lists them so."""
    rates = replace(catalogue.shop.price, tax=Decimal("0.20"), tax_included=True)
    gross = replace(catalogue, shop=replace(catalogue.shop, price=rates))
    one = {"stone": "granite", "profile": "eased", "thickness_mm": 30.0}
    net_row, gross_row = (price_list(c, **one).rows[0] for c in (catalogue, gross))
    assert net_row.quote is not None
    exact = net_row.quote.figures["price"].value / 10
    assert gross_row.per_m == (exact * Decimal("1.2")).quantize(Decimal("0.01"), "ROUND_HALF_UP")


def test_one_line_is_explained(catalogue) -> None:
    """The reference load of a line is explained; of several lines none is."""
    one = price_list(catalogue, stone="granite", profile="eased", thickness_mm=30.0)
    assert one.explain("machine")[0].name == "machine"
    with pytest.raises(UsageError, match="prices; one at a time"):
        price_list(catalogue, stone="marble", thickness_mm=30.0).explain("machine")


@pytest.mark.parametrize("key", ["stone", "profile"])
def test_list_refuses_unknown_names(catalogue, key) -> None:
    """A name that is not in the catalogue is refused with the option it came by."""
    with pytest.raises(UsageError, match=f"No {key} 'none'") as caught:
        price_list(catalogue, **{key: "none"})
    assert caught.value.where.key == f"--{key}"
