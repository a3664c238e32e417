"""The report of the ledger against sums by hand, from books written out entry by entry."""

from __future__ import annotations

from datetime import UTC, datetime
from decimal import Decimal

import pytest
from support.ledgers import FakeConsumables, FakeMeasure, FakeToolWear, FakeWear

from edgetime.choices import ReportBy


def _on(month: int, day: int) -> datetime:
    """Return noon of a day of 2026: the same month in every zone."""
    return datetime(2026, month, day, 12, tzinfo=UTC)


def _pad(metres: float, piece: str = "polish-1") -> FakeToolWear:
    """Return the wear of a pad that lasts 450 m and takes 30 s for each."""
    length = FakeMeasure("length", metres / 450.0)
    return FakeToolWear(piece, contact_mm=1e3 * metres, cut_s=30.0 * metres, measures=(length,))


def _core(holes: int) -> FakeToolWear:
    """Return the wear of a core bit that drills 100 holes, 15 s each."""
    count = FakeMeasure("holes", holes / 100)
    return FakeToolWear("core-35", holes=holes, cut_s=15.0 * holes, measures=(count,))


def _wear(*tools: FakeToolWear, machine: str = "one", water_l: float | None = 100.0) -> FakeWear:
    return FakeWear(tools, FakeConsumables(water_l, None if water_l is None else 2.0), machine)


@pytest.fixture
def books(ledger):
    """Return two months: four pieces bought, three runs and one that was a mistake."""
    euro = {"currency": "EUR", "supplier": "north", "batch": "N1"}
    ledger.receive("polish-1", serials=["A1", "A2"], price=Decimal(30), at=_on(1, 5), **euro)
    ledger.receive(
        "polish-1", serials=["B1"], price=Decimal(42), currency="USD", supplier="west", at=_on(1, 5)
    )
    ledger.receive("core-35", serials=["C1"], at=_on(1, 6))
    ledger.mount("A1", pocket=1, machine="one", at=_on(1, 6))
    ledger.mount("C1", pocket=2, machine="one", at=_on(1, 6))
    kitchen = _wear(_pad(45.0), _core(4))
    same = {"digest": "k", "work_digest": "kw", "load_name": "Kitchen"}
    ledger.post_run(kitchen, at=_on(1, 10), **same)
    ledger.post_run(kitchen, run=2, actual=0.5, at=_on(1, 20), **same)
    ledger.post_run(_wear(_pad(45.0)), digest="w", load_name="Wrong", at=_on(1, 21))
    ledger.reverse_run("Wrong", run=1, at=_on(2, 2))
    ledger.retire("A1", reason="worn", at=_on(2, 3))
    ledger.mount("A2", pocket=1, machine="one", at=_on(2, 3))
    ledger.mount("B1", pocket=1, machine="two", at=_on(2, 3))
    bath = _wear(_pad(90.0), machine="two", water_l=None)
    ledger.post_run(bath, digest="b", load_name="Bath", at=_on(2, 10))
    return ledger


def _money(group) -> dict[str, tuple[Decimal | None, ...]]:
    """Return spent, cost, written off, cost and paid a metre, and stock value by currency."""
    return {
        m.currency: (m.spent, m.cost, m.written_off, m.cost_per_m, m.paid_per_m, m.stock_value)
        for m in group.money
    }


def test_months_are_as_summed_by_hand(books) -> None:
    """A pad's life is 450 m, a bit's 100 holes; what was reversed counts in neither month."""
    january, february = books.report("month").groups
    assert (january.group, february.group) == ("2026-01", "2026-02")
    # Kitchen once, and once by half.
    assert (january.runs, january.pieces, january.received, january.retired) == (2, 2, 4, 0)
    assert january.contact_mm == 45e3 + 22.5e3
    assert january.holes == 4 + 2
    assert january.cut_s == 45 * 30 + 4 * 15 + 22.5 * 30 + 2 * 15
    assert january.lives_used == pytest.approx(0.1 + 0.04 + 0.05 + 0.02, abs=1e-12)
    assert (january.water_l, january.electricity_kwh) == (150.0, 3.0)
    assert (january.stock, january.stock_unvalued) == (4, 1)
    # A1 cost 30.00 and 15 % of it is used: 4.50 in 67.5 m. The other pads are whole.
    assert _money(january) == {
        "EUR": (
            60,
            Decimal("4.5"),
            0,
            Decimal("0.066667"),
            Decimal("0.066667"),
            Decimal("25.5") + 30,
        ),
        "USD": (42, 0, 0, None, None, 42),
    }
    assert (february.runs, february.pieces, february.received, february.retired) == (1, 1, 0, 1)
    assert february.contact_mm == 90e3
    assert (february.water_l, february.runs_without_supplies) == (None, 1)
    assert (february.stock, february.stock_unvalued) == (3, 1)
    # A1 is retired with 25.50 never charged; 20 % of B1 is 8.40 dollars in 90 m.
    assert _money(february) == {
        "EUR": (0, 0, Decimal("25.5"), None, None, 30),
        "USD": (0, Decimal("8.4"), 0, Decimal("0.093333"), Decimal("0.093333"), Decimal("33.6")),
    }


def test_the_total_keeps_currencies_apart(books) -> None:
    """It is the sum of the months, but for stock, which is that of the end."""
    total = books.report("month").total
    assert (total.runs, total.pieces, total.received, total.retired) == (3, 3, 4, 1)
    assert total.contact_mm == 157.5e3
    # 4.50 charged and 25.50 written off: 30.00 in 67.5 m.
    assert _money(total) == {
        "EUR": (60, Decimal("4.5"), Decimal("25.5"), Decimal("0.066667"), Decimal("0.444444"), 30),
        "USD": (42, Decimal("8.4"), 0, Decimal("0.093333"), Decimal("0.093333"), Decimal("33.6")),
    }


def test_jobs(books) -> None:
    """A job has runs, use, water and cost; nothing is bought or in stock for it."""
    found = books.report(ReportBy.JOB)
    bath, kitchen = found.groups
    assert (bath.group, kitchen.group) == ("Bath", "Kitchen")
    assert (kitchen.runs, kitchen.water_l, kitchen.contact_mm) == (2, 150.0, 67.5e3)
    assert _money(kitchen) == {"EUR": (None, Decimal("4.5"), None, Decimal("0.066667"), None, None)}
    assert _money(bath) == {"USD": (None, Decimal("8.4"), None, Decimal("0.093333"), None, None)}
    assert {g.received for g in (*found.groups, found.total)} == {None}
    assert {g.stock for g in (*found.groups, found.total)} == {None}


def test_machines(books) -> None:
    """Stock is in the machine it is mounted in at the end; pocket 1 is there on both."""
    one, two = books.report("machine").groups
    assert (one.group, one.runs, one.pieces, one.retired, one.stock) == ("one", 2, 2, 1, 2)
    assert _money(one)["EUR"] == (
        None,
        Decimal("4.5"),
        Decimal("25.5"),
        Decimal("0.066667"),
        Decimal("0.444444"),
        30,
    )
    assert (two.group, two.runs, two.pieces, two.stock) == ("two", 1, 1, 1)
    assert (one.electricity_kwh, two.electricity_kwh) == (3.0, None)


def test_tools_suppliers_and_batches(books) -> None:
    """Runs use several tools, so their water belongs to none of these."""
    core, pad = books.report("tool").groups
    assert (core.group, core.holes, core.runs, core.money) == ("core-35", 6, 2, ())
    assert (pad.group, pad.contact_mm, pad.runs, pad.received) == ("polish-1", 157.5e3, 3, 3)
    assert (pad.water_l, pad.runs_without_supplies) == (None, None)
    north, west, unknown = books.report("supplier").groups
    assert (north.group, west.group, unknown.group) == ("north", "west", None)
    assert (north.stock, west.stock, unknown.stock) == (1, 1, 1)
    assert set(_money(north)) == {"EUR"}
    assert set(_money(west)) == {"USD"}
    batch, none = books.report("batch").groups
    assert (batch.group, batch.contact_mm, none.contact_mm) == ("N1", 67.5e3, 90e3)


def test_a_period(books) -> None:
    """Only February is counted, but its stock comes from January; nothing after it is seen."""
    (february,) = books.report("month", since=_on(2, 1)).groups
    assert (february.received, february.stock, february.runs) == (0, 3, 1)
    (january,) = books.report("month", until=_on(2, 1)).groups
    assert _money(january)["EUR"][5] == Decimal("55.5")
    assert books.report("month", since=_on(5, 1)).groups == ()


def test_lives_as_stated_and_as_they_were(books) -> None:
    """A1 was to last 450 m and was worn after 67.5."""
    (life,) = books.report().ended_lives
    assert (life.serial, life.ended, life.measure, life.unit) == ("A1", "worn", "length", "mm")
    assert (life.supplier, life.batch, life.at) == ("north", "N1", _on(2, 3))
    assert life.predicted == pytest.approx(450e3)
    assert life.lasted == pytest.approx(67.5e3)
    assert life.lasted_over_predicted == pytest.approx(0.15)
    assert books.report(until=_on(2, 1)).ended_lives == ()


def test_runs_as_predicted_and_as_they_were(books) -> None:
    """The second run of the kitchen was half of what the first was predicted to be."""
    (run,) = books.report().actual_runs
    assert (run.load, run.run, run.machine, run.at) == ("Kitchen", 2, "one", _on(1, 20))
    assert (run.predicted_contact_mm, run.contact_mm) == (45e3, 22.5e3)
    assert (run.predicted_cut_s, run.cut_s) == (1410.0, 705.0)
    assert run.actual_over_predicted == 0.5


def test_a_prediction_that_was_replaced_or_moved_is_found(ledger) -> None:
    """Posted as predicted, moved to another pad, then replaced by what was actual."""
    ledger.receive("polish-1", serials=["A1", "A2"], at=_on(1, 5))
    ledger.mount("A1", pocket=1, machine="one", at=_on(1, 5))
    run = {"digest": "k", "work_digest": "kw", "load_name": "Kitchen", "at": _on(1, 10)}
    ledger.post_run(_wear(_pad(45.0)), **run)
    ledger.move("A1", "A2", load_name="Kitchen", run=1)
    ledger.post_run(_wear(_pad(45.0)), actual=0.8, replace=True, **run)
    found = ledger.report()
    assert found.total.contact_mm == 36e3
    (actual,) = found.actual_runs
    assert (actual.predicted_contact_mm, actual.contact_mm) == (45e3, 36e3)


def test_an_actual_run_alone_has_its_prediction(ledger) -> None:
    """By the factor it was posted with, tool by tool; it stays with a charge that is moved."""
    ledger.receive("polish-1", serials=["A1"], at=_on(1, 5))
    ledger.mount("A1", pocket=1, at=_on(1, 5))
    ledger.receive("polish-1", serials=["A2"], at=_on(1, 5))
    posted = ledger.post_run(
        _wear(_pad(45.0)), digest="k", load_name="L", actual={"polish-1": 0.5}, at=_on(1, 10)
    )
    assert [e.mark for e in posted.entries] == ["actual=0.5"]
    ledger.move("A1", "A2", load_name="L", run=1)
    (actual,) = ledger.report().actual_runs
    assert (actual.contact_mm, actual.predicted_contact_mm) == (22.5e3, 45e3)
    assert (actual.predicted_cut_s, actual.actual_over_predicted) == (1350.0, 0.5)


def test_a_run_that_did_nothing_tells_nothing_of_its_prediction(ledger) -> None:
    """Zero times anything is zero: then only the same work posted as predicted helps."""
    ledger.receive("polish-1", serials=["A1"], at=_on(1, 5))
    ledger.mount("A1", pocket=1, at=_on(1, 5))
    ledger.post_run(_wear(_pad(45.0)), digest="k", load_name="L", actual=0, at=_on(1, 10))
    (actual,) = ledger.report().actual_runs
    assert (actual.predicted_cut_s, actual.actual_over_predicted) == (None, None)
    ledger.post_run(_wear(_pad(45.0)), digest="k", load_name="L", run=2, at=_on(1, 11))
    (actual,) = ledger.report().actual_runs
    assert (actual.predicted_cut_s, actual.actual_over_predicted) == (1350.0, 0.0)


def test_what_was_paid_was_charged_or_written_off(ledger) -> None:
    """A wheel for 80.00 is reprofiled for 45.00 to 80 % of a life, then breaks.

    Charged: 25 % of 80 is 20, 20 % of 45 is 9. Written off: 60 and 36. The rest is nothing.
    """
    money = {"price": Decimal(80), "currency": "EUR"}
    ledger.receive("metal-1", profile="eased", serials=["W1"], at=_on(1, 5), **money)
    ledger.mount("W1", pocket=1, at=_on(1, 5))
    ledger.post_run(_wear(_pad(112.5, "metal-1/eased")), digest="a", load_name="L", at=_on(1, 10))
    ledger.reprofile("W1", life=0.8, price=Decimal(45), currency="EUR", at=_on(3, 5))
    ledger.post_run(
        _wear(_pad(90.0, "metal-1/eased")), digest="a", load_name="L", run=2, at=_on(3, 10)
    )
    (stock,) = ledger.report("tool").total.money
    assert stock.stock_value == 45 * (Decimal("0.8") - Decimal("0.2"))
    ledger.retire("W1", reason="broken", at=_on(4, 1))
    found = ledger.report("month")
    # A month in which nothing happened has its stock: the first life, a quarter of it used.
    names = [group.group for group in found.groups]
    assert names == ["2026-01", "2026-02", "2026-03", "2026-04"]
    assert (found.groups[1].runs, _money(found.groups[1])["EUR"][5]) == (0, 60)
    (total,) = found.total.money
    assert (total.spent, total.cost, total.written_off) == (125, 29, 96)
    assert total.spent == total.cost + total.written_off
    assert [life.predicted for life in found.ended_lives] == pytest.approx([450e3, 360e3])
    assert [life.lasted for life in found.ended_lives] == pytest.approx([112.5e3, 90e3])


def test_a_piece_that_came_half_used_counts_its_share(ledger) -> None:
    """Adjusted by 40 %: 60 % of 30.00 are left, and it lasts its stated life when all is gone."""
    ledger.receive("polish-1", serials=["A1"], price=Decimal(30), currency="EUR", at=_on(1, 5))
    ledger.adjust("A1", share=0.4, at=_on(1, 6))
    ledger.mount("A1", pocket=1, at=_on(1, 6))
    (before,) = ledger.report().total.money
    assert before.stock_value == 18
    ledger.post_run(_wear(_pad(270.0)), digest="a", load_name="L", at=_on(1, 10))
    ledger.retire("A1", reason="worn", at=_on(1, 11))
    found = ledger.report()
    (life,) = found.ended_lives
    assert life.lasted == pytest.approx(450e3)
    assert found.total.lives_used == pytest.approx(1.0)
    # 18.00 charged with the run; the 12.00 of its earlier use were never charged.
    (money,) = found.total.money
    assert (money.cost, money.written_off, money.stock_value) == (18, 12, 0)


def test_an_empty_ledger(ledger) -> None:
    """There is nothing to report, and nothing fails."""
    found = ledger.report("supplier")
    assert (found.groups, found.ended_lives, found.actual_runs) == ((), (), ())
    assert (found.total.runs, found.total.stock, found.total.money) == (0, 0, ())
