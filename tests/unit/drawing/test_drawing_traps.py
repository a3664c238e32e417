"""The traps of real files, one test each, on small drawings of our own."""

from __future__ import annotations

import math

import pytest
from scipy.special import ellipe, ellipeinc
from support.dxf_text import (
    arc,
    block,
    circle,
    document,
    ellipse,
    entity,
    insert,
    layer,
    line,
    lwpolyline,
    point,
    polyline,
    spline,
)

from edgetime.errors import DrawingUnitsUnknown, UsageError


def total(drawing):
    """Sum all lengths [mm]."""
    return sum(drawing.lengths_by_layer_mm().values())


def test_1_circles_are_no_beziers(read_text):
    """A full circle is not the 1.4e-4 too long that cubic Béziers make of it."""
    drawing = read_text(document(circle((0, 0, 0), 1000.0)))
    assert total(drawing) == pytest.approx(2000 * math.pi, rel=1e-15)


def test_2_frame_vertices_are_skipped(read_text):
    """A spline-fit polyline runs through its fitted vertices (8), not its frame's (16)."""
    frame = [(0, 0, 0, 0.0, 16), (100, 900, 0, 0.0, 16), (200, 0, 0, 0.0, 16)]
    curve = [(0, 0, 0, 0.0, 8), (100, 100, 0, 0.0, 8), (200, 0, 0, 0.0, 8)]
    drawing = read_text(document(polyline(frame + curve, flags=4)))
    assert total(drawing) == pytest.approx(200 * math.sqrt(2.0), rel=1e-15)


def test_3_unclamped_splines_start_at_their_degreeth_knot(read_text):
    """Four equally spaced collinear points and uniform knots: one third of the polygon."""
    points = [(0, 0, 0), (300, 0, 0), (600, 0, 0), (900, 0, 0)]
    drawing = read_text(document(spline(3, points, range(8))))
    # By the uniform cubic basis (1, 4, 1)/6 the curve runs from x = 300 to x = 600.
    assert drawing.start[0] == pytest.approx((300, 0), abs=1e-9)
    assert drawing.end[-1] == pytest.approx((600, 0), abs=1e-9)
    assert total(drawing) == pytest.approx(300.0, rel=1e-9)


def test_3_periodic_splines_close(read_text):
    """A periodic spline with its points wrapped is a closed loop."""
    square = [(0, 0, 0), (400, 0, 0), (400, 400, 0), (0, 400, 0)]
    drawing = read_text(document(spline(3, square + square[:3], range(11), flags=3)))
    assert drawing.entities[0].closed
    # Each quarter's middle, by the weights (1, 23, 23, 1)/48 of the uniform cubic basis at
    # t = 1/2, lies 11/12 of the square's half side from its centre.
    reach = 200 * 11 / 12
    assert drawing.bounds_mm() == pytest.approx(
        (200 - reach, 200 - reach, 200 + reach, 200 + reach), abs=0.02
    )


def test_4_ellipses_with_the_longer_minor_axis(read_text):
    """A ratio above 1 is read as it is written: half-axes 100 and 250."""
    whole = read_text(document(ellipse((0, 0, 0), (100, 0, 0), 2.5)))
    assert total(whole) == pytest.approx(1000 * ellipe(1 - 0.16), rel=1e-9)
    assert whole.bounds_mm() == pytest.approx((-100, -250, 100, 250), abs=0.02)
    part = read_text(document(ellipse((0, 0, 0), (100, 0, 0), 2.5, 0.0, 1.0)))
    assert part.start[0] == pytest.approx((100.0, 0.0), abs=1e-9)
    assert part.end[-1] == pytest.approx((100 * math.cos(1), 250 * math.sin(1)), abs=1e-9)
    # From the short half-axis: 250 E(t, m) with m = 1 - (100/250)².
    assert total(part) == pytest.approx(250 * ellipeinc(1.0, 1 - 0.16), rel=1e-9)


@pytest.mark.parametrize("off", [0.0, 1e-16, -4e-16, 9e-16])
def test_4_full_turns_with_rounding(read_text, off):
    """An ellipse or arc over 2π give or take a rounding is whole, not nothing."""
    start = 3.0
    drawing = read_text(
        document(ellipse((0, 0, 0), (100, 0, 0), 0.5, start, start + 2 * math.pi + off))
    )
    assert total(drawing) == pytest.approx(400 * ellipe(0.75), rel=1e-9)
    ring = read_text(document(arc((0, 0, 0), 100.0, 30.0, 390.0 + off)))
    assert total(ring) == pytest.approx(200 * math.pi, rel=1e-14)


def test_5_a_scale_of_zero_counts_as_one(read_text):
    """Old exports write 0 for the Z scale of an INSERT."""
    drawing = read_text(
        document(insert("B", scale=(2, 2, 0)), blocks=[block("B", lwpolyline([(0, 0), (100, 0)]))])
    )
    assert total(drawing) == 200.0


def everything(**kw):
    """Draw one of each entity that carries a length, 100 mm each but the round ones."""
    return [
        line((0, 0, 0), (100, 0, 0), **kw),
        arc((0, 0, 0), 50.0, 0.0, 180.0, **kw),
        circle((0, 0, 0), 50.0, **kw),
        lwpolyline([(0, 0), (100, 0)], **kw),
        polyline([(0, 0, 0), (100, 0, 0)], **kw),
        ellipse((0, 0, 0), (50, 0, 0), 0.5, **kw),
        spline(1, [(0, 0, 0), (100, 0, 0)], [0, 0, 1, 1], **kw),
        insert("B", **kw),
    ]


EVERYTHING_MM = 500.0 + 150.0 * math.pi + 200.0 * ellipe(0.75)


@pytest.mark.parametrize("version", ["AC1015", "AC1027", "AC1009", None])
def test_6_missing_subclass_markers(read_text, version):
    """Entities without subclass markers carry their geometry all the same, in any version."""
    content = document(
        *everything(marked=False),
        blocks=[block("B", line((0, 0, 0), (100, 0, 0), marked=False))],
        version=version,
    )
    marked = document(
        *everything(), blocks=[block("B", line((0, 0, 0), (100, 0, 0)))], version=version
    )
    for text in (marked, content):
        drawing = read_text(text)
        assert total(drawing) == pytest.approx(EVERYTHING_MM, rel=1e-9)


def test_7_layer_names_escaped(read_text):
    """An escaped letter in a layer's name is the letter."""
    drawing = read_text(document(line((0, 0, 0), (100, 0, 0), layer=r"\U+00D8 35")))
    assert list(drawing.lengths_by_layer_mm()) == ["Ø 35"]


@pytest.mark.parametrize(
    ("page", "encoding", "name"),
    [
        ("ANSI_949", "cp949", "싱크"),
        ("ANSI_1253", "cp1253", "ΠΑΓΚΟΣ"),
        ("ANSI_1252", "cp1252", "Ø-35 größe"),
        ("ANSI_1252", "utf-8", "싱크 Ø"),
        ("ANSI_1253", "utf-8-sig", "ΠΑΓΚΟΣ"),
    ],
)
@pytest.mark.parametrize("version", ["AC1009", "AC1015"])
def test_7_code_pages(read_text, page, encoding, name, version):
    """Layer names are read by the header's code page, or as UTF-8 when the bytes are that."""
    content = document(
        line((0, 0, 0), (100, 0, 0), layer=name),
        layers=[layer(name, colour=-1)],
        header=[(9, "$DWGCODEPAGE"), (3, page)],
        version=version,
    )
    drawing = read_text(content.encode(encoding))
    assert drawing.lengths_by_layer_mm() == {name: 100.0}
    assert drawing.layers[name] == "off"


def test_7_new_files_in_an_old_code_page(read_text):
    """A file of a version that is UTF-8 by rule, but is not, is read by its code page, and said."""
    content = document(
        line((0, 0, 0), (100, 0, 0), layer="größe"),
        header=[(9, "$DWGCODEPAGE"), (3, "ANSI_1252")],
        version="AC1027",
    )
    drawing = read_text(content.encode("cp1252"))
    assert list(drawing.lengths_by_layer_mm()) == ["größe"]
    assert [f.code for f in drawing.findings] == ["drawing-repaired"]


def test_7_layer_names_do_not_tell_case(read_text):
    """SINK, Sink and sink are one layer, spelt as the layer table has it."""
    drawing = read_text(
        document(
            line((0, 0, 0), (100, 0, 0), layer="SINK"),
            line((0, 0, 0), (100, 0, 0), layer="sink"),
            layers=[layer("Sink")],
        )
    )
    assert drawing.lengths_by_layer_mm() == {"Sink": 200.0}


def test_7_a_missing_layer_is_zero(read_text):
    """An entity that names no layer is on layer 0."""
    text = document(line((0, 0, 0), (100, 0, 0))).replace("  8\nA\n", "")
    assert read_text(text).lengths_by_layer_mm() == {"0": 100.0}


DOWN = (0, 0, -1)


def test_8_extruded_outlines_close(read_text):
    """A tab of lines in world and an arc in mirrored coordinates meets end to end.

    With normal (0, 0, -1) x is mirrored: the half circle about (100, 0) to its right is
    written about (-100, 0), and its angles run the other way.
    """
    for bow in (
        arc((-100, 0, 0), 50.0, 90.0, 270.0, extrusion=DOWN),
        lwpolyline([(-100, 50, 1.0), (-100, -50)], extrusion=DOWN),
        polyline([(-100, 50, 0, 1.0), (-100, -50, 0)], extrusion=DOWN),
    ):
        drawing = read_text(
            document(line((100, -50, 0), (0, -50, 0)), line((0, 50, 0), (100, 50, 0)), bow)
        )
        ends = {tuple(p) for p in drawing.start[2:].round(9)} | {
            tuple(p) for p in drawing.end[2:].round(9)
        }
        assert {(100.0, 50.0), (100.0, -50.0)} <= ends
        assert drawing.bounds_mm() == pytest.approx((0, -50, 150, 50), abs=1e-9)
        assert total(drawing) == pytest.approx(200 + 50 * math.pi, rel=1e-14)


def test_8_extruded_circles_and_inserts_are_mirrored(read_text):
    """CIRCLE and INSERT with normal (0, 0, -1) stand on the other side of the Y axis."""
    ring = read_text(document(circle((-200, 10, 0), 50.0, extrusion=DOWN)))
    assert ring.bounds_mm() == pytest.approx((150, -40, 250, 60), abs=1e-9)
    shown = read_text(
        document(
            insert("B", (-200, 10, 0), extrusion=DOWN),
            blocks=[block("B", line((0, 0, 0), (100, 0, 0)))],
        )
    )
    assert shown.start.tolist() == [[200.0, 10.0]]
    assert shown.end.tolist() == [[100.0, 10.0]]


def test_8_world_entities_are_not_mirrored(read_text):
    """ELLIPSE and 3D POLYLINE are in world coordinates whatever their normal."""
    drawing = read_text(document(ellipse((200, 0, 0), (50, 0, 0), 0.5, 0.0, 1.0, extrusion=DOWN)))
    assert drawing.start[0] == pytest.approx((250, 0), abs=1e-9)
    # The minor axis is normal × major: downward, so the arc runs clockwise.
    assert drawing.end[-1] == pytest.approx((200 + 50 * math.cos(1), -25 * math.sin(1)), abs=1e-9)
    chain = read_text(document(polyline([(10, 0, 0), (110, 0, 0)], space=True, extrusion=DOWN)))
    assert chain.start.tolist() == [[10.0, 0.0]]


def test_9_arcs_under_an_unequal_scale(read_text):
    """A circle under an INSERT of scales 2 and 1 is an ellipse, and its ends meet."""
    drawing = read_text(
        document(insert("B", scale=(2, 1, 1)), blocks=[block("B", circle((0, 0, 0), 50.0))])
    )
    assert total(drawing) == pytest.approx(400 * ellipe(0.75), rel=1e-9)
    assert drawing.entities[0].closed


@pytest.mark.parametrize("insunits", [None, 0, 99])
def test_10_unitless_drawings_are_refused_with_their_size(read_text, insunits):
    """A drawing that does not say its unit is refused, with its size in mm and in inches."""
    content = document(line((0, 0, 0), (60, 0, 0)), line((0, 0, 0), (0, 25, 0)), insunits=insunits)
    with pytest.raises(DrawingUnitsUnknown) as caught:
        read_text(content)
    assert "60.0 x 25.0 mm" in str(caught.value)
    assert "1524 x 635 mm" in str(caught.value)
    assert "--drawing-units" in str(caught.value)
    drawing = read_text(content, drawing_units="in")
    assert (drawing.units, drawing.mm_per_unit) == ("in", 25.4)
    assert total(drawing) == pytest.approx(85 * 25.4)


def test_10_measurement_alone_says_no_unit(read_text):
    """$MEASUREMENT only says which hatch patterns to use."""
    header = [(9, "$MEASUREMENT"), (70, 1)]
    with pytest.raises(DrawingUnitsUnknown):
        read_text(document(line((0, 0, 0), (60, 0, 0)), insunits=None, header=header))


def test_10_metres_that_are_millimetres(read_text):
    """A kitchen of 3 km is flagged, and the likely unit named; the option overrides, with a note."""
    content = document(line((0, 0, 0), (3000, 0, 0)), insunits=6)
    (finding,) = read_text(content).findings
    assert finding.code == "drawing-large"
    assert "in mm it would be 3000 mm" in finding.message
    (note,) = read_text(content, drawing_units="mm").findings
    assert (note.code, note.severity) == ("units-overridden", "note")


def test_10_inches_that_are_called_millimetres(read_text):
    """A top of 60 mm is smaller than a hand; in inches it would be 1524 mm."""
    (finding,) = read_text(document(line((0, 0, 0), (60, 0, 0)))).findings
    assert finding.code == "drawing-small"
    assert "in in it would be 1524 mm" in finding.message


def test_10_unknown_options_are_refused(read_text):
    """Only the five units are accepted."""
    with pytest.raises(UsageError, match="furlong"):
        read_text(document(), drawing_units="furlong")


def test_11_decimal_commas(read_text):
    """Numbers with decimal commas are read, and said."""
    content = document(line((0, 0, 0), (100.5, 0, 0)), circle((0, 0, 0), 12.25))
    drawing = read_text(content.replace(".", ","))
    assert total(drawing) == pytest.approx(100.5 + 24.5 * math.pi, rel=1e-15)
    assert [f.code for f in drawing.findings] == ["drawing-repaired"]
    assert "decimal comma" in drawing.findings[0].message


def test_11_text_after_the_end(read_text):
    """What stands after the end mark is passed over with a note."""
    content = document(line((0, 0, 0), (100, 0, 0)))
    drawing = read_text(content + "made by nobody\n\x1a\n")
    assert total(drawing) == 100.0
    assert [str(f.severity) for f in drawing.findings] == ["note"]


def test_11_several_entities_sections(read_text):
    """All ENTITIES sections count."""
    content = (
        document(line((0, 0, 0), (100, 0, 0)), end="")
        + document(line((0, 0, 0), (0, 70, 0), layer="B")).partition("ENDSEC\n")[2]
    )
    drawing = read_text(content)
    assert drawing.lengths_by_layer_mm() == {"A": 100.0, "B": 70.0}


def test_11_paper_space_is_not_read(read_text):
    """Entities of a paper-space sheet (67 = 1) are no parts."""
    drawing = read_text(
        document(line((0, 0, 0), (100, 0, 0)), line((0, 0, 0), (900, 0, 0), common=[(67, 1)]))
    )
    assert total(drawing) == 100.0


def test_11_dimensions_and_hatches_are_not_counted(read_text):
    """Their lines are no edges, whatever their blocks draw."""
    hatch = entity("HATCH", "AcDbHatch", *point(10, (0, 0, 0)), (2, "SOLID"), (91, 0), (98, 0))
    size = entity("DIMENSION", "AcDbDimension", (70, 0))
    drawing = read_text(document(line((0, 0, 0), (100, 0, 0)), size, hatch))
    assert total(drawing) == 100.0
    assert drawing.findings[-1].message == "Not counted: 1 DIMENSION, 1 HATCH."
