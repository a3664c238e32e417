"""The table [price] of shop.toml: read exactly, refused with its place."""

from __future__ import annotations

from decimal import Decimal

import pytest

from edgetime.errors import CatalogueInvalid
from edgetime.tooling import check_shop, load_catalogue

HOUR = """[price.machine_hour]
purchase = "240000 EUR"
life_years = 10
hours_per_year = 1600
"""


def load(tmp_path, text):
    (tmp_path / "shop.toml").write_text(text, encoding="utf-8")
    return load_catalogue(tmp_path).shop.price


def test_figures_are_read_exactly(tmp_path) -> None:
    """Per foot, per minute and per month become per metre, hour and year without any float."""
    rates = load(
        tmp_path,
        '[price]\nmachine_rate = "1.10 USD/min"\nhand_rate = "9.144 USD/ft"\n'
        'labour_rate = "33.10 USD/h"\nmargin = "57 %"\nsetup = "90 min"\nwater = "0.004 USD/l"\n',
    )
    assert rates.currency == "USD"
    assert rates.machine_rate == Decimal("66.00")
    assert rates.hand_rate == Decimal(30)
    assert rates.labour_rate == Decimal("33.10")
    assert rates.margin == Decimal("0.57")
    assert rates.setup_h == Decimal("1.5")
    assert rates.water == Decimal(4)


def test_no_table_is_assumed(tmp_path) -> None:
    """A shop without [price] has the assumed rates, in no currency, and is known to have none."""
    rates = load(tmp_path, 'machine = "large"\n')
    assert (rates.stated, rates.currency) == (False, "")


@pytest.mark.parametrize(
    ("text", "key", "what"),
    [
        ('machine_rate = "85 EUR"', "machine_rate", "not a rate"),
        ('machine_rate = "85 EUR/m"', "machine_rate", "not a rate"),
        ("machine_rate = 85", "machine_rate", "not a rate"),
        ('machine_rate = "-85 EUR/h"', "machine_rate", "not a rate"),
        ('hand_rate = "60 eur/m"', "hand_rate", "not a rate"),
        ('margin = "100 %"', "margin", "out of range"),
        ("margin = 0.2", "margin", "not a share"),
        ('margin = "0.2"', "margin", "not a share"),
        ('setup = "15"', "setup", "not a time"),
        ('machine_rate = "1,085 EUR/h"', "machine_rate", "thousands comma or a decimal comma"),
        ('minimum = "1.080,00 EUR"', "minimum", "thousands apart"),
        ('margin = "2,5 %"', "margin", "decimal comma"),
        ('setup = "0:15"', "setup", "may be hours and minutes or minutes and seconds"),
        ('setup = "30 h"', "setup", "out of range"),
        ('minimum = "80"', "minimum", "not a price"),
        ('round_to = "0 EUR"', "round_to", "steps of zero"),
        ('rounding = "down"', "rounding", "not known"),
        ('labor_rate = "45 EUR/h"', "labor_rate", "not a known key"),
        ('machine_rate = "85 EUR/h"\nlabour_rate = "45 USD/h"', "labour_rate", "in USD"),
        (f'machine_rate = "85 EUR/h"\n{HOUR}', "machine_rate", "both given and built up"),
        (f'{HOUR}residual = "250000 EUR"', "machine_hour.residual", "worth 250000"),
        (f'{HOUR}maintenance = "900 USD/year"', "machine_hour.maintenance", "in USD"),
        (HOUR.replace("life_years = 10\n", ""), "machine_hour.life_years", "missing"),
        (HOUR.replace("1600", "0"), "machine_hour.hours_per_year", "out of range"),
    ],
)
def test_wrong_figures_are_refused_where_they_stand(tmp_path, text, key, what) -> None:
    """Each fault is one error of the file, with its key and a remedy."""
    (tmp_path / "shop.toml").write_text(f"[price]\n{text}\n", encoding="utf-8")
    errors = check_shop(tmp_path)
    assert [e.where.key for e in errors] == [f"price.{key}"]
    assert what in errors[0].what
    assert errors[0].remedy
    with pytest.raises(CatalogueInvalid):
        load_catalogue(tmp_path)
