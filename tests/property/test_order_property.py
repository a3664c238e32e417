"""The running order measured in time: turned, mirrored, shuffled and as drawn."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import ezdxf
import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from support.catalogue import a_cutout, a_drawing, a_part
from support.shapes import rectangle

from edgetime.errors import EdgetimeError
from edgetime.estimating import estimate
from edgetime.estimating.pipeline import estimate_take_off, motion_limits
from edgetime.geometry.path import Path
from edgetime.load.options import Options
from edgetime.motion import compute_motion
from edgetime.passes import plan_passes
from edgetime.takeoff.parts import TakeOff
from edgetime.tooling import load_catalogue
from edgetime.toolpath import build_tool_paths

FINISHES = ("eased", "flat-polish", "half-bullnose", "unfinished")


@cache
def shipped():
    """Return the shipped catalogue."""
    return load_catalogue(None)


def estimated(*parts, **options):
    """Return the estimate of parts with the shipped catalogue."""
    return estimate_take_off(TakeOff((a_drawing(*parts),)), shipped(), Options(**options))


def arcs(x, y, radius, begin, count, hand=1):
    """Return a circle of equal arcs that begins at an angle [rad]."""
    angle = begin + hand * 2.0 * math.pi * np.arange(count) / count
    points = np.column_stack([x + radius * np.cos(angle), y + radius * np.sin(angle)])
    bulge = hand * math.tan(0.5 * math.pi / count)
    return Path.from_bulges(points, np.full(count, bulge), closed=True)


@pytest.mark.parametrize("machine", ["small", "medium", "large"])
@example(1e-7, 2, 1e-7, "short-travel")
@given(
    st.floats(0.0, 2.0 * math.pi), st.integers(2, 7), st.floats(0.0, 2.0 * math.pi),
    st.sampled_from(["short-travel", "as-drawn"]),
)  # fmt: skip
@settings(max_examples=6, deadline=None)
def test_turning_a_circle_about_its_centre_changes_no_time(machine, begin, count, hole, order):
    """A table of 900 mm with a round opening, wherever its arcs begin and however many they are."""
    times = [
        estimated(
            a_part(
                arcs(900.0, 800.0, 450.0, a, n),
                "eased",
                a_cutout(arcs(1000.0, 850.0, 150.0, b, n + 1, -1), "flat-polish"),
            ),
            machine=machine,
            order=order,
        ).cycle.total_s
        for a, b, n in ((0.0, 0.0, 2), (begin, hole, count))
    ]
    assert times[1] == pytest.approx(times[0], rel=1e-6)


@pytest.mark.parametrize("begin", [0.0, 0.25, 0.5, 0.75])
def test_no_other_start_on_a_circle_is_quicker(begin):
    """All starts every 5°, tried one by one: none gains more than a thousandth of the cycle."""
    found = estimated(a_part(arcs(900.0, 800.0, 450.0, 2.0 * math.pi * begin, 2), "eased"))
    plan = plan_passes(found.load)
    limits = motion_limits(found.load.machine)
    length = 2.0 * math.pi * 450.0
    every = []
    for at in np.arange(72) / 72.0 * length:
        passes = tuple(replace(p, run=replace(p.run, begin_mm=float(at))) for p in plan.passes)
        paths = build_tool_paths(replace(plan, passes=passes, drawn=()))
        every.append(compute_motion(paths.moves, limits).total_s)
    assert found.motion.total_s <= min(every) * 1.001
    assert max(every) > found.motion.total_s * 1.01


@st.composite
def loads(draw):
    """Return one to five parts in rows: rectangles, rounds and L-shapes, some mirrored."""
    parts = []
    mirrored = draw(st.booleans())
    cells = draw(st.permutations(range(6)))[: draw(st.integers(1, 5))]
    for i, cell in enumerate(cells):
        x, y = 200.0 + 1050.0 * (cell % 3), 150.0 + 880.0 * (cell // 3)
        kind = draw(st.sampled_from(["rectangle", "rounded", "round", "ell"]))
        width, depth = draw(st.floats(250.0, 850.0)), draw(st.floats(250.0, 750.0))
        if kind == "round":
            radius = 0.5 * min(width, depth)
            path = arcs(x + radius, y + radius, radius, draw(st.floats(0.0, 6.0)), 3)
        elif kind == "ell":
            a, b = 0.45 * width, 0.5 * depth
            points = [(0, 0), (width, 0), (width, b), (a, b), (a, depth), (0, depth)]
            path = Path.from_bulges([(x + u, y + v) for u, v in points], closed=True)
        else:
            path = rectangle(width, depth, x=x, y=y, radius=60.0 if kind == "rounded" else 0.0)
        cutouts = []
        if kind != "ell" and draw(st.booleans()):
            name = draw(st.sampled_from(["flat-polish", "unfinished"]))
            middle = (x + 0.5 * min(width, depth), y + 0.5 * min(width, depth))
            cutouts.append(a_cutout(arcs(*middle, 60.0, draw(st.floats(0.0, 6.0)), 2, -1), name))
        profiles = [draw(st.sampled_from(FINISHES)) for _ in range(len(path))]
        if kind == "round":
            profiles = [profiles[0]] * len(path)
        holes = [(x + 30.0, y + 30.0, 12.0)] if kind == "rectangle" and draw(st.booleans()) else []
        if mirrored:
            path = in_mirror(path)
            profiles = profiles[::-1]
            cutouts = [
                a_cutout(in_mirror(c.contour.path), c.contour.edges[0].profile) for c in cutouts
            ]
            holes = [(3600.0 - u, v, d) for u, v, d in holes]
        parts.append(a_part(path, profiles, *cutouts, holes=holes, name=f"p{i:02d}"))
    return parts


def in_mirror(path):
    """Return a path mirrored at x = 1800 mm, the stone on the left again."""
    points = path.points[:-1] * np.array([-1.0, 1.0]) + np.array([3600.0, 0.0])
    flipped = Path.from_bulges(points, -path.bulges, closed=True)
    return flipped.reversed()


@given(loads(), st.sampled_from(["small", "medium", "large"]))
@settings(max_examples=60, deadline=None)
def test_default_order_is_never_slower_than_as_drawn(parts, machine):
    """The whole cycle, on random loads of one to five parts."""
    try:
        drawn = estimated(*parts, machine=machine, order="as-drawn").cycle.total_s
    except EdgetimeError:
        return
    assert estimated(*parts, machine=machine).cycle.total_s <= drawn + 1e-6


def shapes(rng):
    """Return the curves of a random load: layer, kind and figures."""
    out = []
    for cell in rng.permutation(6)[: rng.integers(1, 6)].tolist():
        x, y = 200.0 + 1050.0 * (cell % 3), 150.0 + 880.0 * (cell // 3)
        w, h = rng.uniform(300.0, 850.0), rng.uniform(300.0, 750.0)
        corners = [(x, y), (x + w, y), (x + w, y + h), (x, y + h)]
        kind = str(rng.choice(["lines", "closed", "circle", "ellipse"]))
        names = [str(n) for n in rng.choice(["EASED", "FLAT-POLISH", "WALL"], 4)]
        if kind == "lines":
            out += [(n, "line", (corners[i - 1], corners[i])) for i, n in enumerate(names)]
        elif kind == "closed":
            out.append(("EASED", "closed", corners))
        else:
            out.append(("EASED", kind, ((x + w / 2, y + h / 2), w / 2, h / 2)))
        if rng.random() < 0.6:
            a, b = x + w / 2, y + h / 2
            sink = [(a - 60, b - 50), (a + 60, b - 50), (a + 60, b + 50), (a - 60, b + 50)]
            out.append((str(rng.choice(["HOB", "SINK"])), "closed", sink))
        for k in range(int(rng.integers(0, 4)) if kind in {"lines", "closed"} else 0):
            out.append(("TAP", "circle", ((x + 40.0 + 60.0 * k, y + h - 40.0), 17.5, 17.5)))
    return out


def write(curves, path):
    """Write curves to a DXF file in the order given, so that their handles follow it."""
    doc = ezdxf.new("R2010")
    doc.units = ezdxf.units.MM
    space = doc.modelspace()
    for layer, kind, figures in curves:
        on = {"layer": layer}
        if kind == "line":
            space.add_line(*figures, dxfattribs=on)
        elif kind == "closed":
            space.add_lwpolyline(figures, close=True, dxfattribs=on)
        elif kind == "circle" or figures[1] == figures[2]:
            space.add_circle(figures[0], min(figures[1:]), dxfattribs=on)
        else:
            centre, a, b = figures
            axis, ratio = ((a, 0.0), b / a) if a >= b else ((0.0, b), a / b)
            space.add_ellipse(centre, axis, ratio, dxfattribs=on)
    doc.saveas(path)
    return path


@pytest.mark.parametrize("seed", range(16))
def test_default_order_does_not_depend_on_the_order_of_entities(seed, tmp_path):
    """The same curves drawn in three orders take the same time, and none more than as drawn."""
    rng = np.random.default_rng(seed)
    curves = shapes(rng)
    times = []
    for _ in range(3):
        path = write([curves[i] for i in rng.permutation(len(curves))], tmp_path / "load.dxf")
        try:
            times.append(estimate([path], machine="large").cycle.total_s)
        except EdgetimeError:
            return
        drawn = estimate([path], machine="large", order="as-drawn").cycle.total_s
        assert times[-1] <= drawn + 1e-6
    assert times == pytest.approx([times[0]] * 3, rel=1e-9)


@pytest.mark.parametrize("angle", [90.0, 137.0, 180.0, 270.0])
def test_round_table_takes_the_same_time_however_its_drawing_is_turned(angle, tmp_path):
    """A circle of 900 mm in a block that is turned about its centre."""
    times = []
    for turned in (0.0, angle):
        doc = ezdxf.new("R2010")
        doc.units = ezdxf.units.MM
        doc.blocks.new("TABLE").add_circle((0.0, 0.0), 450.0, dxfattribs={"layer": "EASED"})
        doc.modelspace().add_blockref("TABLE", (900.0, 800.0), dxfattribs={"rotation": turned})
        doc.saveas(tmp_path / "table.dxf")
        times.append(estimate([tmp_path / "table.dxf"]).cycle.total_s)
    assert times[1] == pytest.approx(times[0], rel=1e-6)
