"""Orders on the command line, as a tooling buyer keeps them."""

from __future__ import annotations

import csv
import io
import re
from datetime import date, timedelta

import pytest

TODAY = date.today()  # noqa: DTZ011  the commands go by it too
PIPELINE = "date,name,metres,stone,thickness\n{day},Flats,eased=60; seam=4,granite,30 mm\n"


@pytest.fixture
def shop(run):
    """Make the demo's shop and return how commands name it."""
    assert run("demo", "--into", "shop").code == 0
    return ("--shop", "shop")


def days(number: int) -> str:
    """Return a day so many from today."""
    return (TODAY + timedelta(days=number)).isoformat()


def test_a_month_with_orders(run, shop) -> None:
    """Placed, put off, arrived in part, closed; each screen fits and names how to undo it."""
    order = run("ledger", "order", "polish-1", "--count", "6", "--number", "4711",
                "--expected", days(20), "--supplier", "north", *shop)  # fmt: skip
    assert order.code == 0, order.err
    assert re.search(rf"4711 +polish-1 +north +6 +0 +6 {days(20)} open", order.out)
    assert "To undo: edgetime ledger reverse 1 --shop shop" in order.err
    moved = run("ledger", "expect", "4711", days(27), "--note", "by phone", *shop)
    assert moved.code == 0, moved.err
    assert days(27) in moved.out
    came = run("ledger", "receive", "polish-1", "--count", "4", "--order", "4711", *shop)
    assert came.code == 0, came.err
    listed = run("ledger", "orders", *shop)
    assert "2 tools outstanding" in listed.out
    assert " part in " in listed.out
    closed = run("ledger", "close", "4711", *shop)
    assert closed.code == 0
    assert "Order 4711 is closed: 2 tools not delivered." in closed.out
    assert "no open orders" in run("ledger", "orders", *shop).out
    document = run("ledger", "orders", "--all", *shop, "--format", "json").json()
    (line,) = document["orders"]
    assert document["schema"] == "edgetime.orders/1"
    assert (line["state"], line["arrived"], line["cancelled"]) == ("closed", 4, 2)
    one = run("ledger", "orders", "4711", *shop)
    assert one.out.count("order 4711") == 7  # placed, moved, four pieces, closed
    for screen in (order, moved, came, listed, one):
        assert max(map(len, screen.out.splitlines())) <= 80
    assert run("ledger", "audit", *shop).code == 0


def test_what_is_said_of_one_article_names_it(run, shop) -> None:
    """Of two articles, one is put off, cancelled in part and closed; the order itself is not."""
    for tool in ("polish-1", "fine-1/half-bullnose"):
        name, _, profile = tool.partition("/")
        of = ("--profile", profile) if profile else ()
        told = ("--count", "5", "--number", "1", "--supplier", "Nord GmbH", "--price", "185.00EUR")
        assert run("ledger", "order", name, *of, *told, *shop).code == 0
    only = ("--tool", "fine-1/half-bullnose", *shop)
    said = [
        run("ledger", "expect", "1", days(30), *only).out.splitlines()[0],
        run("ledger", "cancel", "1", "--count", "1", *only).out.splitlines()[0],
        run("ledger", "close", "1", *only).out.splitlines()[0],
    ]
    assert said == [
        f"fine-1/half-bullnose of order 1 is expected on {days(30)}.",
        "fine-1/half-bullnose of order 1: 1 tool cancelled.",
        "fine-1/half-bullnose of order 1 is closed: 4 tools not delivered.",
    ]
    # Within 80 columns no name is broken.
    assert "fine-1/half-bullnose Nord GmbH" in run("ledger", "orders", "--all", *shop).out


def test_a_late_order_is_marked(run, shop) -> None:
    """One expected five days ago stands out, on screen, in CSV and in JSON."""
    placed = ("--at", days(-30), "--expected", days(-5), "--number", "7")
    assert run("ledger", "order", "polish-1", *placed, *shop).code == 0
    ran = run("ledger", "orders", *shop)
    assert "Late: order 7" in ran.out
    assert "late 5 d" in ran.out
    (row,) = csv.DictReader(io.StringIO(run("ledger", "orders", *shop, "--format", "csv").out))
    assert (row["late_d"], row["outstanding"], row["state"]) == ("5", "1", "open")


def test_the_delivery_day_follows_from_lead_time_and_calendar(run, shop, tmp_path) -> None:
    """14 days of lead time; a shop closed on that day expects it on the next it works."""
    day = TODAY + timedelta(days=14)
    while day.weekday() > 4:
        day += timedelta(days=1)
    ask = ("ledger", "order", "polish-1", *shop, "--format", "json")
    assert run(*ask).json()["orders"][0]["expected"] == day.isoformat()
    rules = f'\n[calendar]\ndays_off = ["{day}"]\nworkdays = ["monday", "tuesday", "wednesday", '
    with (tmp_path / "shop" / "shop.toml").open("a", encoding="utf-8") as file:
        file.write(f'{rules}"thursday", "friday", "saturday", "sunday"]\n')
    after = run(*ask).json()["orders"]
    assert (
        after[-1]["expected"]
        == (TODAY + timedelta(days=15 if day == TODAY + timedelta(days=14) else 14)).isoformat()
    )


def test_a_delivery_and_an_order_from_files(run, shop, tmp_path) -> None:
    """A forecast's order list is placed as it is; its delivery has a column for the order."""
    (tmp_path / "jobs.csv").write_text(PIPELINE.format(day=days(40)), encoding="utf-8")
    forecast = ("forecast", "--pipeline", "jobs.csv", *shop, "--show", "orders")
    listed = run(*forecast, "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(listed.out)))
    (tmp_path / "orders.csv").write_text(listed.out, encoding="utf-8")
    placed = run("ledger", "order", "--file", "orders.csv", *shop)
    assert placed.code == 0, placed.err
    open_orders = run("ledger", "orders", *shop, "--format", "json").json()["orders"]
    wanted = {(row["piece"], int(row["order_pieces"])) for row in rows}
    got = {
        (o["tool"] + (f"/{o['profile']}" if o["profile"] else ""), o["outstanding"])
        for o in open_orders
    }
    assert got == wanted
    # What is ordered comes in time, so nothing is ordered again.
    assert run(*forecast, "--format", "csv").out.count("\n") == 1
    (tmp_path / "delivery.csv").write_text(
        f"tool,count,order\npolish-1,1,{open_orders[0]['number']}\n", encoding="utf-8"
    )
    came = run("ledger", "receive", "--file", "delivery.csv", *shop)
    assert came.code == 0, came.err
    line = next(
        o for o in run("ledger", "orders", *shop, "--format", "json").json()["orders"]
        if o["tool"] == "polish-1"
    )  # fmt: skip
    assert line["arrived"] == 1


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (("order",), 2, "no tool to order"),
        (("order", "polish-9"), 2, "polish-9"),
        (("order", "metal-1"), 2, "ground to a profile"),
        (("order", "polish-1", "--expected", "5.1.2027"), 2, "5.1.2027"),
        (("order", "polish-1", "--file", "x.csv"), 2, "either --file"),
        (("order", "--file", "gone.csv"), 3, "gone.csv"),
        (("order", "polish-1", "--expected", "2001-01-01"), 5, "is before"),
        (("orders", "99"), 5, "no order '99'"),
        (("cancel", "7", "--count", "9"), 5, "has 3 polish-1 outstanding"),
        (("cancel", "99"), 5, "no order '99'"),
        (("expect", "7", "soon"), 2, "'soon' is not a date"),
        (("receive", "polish-1", "--order", "99"), 5, "no order '99'"),
        (("receive", "polish-2", "--order", "7"), 5, "has no polish-2"),
    ],
)
def test_wrong_use_changes_nothing(run, shop, words, code: int, said: str) -> None:
    """Each ends with its exit code and says what is wrong."""
    assert run("ledger", "order", "polish-1", "--count", "3", "--number", "7", *shop).code == 0
    before = run("ledger", "history", *shop, "--format", "json").json()
    ran = run("ledger", *words, *shop)
    assert (ran.code, ran.out) == (code, "")
    assert said in ran.err
    assert run("ledger", "history", *shop, "--format", "json").json() == before


def test_names_do_nothing(run, shop) -> None:
    """An order number that is a formula is text in a CSV, and control characters are refused."""
    assert run("ledger", "order", "polish-1", "--number", "=HYPERLINK(1)", *shop).code == 0
    ran = run("ledger", "orders", *shop, "--format", "csv")
    assert "'=HYPERLINK(1)" in ran.out
    assert run("ledger", "order", "polish-1", "--number", "a\x1b[2J", *shop).code == 5
