"""Files that are no drawings, or damaged ones: one clear error, or a reading with findings."""

from __future__ import annotations

import hashlib
import logging
import os
import struct
import sys
import warnings
from pathlib import Path

import pytest
from scipy.special import ellipe
from support.dxf_text import (
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
    text,
)

from edgetime.drawing import read_drawing, source
from edgetime.errors import DrawingUnreadable, EdgetimeError, LimitExceeded

SOUND = document(
    line((0, 0, 0), (100, 0, 0)),
    lwpolyline([(0, 0), (300, 0, 1.0), (300, 80)], closed=True),
    insert("B"),
    blocks=[block("B", circle((0, 0, 0), 50.0))],
    layers=[layer("A")],
)


def total(drawing):
    """Sum all lengths [mm]."""
    return sum(drawing.lengths_by_layer_mm().values())


def as_binary(content):
    """Write the tags of a text DXF in the binary form of the DXF reference (R13 and later)."""
    out = [b"AutoCAD Binary DXF\r\n\x1a\x00"]
    lines = content.split("\n")
    for code_text, value in zip(lines[::2], lines[1::2], strict=False):
        code = int(code_text)
        out.append(struct.pack("<H", code))
        if 10 <= code <= 59 or 210 <= code <= 239:
            out.append(struct.pack("<d", float(value)))
        elif 60 <= code <= 79:
            out.append(struct.pack("<h", int(value)))
        elif 90 <= code <= 99:
            out.append(struct.pack("<i", int(value)))
        else:
            out.append(value.encode() + b"\0")
    return b"".join(out)


def test_the_digest_is_of_the_bytes(read_text):
    """The digest is the SHA-256 of the file as it lies there."""
    assert read_text(SOUND).digest == hashlib.sha256(SOUND.encode()).hexdigest()


@pytest.mark.parametrize("ends", ["\r\n", "\r", "\r\r\n"])
def test_line_ends_of_all_systems(read_text, ends):
    """Carriage returns, alone, doubled or with line feeds, change nothing."""
    assert total(read_text(SOUND.replace("\n", ends))) == total(read_text(SOUND))


@pytest.mark.parametrize("encoding", ["utf-16", "utf-8-sig"])
def test_marked_unicode(read_text, encoding):
    """Byte order marks are understood."""
    assert total(read_text(SOUND.encode(encoding))) == total(read_text(SOUND))


def test_binary_files_are_read(read_text):
    """The binary form gives what the text form gives, the exchanged axes of ellipses too."""
    assert total(read_text(as_binary(SOUND))) == total(read_text(SOUND))
    long_minor = document(ellipse((0, 0, 0), (100, 0, 0), 2.5))
    assert total(read_text(as_binary(long_minor))) == pytest.approx(1000 * ellipe(0.84), rel=1e-9)


def test_a_binary_file_cut_off_is_refused(read_text):
    """A binary file that ends early is refused wherever it ends."""
    whole = as_binary(SOUND)
    for size in range(30, len(whole) - 40, 97):
        with pytest.raises(DrawingUnreadable):
            read_text(whole[:size])


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "empty"),
        (b" \r\n\t", "empty"),
        (b"hello, world", "not a DXF"),
        (b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n1 0 obj\n", "not a DXF"),
        (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "not a DXF"),
        (b"AC1027\0\0\0\0\0\1", "DWG"),
        (b"  0\nSECTION\n", "cut off"),
        (b"  0\nEOF\n", "damaged|no-geometry|No curve|ENTITIES"),
    ],
)
def test_what_is_no_drawing(read_text, content, says):
    """Other files are refused by what they are."""
    if content.endswith(b"EOF\n"):
        drawing = read_text(content)
        assert [f.code for f in drawing.findings] == ["no-geometry"]
        return
    with pytest.raises(DrawingUnreadable, match=says) as caught:
        read_text(content)
    assert caught.value.where.path.endswith("drawing.dxf")
    assert caught.value.exit_code == 3


def test_a_missing_file_that_is_no_drawing_may_be_one_to_write(tmp_path):
    """``--sheet set-up.pdf``: the remedy names -o, which it does not for a drawing."""
    for name, told in (("set-up.pdf", True), ("none.dxf", False)):
        with pytest.raises(DrawingUnreadable, match="no such file") as caught:
            read_drawing(tmp_path / name)
        assert ("after -o" in caught.value.remedy) is told


def test_paths_that_are_no_files(tmp_path):
    """A missing file, a folder and a name with a null are refused."""
    for path, says in (
        (tmp_path / "none.dxf", "no such file"),
        (tmp_path, "folder"),
        ("a\0b.dxf", "cannot be read"),
    ):
        with pytest.raises(DrawingUnreadable, match=says):
            read_drawing(path)


@pytest.mark.skipif(
    sys.platform == "win32" or (hasattr(os, "geteuid") and os.geteuid() == 0),
    reason="permissions do not bind this user",
)
def test_a_forbidden_file(tmp_path):
    """A file without read permission is refused."""
    path = tmp_path / "locked.dxf"
    path.write_text(SOUND)
    path.chmod(0)
    with pytest.raises(DrawingUnreadable, match="permission"):
        read_drawing(path)


def test_an_unreadable_file(tmp_path, monkeypatch):
    """An error of the system on reading is told as one message."""
    path = tmp_path / "broken.dxf"
    path.write_text(SOUND)

    def fail(_self, _mode):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("pathlib.Path.open", fail)
    with pytest.raises(DrawingUnreadable, match="Permission denied"):
        read_drawing(path)


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="there is no such device")
def test_a_device_is_refused():
    """A device may have no end; it is not read at all."""
    with pytest.raises(DrawingUnreadable, match="device"):
        read_drawing("/dev/zero")


def test_a_name_that_is_empty():
    """An empty name is no name of the folder one is in."""
    with pytest.raises(DrawingUnreadable, match="empty"):
        read_drawing("")


def test_a_file_too_large(read_text, monkeypatch):
    """The size limit is checked before reading."""
    monkeypatch.setattr(source, "MAX_FILE_BYTES", 100)
    with pytest.raises(LimitExceeded, match="at most 100"):
        read_text(SOUND)


def test_a_text_file_cut_off_within_its_geometry_is_refused(read_text):
    """Whatever line the file ends at before ENTITIES ends, nothing is priced."""
    lines = SOUND.splitlines(keepends=True)
    for count in range(1, len(lines) - 4, 3):
        with pytest.raises(DrawingUnreadable):
            read_text("".join(lines[:count]))


def test_a_file_cut_off_after_its_geometry_is_read(read_text):
    """Without end mark, or cut off in the closing objects, the geometry is whole: a finding."""
    whole = total(read_text(SOUND))
    without = SOUND.removesuffix("  0\nEOF\n")
    objects = without + "  0\nSECTION\n  2\nOBJECTS\n  0\nDICTIONARY\n  5\nC\n100\nAcDbDic"
    for content in (without, objects):
        drawing = read_text(content)
        assert total(drawing) == whole
        assert [f.code for f in drawing.findings] == ["drawing-repaired"]
        assert "end mark" in drawing.findings[0].message


def test_a_line_lost_in_the_middle_is_recovered_or_refused(read_text):
    """With a line missing, tags shift: the file is mended with a finding, or refused."""
    lines = SOUND.splitlines(keepends=True)
    outcomes = set()
    for gone in range(0, len(lines), 5):
        try:
            drawing = read_text("".join(lines[:gone] + lines[gone + 1 :]))
        except EdgetimeError as error:
            outcomes.add(error.code)
        else:
            outcomes.add("read")
            if abs(total(drawing) - total(read_text(SOUND))) > 1e-6:
                assert drawing.findings
    assert "drawing-unreadable" in outcomes


def test_damage_beside_the_geometry_is_passed_over(read_text):
    """A hatch that lacks what it needs does not cost the drawing its lines."""
    hatch = entity("HATCH", "AcDbHatch", *point(10, (0, 0, 0)), (2, "SOLID"))
    drawing = read_text(
        document(
            line((0, 0, 0), (100, 0, 0)),
            hatch,
            insert("B"),
            blocks=[block("B", circle((0, 0, 0), 50.0), hatch)],
            layers=[layer("A", colour=-1)],
        )
    )
    assert len(drawing.entities) == 2
    assert drawing.layers["A"] == "off"
    assert drawing.findings[0].code == "drawing-repaired"


def test_a_drawing_without_curves_is_an_error_finding(read_text):
    """Texts alone, or nothing: the drawing comes back with no lengths and an error finding."""
    for content in (document(), document(text("note", (0, 0, 0)))):
        drawing = read_text(content)
        assert drawing.lengths_by_layer_mm() == {}
        assert [(f.code, str(f.severity)) for f in drawing.findings] == [("no-geometry", "error")]


def test_reading_says_nothing_on_the_screen(read_text, capfd):
    """The library's warnings and log stay off the screen, and logging is left as it was."""
    log = logging.getLogger("ezdxf")
    before = log.disabled
    with warnings.catch_warnings():
        warnings.simplefilter("default")
        read_text(SOUND.replace("AcDbCircle", "AcDbNonsense"))
        with pytest.raises(DrawingUnreadable):
            read_text("  0\nSECTION\n")
    assert capfd.readouterr() == ("", "")
    assert log.disabled is before


def test_texts_keep_their_letters(read_text):
    """Letters beyond the basic plane and escaped ones come out whole."""
    content = document(
        text(r"Spüle \U+00D8 35 😀", (1, 2, 0)),
        line((0, 0, 0), (100, 0, 0)),
        version="AC1027",
    )
    assert read_text(content).texts[0].text == "Spüle Ø 35 😀"
