"""INSERT: maps, layers, visibility, arrays, rings and limits."""

from __future__ import annotations

import math
import time

import numpy as np
import pytest
from ezdxf.math import OCS
from scipy.special import ellipe
from support.dxf_text import (
    arc,
    block,
    circle,
    document,
    ellipse,
    insert,
    layer,
    line,
    lwpolyline,
    polyline,
    spline,
    tags,
    text,
)

from edgetime.drawing.affine import Affine, insert_map, ocs_axes
from edgetime.drawing.blocks import MAX_BLOCK_DEPTH, MAX_BLOCK_ENTITIES
from edgetime.errors import DrawingUnreadable, InputError, LimitExceeded

SLOT = [(0, 0), (300, 0, 1.0), (300, 80), (0, 80, 1.0)]
SLOT_LENGTH = 600.0 + 80.0 * math.pi


def total(drawing):
    """Sum all lengths [mm]."""
    return sum(drawing.lengths_by_layer_mm().values())


@pytest.mark.parametrize(
    "normal",
    [(0, 0, 1), (0, 0, -1), (1, 0, 0), (0, 1, 0), (0.01, 0.01, 1), (0.2, -0.5, 0.7), (0, 0, 5)],
)
def test_arbitrary_axes(normal):
    """Our axes of an entity's coordinate system equal those of an independent implementation."""
    axes = ocs_axes(normal)
    theirs = OCS(normal)
    expected = [tuple(theirs.ux), tuple(theirs.uy), tuple(theirs.uz)]
    found = axes or ((1, 0, 0), (0, 1, 0), (0, 0, 1))
    assert np.array(found) == pytest.approx(np.array(expected), abs=1e-15)


def test_insert_map_by_hand():
    """Scale about the base, turn, then move: (12, 5) by hand."""
    m = insert_map(
        Affine(1, 0, 0, 0, 1, 0, 0, 0, 1, 0, 0, 0),
        extrusion=None,
        insert=(10, 0, 0),
        rotation_deg=90.0,
        scale=(2, 3, 1),
        base=(1, 1, 0),
    )
    # (3.5, 1/3) - base = (2.5, -2/3); scaled (5, -2); turned by 90° (2, 5); moved (12, 5).
    assert m.point((3.5, 1 / 3, 0)) == pytest.approx((12.0, 5.0, 0.0), abs=1e-14)


@pytest.mark.parametrize("rotation", [0.0, 90.0, 33.3, -120.0, 450.0])
@pytest.mark.parametrize("scale", [(2, 2, 2), (-2, 2, 2), (2, -2, 1), (-2, -2, 1)])
def test_equal_scales_keep_arcs(read_text, rotation, scale):
    """Turned, scaled and mirrored alike, a slot stays lines and half circles and stays closed."""
    inserted = insert("SLOT", (50, 60, 0), scale=scale, rotation=rotation)
    drawing = read_text(
        document(inserted, blocks=[block("SLOT", lwpolyline(SLOT, closed=True), base=(7, 8, 0))])
    )
    assert total(drawing) == pytest.approx(2 * SLOT_LENGTH, rel=1e-14)
    (info,) = drawing.entities
    assert info.closed
    assert info.blocks == ("SLOT",)
    assert info.insert == 0
    turn = math.copysign(1.0, scale[0] * scale[1])
    assert drawing.bulge == pytest.approx([0.0, turn, 0.0, turn], abs=1e-15)
    a = math.radians(rotation)
    u, v = scale[0] * (300 - 7), scale[1] * (0 - 8)
    corner = (50 + u * math.cos(a) - v * math.sin(a), 60 + u * math.sin(a) + v * math.cos(a))
    assert drawing.end[0] == pytest.approx(corner, abs=1e-11)


@pytest.mark.parametrize(
    ("content", "ends"),
    [
        (arc((0, 0, 0), 100.0, 0.0, 90.0), ((300, 0), (0, 100))),
        (lwpolyline([(100, 0, math.tan(math.pi / 8)), (0, 100)]), ((300, 0), (0, 100))),
        (ellipse((0, 0, 0), (100, 0, 0), 1.0, 0.0, math.pi / 2), ((300, 0), (0, 100))),
    ],
)
def test_unequal_scales_make_ellipses(read_text, content, ends):
    """A quarter circle stretched threefold is a quarter ellipse of half-axes 300 and 100."""
    drawing = read_text(document(insert("Q", scale=(3, 1, 1)), blocks=[block("Q", content)]))
    assert total(drawing) == pytest.approx(300 * ellipe(1 - 1 / 9), rel=1e-9)
    assert drawing.start[0] == pytest.approx(ends[0], abs=1e-11)
    assert drawing.end[-1] == pytest.approx(ends[1], abs=1e-11)


def test_a_turned_insert_in_a_stretched_one(read_text):
    """A circle in a block turned by 45° within one stretched stays an ellipse of those half-axes."""
    inner = block("IN", circle((0, 0, 0), 50.0))
    outer = block("OUT", insert("IN", rotation=45.0))
    drawing = read_text(document(insert("OUT", scale=(4, 2, 1)), blocks=[inner, outer]))
    assert total(drawing) == pytest.approx(4 * 200 * ellipe(1 - 0.25), rel=1e-9)
    assert drawing.entities[0].blocks == ("OUT", "IN")
    assert drawing.entities[0].circle_diameter_mm is None


def test_splines_and_polylines_go_through_the_map(read_text):
    """Control points and vertices of a block are scaled unequally like any point."""
    drawing = read_text(
        document(
            insert("B", (10, 0, 0), scale=(3, 4, 1)),
            blocks=[
                block(
                    "B",
                    spline(1, [(0, 0, 0), (100, 100, 0)], [0, 0, 1, 1]),
                    polyline([(0, 0, 5), (100, 0, 5), (100, 100, 5)], space=True),
                )
            ],
        )
    )
    assert drawing.length.tolist() == pytest.approx([500.0, 300.0, 400.0], rel=1e-14)


def test_array_spacing_turns_but_does_not_scale(read_text):
    """Columns and rows of an arrayed INSERT stand apart by the spacing, turned with it."""
    arrayed = insert(
        "L", (5, 5, 0), scale=(2, 2, 1), rotation=90.0, array=(3, 2), spacing=(100.0, 40.0)
    )
    drawing = read_text(document(arrayed, blocks=[block("L", line((0, 0, 0), (10, 0, 0)))]))
    assert total(drawing) == pytest.approx(6 * 20.0)
    assert [e.insert for e in drawing.entities] == [0, 1, 2, 3, 4, 5]
    expected = {(5 - 40 * row, 5 + 100 * column) for row in range(2) for column in range(3)}
    assert {tuple(np.round(p, 9)) for p in drawing.start} == expected


def test_layer_zero_takes_the_layer_of_the_insert_at_every_level(read_text):
    """A block's entity on layer 0 counts for the INSERT that shows it, others for their own."""
    inner = block("IN", line((0, 0, 0), (100, 0, 0), layer="0"), line((0, 0, 0), (10, 0, 0)))
    middle = block("MID", insert("IN", layer="0"))
    outer = block("OUT", insert("IN", layer="EDGE"))
    drawing = read_text(
        document(
            insert("MID", layer="SINK"),
            insert("OUT", layer="SINK"),
            line((0, 0, 0), (1, 0, 0), layer="0"),
            blocks=[inner, middle, outer],
        )
    )
    assert drawing.lengths_by_layer_mm() == {"0": 1.0, "A": 20.0, "EDGE": 100.0, "SINK": 100.0}


def test_visibility(read_text):
    """Off, frozen and invisible are read but not shown; a frozen INSERT hides all it shows."""
    layers = [layer("OFF", colour=-3), layer("ICE", flags=1), layer("A"), layer("B")]
    shape = block("S", line((0, 0, 0), (100, 0, 0), layer="0"), line((0, 0, 0), (200, 0, 0)))
    drawing = read_text(
        document(
            line((0, 0, 0), (1, 0, 0), layer="off"),
            line((0, 0, 0), (2, 0, 0), layer="ICE"),
            line((0, 0, 0), (3, 0, 0), common=[(60, 1)]),
            insert("S", layer="OFF"),
            insert("S", layer="ICE"),
            insert("S", layer="B"),
            blocks=[shape],
            layers=layers,
        )
    )
    shown = [(e.layer, e.visible) for e in drawing.entities]
    assert shown == [
        ("OFF", False),
        ("ICE", False),
        ("A", False),
        ("OFF", False),
        ("A", True),
        ("ICE", False),
        ("A", False),
        ("B", True),
        ("A", True),
    ]
    assert {f.code for f in drawing.findings} == {"hidden-geometry"}
    assert drawing.layers["OFF"] == "off"
    assert drawing.layers["ICE"] == "frozen"
    assert total(drawing) == 906.0


def test_texts_of_blocks_and_attributes(read_text):
    """Texts in a block go through its map; an attribute stands in the INSERT's own place."""
    attribute = tags(
        (0, "ATTRIB"),
        (100, "AcDbEntity"),
        (8, "A"),
        (100, "AcDbText"),
        (10, "70.0"),
        (20, "80.0"),
        (30, "0.0"),
        (40, "5.0"),
        (1, "BAR 1"),
        (100, "AcDbAttribute"),
        (2, "NAME"),
        (70, "0"),
    )
    inserted = insert("B", (10, 10, 0), scale=(2, 2, 1)).replace("  2\nB\n", " 66\n1\n  2\nB\n")
    ended = tags((0, "SEQEND"), (5, "FFF"), (8, "A"))
    drawing = read_text(
        document(
            inserted + attribute + ended,
            text("loose", (1, 2, 0)),
            blocks=[block("B", text("inside", (5, 0, 0)), line((0, 0, 0), (50, 0, 0)))],
            insunits=4,
        )
    )
    found = {t.text: (t.x_mm, t.y_mm, t.insert) for t in drawing.texts}
    assert found == {"inside": (20.0, 10.0, 0), "BAR 1": (70.0, 80.0, 0), "loose": (1, 2, -1)}


def test_a_missing_block_is_a_finding(read_text):
    """An INSERT of what is not there is an error finding; the rest is read."""
    drawing = read_text(document(insert("GONE"), line((0, 0, 0), (100, 0, 0))))
    assert [f.code for f in drawing.findings] == ["block-missing"]
    assert total(drawing) == 100.0


def test_a_block_that_inserts_itself_is_refused(read_text):
    """A ring of inserts is an input error that names the chain."""
    ring = [block("ONE", insert("TWO")), block("TWO", insert("ONE"))]
    with pytest.raises(InputError) as caught:
        read_text(document(insert("ONE"), blocks=ring))
    assert isinstance(caught.value, DrawingUnreadable)
    assert "ONE > TWO > ONE" in str(caught.value)


@pytest.mark.parametrize(
    ("blocks", "shown"),
    [
        ([block("B", line((0, 0, 0), (1, 0, 0)))], insert("B", array=(1000, 1000))),
        ([block("B")], insert("B", array=(32767, 32767))),
        (
            [block("B0", line((0, 0, 0), (1, 0, 0)))]
            + [block(f"B{i}", insert(f"B{i - 1}", array=(10, 10))) for i in range(1, 40)],
            insert("B39"),
        ),
    ],
)
def test_a_million_inserts_are_refused_at_once(read_text, blocks, shown):
    """Arrays, plain or nested, are counted before they are shown."""
    began = time.perf_counter()
    with pytest.raises(LimitExceeded, match=str(MAX_BLOCK_ENTITIES)):
        read_text(document(shown, blocks=blocks))
    assert time.perf_counter() - began < 5.0


def test_deep_nesting_is_refused(read_text):
    """A chain of blocks deeper than the limit is refused, not a stack overflow."""
    deep = [block("D0", line((0, 0, 0), (1, 0, 0)))]
    deep += [block(f"D{i}", insert(f"D{i - 1}")) for i in range(1, 3 * MAX_BLOCK_DEPTH)]
    with pytest.raises(LimitExceeded, match=str(MAX_BLOCK_DEPTH)):
        read_text(document(insert(f"D{3 * MAX_BLOCK_DEPTH - 1}"), blocks=deep))


def test_an_insert_with_unusable_numbers_is_left_out(read_text):
    """NaN in an INSERT is a finding."""
    drawing = read_text(
        document(
            insert("B", (math.nan, 0, 0)),
            line((0, 0, 0), (100, 0, 0)),
            blocks=[block("B", line((0, 0, 0), (1, 0, 0)))],
        )
    )
    assert [f.code for f in drawing.findings] == ["entity-out-of-range"]
