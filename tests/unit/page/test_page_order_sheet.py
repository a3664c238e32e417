"""The order sheet: one part for each supplier, with sums, and names that do nothing."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest
from support.forecasts import PRICED, a_forecast, a_job, a_shop

from edgetime.choices import Paper
from edgetime.life import LifeDistribution
from edgetime.page.order_sheet import order_sheet

SURE = LifeDistribution.known(1.0, 0.01)
NAME = "<script>alert(1)</script>"


def a_sheet(paper=Paper.A4, **tools):
    """Return a forecast of one job, and its order sheet."""
    found = a_forecast([a_job(28)], {"pad": 2.5}, law=SURE, shop=a_shop(pad=PRICED | tools))
    return found, order_sheet(found, found.orders, paper=paper)


def test_quantity_price_and_amount() -> None:
    """2.5 lives: three pieces of 60.10, 180.30 in all, needed on day 28, ordered 14 days before."""
    _, html = a_sheet(supplier="north")
    cells = re.findall(r"<td[^>]*>(.*?)</td>", html)
    assert cells == [
        "pad", "3", "3", "60.10", "180.30", "EUR", "2027-02-01", "2027-01-18", "given",
    ]  # fmt: skip
    assert "<h2>Order to north</h2>" in html
    assert "180.30 EUR" in html
    for room in ("Order number", "Signature", "Delivery confirmed for"):
        assert f"<div>{room}</div>" in html


@pytest.mark.parametrize(("paper", "size"), [(Paper.A4, "a4"), (Paper.LETTER, "letter")])
def test_paper(paper: Paper, size: str) -> None:
    """The page's size is that asked for."""
    assert f"@page {{ size: {size}; }}" in a_sheet(paper)[1]


def test_names_do_nothing() -> None:
    """A supplier or a title that is a script is text, and the page may run none."""
    _, html = a_sheet(supplier=NAME, title='=HYPERLINK("http://x")')
    assert "<script" not in html
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in html
    assert "default-src 'none'" in html
    assert 'href="http' not in html


def test_each_supplier_has_a_part_and_sums_are_by_currency() -> None:
    """Two suppliers, the second in two currencies: no sum below its table, both sums above it."""
    dollars = {"price": Decimal(10), "currency": "USD", "supplier": "south"}
    shop = a_shop(
        pad=PRICED | {"supplier": "north"},
        wheel=PRICED | {"supplier": "south"},
        core_35=dollars,
    )
    shares = {"pad": 0.9, "wheel/eased": 0.9, "core-35": 0.9}
    found = a_forecast([a_job(28)], shares, law=SURE, shop=shop)
    html = order_sheet(found, found.orders)
    assert html.count('<section class="order">') == 2
    assert "60.10 EUR, 10.00 USD" in html
    assert "<tfoot>" not in html


def test_nothing_to_order() -> None:
    """A sheet without orders says so."""
    found, _ = a_sheet()
    assert "Nothing to order." in order_sheet(found, ())
