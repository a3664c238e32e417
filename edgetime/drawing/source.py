r"""A file's bytes to the clean text of a DXF: encoding, line ends, where the file ends.

What comes out is text with the escapes of the DXF reference (``\U+XXXX``) resolved; given
to a reader of bytes it is escaped altogether, so that nothing later guesses an encoding.
"""

from __future__ import annotations

import hashlib
import re
import stat
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from edgetime.drawing.formats import other_format
from edgetime.errors import DrawingUnreadable, LimitExceeded, Where

MAX_FILE_BYTES: Final = 512 * 1024 * 1024
"""Larger files are refused: reading takes some ten times the file's size in memory."""

_BINARY: Final = b"AutoCAD Binary DXF\r\n\x1a\x00"
_START: Final = re.compile(r"\s*(?:999[ \t]*\n[^\n]*\n\s*)*0[ \t]*\n[ \t]*[A-Z]\w*[ \t]*\n")
_HEADER: Final = r"\$%s[ \t]*\r?\n[ \t]*%s[ \t]*\r?\n[ \t]*([^\r\n]*)"
_VERSION: Final = re.compile((_HEADER % ("ACADVER", "1")).encode())
_CODEPAGE: Final = re.compile((_HEADER % ("DWGCODEPAGE", "3")).encode())
_SECTION: Final = re.compile(
    r"^[ \t]*0[ \t]*\n[ \t]*(?:SECTION[ \t]*\n[ \t]*2[ \t]*\n[ \t]*(?P<name>\w+)|ENDSEC)[ \t]*$",
    re.MULTILINE,
)
_UTF8_SINCE: Final = "AC1021"


@dataclass(slots=True)
class Source:
    r"""A drawing file as clean text.

    Attributes
    ----------
    path : str
        The file as the user named it.
    text : str
        Lines ended by ``\n``, up to and with the EOF mark.
    digest : str
        SHA-256 of the bytes, hexadecimal.
    repairs : list of str
        What was mended, a clause each.
    remarks : list of str
        What was odd but certain, a clause each.
    sections : int
        The most often any section of one name occurs.
    """

    path: str
    text: str
    digest: str
    repairs: list[str] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)
    sections: int = 1


def load_source(path: str) -> Source:
    """Read a file and clean its text.

    Raises
    ------
    DrawingUnreadable
        Missing, a folder, not permitted, empty, no DXF, or cut off before its geometry ends.
    LimitExceeded
        Larger than :data:`MAX_FILE_BYTES`.
    """
    data = _bytes(path)
    source = Source(path, "", hashlib.sha256(data).hexdigest())
    where = Where(path=path)
    if not data.strip():
        raise DrawingUnreadable(
            "The file is empty.", where=where, remedy="Export the drawing again."
        )
    if data.startswith(_BINARY):
        text = _binary_text(data, where)
    else:
        text = _resolve(_decode(data, source))
        if "\r" in text:
            text = re.sub(r"\r+\n|\r", "\n", text)
    if "\0" in text or not _START.match(text):
        what, remedy = other_format(data) or (
            "not a DXF: it does not begin with a group code 0 and a name",
            "Export the drawing as DXF, release 2000 to 2018, ASCII.",
        )
        told = what if what.startswith("not ") else f"{what}, not a DXF"
        raise DrawingUnreadable(f"The file is {told}.", where=where, remedy=remedy)
    # Pairs of lines are counted from the first group code on.
    source.text = _whole(text.lstrip(), source)
    source.sections = _sections(source.text)
    if source.sections > 1:
        source.remarks.append("sections of the same name were read one after another")
    return source


def _bytes(path: str) -> bytes:
    where = Where(path=path)
    if not path:
        raise DrawingUnreadable("The name of the file is empty.", remedy="Name a DXF file.")
    file = Path(path)
    try:
        state = file.stat()
        mode = state.st_mode
        if stat.S_ISDIR(mode):
            raise DrawingUnreadable(
                "A folder, not a file.", where=where, remedy="Name the drawings in it."
            )
        if stat.S_ISCHR(mode) or stat.S_ISBLK(mode):
            raise DrawingUnreadable("A device, not a file.", where=where, remedy="Name a DXF file.")
        with file.open("rb") as stream:
            # A pipe tells no size beforehand, and may never end.
            size = state.st_size if stat.S_ISREG(mode) else MAX_FILE_BYTES
            data = stream.read(min(size, MAX_FILE_BYTES) + 1)
    except FileNotFoundError:
        raise DrawingUnreadable(
            "There is no such file.",
            where=where,
            # An option such as --sheet takes no name: what follows it is read as a drawing.
            remedy="Check the path."
            if file.suffix.lower() in {"", ".dxf"}
            else "Check the path. To write a file, give its name after -o.",
        ) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise DrawingUnreadable(
            f"The file cannot be read: {reason}.", where=where, remedy="Check its permissions."
        ) from None
    if len(data) > MAX_FILE_BYTES:
        raise LimitExceeded(
            f"The file has more bytes than are read; at most {MAX_FILE_BYTES} are.",
            where=where,
            remedy="Remove from the drawing what is not to be cut.",
        )
    return data


def _binary_text(data: bytes, where: Where) -> str:
    from ezdxf.lldxf.tagger import binary_tags_loader  # noqa: PLC0415  heavy

    lines: list[str] = []
    try:
        for code, value in binary_tags_loader(data):
            lines.append(str(code))
            lines.append(value.hex() if isinstance(value, bytes) else _text(value))
    except Exception as error:  # noqa: BLE001  the library lets whatever its unpacking meets through
        raise DrawingUnreadable(
            f"The binary DXF is damaged or cut off: {error}.",
            where=where,
            remedy="Export the drawing again.",
        ) from None
    return _resolve("\n".join(lines) + "\n")


def _text(value: Any) -> str:
    # A line break inside a binary string would shift all tags after it.
    return re.sub(r"[\r\n\0]", " ", value) if isinstance(value, str) else repr(value)


def _decode(data: bytes, source: Source) -> str:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", "replace")
    if data.isascii():
        return data.decode("ascii")
    version = _VERSION.search(data)
    page = _CODEPAGE.search(data)
    modern = version is not None and version[1].decode("ascii", "replace") >= _UTF8_SINCE
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        from ezdxf.tools.codepage import toencoding  # noqa: PLC0415  heavy

        name = page[1].decode("ascii", "replace").strip() if page else "ANSI_1252"
        if modern:
            source.repairs.append(f"letters were read by code page {name}, not as UTF-8")
        return data.decode(toencoding(name), "surrogateescape")
    if not modern and not data.startswith(b"\xef\xbb\xbf"):
        source.remarks.append("letters were read as UTF-8, whatever code page the header says")
    return text


def _resolve(text: str) -> str:
    r"""Replace ``\U+XXXX`` by the letter it represents."""
    if "\\U+" not in text:
        return text

    def letter(match: re.Match[str]) -> str:
        code = int(match[1], 16)
        # A line break in a value would shift all that follows.
        return chr(code) if code >= 0x20 else " "

    return re.sub(r"\\U\+([0-9A-Fa-f]{4})", letter, text)


def to_ascii(text: str) -> bytes:
    r"""Return a text in bytes that mean the same in every code page.

    Returns
    -------
    bytes
        Letters beyond ASCII as ``\U+XXXX``.
    """

    def escape(match: re.Match[str]) -> str:
        units = match[0].encode("utf-16-be", "surrogatepass").hex().upper()
        return "".join(f"\\U+{units[i : i + 4]}" for i in range(0, len(units), 4))

    return re.sub(r"[^\x00-\x7f]+", escape, text).encode("ascii")


def _whole(text: str, source: Source) -> str:
    """Return the text up to its EOF mark; refuse it if geometry may be missing."""
    at = text.find("EOF")
    while at >= 0:
        start = text.rfind("\n", 0, at) + 1
        stop = text.find("\n", at)
        stop = len(text) if stop < 0 else stop
        before = text[text.rfind("\n", 0, max(start - 1, 0)) + 1 : max(start - 1, 0)]
        if text[start:stop].strip() == "EOF" and before.strip() == "0":
            if text[stop:].strip():
                source.remarks.append("text after the end mark was passed over")
            return text[:stop] + "\n"
        at = text.find("EOF", stop)
    # Blocks and entities come before the closing objects: a file cut off later has all of
    # its geometry. Cut off earlier, it would be priced too low without a word.
    open_section = None
    entities = False
    for match in _SECTION.finditer(text):
        if match["name"]:
            open_section = match["name"]
        else:
            entities = entities or open_section == "ENTITIES"
            open_section = None
    if open_section in ("ENTITIES", "BLOCKS") or not entities:
        raise DrawingUnreadable(
            "The file is cut off: it has no end mark and its ENTITIES section does not end.",
            where=Where(path=source.path, line=text.count("\n")),
            remedy="Export or copy the drawing again; what is left of it would be too short.",
        )
    source.repairs.append("the end mark is missing, the entities are complete")
    if open_section is None:
        return text.rstrip() + "\n  0\nEOF\n"
    start = next(m.start() for m in reversed(list(_SECTION.finditer(text))) if m["name"])
    source.repairs.append(f"the section {open_section} is cut off and was dropped")
    return text[:start] + "  0\nEOF\n"


def _sections(text: str) -> int:
    most = 1
    # Files glued together have sections twice, of which the library reads one.
    for name in ("ENTITIES", "BLOCKS", "TABLES"):
        if text.count(name) > 1:
            pattern = rf"^[ \t]*2[ \t]*\n[ \t]*{name}[ \t]*$"
            most = max(most, len(re.findall(pattern, text, re.MULTILINE)))
    return most
