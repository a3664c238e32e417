"""Price against textbooks, arithmetic done by hand, and the drawing's own price."""

from __future__ import annotations

from decimal import Decimal

import pytest
from support.kitchens import loads_to_compare
from support.prices import RATES, an_estimate, told_of

from edgetime import estimate
from edgetime.load import Options
from edgetime.price import price_lengths, price_load
from edgetime.price.money import apportion, rounded
from edgetime.price.price_lengths import LENGTHS_ERROR, LENGTHS_ERROR_WITH_PARTS
from edgetime.price.rates import Rates
from edgetime.tooling import load_catalogue

TEXTBOOK = """
[price]
electricity = "0.06 INR/kWh"

[price.machine_hour]
purchase = "9200 INR"
residual = "200 INR"
life_years = 10
hours_per_year = 1800
maintenance = "112.50 INR/year"     # 1,125 over the working life of 10 years
insurance = "36 INR/year"
floor_area = 20                     # a fifth of the department: 156 of 780 a year
floor_rent = "7.80 INR/m2 year"
other = "1608 INR/year"             # lighting 48, cotton waste and oil 60, foreman 1,500
"""
"""Cost Accounting I (DCOM202), Lovely Professional University, unit 9, page 182: standing
charges of 1,800 a year are 1.00 an hour; depreciation 0.50, repairs 0.06, power of 5 units an
hour 0.30; machine hour rate 1.86. The page's data print the unit's price as 16 paise; its own
solution, and 5 units for 0.30, take 6. Repairs are 1,125 / 18,000 = 0.0625, printed 0.06.
http://eslm.lpude.in/commerce/bcom/term_3/DCOM202_COST_ACCOUNTING-I"""


def test_machine_hour_rate_of_the_textbook(tmp_path) -> None:
    """1.00 + 0.50 + 0.0625 an hour, and with its 5 kWh at 0.06 the printed 1.86."""
    (tmp_path / "shop.toml").write_text(TEXTBOOK, encoding="utf-8")
    rates = Rates(load_catalogue(tmp_path), ())
    assert rates.machine.value == Decimal("1.5625")
    whole = rates.machine.value + 5 * rates.own.electricity
    assert whole == Decimal("1.8625")
    assert rounded(whole, Decimal("0.01")) == Decimal("1.86")
    assert {f.source.key for f in rates.machine.inputs} >= {
        "price.machine_hour.purchase", "price.machine_hour.floor_rent",
    }  # fmt: skip


def test_interest_is_on_the_mean_capital(tmp_path) -> None:
    """By hand: 5 % of (9,200 + 200) / 2 is 235 a year, over 1,800 h 0.1306 more."""
    text = TEXTBOOK.replace("insurance", 'interest = "5 %"\ninsurance')
    (tmp_path / "shop.toml").write_text(text, encoding="utf-8")
    rate = Rates(load_catalogue(tmp_path), ()).machine.value
    assert rate * 1800 == Decimal("1.5625") * 1800 + 235


def test_largest_remainder_of_the_usual_example() -> None:
    """10 seats over 47,000, 16,000, 15,800, 12,000, 6,100 and 3,100 votes: 5, 2, 1, 1, 1, 0.

    The example of encyclopedias for Hamilton's method; from memory, checked by hand: quotas
    4.7, 1.6, 1.58, 1.2, 0.61, 0.31; whole parts 4, 1, 1, 1, 0, 0; the three left go to 0.7,
    0.61 and 0.6.
    """
    votes = [Decimal(v) for v in (47_000, 16_000, 15_800, 12_000, 6_100, 3_100)]
    seats = apportion(Decimal(10), votes, Decimal(1))
    assert [int(s) for s in seats] == [5, 2, 1, 1, 1, 0]


def test_tax_by_line_and_in_total_may_differ() -> None:
    """Three lines of 0.70 at 7.5 %: by line 0.0525 → 0.05 each, 0.15; of 2.10 it is 0.1575 → 0.16.

    Arithmetic by hand; the reason why the rule must be stated.
    """
    cent, rate = Decimal("0.01"), Decimal("0.075")
    lines = [Decimal("0.70")] * 3
    assert sum(rounded(x * rate, cent) for x in lines) == Decimal("0.15")
    assert rounded(sum(lines) * rate, cent) == Decimal("0.16")


def test_hand_rate_times_metres() -> None:
    """Hand finishing is its metres at the hand rate: an inside corner no wheel reaches."""
    quote = price_load(an_estimate())
    hand_m = sum(line.amounts.hand_m for line in quote.lines)
    assert quote.figures["hand"].value == RATES.hand_rate * hand_m


@pytest.fixture(scope="module")
def gaps(tmp_path_factory):
    """Return by how much the price by lengths differs, without and with the number of parts."""
    catalogue = load_catalogue()
    out = {}
    loads = loads_to_compare(tmp_path_factory.mktemp("loads"))
    for name, (drawings, options) in loads.items():
        drawn = price_load(estimate(drawings, **options))
        told = [
            price_lengths(told_of(drawn, parts), catalogue, Options(**options))[0]
            for parts in (None, len(drawn.parts))
        ]
        out[name] = [(abs(q.net / drawn.net - 1), drawn.shown, q.band) for q in told]
    return out


def test_the_range_by_lengths_holds_the_price_by_drawing(gaps) -> None:
    """Every load compared lies within the range printed for it, with and without its parts."""
    for name, told in gaps.items():
        for _, drawn, (low, high) in told:
            assert low <= drawn <= high, name


def test_error_without_a_drawing_is_the_one_measured(gaps) -> None:
    """The stated error is the widest gap over all loads, rounded up to whole per cent."""
    percent = Decimal("0.01")
    assert len(gaps) >= 7
    without, told = ([g[k][0] for g in gaps.values()] for k in (0, 1))
    assert rounded(max(without), percent, "up") == LENGTHS_ERROR
    assert rounded(max(told), percent, "up") == LENGTHS_ERROR_WITH_PARTS
