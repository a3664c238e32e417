"""Notches made on the router: cut along their walls, entered from outside."""

from __future__ import annotations

import math
from dataclasses import replace

import ezdxf
import numpy as np
import pytest
from support.catalogue import STEPS, a_catalogue, a_contour, a_load, a_part
from support.shapes import rectangle

from edgetime import estimate
from edgetime.estimating.pipeline import motion_limits
from edgetime.geometry.path import Path
from edgetime.geometry.segments import Segments
from edgetime.motion import compute_motion
from edgetime.moves import MoveKind
from edgetime.passes import plan_passes
from edgetime.tooling import Operation
from edgetime.toolpath import build_tool_paths

# 1000 x 600 mm at (500, 500), a notch of 300 x 200 mm in the middle of its front.
CORNERS = [
    (500, 500), (850, 500), (850, 700), (1150, 700), (1150, 500), (1500, 500), (1500, 1100),
    (500, 1100),
]  # fmt: skip
WALLS = (1, 2, 3)


def with_notch(profile="unfinished", *, made="shop", rest="eased", catalogue=None, **shop):
    """Return the plan of the part with its notch."""
    path = Path.from_bulges([(float(x), float(y)) for x, y in CORNERS], closed=True)
    names = [profile if k in WALLS else rest for k in range(8)]
    contour = a_contour(path, names)
    edges = []
    for e in contour.edges:
        walls = [k in WALLS for k in range(e.first, e.stop)]
        # Edges break at the notch, as the take-off breaks them.
        for k, wall in zip(range(e.first, e.stop), walls, strict=True):
            edges.append(
                replace(
                    e, first=k, stop=k + 1, length_mm=float(path.lengths[k]),
                    notch=made if wall else "",
                )
            )  # fmt: skip
    part = a_part(rectangle(1000.0, 600.0, x=500.0, y=500.0), rest)
    part = replace(part, outline=replace(contour, edges=tuple(edges)))
    return plan_passes(a_load(part, catalogue=catalogue or a_catalogue(shop=shop)))


def cuts(plan):
    """Return the passes of the finger bit."""
    return [p for p in plan.passes if p.step.operation is Operation.CUT]


@pytest.mark.parametrize(
    ("shop", "made", "milled"),
    [("outline", "shop", False), ("milled", "shop", True), ("outline", "milled", True),
     ("milled", "outline", False)],
)  # fmt: skip
def test_shop_or_layer_says_what_makes_a_notch(shop, made, milled):
    """The shop's key, overridden by the layer's."""
    assert bool(cuts(with_notch(made=made, notch_method=shop))) is milled


def test_notch_is_cut_in_depth_steps_along_its_walls():
    """33 mm in steps of 8: five passes of one open run of 700 mm, at the bit's radius of 10 mm."""
    found = cuts(with_notch(notch_method="milled"))
    assert [p.bottom_z_mm for p in found] == [-8.0, -16.0, -24.0, -32.0, -33.0]
    assert {(p.offset_mm, p.run.path.length_mm, p.run.path.closed) for p in found} == {
        (10.0, 700.0, False)
    }
    assert all(p.run.free_start and p.run.free_end for p in found)


def test_length_and_time_of_a_notch():
    """Bit of 20 mm, spacing 5 mm: 15 mm from outside to the edge, 190 + 280 + 190 mm, 15 mm out.

    Each depth begins anew from above: 5 mm over the slab down at 10 mm/s, up at 50 mm/s. The
    limits of the machine are lifted, so that every way takes its length ÷ its feed.
    """
    plan = with_notch(notch_method="milled")
    paths = build_tool_paths(plan)
    moves = paths.moves
    mine = np.array([k >= 0 and p.step.operation is Operation.CUT
                     for k, p in ((k, paths.plan.passes[k]) for k in moves.pass_index.tolist())])  # fmt: skip
    for kind, length in ((MoveKind.CUT, 5 * 660.0), (MoveKind.LEAD, 5 * 30.0)):
        rows = mine & (moves.kind == kind)
        assert moves.length[rows].sum() == pytest.approx(length, rel=1e-12)
    down = 5 * 5.0 + 8.0 + 16.0 + 24.0 + 32.0 + 33.0
    plunge = mine & (moves.kind == MoveKind.PLUNGE)
    assert moves.length[plunge].sum() == pytest.approx(2.0 * down)
    fast = replace(
        motion_limits(plan.load.machine),
        axis_acceleration_mm_per_s2=(1e9,) * 3, axis_jerk_mm_per_s3=(math.inf,) * 3,
        path_acceleration_mm_per_s2=math.inf, centripetal_acceleration_mm_per_s2=math.inf,
    )  # fmt: skip
    seconds = compute_motion(moves, fast).seconds
    at_feed = mine & np.isfinite(moves.feed)
    # Feeds of the step: 30 mm/s along, 10 mm/s down, 50 mm/s up.
    expected = (5 * 690.0) / 30.0 + down / 10.0 + down / 50.0
    assert seconds[at_feed].sum() == pytest.approx(expected, rel=1e-3)


def test_bit_goes_down_clear_of_the_edge():
    """Its side is the spacing away from the front when it goes down and when it comes up."""
    paths = build_tool_paths(with_notch(notch_method="milled"))
    moves = paths.moves
    passes = paths.plan.passes
    for k in np.flatnonzero((moves.kind == MoveKind.PLUNGE) & (moves.pass_index >= 0)).tolist():
        if passes[moves.pass_index[k]].step.operation is Operation.CUT:
            assert moves.end[k, 1] == pytest.approx(500.0 - 10.0 - 5.0)


def left_by(paths, operations):
    """Return how far the walls are inside the drawn ones, every 5 mm off the corners [mm]."""
    moves, passes = paths.moves, paths.plan.passes
    at = np.array(
        [(850.0, y) for y in np.arange(505.0, 690.0, 5.0)]
        + [(x, 700.0) for x in np.arange(865.0, 1140.0, 5.0)]
        + [(1150.0, y) for y in np.arange(505.0, 690.0, 5.0)]
    )
    left = np.full(len(at), np.inf)
    for k, p in enumerate(passes):
        rows = (moves.pass_index == k) & (moves.kind >= MoveKind.LEAD) & (moves.length > 0.0)
        if p.step.operation in operations and p.bottom_z_mm <= -31.0 and rows.any():
            way = Segments(moves.start[rows, :2], moves.end[rows, :2], moves.bulge[rows])
            away = way.distance(at[:, :1], at[:, 1:]).min(axis=1)
            left = np.minimum(left, away - 0.5 * paths.plan.load.diameter_mm(p.step.tool))
    return at, left


def test_stock_of_a_polished_notch_is_taken_off_by_the_drum():
    """1 mm left where the drum of 60 mm comes, none 30 mm beside the corners; drawn size after."""
    paths = build_tool_paths(with_notch("eased", notch_method="milled"))
    at, left = left_by(paths, {Operation.CUT})
    y = at[:, 1]
    wall = (at[:, 0] == 850.0) & (y < 700.0 - 30.0 - 5.0)
    assert left[wall] == pytest.approx(np.full(wall.sum(), 1.0))
    corner = (at[:, 0] == 850.0) & (y > 700.0 - 30.0 + 1.0)
    assert left[corner] == pytest.approx(np.zeros(corner.sum()), abs=1e-9)
    _, done = left_by(paths, {Operation.CUT, Operation.ROUGH})
    assert done == pytest.approx(np.zeros(len(done)), abs=1e-9)


def test_roughing_takes_what_each_edge_has():
    """2.5 mm of the saw in three passes of 1 mm outside, 1 mm of the bit in one in the notch."""
    plan = with_notch("eased", notch_method="milled")
    rough = [p for p in plan.passes if p.step.operation is Operation.ROUGH]
    by_length = {round(p.run.path.length_mm): p.count for p in rough}
    assert by_length == {700: 1, 350 + 600 + 1000 + 600 + 350: 3}
    together = [p for p in with_notch("eased").passes if p.step.operation is Operation.ROUGH]
    assert {p.count for p in together} == {3}
    assert all(p.run.path.closed for p in together)


def test_notch_without_a_cut_step_is_told_and_made_with_the_outline():
    """The finding of a cutout without a cut step, for the notch."""
    catalogue = a_catalogue(
        steps=[s for s in STEPS if s.operation is not Operation.CUT],
        shop={"notch_method": "milled"},
    )
    plan = with_notch("eased", catalogue=catalogue)
    (finding,) = plan.findings
    assert finding.code == "no-cut-step"
    assert "A notch of part p01" in finding.message
    rough = [p for p in plan.passes if p.step.operation is Operation.ROUGH]
    assert {p.count for p in rough} == {3}


def test_waste_of_each_notch_is_taken_out():
    """One slug of 30 s and a stop of 20 s."""
    (stop,) = with_notch(notch_method="milled").stops
    assert (stop.reason, stop.parts, stop.seconds) == ("slug", (0,), 50.0)


@pytest.mark.parametrize(("key", "layer", "milled"), [
    ("", "", False), ('notch_method = "milled"', "", True), ("", 'notch = "milled"', True),
    ('notch_method = "milled"', 'notch = "outline"', False),
])  # fmt: skip
def test_notch_of_a_drawing(key, layer, milled, tmp_path):
    """An apron sink drawn over the front; the keys in shop.toml and layers.toml."""
    (tmp_path / "shop.toml").write_text(key, encoding="utf-8")
    (tmp_path / "layers.toml").write_text(
        '[[layer]]\nmatch = "TOP"\nmeans = "outline"\n'
        f'[[layer]]\nmatch = "APRON"\nmeans = "cutout"\nprofile = "flat-polish"\n{layer}\n',
        encoding="utf-8",
    )
    doc = ezdxf.new("R2010")
    doc.units = ezdxf.units.MM
    space = doc.modelspace()
    for tag, (x, y, w, h) in (("TOP", (400, 400, 2000, 650)), ("APRON", (900, 300, 700, 500))):
        points = [(x, y), (x + w, y), (x + w, y + h), (x, y + h)]
        space.add_lwpolyline(points, close=True, dxfattribs={"layer": tag})
    doc.saveas(tmp_path / "apron.dxf")
    found = estimate([tmp_path / "apron.dxf"], shop=tmp_path)
    bits = [v for v in found.cycle.visits if v.operation == "cut"]
    assert bool(bits) is milled
    if milled:
        # Bit of 22 mm, 1 mm of stock but 37.5 mm beside the corners: depths of 12 mm, 34 or
        # less; in each 400 + 700 + 400 mm less two corners of 11 mm, and four steps of 1 mm.
        depths = math.ceil((found.load.parts[0].actual_mm + 2.0) / 12.0)
        way = 2 * (400.0 - 11.0) + 700.0 - 22.0 + 4 * 1.0
        assert bits[0].cut_path_mm == pytest.approx(depths * way)
