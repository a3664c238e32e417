"""Other formats under whatever name are refused with the way to a DXF."""

from __future__ import annotations

import struct
import zipfile
import zlib

import pytest
from support.dxf_text import block, document, insert, lwpolyline

from edgetime.drawing import read_drawing
from edgetime.errors import DrawingUnreadable


def _png() -> bytes:
    head = struct.pack(">IIBBBBB", 1, 1, 8, 0, 0, 0, 0)
    chunk = b"IHDR" + head
    return (
        b"\x89PNG\r\n\x1a\n" + struct.pack(">I", 13) + chunk + struct.pack(">I", zlib.crc32(chunk))
    )


# Beginnings as the formats' own specifications give them.
OTHERS = {
    "DWG": (b"AC1032\0\0\0\0\0\x06\x01" + bytes(200), "a DWG", "release 2000 to 2018"),
    "old DWG": (b"AC1009\0\0\0\0\0\0" + bytes(200), "a DWG", "release 2000 to 2018"),
    "PDF": (b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n", "a PDF", "redraw it"),
    "SVG": (b'<?xml version="1.0"?>\n<svg xmlns="http://www.w3.org/2000/svg">', "an SVG", "DXF"),
    "XML": (b'<?xml version="1.0"?>\n<part/>', "an XML file", "DXF"),
    "STEP": (b"ISO-10303-21;\nHEADER;\n", "a STEP or IFC file", "top view"),
    "IGES": (b"A countertop".ljust(72) + b"S      1\n", "an IGES file", "top view"),
    "DGN": (b"\x08\x09\xfe\x02" + bytes(40), "a DGN", "DXF"),
    "compound": (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(40), "a compound file", "DXF"),
    "3DM": (b"3D Geometry File Format        5", "a 3DM model", "top view"),
    "SKP": (b"\xff\xfe\xff\x0eS\0k\0", "an SKP model", "top view"),
    "STL": (b"solid top\n facet normal 0 0 1\n", "a mesh", "top view"),
    "PNG": (_png(), "a picture", "redraw it"),
    "JPEG": (b"\xff\xd8\xff\xe0\0\x10JFIF\0", "a picture", "redraw it"),
    "gzip": (b"\x1f\x8b\x08\0\0\0\0\0", "an archive", "Unpack"),
    "G-code": (b"%\nO1000 (TOP)\nN10 G21 G90\nG0 X0 Y0\n", "a machine program", "made from"),
    "G-code, bare": (b"G21\nG0 X0 Y0\n", "a machine program", "made from"),
    "plotter": (b"IN;SP1;PU0,0;PD100,0;", "a plotter file", "redraw it"),
    "JSON": (b'{"parts": []}', "a JSON file", "DXF"),
    "letter": (b"Dear reader,\nthis is a letter.\n", "not a DXF", "Export the drawing as DXF"),
}


@pytest.mark.parametrize("suffix", [".dxf", ".dwg", ""])
@pytest.mark.parametrize("name", OTHERS)
def test_other_formats_are_refused_by_name(tmp_path, name, suffix):
    """One error: what the file is, its path, and how to come by a DXF."""
    data, what, remedy = OTHERS[name]
    path = tmp_path / f"top{suffix}"
    path.write_bytes(data)
    with pytest.raises(DrawingUnreadable) as caught:
        read_drawing(path, drawing_units="mm")
    assert what in caught.value.what
    assert remedy in caught.value.remedy
    assert caught.value.where.path == str(path)


def test_zipped_drawing_is_refused(tmp_path):
    """A ZIP that a program made is told as an archive."""
    path = tmp_path / "top.dxf"
    with zipfile.ZipFile(path, "w") as packed:
        packed.writestr("inside.dxf", document(lwpolyline([(0, 0), (1, 1)])))
    with pytest.raises(DrawingUnreadable, match="an archive"):
        read_drawing(path)


@pytest.mark.parametrize("start", ["", "999\nmade by hand\n", "\n"])
def test_drawings_are_no_other_format(tmp_path, start):
    """A DXF with a comment before its first section is read."""
    path = tmp_path / "top.dxf"
    path.write_text(start + document(lwpolyline([(0, 0), (300, 0), (300, 200)], closed=True)))
    assert read_drawing(path).lengths_by_layer_mm()["A"] == pytest.approx(500.0 + 130000.0**0.5)


@pytest.mark.parametrize(
    ("scale", "axes"), [((0, 0, 0), "X and Y"), ((0, 1, 1), "in X;"), ((1, 0.0, 1), "in Y;")]
)
def test_block_without_a_scale_is_left_out(tmp_path, scale, axes):
    """An insert with the scale 0 shows nothing, instead of the block as it is defined."""
    square = block("P", lwpolyline([(0, 0), (100, 0), (100, 100), (0, 100)], closed=True))
    path = tmp_path / "top.dxf"
    sound = insert("P", (500, 0, 0), scale=(2, 2, 0))
    path.write_text(document(insert("P", scale=scale), sound, blocks=[square]))
    drawing = read_drawing(path)
    # Of the sound one, flat in Z as old programs write it, 4 x 200 mm.
    assert drawing.lengths_by_layer_mm() == {"A": pytest.approx(800.0)}
    (finding,) = (f for f in drawing.findings if f.code == "block-flat")
    assert axes in finding.message
