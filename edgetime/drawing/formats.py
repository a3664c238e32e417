"""Files that are not DXF, recognised by how they begin, with the way from each to a drawing."""

from __future__ import annotations

import re
from typing import Final

_EXPORT: Final = (
    "Open it in the program it was made with and export the drawing as DXF, "
    "release 2000 to 2018, ASCII."
)
_MODEL: Final = (
    "Export the top view of each part as a 2D drawing: DXF, release 2000 to 2018, ASCII."
)
_PAGE: Final = (
    "Ask for the drawing it was printed from as DXF (release 2000 to 2018, ASCII), or redraw it "
    "to scale; lengths taken from a page are not exact."
)
_PACKED: Final = "Unpack it and name the DXF files in it."
_PROGRAM: Final = (
    "It moves a machine and holds no edges: name the drawing it was made from, as DXF."
)
_TEXT: Final = "Name the drawing itself, exported as DXF, release 2000 to 2018, ASCII."

_LOOKED_AT: Final = 4096
"""Bytes from the beginning that identify a format."""

_FORMATS: Final[tuple[tuple[str, str, str], ...]] = (
    # (how it begins, what it is, the way to a DXF); the special before the general.
    (r"A?[A-Z]C\d[.\d]\d\d?(?![\w.])|AC10\d\d", "a DWG", _EXPORT),
    (r"AutoCAD DXB", "a DXB", _EXPORT),
    (r"\(DWF V", "a DWF", _EXPORT),
    (r"[\s\S]{0,1024}?%PDF-", "a PDF", _PAGE),
    (r"%!PS|\xc5\xd0\xd3\xc6", "a PostScript page", _PAGE),
    (r"\x1bE|\x1b%-\d|(?:IN;|PS\d+;)+(?:SP|PU|PA)", "a plotter file", _PAGE),
    (
        r"\x89PNG|\xff\xd8\xff|GIF8|II\*\0|MM\0\*|BM[\s\S]{4}\0{4}|RIFF[\s\S]{4}WEBP",
        "a picture",
        _PAGE,
    ),
    (r"[\s\S]{4}ftyp(?:heic|heix|mif1|avif)", "a picture", _PAGE),
    (r"\s*ISO-10303-21|\s*ISO-10303-28", "a STEP or IFC file", _MODEL),
    (r".{72}S[ 0]*1\s", "an IGES file", _MODEL),
    (r"3D Geometry File Format", "a 3DM model", _MODEL),
    (r"\xff\xfe\xff\x0e", "an SKP model", _MODEL),
    (r"glTF|\s*solid\s[\s\S]*?\bfacet\b|\s*(?:#.*\n\s*)*v\s+-?\d|ply\s", "a mesh", _MODEL),
    (r"\d+ \d+ \d+ \d+\s+\d+ \S+[\s\S]*?ACIS|\*\*ABCDEFGHIJKLM", "a solid model", _MODEL),
    (r"[\x08\xc8]\x09\xfe\x02", "a DGN", _EXPORT),
    (
        r"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1",
        "a compound file (a DGN, a model or an office document)",
        _EXPORT,
    ),
    (r"PK\x03\x04|PK\x05\x06|\x1f\x8b|7z\xbc\xaf|Rar!|BZh\d|\xfd7zXZ", "an archive", _PACKED),
    (r"[\s\S]*?<svg[\s>]", "an SVG", _EXPORT),
    (r"(?i)\s*(?:<!doctype html|<html)", "a web page", _TEXT),
    (r"\s*<\?xml|\s*<[A-Za-z][\w:]*[\s>]", "an XML file", _EXPORT),
    (r"\s*[{\[]\s*[\"{\[\]}]", "a JSON file", _TEXT),
    (
        r"(?i)\s*%?\s*(?:(?:[;(].*|[O:]\d+.*|%.*)\s+)*(?:N\d+\s*)?[GMT]\d{1,3}(?:\.\d)?(?![\w.])",
        "a machine program (G-code)",
        _PROGRAM,
    ),
)


def other_format(data: bytes) -> tuple[str, str] | None:
    """Return what a file is and what to do about it, None when its beginning matches none.

    Returns
    -------
    (str, str) or None
        Name of the format with its article, and the remedy.
    """
    head = data[:_LOOKED_AT].removeprefix(b"\xef\xbb\xbf")
    for begins, what, remedy in _FORMATS:
        if re.match(begins.encode("latin-1"), head):
            return what, remedy
    return None
