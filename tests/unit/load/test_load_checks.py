"""Findings on the table: off it, too large for it, overlapping, too narrow."""

from __future__ import annotations

import math
import subprocess
import sys

import numpy as np
import pytest
from support import FOLDER
from support.catalogue import a_catalogue, a_cutout, a_load, a_part, a_rectangle
from support.shapes import rectangle

from edgetime.geometry.path import Path
from edgetime.load.checks import SAG_MM, load_findings, sampled


def codes(load):
    """Return the codes of a load's findings."""
    return [f.code for f in load.findings]


def test_part_beyond_the_table_is_found_with_its_excess():
    """The table is 4000 mm long; a part to 4200 mm is 200 mm off it."""
    load = a_load(a_rectangle(x=3200.0), a_rectangle(y=1500.0, name="p02"))
    assert codes(load) == ["part-off-table"]
    finding = load.findings[0]
    assert "1 of 2 parts" in finding.message
    assert "200 mm: p01" in finding.message
    assert finding.where.part == "p01"


def test_part_left_of_the_table_is_found():
    """Negative coordinates are off the table as well."""
    assert codes(a_load(a_rectangle(x=-30.0))) == ["part-off-table"]


def test_load_larger_than_the_table_says_both_sizes():
    """3 m of parts on a table of 2.5 m width cannot fit wherever they are placed."""
    load = a_load(a_rectangle(depth=3000.0, y=0.0))
    assert codes(load)[0] == "load-larger-than-table"
    assert "1000 × 3000 mm" in load.findings[0].message
    assert "4000 × 2500 mm" in load.findings[0].message


def test_overlap_is_measured():
    """Two parts that share 100 × 600 mm overlap by 600 cm²."""
    load = a_load(a_rectangle(x=0.0), a_rectangle(x=900.0, name="p02"))
    assert codes(load) == ["parts-overlap"]
    assert "600.0 cm²" in load.findings[0].message
    assert 900.0 < load.findings[0].where.x_mm < 1000.0


def test_parts_edge_to_edge_do_not_overlap():
    """A shared line is no overlap: the two sides of a seam are drawn so."""
    assert codes(a_load(a_rectangle(x=0.0), a_rectangle(x=1000.0, name="p02"))) == []


def test_boxes_that_overlap_around_parts_that_do_not():
    """Two triangles of one square touch along its diagonal; their boxes are the same."""
    lower = a_part(Path.from_bulges([(0, 0), (900, 0), (0, 900)], closed=True), "eased")
    upper = a_part(
        Path.from_bulges([(930, 30), (930, 930), (30, 930)], closed=True), "eased", name="p02"
    )
    assert codes(a_load(lower, upper)) == []


def test_part_inside_the_cutout_of_another_does_not_overlap():
    """A sink's slug used for a part of its own lies in the opening."""
    frame = a_part(
        rectangle(1500.0, 1000.0), "eased", a_cutout(rectangle(800.0, 600.0, x=300.0, y=200.0))
    )
    inside = a_rectangle(width=500.0, depth=300.0, x=400.0, y=300.0, name="p02")
    assert codes(a_load(frame, inside)) == []


@pytest.mark.parametrize(("depth", "found"), [(99.0, True), (100.5, False), (400.0, False)])
def test_narrow_part_is_found_at_the_machine_s_limit(depth, found):
    """The machine holds from 100 mm."""
    load = a_load(a_rectangle(width=2000.0, depth=depth))
    assert (codes(load) == ["part-too-narrow"]) is found
    if found:
        assert "99.0 mm wide" in load.findings[0].message


def test_width_is_measured_across_a_turned_part():
    """A strip of 80 mm at 30° is 80 mm wide, whatever its bounds."""
    c, s = math.cos(math.pi / 6), math.sin(math.pi / 6)
    turn = np.array([[c, -s], [s, c]])
    strip = Path.from_bulges(rectangle(1500.0, 80.0).points @ turn.T + [100.0, 0.0], closed=True)
    load = a_load(a_part(strip, "eased"))
    assert codes(load) == ["part-too-narrow"]
    assert "80.0 mm wide" in load.findings[0].message


def test_chords_of_the_checks_keep_to_the_arcs():
    """Sampled points lie on a circle of 500 mm, and the chords sag no more than stated."""
    path = Path.from_bulges([(500.0, 0.0), (-500.0, 0.0)], [1.0, 1.0], closed=True)
    points = sampled(path)
    assert np.hypot(*points.T) == pytest.approx(np.full(len(points), 500.0), abs=1e-9)
    middles = 0.5 * (points[:-1] + points[1:])
    assert np.hypot(*middles.T).min() >= 500.0 - SAG_MM - 1e-9
    assert len(points) < 400


def test_chords_of_the_flattest_arcs():
    """Bulge 2e-9 over 10 km keeps one chord: the sagitta b c / 2 is 0.01 mm."""
    path = Path.from_bulges([(0.0, 0.0), (1e7, 0.0), (0.0, 500.0)], [2e-9, 0.0, 0.0], closed=True)
    assert len(sampled(path)) == 4


def test_many_parts_are_named_up_to_a_number():
    """One finding stands for all parts off the table and names the first of them."""
    parts = [a_rectangle(x=5000.0, y=700.0 * i, name=f"p{i:02d}") for i in range(9)]
    machine = a_catalogue(machine={"table_mm": (9000.0, 9000.0)}).machines["bench"]
    assert load_findings(parts, machine) == ()
    machine = a_catalogue(machine={"table_mm": (2000.0, 9000.0)}).machines["bench"]
    (finding,) = load_findings(parts, machine)
    assert "9 of 9 parts" in finding.message
    assert "p05 and 3 more" in finding.message


def test_plain_loads_need_no_polygon_library():
    """Wide parts that lie apart are checked by bounds and areas alone, which start faster."""
    code = (
        "import sys;"
        "from support.catalogue import a_load, a_rectangle;"
        "a_load(a_rectangle(), a_rectangle(x=2000.0, name='p02'));"
        "print('shapely' in sys.modules)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=FOLDER
    )
    assert done.stdout.strip() == "False"
