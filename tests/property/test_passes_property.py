"""Properties of plan and cycle that hold for every load: identities, coverage, short tours."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.catalogue import a_cutout, a_load, a_part
from support.curves import tour_length
from support.shapes import rectangle

from edgetime.cycle import TERMS, compute_cycle
from edgetime.errors import NothingToCut
from edgetime.passes import plan_passes
from edgetime.passes.tour import short_tour
from edgetime.tooling import Operation
from edgetime.toolpath import build_tool_paths

NAMES = ["eased", "half-bullnose", "ogee", "full-bullnose", "apron", "mitre", "seam", "unfinished"]
SOME = settings(max_examples=25, deadline=None)


@st.composite
def loads(draw):
    """Return a load of one to three parts with any profiles, cutouts and holes."""
    parts = []
    for i in range(draw(st.integers(1, 3))):
        width = draw(st.floats(300.0, 1200.0))
        radius = draw(st.sampled_from([0.0, 80.0]))
        outline = rectangle(width, 600.0, x=200.0, y=100.0 + 800.0 * i, radius=radius)
        profiles = [draw(st.sampled_from(NAMES)) for _ in range(len(outline))]
        cutouts, holes = [], []
        if draw(st.booleans()):
            sink = rectangle(0.4 * width, 250.0, x=260.0, y=250.0 + 800.0 * i, radius=55.0)
            method = draw(st.sampled_from(["milled", "precut"]))
            cutouts.append(a_cutout(sink, draw(st.sampled_from(NAMES[:2])), method=method))
        if draw(st.booleans()):
            holes.append((0.8 * width + 200.0, 400.0 + 800.0 * i, 35.0))
        parts.append(a_part(outline, profiles, *cutouts, holes=holes, name=f"p{i + 1:02d}"))
    return a_load(*parts, order=draw(st.sampled_from(["as-drawn", "short-travel"])))


class AtFeed:
    """Seconds of moves at their feed, rapids at 500 mm/s."""

    def __init__(self, moves):
        self.seconds = moves.length / np.where(np.isinf(moves.feed), 500.0, moves.feed)


@given(loads())
@SOME
def test_every_split_of_the_time_adds_up_to_the_total(load):
    """By tool, by part and by profile, term by term, within 1e-6 s; nothing is negative."""
    try:
        plan = plan_passes(load)
    except NothingToCut:
        return
    paths = build_tool_paths(plan)
    cycle = compute_cycle(paths, AtFeed(paths.moves))
    for rows in (cycle.visits, cycle.parts, cycle.profiles):
        assert sum(r.time.total_s for r in rows) == pytest.approx(cycle.total_s, abs=1e-6)
        for term in TERMS:
            values = [getattr(r.time, term) for r in rows]
            assert min(values) >= -1e-9
            by_visit = sum(getattr(v.time, term) for v in cycle.visits)
            assert sum(values) == pytest.approx(by_visit, abs=1e-6)
    moving = float(AtFeed(paths.moves).seconds.sum() + paths.moves.dwell.sum())
    machine = load.machine
    least = moving + machine.water_on_s * len(plan.visits) + machine.probe_s * len(load.parts)
    assert cycle.total_s >= least - 1e-6
    assert all(v.edge_mm >= v.treated_mm - 1e-6 for v in cycle.visits)


@given(loads())
@SOME
def test_every_finished_edge_is_polished_once_and_no_other(load):
    """The pad's runs have the finished length of each profile, twice for two-sided ones."""
    try:
        plan = plan_passes(load)
    except NothingToCut:
        return
    found = dict.fromkeys(plan.treated_mm, 0.0)
    for p in plan.passes:
        if p.step.operation is Operation.POLISH:
            for tag, length in zip(p.run.path.tags.tolist(), p.run.path.lengths, strict=True):
                found[p.run.part, plan.profiles[tag]] += float(length)
    for (part, name), length in plan.treated_mm.items():
        sides = load.catalogue.profiles[name].sides
        assert found[part, name] == pytest.approx(sides * length, rel=1e-12)


@given(loads())
@SOME
def test_stock_is_removed_exactly_once(load):
    """Offsets of a run's roughing fall to the radius, and what is taken is the stock."""
    try:
        plan = plan_passes(load)
    except NothingToCut:
        return
    taken: dict[int, list[float]] = {}
    for p in plan.passes:
        if p.step.operation is Operation.ROUGH:
            taken.setdefault(id(p.run), []).append(p.removed_mm2[0])
            assert p.offset_mm >= p.reach_mm
            if p.number == p.count:
                assert p.offset_mm == p.reach_mm
    for areas in taken.values():
        assert any(math.isclose(sum(areas), stock * 31.0) for stock in (2.5, 1.0, 0.5))


points = st.tuples(st.floats(0.0, 4000.0), st.floats(0.0, 2000.0))


@given(st.lists(st.tuples(points, points, st.booleans()), min_size=1, max_size=25), points)
@settings(max_examples=60, deadline=None)
def test_tour_is_a_permutation_and_never_longer_than_as_drawn(runs, home):
    """Open runs keep their ends, closed ones may begin at either point; each is run once."""
    entries, exits = [], []
    for a, b, closed in runs:
        entries.append(np.array([a, b] if closed else [a]))
        exits.append(np.array([a, b] if closed else [b]))
    order = short_tour(entries, exits, home)
    assert sorted(i for i, _ in order) == list(range(len(runs)))
    drawn = [(i, 0) for i in range(len(runs))]
    at = np.array(home)
    assert tour_length(entries, exits, order, at) <= tour_length(entries, exits, drawn, at)


@given(st.integers(0, 10_000))
@settings(max_examples=15, deadline=None)
def test_planned_order_travels_no_further_than_as_drawn(seed):
    """On random tables of parts, from run to run and from and to the rack."""
    rng = np.random.default_rng(seed)
    cells = rng.permutation(20)[:6]
    parts = [
        a_part(
            rectangle(500.0, 350.0, x=600.0 * (c % 5), y=450.0 * (c // 5)),
            [["eased", "unfinished"][k] for k in rng.integers(0, 2, 4)],
            name=f"p{i}",
        )
        for i, c in enumerate(cells)
    ]
    lengths = []
    for order in ("as-drawn", "short-travel"):
        try:
            plan = plan_passes(a_load(*parts, order=order))
        except NothingToCut:
            return
        runs = [p.run for p in plan.passes if p.step.tool == "pad"]
        # Closed runs that are drawn begin in the middle of their first straight.
        ends = [
            [0.5 * (r.path.points[0] + r.path.points[1])] * 2
            if r.path.closed and r.begin_mm is None
            else [np.array(p) for p in r.ends_mm]
            for r in runs
        ]
        ins, outs = [e[0] for e in ends], [e[1] for e in ends]
        lengths.append(
            tour_length(
                [p[None, :] for p in ins], [p[None, :] for p in outs],
                [(i, 0) for i in range(len(runs))], np.array(plan.load.machine.rack_mm),
            )
        )  # fmt: skip
    assert lengths[1] <= lengths[0] + 1e-6
