"""Openings measured after their last pass, from the ways of the tools' centres."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from support.catalogue import (
    PROFILES,
    STEPS,
    TOOLS,
    a_catalogue,
    a_cutout,
    a_drawing,
    a_load,
    a_part,
    a_rectangle,
)
from support.shapes import circle, rectangle

from edgetime.geometry.measure import point_at
from edgetime.geometry.path import Path
from edgetime.geometry.segments import Segments
from edgetime.load import make_load
from edgetime.moves import MoveKind
from edgetime.passes import plan_passes
from edgetime.takeoff.parts import TakeOff
from edgetime.tooling import Operation, load_catalogue
from edgetime.toolpath import build_tool_paths

OPENING = rectangle(500.0, 300.0, x=700.0, y=650.0, radius=60.0)
NAMES = tuple(p.name for p in PROFILES)
SHIPPED = tuple(sorted(load_catalogue(None).profiles))


def left_on_wall(paths, edge, at_mm, *, before=0.0, operations=None):
    """Return how far the wall is inside the drawn edge at places along it [mm].

    A tool's side takes away all stone within its radius of where its centre runs; the wall is
    as far from the edge as the nearest centre is too far. Only moves at full depth count.

    Parameters
    ----------
    paths : ToolPaths
        Of one part with one cutout.
    edge : Path
        The drawn edge.
    at_mm : (m,) array
        Places along it [mm].
    before : float
        What lies on the edge before the first pass [mm].
    operations : collection of Operation, optional
        Which count; all but gauging when omitted.
    """
    moves, plan = paths.moves, paths.plan
    points = point_at(edge, at_mm)
    left = np.full(len(points), before)
    for k, p in enumerate(plan.passes):
        if p.run.contour != 1 or p.step.operation in {Operation.CORE, Operation.GAUGE}:
            continue
        if operations is not None and p.step.operation not in operations:
            continue
        if plan.visits[p.visit].side or p.bottom_z_mm > -plan.load.parts[0].actual_mm:
            continue
        rows = (moves.pass_index == k) & np.isin(moves.kind, [MoveKind.CUT, MoveKind.LEAD])
        rows &= moves.length > 0.0
        if not rows.any():
            continue
        way = Segments(moves.start[rows, :2], moves.end[rows, :2], moves.bulge[rows])
        away = way.distance(points[:, :1], points[:, 1:]).min(axis=1)
        left = np.minimum(left, away - 0.5 * plan.load.diameter_mm(p.step.tool))
    return left


def places(path, count=720):
    """Return places all around a closed path [mm]."""
    return (np.arange(count) + 0.5) * path.length_mm / count


def part_with(path, profiles, method=None):
    """Return a rectangular part with one cutout."""
    return replace(a_rectangle(), cutouts=(a_cutout(path, profiles, method=method),))


@cache
def shipped():
    """Return the shipped catalogue."""
    return load_catalogue(None)


@pytest.mark.parametrize("stack", ["standard", "fast-metal", "marble", "sintered"])
@pytest.mark.parametrize("profile", SHIPPED)
@pytest.mark.parametrize("method", ["milled", "precut"])
def test_opening_of_each_profile_ends_at_its_drawn_size(method, profile, stack):
    """After the last pass the wall is where it is drawn, with every shipped stack.

    A precut opening has stock only where roughing or a seam wheel is there to take it off.
    """
    part = part_with(OPENING, profile, method)
    stone = {"marble": "marble", "sintered": "sintered"}.get(stack, "granite")
    load = make_load(TakeOff((a_drawing(part),)), shipped(), stack=stack, stone=stone)
    paths = build_tool_paths(plan_passes(load))
    edge = part.cutouts[0].contour.path
    mine = {p.step.operation for p in paths.plan.passes if p.run.contour == 1}
    taken = {Operation.ROUGH, Operation.SEAM} & mine
    before = math.inf if method == "milled" else (1.0 if taken else 0.0)
    left = left_on_wall(paths, edge, places(edge), before=before)
    assert left == pytest.approx(np.zeros(len(left)), abs=1e-9)


@pytest.mark.parametrize(("profile", "after_cut"), [("flat-polish", 1.0), ("unfinished", 0.0)])
def test_what_the_cut_leaves(profile, after_cut):
    """1 mm for roughing on a polished opening, nothing on a hob's 560 x 490 that stays as cut."""
    hob = rectangle(560.0, 490.0, x=700.0, y=550.0, radius=40.0)
    part = part_with(hob, profile, "milled")
    load = make_load(TakeOff((a_drawing(part),)), shipped())
    paths = build_tool_paths(plan_passes(load))
    edge = part.cutouts[0].contour.path
    left = left_on_wall(paths, edge, places(edge), before=math.inf, operations={Operation.CUT})
    assert left == pytest.approx(np.full(len(left), after_cut), abs=1e-9)


def size_of(paths):
    """Return width and height of the slot a bit leaves, from the bounds of its centre [mm]."""
    moves, plan = paths.moves, paths.plan
    rows = moves.kind == MoveKind.CUT
    cuts = [k for k, p in enumerate(plan.passes) if p.step.operation is Operation.CUT]
    rows &= np.isin(moves.pass_index, cuts)
    diameter = plan.load.diameter_mm(plan.passes[cuts[0]].step.tool)
    return np.ptp(np.vstack([moves.start[rows, :2], moves.end[rows, :2]]), axis=0) + diameter


def test_hob_opening_measures_what_is_drawn():
    """560 x 490 unfinished, bit of 22 mm: its centre runs in 538 x 468."""
    hob = rectangle(560.0, 490.0, x=700.0, y=550.0, radius=40.0)
    load = make_load(TakeOff((a_drawing(part_with(hob, "unfinished")),)), shipped())
    assert size_of(build_tool_paths(plan_passes(load))) == pytest.approx([560.0, 490.0])


def test_round_cutout_that_no_bit_bores_measures_what_is_drawn():
    """A hole of 44 mm that became a cutout: the bit of 22 mm runs on a circle of 22 mm."""
    part = part_with(circle(950.0, 800.0, 22.0), "unfinished")
    load = make_load(TakeOff((a_drawing(part),)), shipped())
    paths = build_tool_paths(plan_passes(load))
    edge = part.cutouts[0].contour.path
    left = left_on_wall(paths, edge, places(edge, 72), before=math.inf)
    assert left == pytest.approx(np.zeros(72), abs=1e-9)


def test_corner_asks_for_the_bit_s_radius_alone():
    """A corner of 11.5 mm admits a bit of 10 + 1 mm clearance; with 1 mm of stock it would not."""
    path = rectangle(500.0, 300.0, x=700.0, y=650.0, radius=11.5)
    paths = build_tool_paths(plan_passes(a_load(part_with(path, "unfinished"))))
    assert [f.code for f in paths.findings] == []
    tight = rectangle(500.0, 300.0, x=700.0, y=650.0, radius=9.0)
    paths = build_tool_paths(plan_passes(a_load(part_with(tight, "unfinished"))))
    (finding,) = paths.findings
    assert "needs 11.0 mm (10.0 mm + 1.0 mm clearance)" in finding.message


def test_one_edge_polished_and_three_not():
    """The stock lies along the polished edge alone, as far as the drum comes; the rest is to size.

    Bit 20 mm with 1 mm of stock, drum 60 mm: in a sharp corner it stops 30 mm short of it.
    """
    path = rectangle(500.0, 300.0, x=700.0, y=650.0)
    part = part_with(path, ["eased", "unfinished", "unfinished", "unfinished"])
    paths = build_tool_paths(plan_passes(a_load(part)))
    edge = part.cutouts[0].contour.path
    at = places(edge, 1600)
    x, y = point_at(edge, at).T
    # The polished edge is that whose profile is eased.
    (eased,) = (e for e in part.cutouts[0].contour.edges if e.profile == "eased")
    assert eased.length_mm == 300.0
    low = float(edge.lengths[: eased.first].sum())
    along = at - low
    after = left_on_wall(paths, edge, at, before=math.inf, operations={Operation.CUT})
    middle = (along > 30.0 + 10.0) & (along < 270.0 - 10.0)
    assert after[middle] == pytest.approx(np.full(middle.sum(), 1.0))
    corner = (np.abs(x - 700.0) < 10.0) | (np.abs(x - 1200.0) < 10.0)
    corner &= (np.abs(y - 650.0) < 10.0) | (np.abs(y - 950.0) < 10.0)
    ends = ((along > 0.0) & (along < 30.0)) | ((along > 270.0) & (along < 300.0))
    other = ((along < 0.0) | (along > 300.0) | ends) & ~corner
    assert after[other] == pytest.approx(np.zeros(other.sum()), abs=1e-9)
    done = left_on_wall(paths, edge, at, before=math.inf)
    assert done[~corner] == pytest.approx(np.zeros((~corner).sum()), abs=1e-9)


def test_length_of_a_mixed_cut():
    """Bit 20 mm, 1 mm of stock on 300 - 2 x 30 mm: the rectangle at 10 mm and two steps of 1 mm."""
    path = rectangle(500.0, 300.0, x=700.0, y=650.0)
    part = part_with(path, ["eased", "unfinished", "unfinished", "unfinished"])
    paths = build_tool_paths(plan_passes(a_load(part)))
    moves, plan = paths.moves, paths.plan
    for k, p in enumerate(plan.passes):
        if p.step.operation is Operation.CUT:
            rows = (moves.pass_index == k) & (moves.kind == MoveKind.CUT)
            assert moves.length[rows].sum() == pytest.approx(2.0 * (480.0 + 280.0) + 2.0)


@pytest.mark.parametrize("radius", [24.0, 30.5, 31.0, 45.0])
def test_corners_that_the_drum_does_not_reach_are_cut_to_size(radius):
    """Drum 60 mm with 1 mm of clearance: it goes into corners of 31 mm; tighter ones the bit cuts."""
    path = rectangle(500.0, 300.0, x=700.0, y=650.0, radius=radius)
    part = part_with(path, "eased")
    paths = build_tool_paths(plan_passes(a_load(part)))
    edge = part.cutouts[0].contour.path
    left = left_on_wall(paths, edge, places(edge, 2000), before=math.inf)
    assert left == pytest.approx(np.zeros(2000), abs=1e-9)
    after = left_on_wall(
        paths, edge, places(edge, 2000), before=math.inf, operations={Operation.CUT}
    )
    fits = radius >= 31.0
    assert bool((after < 0.5).any()) is not fits
    assert after.max() == pytest.approx(1.0)


def without(operation):
    """Return the small catalogue without the steps of an operation."""
    return a_catalogue(steps=[s for s in STEPS if s.operation is not operation])


@pytest.mark.parametrize(
    ("catalogue", "profile"),
    [
        (without(Operation.ROUGH), "eased"),
        (without(Operation.SEAM), "seam"),
        (a_catalogue(steps=[STEPS[0], STEPS[2], STEPS[1], *STEPS[3:]]), "eased"),
        (a_catalogue(steps=[replace(s, applies_to=("round",)) if s.operation is Operation.ROUGH
                            else s for s in STEPS]), "eased"),
        (a_catalogue(tools=[t for t in TOOLS if t.name != "drum"]), "eased"),
        (a_catalogue(tools=[replace(t, diameter_mm=700.0) if t.name == "drum" else t
                            for t in TOOLS]), "eased"),
        (a_catalogue(), "mitre"),
        (a_catalogue(), "unheard-of"),
    ],
    ids=["no rough step", "no seam step", "rough before cut", "rough for another family",
         "no drum", "drum too large", "made elsewhere", "unknown profile"],
)  # fmt: skip
def test_step_that_does_not_come_leaves_no_stock(catalogue, profile):
    """Whatever keeps the roughing away, the bit cuts to size."""
    part = part_with(OPENING, profile)
    paths = build_tool_paths(plan_passes(a_load(part, catalogue=catalogue)))
    edge = part.cutouts[0].contour.path
    left = left_on_wall(paths, edge, places(edge), before=math.inf, operations={
        Operation.CUT, Operation.ROUGH, Operation.SEAM})  # fmt: skip
    if profile == "unheard-of":
        # The catalogue has no such profile, but a drum that works all profiles roughs it.
        assert Operation.ROUGH in {p.step.operation for p in paths.plan.passes}
    assert left == pytest.approx(np.zeros(len(left)), abs=1e-9)


@pytest.mark.parametrize(("method", "offsets"), [("milled", [25.0]), ("precut", [25.0])])
def test_seam_in_an_opening_has_the_stock_of_what_opened_it(method, offsets):
    """1 mm after the bit, 0.5 mm after the water jet: not the saw's 2.5 mm."""
    plan = plan_passes(a_load(part_with(OPENING, "seam", method)))
    seams = [p for p in plan.passes if p.step.operation is Operation.SEAM]
    assert [p.offset_mm for p in seams] == offsets
    stock = 1.0 if method == "milled" else 0.5
    assert seams[0].removed_mm2[0] == pytest.approx(stock * 31.0)


@pytest.mark.parametrize("seed", range(40))
def test_any_mix_of_profiles_ends_at_the_drawn_size(seed):
    """Random openings with random profiles a side: after the last pass no stock, and no gouge.

    Corners that the bit of 10 mm does not enter are left out.
    """
    rng = np.random.default_rng(seed)
    radius = float(rng.choice([0.0, 12.0, 25.0, 31.0, 60.0]))
    width, height = rng.uniform(160.0, 500.0), rng.uniform(130.0, 300.0)
    path = rectangle(width, height, x=700.0, y=650.0, radius=radius)
    profiles = [str(n) for n in rng.choice(["eased", "seam", "mitre", "unfinished"], len(path))]
    part = part_with(path, profiles)
    paths = build_tool_paths(plan_passes(a_load(part)))
    edge = part.cutouts[0].contour.path
    at = places(edge, 1500)
    left = left_on_wall(paths, edge, at, before=math.inf)
    assert left.min() >= -1e-6
    if radius == 0.0:
        x, y = point_at(edge, at).T
        near = np.minimum(np.abs(x - 700.0), np.abs(x - 700.0 - width)) < 10.0
        near &= np.minimum(np.abs(y - 650.0), np.abs(y - 650.0 - height)) < 10.0
        left = left[~near]
    assert left.max() <= 1e-6


@pytest.mark.parametrize("profile", ["unfinished", "eased"])
def test_outside_corner_in_an_opening(profile):
    """An L-shaped opening, three of its edges eased: the corner that juts out is rolled once."""
    points = [(700, 600), (1300, 600), (1300, 800), (1000, 800), (1000, 1000), (700, 1000)]
    path = Path.from_bulges([(float(x), float(y)) for x, y in points], closed=True)
    part = part_with(path, [profile, "unfinished", "eased", "unfinished", "eased", profile])
    paths = build_tool_paths(plan_passes(a_load(part)))
    edge = part.cutouts[0].contour.path
    at = places(edge, 1800)
    left = left_on_wall(paths, edge, at, before=math.inf)
    assert left.min() >= -1e-9
    points = point_at(edge, at)
    inner = [(700, 600), (1300, 600), (1300, 800), (1000, 1000), (700, 1000)]
    near = np.zeros(len(at), dtype=bool)
    for corner in inner:
        near |= (np.abs(points - corner) < 10.0).all(axis=1)
    assert left[~near].max() <= 1e-9


def test_outline_of_the_part_is_left_alone():
    """Only openings are cut; an outline has no pass of the bit."""
    part = a_part(rectangle(900.0, 600.0, x=500.0, y=500.0), "eased")
    plan = plan_passes(a_load(part))
    assert not [p for p in plan.passes if p.step.operation is Operation.CUT]
