"""Orders on the way, working days, stages, and jobs that were posted already."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from support.forecasts import FIRST, PRICED, Stock, a_forecast, a_job, a_shop, of_piece

from edgetime.errors import UsageError
from edgetime.forecast import (
    Arrival,
    Books,
    OrderPolicy,
    Pipeline,
    Rates,
    WorkCalendar,
    forecast_use,
)
from edgetime.life import LifeDistribution

SURE = LifeDistribution.known(1.0, 0.01)


def day(number: int) -> date:
    """Return a day so many after the first."""
    return FIRST + timedelta(days=number)


def test_stock_on_the_way_counts_from_its_day() -> None:
    """One piece bears two jobs; the next, on order for day 20, is there for the third on 28."""
    jobs, shares = [a_job(14), a_job(21), a_job(28)], {"pad": 0.4}
    stock = {"pad": Stock(new=1, on_order=(Arrival(day=day(20), pieces=1),))}
    found = of_piece(a_forecast(jobs, shares, law=SURE, stock=stock), "pad")
    assert (found.out, found.needed, found.order_by) == (None, 0, None)
    assert found.stock.coming == 1


def test_stock_that_arrives_too_late_is_told_and_not_bought_twice() -> None:
    """It comes a day after the job that needs it: nothing more is ordered, but it is a finding."""
    jobs, shares = [a_job(14 + 7 * k) for k in range(4)], {"pad": 0.4}
    stock = {"pad": Stock(new=1, on_order=(Arrival(day=day(29), pieces=1),))}
    forecast = a_forecast(jobs, shares, law=SURE, stock=stock)
    found = of_piece(forecast, "pad")
    assert (found.out, found.needed, found.quantity) == (day(28), 0, 0)
    assert found.short == pytest.approx(1.0, abs=1e-6)
    assert "arrives-late" in [f.code for f in forecast.findings]


@pytest.mark.parametrize(("arrives", "needed"), [(14, 0), (21, 1)])
def test_nothing_is_bought_beside_an_order_that_comes_no_later(arrives, needed) -> None:
    """Short on day 7; what is ordered on day 0 comes on day 14, as the piece on order does."""
    jobs, shares = [a_job(7) for _ in range(3)], {"pad": 0.4}
    stock = {"pad": Stock(new=1, on_order=(Arrival(day=day(arrives), pieces=1),))}
    forecast = a_forecast(jobs, shares, law=SURE, stock=stock)
    found = of_piece(forecast, "pad")
    assert found.lead_time_d == 14
    assert (found.out, found.needed, found.quantity) == (day(7), needed, needed)
    assert "arrives-late" in [f.code for f in forecast.findings]


@pytest.mark.parametrize(
    ("calendar", "ordered"),
    [
        (WorkCalendar(), day(11)),  # 13 and 12 are Sunday and Saturday
        (WorkCalendar(days_off=frozenset({day(11)})), day(10)),
        (WorkCalendar(weekdays=frozenset(range(6))), day(12)),
    ],
)
def test_order_days_are_working_days(calendar: WorkCalendar, ordered: date) -> None:
    """A job on day 27 less 14 d is a Sunday: the order goes out on the working day before."""
    options = {"law": SURE, "calendar": calendar}
    assert of_piece(a_forecast([a_job(27)], {"pad": 0.4}, **options), "pad").order_by == ordered


def test_public_holidays() -> None:
    """Epiphany, 6 January, is a holiday in Bavaria and a working Wednesday in Berlin."""
    pytest.importorskip("holidays")
    epiphany = date(2027, 1, 6)
    assert WorkCalendar.of("DE-BY").on_or_before(epiphany) == date(2027, 1, 5)
    assert WorkCalendar.of("DE-BE").on_or_before(epiphany) == epiphany
    with pytest.raises(UsageError, match="not a region"):
        WorkCalendar.of("QQ")


def test_large_needs_are_staged_by_lead_time() -> None:
    """Five pieces a week for ten weeks: orders of 3 weeks' use each, lead time 14 d + review 7 d.

    By hand: the first week's job on day 14 is ordered on day 0 and covers the jobs to day 35,
    four of them; the next covers three more weeks and a day, and so on.
    """
    jobs = [a_job(14 + 7 * k) for k in range(10)]
    found = a_forecast(jobs, {"pad": 4.5}, law=SURE)
    lines = [line for order in found.orders for line in order.lines]
    assert [line.order_by for line in lines] == [day(0), day(28), day(56)]
    # 4.5, 9, 13.5, 18 lives: 5, 10, 14, 19 pieces with little to spare; 45 and some in all.
    assert lines[0].quantity == 19
    total = of_piece(found, "pad")
    assert sum(line.quantity for line in lines) == total.quantity == total.needed
    assert total.needed in {46, 47}
    assert [line.needed for line in lines] != [total.needed] * len(lines)


def test_the_shelf_bounds_an_order() -> None:
    """A shelf of six in packs of three: no order brings more, all come in time."""
    shop = a_shop(pad={"pack": 3, **PRICED})
    jobs = [a_job(28 + 7 * k) for k in range(4)]
    found = a_forecast(jobs, {"pad": 2.5}, law=SURE, shop=shop, shelf=7)
    lines = [line for order in found.orders for line in order.lines]
    assert all(line.quantity <= 6 for line in lines)
    assert len(lines) > 1
    days = [line.order_by for line in lines]
    assert days == sorted(days)
    assert of_piece(found, "pad").cost == sum(line.cost for line in lines)


def forecast_of(jobs, posted):
    """Return a forecast with runs that were posted."""
    return forecast_use(
        Pipeline(path="pipeline.csv", jobs=tuple(jobs)),
        Rates(shares=tuple({"pad": 0.4} for _ in jobs)),
        a_shop(),
        Books(lives={"pad": SURE}, posted=posted),
        OrderPolicy(first=FIRST),
    )


def test_a_posted_job_is_struck_off() -> None:
    """Two of three runs of the first job are in the ledger: one is left to come."""
    jobs = [a_job(10, name="Lobby", quantity=3), a_job(20, name="Bar")]
    found = forecast_of(jobs, {"Lobby": [day(-2), day(-1)]})
    assert of_piece(found, "pad").total.mean == pytest.approx(0.8, rel=1e-3)
    assert found.jobs == 2
    (note,) = [f for f in found.findings if f.code == "job-posted"]
    assert "2 of 3" in note.message
    assert forecast_of(jobs, {"Lobby": [day(-1)] * 3}).jobs == 1


def test_runs_of_an_earlier_job_of_that_name_do_not_count() -> None:
    """The kitchen of half a year ago is another one; each run strikes off one job only."""
    jobs = [a_job(10, name="Kitchen"), a_job(20, name="Kitchen")]
    assert forecast_of(jobs, {"Kitchen": [day(-180)]}).jobs == 2
    assert forecast_of(jobs, {"Kitchen": [day(-5)]}).jobs == 1


def test_names_are_compared_without_blanks_and_capitals() -> None:
    """A load of two drawings is called by both, unless it was posted under the job's name."""
    jobs = [
        a_job(10, name="Cafe  by the Lake"),
        a_job(20, name="", drawings=("plans/bar.dxf", "plans/desk.dxf")),
        a_job(30, name="Desk", drawings=("desk.dxf",)),
    ]
    found = forecast_of(jobs, {"cafe by the lake ": [day(-1)], "bar + desk": [day(-1)]})
    assert [(job.name, job.posted, job.quantity) for job in found.posted] == [
        ("Cafe  by the Lake", 1, 1),
        ("", 1, 1),
    ]
    assert found.jobs == 1


def test_an_overdue_order_is_a_finding_and_counts_from_the_first_day() -> None:
    """Expected three days ago: it is told with its number, and not bought twice."""
    stock = {"pad": Stock(on_order=(Arrival(day=day(-3), pieces=2, order="4711"),))}
    forecast = a_forecast([a_job(14)], {"pad": 0.9}, law=SURE, stock=stock)
    assert of_piece(forecast, "pad").needed == 0
    (finding,) = [f for f in forecast.findings if f.code == "order-overdue"]
    assert "2 on order '4711' were expected on 2027-01-01" in finding.message
    assert finding.severity == "warning"


def lines_of(forecast) -> list[tuple[date, int]]:
    """Return order day and quantity of each line."""
    return [(o.order_by, o.quantity) for order in forecast.orders for o in order.lines]


def test_the_largest_stock_holds_orders_back() -> None:
    """Three on hand, 0.9 used a week, two to keep: one each week from when there is room.

    By hand: before the jobs of day 35 there are 3 - 2.7 pieces left, so one more fits; the job of
    that day is the first that misses one. A week later 0.4 are left, and so on.
    """
    jobs = [a_job(14 + 7 * k) for k in range(6)]
    stock = {"pad": Stock(new=3)}
    for options in ({"shelf": 2}, {"largest_stock": 2}):
        found = a_forecast(jobs, {"pad": 0.9}, law=SURE, stock=stock, **options)
        assert lines_of(found) == [(day(21), 1), (day(28), 1), (day(35), 1)]
    own = a_shop(pad={"largest_stock": 2})
    found = a_forecast(jobs, {"pad": 0.9}, law=SURE, stock=stock, shop=own, largest_stock=50)
    assert len(lines_of(found)) == 3
    # The option comes before the tool's file.
    assert (
        len(lines_of(a_forecast(jobs, {"pad": 0.9}, law=SURE, stock=stock, shop=own, shelf=9))) == 1
    )


def test_a_stock_limit_below_what_is_needed_is_a_finding() -> None:
    """A pack of five where four may be kept: none is ordered, and that is told."""
    shop = a_shop(pad={"pack": 5, "largest_stock": 4})
    forecast = a_forecast([a_job(28)], {"pad": 2.5}, law=SURE, shop=shop)
    assert lines_of(forecast) == []
    (finding,) = [f for f in forecast.findings if f.code == "stock-limit"]
    assert "pad: 3 missing, 0 ordered" in finding.message


def test_no_order_covers_more_than_the_shelf_life() -> None:
    """Ten weeks of 0.9 each, kept for two weeks: three, three, three and one.

    By hand: the order for day 14 covers the jobs to day 28, 2.7 lives; the next begins with the
    job of day 35. Ten jobs use 9.0 lives, for which nine pieces are not safe enough.
    """
    jobs = [a_job(14 + 7 * k) for k in range(10)]
    by_hand = [(day(0), 3), (day(21), 3), (day(42), 3), (day(63), 1)]
    assert lines_of(a_forecast(jobs, {"pad": 0.9}, law=SURE, shelf_life_d=14.0)) == by_hand
    own = a_shop(pad={"shelf_life_d": 14.0})
    assert lines_of(a_forecast(jobs, {"pad": 0.9}, law=SURE, shop=own)) == by_hand


def test_a_line_says_when_and_on_what_ground() -> None:
    """Needed on the day of the job; a set's other tools rest on nothing."""
    shop = a_shop(pad={"set_name": "s"}, drum={"set_name": "s"})
    forecast = a_forecast([a_job(28)], {"pad": 0.9}, law=SURE, shop=shop)
    lines = {o.piece: o for order in forecast.orders for o in order.lines}
    assert {o.wanted for o in lines.values()} == {day(28)}
    assert (lines["pad"].trust, lines["drum"].trust) == ("given", None)
