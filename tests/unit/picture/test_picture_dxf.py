"""A plan as DXF reads back to the lengths that were taken off."""

from __future__ import annotations

import ezdxf
import pytest
from support.estimates import two_tops
from support.kitchens import write_kitchen

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
