"""What holds of tool paths along any outline."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from support.plans import a_load, a_part, a_pass, a_plan, a_run, a_step, a_tool
from support.shapes import polygon, rectangle

from edgetime.geometry.measure import distance
from edgetime.geometry.offset import offset_path
from edgetime.geometry.path import Path
from edgetime.geometry.segments import Segments
from edgetime.moves import MoveKind
from edgetime.tooling import Operation
from edgetime.toolpath import build_tool_paths
from edgetime.toolpath.batch_offset import Parallel, plain_lines
from edgetime.toolpath.distance import closest

SIZES = st.floats(150.0, 1200.0)
RADII = st.floats(5.0, 80.0)
CORNERS = st.one_of(st.just(0.0), st.floats(0.5, 70.0))


@st.composite
def stars(draw):
    """Draw a simple polygon around a centre, with corners of both hands."""
    n = draw(st.integers(3, 9))
    spans = draw(st.lists(st.floats(0.3, 1.0), min_size=n, max_size=n))
    reach = draw(st.lists(st.floats(60.0, 900.0), min_size=n, max_size=n))
    angle = np.cumsum(spans) / sum(spans) * 2.0 * math.pi
    points = np.column_stack([np.cos(angle), np.sin(angle)]) * np.array(reach)[:, None] + 2000.0
    shape = shapely.Polygon(points)
    assume(shape.is_valid and shape.area > 1e4)
    return polygon(points)


def samples(moves, rows, count=25):
    """Return places along moves (m, 2), ends included, evenly by angle and length."""
    table = Segments(moves.start[rows, :2], moves.end[rows, :2], moves.bulge[rows])
    return np.concatenate([table.point(np.full(len(table), f)) for f in np.linspace(0, 1, count)])


def working(moves):
    """Return the rows at depth beside the edge: cuts, leads, overruns, overlaps and shifts."""
    return np.flatnonzero(np.isin(moves.kind, (MoveKind.CUT, MoveKind.LEAD)))


@settings(max_examples=40, deadline=None)
@given(stars(), RADII, st.sampled_from(["arc", "straight", "plunge"]), st.floats(5.0, 120.0))
def test_nothing_gouges_a_closed_run(outline, radius, lead, lead_mm):
    """Cuts, leads, overlap and shifts keep the tool's radius from the part (shapely: distance)."""
    load = a_load([a_part(outline)], tools=[a_tool(2.0 * radius)])
    step = a_step(lead=lead, lead_mm=lead_mm, overlap_mm=lead_mm)
    run = a_run(load)
    passes = [
        a_pass(load, run, step, offset_mm=radius + 1.0, count=2),
        a_pass(load, run, step, number=2, count=2),
    ]
    moves = build_tool_paths(a_plan(load, passes)).moves
    stone = shapely.Polygon(outline.points)
    away = shapely.distance(stone, shapely.points(samples(moves, working(moves))))
    assert away.min(initial=math.inf) >= radius - 1e-6


@settings(max_examples=40, deadline=None)
@given(stars(), RADII, st.floats(5.0, 120.0), st.integers(0, 8), st.integers(1, 8), st.booleans())
def test_nothing_gouges_an_open_run(outline, radius, lead_mm, first, count, free):
    """An open run keeps off the rest of its contour too, with its overruns and leads."""
    first %= len(outline) - 1
    stop = min(first + count, len(outline))
    assume(stop - first < len(outline))
    load = a_load([a_part(outline)], tools=[a_tool(2.0 * radius)])
    step = a_step(lead="arc", lead_mm=lead_mm, overrun_mm=lead_mm)
    run = a_run(load, 0, 0, first, stop, free=(free, not free))
    moves = build_tool_paths(a_plan(load, [a_pass(load, run, step)])).moves
    stone = shapely.Polygon(outline.points)
    away = shapely.distance(stone, shapely.points(samples(moves, working(moves))))
    assert away.min(initial=math.inf) >= radius - 1e-6


@settings(max_examples=40, deadline=None)
@given(SIZES, SIZES, CORNERS, RADII, st.floats(2.0, 60.0))
@example(150.0, 150.0, 0.0, 24.5631906847683, 2.0)  # rounding hid the edge from the circle on it
def test_nothing_gouges_a_cutout(width, height, corner, radius, lead_mm):
    """Inside cutouts leads shrink until they fit; arcs of the contour are measured exactly."""
    cutout = rectangle(width, height, x=1000.0, y=1000.0, radius=corner, hand=-1)
    slab = rectangle(2000.0, 2000.0, x=600.0, y=600.0)
    load = a_load([a_part(slab, cutout)], tools=[a_tool(2.0 * radius)])
    step = a_step(lead="arc", lead_mm=lead_mm, overlap_mm=10.0)
    moves = build_tool_paths(a_plan(load, [a_pass(load, a_run(load, 0, 1), step)])).moves
    rows = working(moves)
    if len(rows):
        assert distance(cutout, samples(moves, rows)).min() >= radius - 1e-6


@settings(max_examples=60, deadline=None)
@given(stars(), RADII, st.integers(0, 8), st.integers(1, 9))
def test_treated_and_missed_make_up_the_run(outline, radius, first, count):
    """What a pass treats and what is left for the hand add up to its run."""
    first %= len(outline)
    stop = min(first + count, len(outline))
    load = a_load([a_part(outline)], tools=[a_tool(2.0 * radius)])
    run = a_run(load, 0, 0, first, stop)
    paths = build_tool_paths(a_plan(load, [a_pass(load, run)]))
    total = float(paths.moves.treated.sum()) + paths.hand_mm
    assert total == pytest.approx(run.path.length_mm, rel=1e-9)


@settings(max_examples=40, deadline=None)
@given(stars(), RADII, st.sampled_from([Operation.POLISH, Operation.GAUGE, Operation.CUT]))
def test_moves_are_connected(outline, radius, operation):
    """Each move starts exactly where the one before ended, from the rack and back to it."""
    load = a_load([a_part(outline)], tools=[a_tool(2.0 * radius, shaft_mm=1.0)])
    step = a_step(operation=operation, lead="arc", lead_mm=20.0, overlap_mm=15.0)
    run = a_run(load)
    passes = [a_pass(load, run, step, number=n, count=2, bottom_z_mm=-10.0 * n) for n in (1, 2)]
    moves = build_tool_paths(a_plan(load, passes)).moves
    assert np.array_equal(moves.end[:-1], moves.start[1:])
    if len(moves):
        assert np.array_equal(moves.start[0], moves.end[-1])


def general(path, radius, clearance, rest=()):
    """Return the general offset's chain, or None if it has not exactly one, and what it misses."""
    found = offset_path(path, radius, clearance_mm=clearance, against=rest)
    one = len(found.chains) == 1
    return (found.chains[0], found.treated[0]) if one else None, found.unreached


def assert_same(reached, path, radius, clearance, rest=()):
    """Hold a plain line against the general offset."""
    lines, unreached = reached
    chain, missed = general(path, radius, clearance, rest)
    assert unreached == pytest.approx(missed, abs=2e-3)
    if not lines:
        assert chain is None
        return
    (line,) = lines
    assert chain is not None
    assert line.closed == chain[0].closed
    assert float(line.length.sum()) == pytest.approx(chain[0].length_mm, abs=1e-2)
    assert float(line.treated.sum()) == pytest.approx(float(chain[1].sum()), abs=1e-2)
    ends = line.segments.start
    assert distance(chain[0], ends).max() < 2e-3


@settings(max_examples=100, deadline=None)
@given(stars(), RADII, st.floats(0.0, 20.0))
def test_plain_parallels_equal_the_general_ones(outline, radius, clearance):
    """Where the short way applies it gives what the general offset gives, inside and outside."""
    for contour in (outline, outline.reversed()):
        (reached,) = plain_lines([Parallel(contour, len(contour), radius, clearance)])
        if reached is not None:
            assert_same(reached, contour, radius, clearance)


@settings(max_examples=100, deadline=None)
@given(stars(), RADII, st.integers(1, 8))
def test_plain_parallels_of_a_stretch_equal_the_general_ones(outline, radius, count):
    """The same of a run that is part of its contour, kept off the rest of it."""
    assume(count < len(outline))
    run, rest = outline.slice(0, count), outline.slice(count, len(outline))
    (reached,) = plain_lines([Parallel(outline, count, radius, 0.0)])
    if reached is not None:
        assert_same(reached, run, radius, 0.0, [rest])


@settings(max_examples=100, deadline=None)
@given(SIZES, SIZES, CORNERS, RADII, st.floats(0.0, 10.0))
def test_plain_cutouts_equal_the_general_ones(width, height, corner, radius, clearance):
    """Cutouts the tool fits into are plain, whatever their corners; they equal the general ones."""
    assume(abs(corner - radius) > 0.01)
    assume(abs(corner - radius - clearance) > 0.01)
    assume(min(width, height) > 2.0 * max(corner, radius) + 1.0)
    cutout = rectangle(width, height, radius=corner, hand=-1)
    (reached,) = plain_lines([Parallel(cutout, len(cutout), radius, clearance)])
    assert reached is not None
    assert_same(reached, cutout, radius, clearance)


def test_l_shape_is_plain():
    """An outline with one sharp inside corner takes the short way."""
    outline = polygon([(0, 0), (800, 0), (800, 400), (400, 400), (400, 800), (0, 800)])
    (reached,) = plain_lines([Parallel(outline, len(outline), 50.0, 0.0)])
    assert reached is not None
    assert_same(reached, outline, 50.0, 0.0)


def test_narrow_waist_is_not_plain():
    """Where two basins are joined by too narrow a channel, the general way must be taken."""
    # All corners are round, the channel is 60 mm wide; clockwise around the air inside.
    r = math.tan(math.pi / 8.0)
    points = [(0, 200), (100, 300), (200, 200), (200, 130), (400, 130), (400, 200), (500, 300),
              (600, 200), (600, 0), (500, -100), (400, 0), (400, 70), (200, 70), (200, 0),
              (100, -100), (0, 0)]  # fmt: skip
    bulges = [-r, -r, 0, 0, 0, -r, -r, 0, -r, -r, 0, 0, 0, -r, -r, 0]
    outline = Path.from_bulges(points, bulges, closed=True)
    (line,) = plain_lines([Parallel(outline, len(outline), 40.0, 0.0)])
    (thin,) = plain_lines([Parallel(outline, len(outline), 20.0, 0.0)])
    assert line is None
    assert thin is not None


SPOTS = st.floats(-100.0, 100.0)
BULGES = st.one_of(st.just(0.0), st.floats(0.05, 3.0), st.floats(-3.0, -0.05))


@settings(max_examples=100, deadline=None)
@given(*[SPOTS] * 8, BULGES, BULGES)
def test_closest_is_the_least_distance(ax, ay, bx, by, cx, cy, dx, dy, first, second):
    """The exact distance is at most that of any two places, and some two places come near it."""
    assume(math.hypot(bx - ax, by - ay) > 1.0)
    assume(math.hypot(dx - cx, dy - cy) > 1.0)
    a = Segments(np.array([[ax, ay]]), np.array([[bx, by]]), np.array([first]))
    b = Segments(np.array([[cx, cy]]), np.array([[dx, dy]]), np.array([second]))
    exact = float(closest(a, b)[0])
    n = 2000
    at = np.linspace(0.0, 1.0, n + 1)
    p = Segments(*(np.repeat(v, n + 1, axis=0) for v in (a.start, a.end, a.bulge))).point(at)
    sampled = float(b.distance(p[:, :1], p[:, 1:]).min())
    assert exact <= sampled + 1e-9
    # Places half a sample apart differ by no more in their distance.
    assert exact >= sampled - 0.5 * float(a.lengths[0]) / n - 1e-9


@settings(max_examples=50, deadline=None)
@example(20.0, 60.0, 1.0, 1.0)
@given(
    st.floats(1.0, 900.0),
    st.floats(1.0, 900.0),
    st.sampled_from([-1.0, 1.0]),
    st.sampled_from([-1.0, 1.0]),
)
def test_concentric_arcs_are_apart_by_their_radii(first, second, one_way, other_way):
    """Half circles about one centre: the lead in a round opening, a disc in a round hole."""
    assume(abs(first - second) > 0.001)
    a = Segments(np.array([[first, 0.0]]), np.array([[-first, 0.0]]), np.array([one_way]))
    b = Segments(np.array([[second, 0.0]]), np.array([[-second, 0.0]]), np.array([other_way]))
    assert float(closest(a, b)[0]) == pytest.approx(abs(first - second), rel=1e-9)


@settings(max_examples=60, deadline=None)
@given(
    st.floats(20.0, 400.0),
    st.floats(20.0, 400.0),
    st.floats(8.0, 90.0),
    st.floats(0.0, 0.45),
    st.floats(0.0, 2.0 * math.pi),
)
def test_opening_is_narrow_when_its_short_side_is(width, height, radius, rounding, turn):
    """A rectangle is too narrow for 2 R, or its corners are too tight, never both."""
    short = min(width, height)
    corner = rounding * short if rounding > 0.01 else 0.0
    assume(abs(short - 2.0 * radius) > 1.0)
    assume(abs(corner - radius) > 0.5)
    cutout = rectangle(width, height, radius=corner, hand=-1)
    spin = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    cutout = Path.from_bulges(
        (cutout.points[:-1] - [0.5 * width, 0.5 * height]) @ spin + [1500.0, 1000.0],
        cutout.bulges,
        closed=True,
    )
    load = a_load([a_part(rectangle(2000.0, 1500.0, x=500.0, y=250.0), cutout)],
                  tools=[a_tool(2.0 * radius, shaft_mm=5.0)])  # fmt: skip
    found = build_tool_paths(a_plan(load, [a_pass(load, a_run(load, 0, 1))])).findings
    found = [f for f in found if f.code != "contact-feed"]
    if short < 2.0 * radius:
        (finding,) = found
        assert finding.code == "opening-narrow"
        assert f"{short:.1f} mm wide" in finding.message
    else:
        assert [f.code for f in found] == (["inside-radius"] if corner < radius else [])
