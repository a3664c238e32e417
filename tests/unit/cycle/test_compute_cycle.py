"""The cycle: what counts as what, shared time, changes, dwells, attended time."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace

import numpy as np
import pytest
from support.catalogue import TOOLS, a_catalogue, a_load, a_rectangle, a_step
from support.shapes import rectangle

from edgetime.cycle import compute_cycle
from edgetime.errors import InternalError
from edgetime.moves import MoveKind, Moves
from edgetime.passes import AttendedStop, EdgeRun, Pass, PassPlan, PlannedVisit
from edgetime.places import Place
from edgetime.records import as_json
from edgetime.tooling import Operation
from edgetime.toolpath.tool_paths import HandWork, ToolPaths

RAPID, PLUNGE, LEAD, CUT = MoveKind
CHANGE = "change"
PAD = a_step(Operation.POLISH, "pad")


@dataclass
class Seconds:
    """What the motion stage gives."""

    seconds: np.ndarray


def visit(tool="pad", *, piece=None, rotation=300.0, side=0):
    """Return a visit."""
    return PlannedVisit(tool, piece or tool, Operation.POLISH, rotation, side)


def a_pass(part, visit=0, *, run=None, step=PAD):
    """Return a pass over the outline of a part."""
    if run is None:
        run = EdgeRun(part, 0, rectangle(10.0, 10.0), Place.OUTER, False, False)
    return Pass(run, visit, step, 50.0, 50.0, 0.0, -31.0, 1, 1, 30.0, 10.0, (1.0, 1.0))


def run_cycle(rows, visits, passes, *, parts=2, stops=(), machine=None, tools=TOOLS, hand=()):
    """Return the cycle of moves given as rows.

    A row is (visit, kind or ``CHANGE``, part, profile, pass, seconds, dwell, length, treated,
    volume); missing numbers are 0.
    """
    load = a_load(
        *[a_rectangle("eased" if i == 0 else "half-bullnose", x=0.0, y=700.0 * i, depth=500.0,
                      name=f"p{i + 1:02d}") for i in range(parts)],
        catalogue=a_catalogue(machine=machine, tools=tools),
    )  # fmt: skip
    plan = PassPlan(
        load=load, profiles=("eased", "half-bullnose"), visits=tuple(visits),
        passes=tuple(passes), stops=tuple(stops), elsewhere_mm={}, treated_mm={}, findings=(),
    )  # fmt: skip
    full = [(*row, *[0.0] * (10 - len(row))) for row in rows]
    columns = list(zip(*full, strict=True))
    n = len(full)
    kinds = [RAPID if k == CHANGE else k for k in columns[1]]
    moves = replace(
        Moves.simple(np.zeros((n + 1, 3)), feed=1.0, kind=kinds, dwell=columns[6]),
        visit=np.array(columns[0]), part=np.array(columns[2]), profile=np.array(columns[3]),
        pass_index=np.array(columns[4]), length=np.array(columns[7], dtype=float),
        treated=np.array(columns[8], dtype=float), volume=np.array(columns[9], dtype=float),
    )  # fmt: skip
    changes = []
    for v in range(len(visits)):
        own = [k for row_visit, k, *_ in full if row_visit == v]
        lead = next((i for i, k in enumerate(own) if k != CHANGE), len(own))
        changes.append((lead, sum(k == CHANGE for k in own[lead:])))
    paths = ToolPaths(plan, moves, tuple(changes), tuple(hand), ())
    return compute_cycle(paths, Seconds(np.array(columns[5], dtype=float)))


def one_visit(**options):
    """Return the cycle of one visit over two parts, its numbers chosen to be told apart."""
    rows = [
        (0, CHANGE, -1, -1, -1, 2.0),
        (0, RAPID, 0, 0, 0, 0.5),
        (0, PLUNGE, 0, 0, 0, 1.0, 0.25),
        (0, CUT, 0, 0, 0, 20.0, 0.0, 900.0, 1000.0, 50.0),
        (0, LEAD, 0, 0, 0, 0.125),
        (0, RAPID, -1, -1, -1, 4.0),
        (0, PLUNGE, 1, 1, 1, 1.5),
        (0, CUT, 1, 1, 1, 10.0, 0.0, 450.0, 500.0, 30.0),
        (0, CHANGE, -1, -1, -1, 3.0),
    ]
    return run_cycle(rows, [visit()], [a_pass(0), a_pass(1)], **options)


def test_moves_count_as_what_they_do():
    """Cut, plunge, lead and rapid by kind; travel to and from the rack as change."""
    time = one_visit().visits[0].time
    assert time.cut_s == 30.0
    assert time.plunge_s == 2.5
    assert time.lead_s == 0.125
    assert time.rapid_s == 4.5
    # 2 + 3 s travel, 10 s exchange, 5 s measuring, 300 ÷ 100 s run-up; the spindle was empty.
    assert time.change_s == 2.0 + 3.0 + 10.0 + 5.0 + 3.0
    # 0.25 s standing, 1 s water, 2 parts probed for 3 s.
    assert time.dwell_s == 0.25 + 1.0 + 6.0


def test_lengths_and_volume_of_a_visit():
    """Edge, way in the cut, volume and passes are sums over the visit's moves."""
    row = one_visit().visits[0]
    assert (row.edge_mm, row.treated_mm, row.cut_path_mm) == (1500.0, 1500.0, 1350.0)
    assert (row.volume_mm3, row.passes, row.starts_s) == (80.0, 2, 0.0)
    assert (row.pocket, row.tool, row.operation) == (1, "pad", "polish")


def test_shared_time_is_apportioned_by_the_parts_own_time():
    """Part 1 owns 24.875 s, part 2 14.5 s; 28 s belong to none."""
    cycle = one_visit()
    own = [0.5 + 1.25 + 20.0 + 0.125 + 3.0, 1.5 + 10.0 + 3.0]
    shared = 23.0 + 4.0 + 1.0
    assert [p.own_s for p in cycle.parts] == own
    for part, mine in zip(cycle.parts, own, strict=True):
        assert part.time.total_s == pytest.approx(mine + shared * mine / sum(own), abs=1e-12)
        assert part.time.change_s == pytest.approx(23.0 * mine / sum(own), abs=1e-12)
    assert cycle.total_s == sum(own) + shared


def test_time_nobody_owns_is_shared_equally():
    """In a visit that touches no part, as after a refused stretch, each part bears half."""
    rows = [(0, CHANGE, -1, -1, -1, 2.0), (0, CHANGE, -1, -1, -1, 2.0)]
    cycle = run_cycle(rows, [visit()], [a_pass(0)], machine={"probe_s": 0.0})
    assert [p.time.total_s for p in cycle.parts] == [11.5, 11.5]


def test_profiles_own_their_moves_and_the_rest_is_shared():
    """Probing, water, changes and travel between parts are in the ``(shared)`` row."""
    rows = {p.profile: p for p in one_visit().profiles}
    assert list(rows) == ["eased", "half-bullnose", "(shared)"]
    assert rows["eased"].time.total_s == 0.5 + 1.25 + 20.0 + 0.125
    assert rows["half-bullnose"].time.total_s == 11.5
    assert rows["(shared)"].time.total_s == 23.0 + 4.0 + 1.0 + 6.0
    # Two rectangles of 1000 × 500 mm.
    assert [p.edge_mm for p in rows.values()] == [3000.0, 3000.0, 0.0]


def test_change_between_tools_stops_and_starts_the_spindle():
    """From 300 to 200 rad/s at 100 rad/s²: 3 s down, 10 + 5 s, 2 s up."""
    rows = [(v, CUT, 0, 0, v, 1.0) for v in (0, 1)]
    visits = [visit(), visit("drum", rotation=200.0)]
    cycle = run_cycle(rows, visits, [a_pass(0), a_pass(0, 1)])
    assert [v.time.change_s for v in cycle.visits] == [18.0, 20.0]
    assert cycle.visits[1].starts_s == cycle.visits[0].time.total_s


def test_piece_that_stays_in_the_spindle_is_not_exchanged():
    """A new speed costs its difference; a flip stops the spindle, no exchange either way."""
    visits = [visit(), visit(rotation=250.0), visit(rotation=250.0, side=1)]
    rows = [(v, CUT, 0, 0, v, 1.0) for v in range(3)]
    cycle = run_cycle(rows, visits, [a_pass(0, v) for v in range(3)])
    assert [v.time.change_s for v in cycle.visits] == [18.0, 0.5, 5.0]


def test_dressing_counts_the_path_of_a_piece_over_its_visits():
    """Dressed every 1000 mm for 7 s: 900 mm none, then at 1000 and 2000 mm of 2100."""
    tools = [
        replace(t, dress_every_mm=1000.0, dress_s=7.0) if t.name == "pad" else t for t in TOOLS
    ]
    visits = [visit(), visit("drum"), visit()]
    rows = [
        (0, CUT, 0, 0, 0, 1.0, 0.0, 900.0),
        (1, CUT, 0, 0, 1, 1.0, 0.0, 5000.0),
        (2, CUT, 0, 0, 2, 1.0, 0.0, 1200.0),
    ]
    passes = [a_pass(0, v) for v in range(3)]
    cycle = run_cycle(rows, visits, passes, tools=tools)
    assert [v.time.dwell_s for v in cycle.visits] == [7.0, 1.0, 15.0]


def test_pockets_are_numbered_by_first_use():
    """A piece keeps its pocket when it comes back; beyond the rack there is none."""
    visits = [visit(), visit("drum"), visit(), visit("seamer")]
    rows = [(v, CUT, 0, 0, v, 1.0) for v in range(4)]
    cycle = run_cycle(rows, visits, [a_pass(0, v) for v in range(4)], machine={"pockets": 2})
    assert [v.pocket for v in cycle.visits] == [1, 2, 1, None]


def test_each_stretch_is_treated_once_in_a_visit():
    """Three passes over 100 mm, by two steps of one stay: 300 mm of edge, 100 mm treated."""
    run = a_pass(0).run
    other = replace(PAD, name="again")
    passes = [a_pass(0, run=run), a_pass(0, run=run), a_pass(0, run=run, step=other)]
    rows = [(0, CUT, 0, 0, k, 1.0, 0.0, 100.0, 100.0) for k in range(3)]
    row = run_cycle(rows, [visit()], passes).visits[0]
    assert (row.edge_mm, row.treated_mm, row.passes) == (300.0, 100.0, 3)


def test_two_runs_of_one_contour_are_two_stretches():
    """Front and back of a part by one step: 100 + 60 mm."""
    passes = [a_pass(0), a_pass(0)]
    rows = [(0, CUT, 0, 0, 0, 1.0, 0.0, 0.0, 100.0), (0, CUT, 0, 0, 1, 1.0, 0.0, 0.0, 60.0)]
    assert run_cycle(rows, [visit()], passes).visits[0].treated_mm == 160.0


def test_attended_time_is_beside_the_cycle():
    """Loading and unloading 2 parts for 60 s each, two stops for slugs, hand work apart."""
    stops = [
        AttendedStop(0, "slug", ((0, 1),), 30.0, 20.0),
        AttendedStop(1, "flip", ((0, 0), (1, 0)), 60.0, 20.0),
        AttendedStop(1, "slug", ((1, 1),), 10.0, 20.0),
    ]
    hand = [HandWork(0, 0, "eased", 12.5, 0.0, 0.0), HandWork(1, 0, "eased", 7.5, 0.0, 0.0)]
    with_stops, without = one_visit(stops=stops, hand=hand), one_visit()
    assert with_stops.attended == (
        ("load", 120.0), ("slug", 80.0), ("flip", 140.0), ("unload", 120.0),
    )  # fmt: skip
    assert with_stops.attended_s == 460.0
    assert with_stops.hand_mm == 20.0
    assert with_stops.total_s == without.total_s


def test_json_form_has_the_keys_of_the_contract():
    """Tools, parts and profiles with their terms, plain values throughout."""
    data = json.loads(json.dumps(as_json(one_visit())))
    tool = {
        "tool", "pocket", "operation", "starts_s", "change_s", "cut_s", "plunge_s", "lead_s",
        "rapid_s", "dwell_s", "total_s", "passes", "treated_mm", "edge_mm", "cut_path_mm",
        "volume_mm3",
    }  # fmt: skip
    assert tool <= set(data["tools"][0])
    assert {"part_id", "name", "drawing", "total_s"} <= set(data["parts"][0])
    assert {"profile", "edge_mm", "total_s"} <= set(data["by_profile"][0])
    assert {"total_s", "attended_s", "hand_mm"} <= set(data)


def test_moves_out_of_order_are_our_bug():
    """Visits are summed by where their rows begin and end, so the rows must be in order."""
    rows = [(1, CUT, 0, 0, 0, 1.0), (0, CUT, 0, 0, 0, 1.0)]
    with pytest.raises(InternalError):
        run_cycle(rows, [visit(), visit("drum")], [a_pass(0)])
