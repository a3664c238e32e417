"""The order of work: rows without gap that add up, and the times of day they are at."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

import numpy as np
import pytest
from support.catalogue import TOOLS, a_catalogue, a_rectangle
from support.estimates import an_estimate, two_tops

from edgetime.cycle.clock import WallClock, parse_start
from edgetime.cycle.order import CHANGE, PASS, RETURN
from edgetime.errors import UsageError
from edgetime.passes import AttendedStop


def rows_of(est, tool):
    """Return the rows of the order of work of one tool."""
    return [row for row in est.order if row.tool == tool]


def test_each_stay_is_a_change_its_passes_and_the_way_back():
    """The drum goes round two tops and a sink: 3 mm of stock at 1 mm are 3 passes, 1 mm one."""
    est = two_tops()
    kinds = [row.kind for row in rows_of(est, "drum")]
    assert kinds == [CHANGE, *[PASS] * 7, RETURN]
    assert [row.number for row in est.order] == list(range(1, len(est.order) + 1))
    passes = [(r.part_id, r.place, r.pass_number, r.passes) for r in rows_of(est, "drum")[1:-1]]
    # 2.5 mm of saw stock at 1 mm a pass: three passes; 1 mm left by the finger bit: one.
    assert sorted(passes) == [
        ("p01", "cutout 1", 1, 1),
        *[(part, "outer", k, 3) for part in ("p01", "p02") for k in (1, 2, 3)],
    ]


def test_places_are_named():
    """Outer edges, cutouts and holes by number, seams as such."""
    est = two_tops()
    core = [(r.place, r.x_mm, r.y_mm) for r in rows_of(est, "core-35") if r.kind == PASS]
    assert ("hole 1", 1350.0, 900.0) in core
    assert [place for place, _, _ in core].count("cutout 1") == 1
    seamed = an_estimate(a_rectangle(["eased", "seam", "eased", "eased"]))
    assert {r.place for r in rows_of(seamed, "seamer") if r.kind == PASS} == {"seam"}
    assert {r.place for r in rows_of(seamed, "pad") if r.kind == PASS} == {"outer"}


def test_rows_follow_each_other_without_gap_and_add_up_to_their_visits():
    """Each row begins where the one before ends; a stay's rows are as long as its visit."""
    est = two_tops()
    for before, after in zip(est.order, est.order[1:], strict=False):
        assert after.starts_s == pytest.approx(before.ends_s, abs=1e-9)
    for number, visit in enumerate(est.cycle.visits, 1):
        own = [row for row in est.order if row.visit == number]
        assert sum(row.total_s for row in own) == pytest.approx(visit.time.total_s, abs=1e-9)
        assert sum(row.edge_mm for row in own) == pytest.approx(visit.edge_mm, abs=1e-9)
        assert own[0].starts_s == visit.starts_s
    assert est.order[-1].ends_s == pytest.approx(est.cycle.total_s, abs=1e-9)


def test_dressing_stands_with_the_pass_behind_which_it_is_done():
    """A pad dressed every 3 m for 50 s on tops of 3.2 m: behind the first and the second."""
    tools = [
        replace(t, dress_every_mm=3000.0, dress_s=50.0) if t.name == "pad" else t for t in TOOLS
    ]
    parts = [a_rectangle(x=500.0 + 1500.0 * k, name=f"p{k}") for k in range(2)]
    plain = an_estimate(*parts)
    dressed = an_estimate(*parts, catalogue=a_catalogue(tools=tools))
    more = [
        b.total_s - a.total_s for a, b in zip(plain.order, dressed.order, strict=True)
        if a.tool == "pad"
    ]  # fmt: skip
    # The centre runs 3200 + 2 pi 50 = 3514 mm a top, so 3000 and 6000 are passed once each.
    assert more == pytest.approx([0.0, 50.0, 50.0, 0.0], abs=1e-9)


def test_the_change_holds_what_happens_before_the_first_run():
    """Exchange 10 s, measuring 5 s, run-up 3 s, water 1 s and the way; probing 3 s a part once."""
    est = two_tops()
    moves, seconds = est.paths.moves, est.motion.seconds
    for visit, row in enumerate(r for r in est.order if r.kind == CHANGE):
        first = int(np.flatnonzero(moves.visit == visit)[0])
        down = 3.0 if visit else 0.0
        probing = 0.0 if visit else 2 * 3.0
        standing = 10.0 + 5.0 + 3.0 + down + 1.0 + probing
        assert row.total_s == pytest.approx(standing + float(seconds[first]), abs=1e-9)


@pytest.mark.parametrize(
    ("text", "moment", "dated"),
    [
        ("9:10", (9, 10, 0), False),
        ("09:10:30", (9, 10, 30), False),
        ("0:00", (0, 0, 0), False),
        ("2027-01-18 23:59", (23, 59, 0), True),
        ("2027-01-18T9:10", (9, 10, 0), True),
    ],
)
def test_start_is_read(text, moment, dated):
    """Hours and minutes on the 24-hour clock, with a date or without."""
    start, has_date = parse_start(text)
    assert (start.hour, start.minute, start.second) == moment
    assert has_date is dated
    if dated:
        assert (start.year, start.month, start.day) == (2027, 1, 18)


@pytest.mark.parametrize(
    "text",
    ["", "9", "9.10", "24:00", "9:60", "9:1", "9:10 pm", "2027-02-30 9:10", "-1:00", "9:10:99",
     "9999-12-31 9:10", "tomorrow", "٩:١٠:٠"],
)  # fmt: skip
def test_bad_start_is_refused_with_how_to_write_it(text):
    """No guess, no traceback: what was typed, and what a time looks like."""
    with pytest.raises(UsageError, match="not a time of day") as caught:
        parse_start(text)
    assert caught.value.where.key == "--start"
    assert "9:10" in caught.value.remedy


def a_clock(text, stops):
    """Return the clock of two visits from 0 and 600 s that end at 1000 s."""
    return WallClock(*parse_start(text), tuple(stops), (0.0, 600.0, 1000.0))


def test_stops_move_what_follows_them():
    """A slug of 4 min before the second visit: it starts at 9:24, the program ends at 9:30:40."""
    wall = a_clock("9:10", [AttendedStop(1, "slug", ((0, 1),), 200.0, 40.0)])
    assert wall.show(wall.at(0, 599.0)) == "09:19:59"
    assert wall.show(wall.at(1, 600.0)) == "09:24:00"
    assert wall.show(wall.end) == "09:30:40"
    ((stop, begin, end),) = wall.stop_times()
    assert (stop.reason, wall.show(begin), wall.show(end)) == ("slug", "09:20:00", "09:24:00")


def test_stop_behind_the_last_tool_does_not_move_the_end():
    """The program ends, then the slug is taken out."""
    wall = a_clock("9:10", [AttendedStop(2, "slug", ((0, 1),), 200.0, 40.0)])
    assert wall.show(wall.end) == "09:26:40"
    ((_, begin, _),) = wall.stop_times()
    assert begin == wall.end


def test_midnight_is_told():
    """Past midnight the day is counted, on the screen and in files; a date moves on."""
    wall = a_clock("23:55", [])
    assert (wall.show(wall.end), wall.iso(wall.end)) == ("00:11:40 +1", "00:11:40.000")
    assert wall.keys("ends", wall.end) == {"ends_at": "00:11:40.000", "ends_day": 1}
    dated = a_clock("2027-12-31 23:55", [])
    assert dated.end == datetime(2028, 1, 1, 0, 11, 40)  # noqa: DTZ001  local time
    assert dated.iso(dated.end) == "2028-01-01T00:11:40.000"
