"""Repairs of a DXF's text that the DXF library does not make, or makes wrongly."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import Final

from edgetime.drawing.source import Source

NO_SCALE: Final = 1e-9
"""Replaces the scale 0 of an insert, which the DXF library takes for 1: at this scale the largest
slab is below every tolerance."""

_BODY: Final = r"[ \t]*\n((?:[^\n]*\n[^\n]*\n)*?)(?=[ \t]*0[ \t]*\n)"
_ELLIPSE: Final = re.compile(r"^([ \t]*0[ \t]*\n[ \t]*ELLIPSE)" + _BODY, re.MULTILINE)

_INSERT: Final = re.compile(r"^([ \t]*0[ \t]*\n[ \t]*INSERT)" + _BODY, re.MULTILINE)
_NO_SCALE: Final = re.compile(
    r"^([ \t]*4[12][ \t]*\n)[ \t]*[+-]?0*\.?0*(?:[eE][+-]?\d+)?[ \t]*$", re.MULTILINE
)

_CLASSES: Final[dict[str, tuple[str, ...]]] = {
    "LINE": ("AcDbLine",),
    "ARC": ("AcDbCircle", "AcDbArc"),
    "CIRCLE": ("AcDbCircle",),
    "LWPOLYLINE": ("AcDbPolyline",),
    "ELLIPSE": ("AcDbEllipse",),
    "SPLINE": ("AcDbSpline",),
    "MTEXT": ("AcDbMText",),
    "INSERT": ("AcDbBlockReference",),
    "POLYLINE": ("AcDb2dPolyline",),
    "VERTEX": ("AcDbVertex", "AcDb2dVertex"),
    "TEXT": ("AcDbText",),
}
"""Entity → its subclass markers (DXF reference, entities section)."""

_UNMARKED: Final = re.compile(
    rf"^([ \t]*0[ \t]*\n[ \t]*({'|'.join(_CLASSES)}))" + _BODY, re.MULTILINE
)
_VERSION: Final = re.compile(r"(\$ACADVER[ \t]*\n[ \t]*1[ \t]*\n[ \t]*)(AC\d+)")
_HEADER: Final = re.compile(r"^([ \t]*2[ \t]*\n[ \t]*HEADER[ \t]*\n)", re.MULTILINE)
_NEWER: Final = re.compile(
    r"^[ \t]*0[ \t]*\n[ \t]*(?:LWPOLYLINE|ELLIPSE|SPLINE|MTEXT)[ \t]*$", re.MULTILINE
)
_R2000: Final = "AC1015"
_ENTITY_CODES: Final = frozenset({5, 6, 8, 48, 60, 62, 67, 330, 370, 410, 420})
_COMMA: Final = re.compile(
    r"^([ \t]*(?:1[0-8]|[2-5]\d|1[1-4]\d|21\d|22\d|23\d|46\d|10[1-5]\d)[ \t]*\n)"
    r"([ \t]*[+-]?\d+),(\d+(?:[eE][+-]?\d+)?[ \t]*)$",
    re.MULTILINE,
)


def _tags(body: str) -> list[tuple[int, str]]:
    lines = body.split("\n")
    return [(int(code), value) for code, value in zip(lines[::2], lines[1::2], strict=False)]


def _text(tags: Sequence[tuple[int, str]]) -> str:
    return "".join(f"{code:3d}\n{value}\n" for code, value in tags)


def mend_always(source: Source) -> None:
    """Mend what the library would read without a word and wrongly.

    Inserts with the scale 0, which the library reads as 1, get one too small to show anything.
    Ellipses whose "minor" axis is the longer one are written with their axes exchanged, for
    the library clamps the ratio to 1. Entities of newer types without subclass markers get
    them, for the library drops or refuses such entities. Polylines that frame a text stay,
    for the library takes them for part of the text.
    """
    text = source.text
    if re.search(r"^[ \t]*ELLIPSE[ \t]*$", text, re.MULTILINE):
        text = _ELLIPSE.sub(_exchange_axes, text)
    if re.search(r"^[ \t]*INSERT[ \t]*$", text, re.MULTILINE) and _NO_SCALE.search(text):
        text = _INSERT.sub(_mark_no_scale, text)
    # Read as R12, a newer entity would lose its layer: the version has to be raised first.
    if _old_with_new_types(text):
        text = _as_r2000(text)
        source.remarks.append("the version says R12 or older, but newer entities are in it")
    if _markers_missing(text):
        count = 0

        def mark(match: re.Match[str]) -> str:
            nonlocal count
            marked = _mark(match)
            count += marked != match[0]
            return marked

        text = _UNMARKED.sub(mark, text)
        if count:
            source.remarks.append(f"subclass markers were missing in {count} entities")
    # The library deletes the polylines that this list of handles names.
    source.text = text.replace("\nACAD_MTEXT_TEXT_BORDERS_", "\nMTEXT_TEXT_BORDERS_")


def _mark_no_scale(match: re.Match[str]) -> str:
    lines = match[2].split("\n")
    for k in range(0, len(lines) - 1, 2):
        lines[k : k + 2] = _NO_SCALE.sub(rf"\g<1>{NO_SCALE!r}", "\n".join(lines[k : k + 2])).split(
            "\n"
        )
    return match[1] + "\n" + "\n".join(lines)


def _exchange_axes(match: re.Match[str]) -> str:
    try:
        tags = _tags(match[2])
        first = dict(reversed(tags))
        ratio = float(first[40])
        if not abs(ratio) > 1.0:
            return match[0]
        m = [float(first.get(code, "0")) for code in (11, 21, 31)]
        n = [float(first.get(code, default)) for code, default in ((210, 0), (220, 0), (230, 1))]
        start, end = float(first.get(41, "0")), float(first.get(42, repr(math.tau)))
    except (KeyError, ValueError):
        return match[0]
    size = math.hypot(*n)
    if not (size > 0.0 and math.isfinite(size)):
        return match[0]
    # C + M cos t + r(n×M) sin t with M' = r(n×M), r' = 1/r is C + M' cos t' + r'(n×M') sin t'
    # at t' = t - π/2, because r'(n×M') = n×(n×M) = -M.
    minor = [
        ratio / size * (n[1] * m[2] - n[2] * m[1]),
        ratio / size * (n[2] * m[0] - n[0] * m[2]),
        ratio / size * (n[0] * m[1] - n[1] * m[0]),
    ]
    new = {
        11: minor[0],
        21: minor[1],
        31: minor[2],
        40: 1.0 / ratio,
        41: start - math.pi / 2.0,
        42: end - math.pi / 2.0,
    }
    kept = [tag for tag in tags if tag[0] not in new]
    place = next((i for i, tag in enumerate(kept) if tag[0] >= 1000), len(kept))
    kept[place:place] = [(code, repr(value)) for code, value in new.items()]
    return f"{match[1]}\n{_text(kept)}"


def _old_with_new_types(text: str) -> bool:
    version = _VERSION.search(text)
    if version is not None and version[2] > "AC1009":
        return False
    return _NEWER.search(text) is not None


def _as_r2000(text: str) -> str:
    # For R12 the library knows no subclasses, and of the newer types loads half the values:
    # without layer, closing flag or degree.
    if _VERSION.search(text):
        return _VERSION.sub(rf"\g<1>{_R2000}", text, count=1)
    variable = f"  9\n$ACADVER\n  1\n{_R2000}\n"
    if _HEADER.search(text):
        return _HEADER.sub(rf"\g<1>{variable}", text, count=1)
    return f"  0\nSECTION\n  2\nHEADER\n{variable}  0\nENDSEC\n{text}"


def _markers_missing(text: str) -> bool:
    for kind in ("LWPOLYLINE", "SPLINE", "ELLIPSE", "MTEXT"):
        if text.count(f"\n{kind}\n") > text.count(f"\n{_CLASSES[kind][0]}\n"):
            return True
    modern = "AC1009" not in text[:2000] and "$ACADVER" in text
    return modern and "AcDbEntity" not in text


def _mark(match: re.Match[str]) -> str:
    if "AcDb" in match[3]:
        return match[0]
    try:
        tags = _tags(match[3])
    except ValueError:
        return match[0]
    common = [tag for tag in tags if tag[0] in _ENTITY_CODES]
    rest = [tag for tag in tags if tag[0] not in _ENTITY_CODES]
    kind = match[2]
    markers = _CLASSES[kind]
    if kind in ("POLYLINE", "VERTEX"):
        flags = int(next((value for code, value in rest if code == 70), "0"))
        if kind == "POLYLINE" and flags & 8:
            markers = ("AcDb3dPolyline",)
        if kind == "VERTEX" and flags & 32:
            markers = ("AcDbVertex", "AcDb3dPolylineVertex")
    split = len(rest)
    if kind == "ARC":
        split = next((i for i, tag in enumerate(rest) if tag[0] in (50, 51)), len(rest))
    lines = [
        *[tag for tag in common if tag[0] == 5],
        (100, "AcDbEntity"),
        *[tag for tag in common if tag[0] != 5],
        (100, markers[0]),
    ]
    if kind == "ARC":
        lines += [*rest[:split], (100, markers[1]), *rest[split:]]
    else:
        lines += [*((100, marker) for marker in markers[1:]), *rest]
    return f"{match[1]}\n{_text(lines)}"


def mend_decimal_commas(source: Source) -> bool:
    """Replace decimal commas in coordinates and angles by points.

    Returns
    -------
    bool
        Whether there were any.
    """
    if "," not in source.text:
        return False
    source.text, count = _COMMA.subn(r"\1\2.\3", source.text)
    if count:
        source.repairs.append(f"{count} numbers were written with a decimal comma")
    return count > 0


_READ: Final = frozenset(
    {*_CLASSES, "SEQEND", "ATTRIB", "ATTDEF", "BLOCK", "ENDBLK", "SECTION", "ENDSEC", "EOF"}
)


def strip_to_geometry(source: Source) -> None:
    """Drop everything that carries no curve, text, layer or unit.

    The last resort for a file whose damage sits in a hatch, a style or a dictionary: the
    curves are sound, but the library refuses the file as a whole.
    """
    lines = source.text.split("\n")
    starts = [i for i in range(0, len(lines) - 1, 2) if lines[i].strip() == "0"]
    if not starts:
        return
    kept: list[str] = []
    section, table, keep = "", "", True
    for start, stop in zip(starts, [*starts[1:], len(lines)], strict=True):
        kind = lines[start + 1].strip()
        name = lines[start + 3].strip() if stop > start + 3 else ""
        if kind == "SECTION":
            section, keep = name, name in ("HEADER", "TABLES", "BLOCKS", "ENTITIES")
        elif kind == "TABLE":
            table = name
        if not keep:
            continue
        if section in ("BLOCKS", "ENTITIES") and kind not in _READ:
            continue
        if section == "TABLES" and kind not in ("SECTION", "ENDSEC") and table != "LAYER":
            continue
        kept += lines[start:stop]
    source.text = "\n".join(kept).rstrip("\n") + "\n"
    if not source.text.rstrip().endswith("EOF"):
        source.text += "  0\nEOF\n"
