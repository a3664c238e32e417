"""Tool paths against a published program pair.

Kramer, Proctor, Messina, *The NIST RS274/NGC Interpreter - Version 3*, NISTIR 6556 (2000):
Table 12 is a material edge, Table 13 the path of the centre of a tool of diameter 1 along it.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from support.catalogue import MACHINE
from support.plans import a_load, a_part, a_pass, a_plan, a_run, a_step, a_tool

from edgetime.geometry.path import Path
from edgetime.moves import MoveKind
from edgetime.tooling import Operation
from edgetime.toolpath import build_tool_paths

# Table 12 from A (2, 3), clockwise: an arc, a line, an arc, a line, an arc, a line, an arc.
EDGE = [(2.0, 3.0), (3.0, 2.0), (3.0, -1.0), (2.0, -2.0), (-2.0, -2.0), (-2.6, -0.2), (1.4, 2.8)]
BULGES = [-0.41421356237, 0.0, -0.41421356237, 0.0, -0.72075922005, 0.0, -0.16227766017]
# Table 13 from (2, 3.5): its vertices and the lengths of its segments.
CENTRE = [(2.0, 3.5), (3.5, 2.0), (3.5, -1.0), (2.0, -2.5), (-2.0, -2.5), (-2.9, 0.2), (1.1, 3.2)]
LENGTHS = [2.356194490, 3.0, 2.356194490, 4.0, 3.747137323, 5.0, 0.965251663]


def published_path(scale):
    """Return the cut of a tool of diameter 1 along the material edge, scaled up."""
    edge = Path.from_bulges(np.array(EDGE) * scale, BULGES, closed=True).reversed()
    edge = Path(edge.points + 100.0 * scale, edge.bulges, edge.lengths, True, edge.tags)
    load = a_load([a_part(edge)], tools=[a_tool(scale, shaft_mm=0.1)])
    step = a_step(feed_mm_per_s=scale)
    moves = build_tool_paths(a_plan(load, [a_pass(load, a_run(load), step)])).moves
    return moves, moves.kind == MoveKind.CUT


@pytest.mark.parametrize("scale", [1.0, 25.4])
def test_centre_path_of_the_published_contour(scale):
    """The centre passes the published vertices; the total is 12 + 3 π (derived from Table 13)."""
    moves, cut = published_path(scale)
    vertices = moves.end[cut, :2] / scale - 100.0
    for vertex in CENTRE:
        assert np.hypot(*(vertices - vertex).T).min() < 1e-8
    total = float(moves.length[cut].sum()) / scale
    assert total == pytest.approx(12.0 + 3.0 * math.pi, rel=1e-9)
    assert total == pytest.approx(21.424777961, abs=1e-8)


def test_segment_lengths_of_the_published_centre_path():
    """Each published segment is there; the one the run begins on is cut in two halves."""
    moves, cut = published_path(1.0)
    lengths = moves.length[cut]
    assert len(lengths) == 8
    found = sorted([*lengths[1:-1].tolist(), float(lengths[0] + lengths[-1])])
    assert found == pytest.approx(sorted(LENGTHS), abs=1e-8)


def test_material_edge_is_treated_once():
    """The edge treated is the published edge of 12 + 2 π (Table 12)."""
    moves, _ = published_path(1.0)
    assert float(moves.treated.sum()) == pytest.approx(18.283185307, abs=1e-8)


def test_feed_holds_for_the_centre_not_the_edge():
    """At one unit a second the cut lasts 21.4248 s, 17.2 % longer than along the edge (B.1)."""
    moves, cut = published_path(1.0)
    seconds = float((moves.length[cut] / moves.feed[cut]).sum())
    assert seconds / 18.283185307 == pytest.approx(1.171829, abs=1e-6)


def test_single_peck_feeds_from_the_approach_height():
    """Canned cycle G81 (NISTIR 3.5.16.2, example 1): traverse, traverse down, one feed of 1.3."""
    machine = replace(MACHINE, safe_z_mm=3.0, approach_z_mm=2.8, rack_mm=(1.0, 2.0))
    slab = Path.from_bulges([(0, 0), (9, 0), (9, 9), (0, 9)], closed=True)
    load = a_load([a_part(slab)], tools=[a_tool(1.0, shaft_mm=0.1)], machine=machine)
    hole = Path.from_bulges([(4.5, 5.0), (3.5, 5.0)], [-1.0, -1.0], closed=True)
    run = a_run(load, 0, -1, path=hole)
    step = a_step(operation=Operation.CORE)
    drilled = a_pass(load, run, step, offset_mm=0.0, bottom_z_mm=1.5)
    moves = build_tool_paths(a_plan(load, [drilled])).moves
    assert moves.end[:3].tolist() == [[4.0, 5.0, 3.0], [4.0, 5.0, 2.8], [4.0, 5.0, 1.5]]
    rapid = moves.kind[:2] == MoveKind.RAPID
    assert float(moves.length[:2][rapid].sum()) == pytest.approx(
        math.hypot(3.0, 3.0) + 0.2, rel=1e-12
    )
    assert float(moves.length[2]) == pytest.approx(1.3, rel=1e-12)
