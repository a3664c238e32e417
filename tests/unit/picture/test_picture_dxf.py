"""A plan as DXF reads back to the lengths that were taken off."""

from __future__ import annotations

import math
from itertools import pairwise

import ezdxf
import numpy as np
import pytest
from support.estimates import two_tops
from support.kitchens import write_kitchen

from edgetime.comparison.revisions import compare_revisions
from edgetime.drawing import read_drawing
from edgetime.estimating import read_take_off
from edgetime.moves import MoveKind
from edgetime.picture.dxf import layer_name, plan_dxf
from edgetime.tooling import load_catalogue


def lengths(path):
    return read_drawing(path).lengths_by_layer_mm()


def test_edges_read_back_to_the_same_lengths(tmp_path):
    """By layer, as the take-off has them by profile."""
    found = read_take_off([write_kitchen(tmp_path / "kitchen.dxf")], load_catalogue())
    out = tmp_path / "plan.dxf"
    out.write_bytes(plan_dxf(found))
    read = lengths(out)
    for profile, length in found.drawings[0].lengths_by_profile_mm.items():
        # The basin is an ellipse, written as arcs within 2e-3 mm of it.
        assert read[layer_name("edge", profile)] == pytest.approx(length, abs=5e-3)
    holes = sum(h.perimeter_mm for p in found.parts for h in p.holes)
    assert read["HOLE"] == pytest.approx(holes, abs=1e-9)
    assert ezdxf.readfile(out).units == ezdxf.units.MM


def test_tool_paths_are_those_of_the_moves(tmp_path):
    """Cut and lead by visit, on layers of their own; starts are numbered texts."""
    est = two_tops()
    out = tmp_path / "plan.dxf"
    out.write_bytes(plan_dxf(est))
    read, moves = lengths(out), est.paths.moves
    for v, visit in enumerate(est.cycle.visits):
        mine = (moves.visit == v) & (moves.kind == MoveKind.CUT)
        level = mine & (moves.start[:, 2] == moves.end[:, 2])
        if level.any():
            name = layer_name("path", f"{v + 1:02d}", visit.piece)
            assert read[name] == pytest.approx(float(moves.length[level].sum()), rel=1e-9)
    starts = [t for t in ezdxf.readfile(out).modelspace() if t.dxf.layer.startswith("START-")]
    assert len(starts) == sum(1 for row in est.order if row.x_mm is not None)


def test_names_of_layers_hold_what_dxf_allows():
    """A profiled wheel has a slash in its name."""
    assert layer_name("path", "01", "metal-1/eased") == "PATH-01-METAL-1_EASED"
    assert layer_name("edge", "a<b>|c") == "EDGE-A_B__C"


def test_an_inch_drawing_of_several_parts_and_mirrored_blocks_reads_back(tmp_path):
    """A block of 40 by 25 in as drawn, mirrored and turned, and a top of 30 by 20 in.

    The block's lower left corner has an arc of 4 in: 40 + 21 + 36 + 25 and a quarter of 8 pi.
    """
    doc = ezdxf.new("R2010")
    doc.header["$INSUNITS"] = 1
    block = doc.blocks.new("TOP 'A' (links) ä")
    corners = [(4, 0), (40, 0), (40, 25), (0, 25), (0, 4)]
    bulges = [0, 0, 0, 0, math.tan(math.pi / 8.0)]
    block.add_lwpolyline(
        [(x, y, b) for (x, y), b in zip(corners, bulges, strict=True)],
        format="xyb", close=True, dxfattribs={"layer": "Kante ä (vorn) #1"},
    )  # fmt: skip
    space = doc.modelspace()
    space.add_blockref(block.name, (0, 0))
    space.add_blockref(block.name, (100, 0), dxfattribs={"xscale": -1.0})
    space.add_blockref(block.name, (150, 50), dxfattribs={"rotation": 37.0})
    top = [(0, 100), (30, 100), (30, 120), (0, 120)]
    space.add_lwpolyline(top, close=True, dxfattribs={"layer": "Kante ä (vorn) #1"})
    path, out = tmp_path / "inches.dxf", tmp_path / "plan.dxf"
    doc.saveas(path)
    rules = ["Kante*=edge:flat-polish"]
    found = read_take_off([path], load_catalogue(layer_rules=rules))
    assert len(found.parts) == 4
    out.write_bytes(plan_dxf(found))
    want = 25.4 * (3.0 * (36 + 25 + 40 + 21 + 2.0 * math.pi) + 100.0)
    assert lengths(out)[layer_name("edge", "flat-polish")] == pytest.approx(want, abs=1e-6)
    assert ezdxf.readfile(out).units == ezdxf.units.MM
    # Taken off again, the plan has the same parts where they were.
    again = read_take_off([out], load_catalogue(layer_rules=["EDGE-FLAT-POLISH=edge:flat-polish"]))
    assert not compare_revisions(again, found).changed


def test_a_spline_reads_back_as_arcs_of_its_length(tmp_path):
    """A bowed front: the written arcs are as long as the spline within 0.01 mm."""
    doc = ezdxf.new("R2010")
    doc.header["$INSUNITS"] = 4
    space = doc.modelspace()
    space.add_open_spline([(0, 0), (300, -120), (700, -120), (1000, 0)],
                          dxfattribs={"layer": "FRONT"})  # fmt: skip
    rest = [(1000, 0), (1000, 600), (0, 600), (0, 0)]
    for a, b in pairwise(rest):
        space.add_line(a, b, dxfattribs={"layer": "REST"})
    path, out = tmp_path / "bow.dxf", tmp_path / "plan.dxf"
    doc.saveas(path)
    rules = ["FRONT=edge:eased", "REST=edge:flat-polish"]
    out.write_bytes(plan_dxf(read_take_off([path], load_catalogue(layer_rules=rules))))
    # Another route: the cubic Bezier curve with these control points, by a million chords.
    t = np.linspace(0.0, 1.0, 1_000_001)
    x = 3 * (1 - t) ** 2 * t * 300 + 3 * (1 - t) * t**2 * 700 + t**3 * 1000
    y = -120 * 3 * (1 - t) * t
    want = float(np.hypot(np.diff(x), np.diff(y)).sum())
    read = lengths(out)
    assert read[layer_name("edge", "eased")] == pytest.approx(want, abs=1e-2)
    assert read[layer_name("edge", "flat-polish")] == pytest.approx(2200.0, abs=1e-6)
