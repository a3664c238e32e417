"""One TOML file: reading it, and finding the line of a key."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from edgetime.errors import CatalogueInvalid, Where
from edgetime.units import written_in_inches

MAX_FILE_BYTES = 4 * 1024 * 1024
"""A thousand times what a file of a shop holds; a device has no end at all."""

_AT = re.compile(r"\s*\(at line (\d+), column (\d+)\)")
_HEADER = re.compile(r"\s*(\[\[?)\s*([^\[\]]+?)\s*\]\]?\s*(?:#.*)?")
_KEY = re.compile(r"""\s*((?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*')(?:\s*\.\s*[A-Za-z0-9_-]+)*)\s*=\s*""")


@dataclass(frozen=True)
class TomlFile:
    """A parsed file.

    Attributes
    ----------
    name : str
        Path as the user sees it.
    text : str
        As read.
    content : bytes
        As on the disk.
    data : dict
        As parsed.
    """

    name: str
    text: str
    content: bytes
    data: dict[str, Any]

    @cached_property
    def lines(self) -> dict[str, int]:
        """Line of each dotted key, counted from 1."""
        return key_lines(self.text)

    @cached_property
    def in_inches(self) -> bool:
        """Whether most lengths and speeds of the file are in inches or feet."""
        said = [written_in_inches(text) for _, text in flatten(self.data)]
        return said.count(True) > said.count(False)

    def error(self, what: str, *, key: str = "", remedy: str = "") -> CatalogueInvalid:
        """Return the error of a key in this file, with its line or that of its table.

        Parameters
        ----------
        what, remedy : str
            As in :class:`edgetime.errors.EdgetimeError`.
        key : str
            Dotted key, list entries counted from 1: ``step[3].feed``.
        """
        line = None
        at = key
        while at and line is None:
            line = self.lines.get(at)
            at = re.sub(r"(?:\.?[^.\[\]]+|\[\d+\])$", "", at)
        return CatalogueInvalid(
            what, where=Where(path=self.name, line=line, key=key or None), remedy=remedy
        )


@dataclass(frozen=True, slots=True)
class Spot:
    """A table of a file, to make errors of its keys with.

    Attributes
    ----------
    file : TomlFile
        The parsed file.
    table : mapping
        As parsed.
    at : str
        Dotted key of the table, ``""`` for the file itself.
    """

    file: TomlFile
    table: Mapping[str, Any]
    at: str = ""

    def has(self, name: str) -> bool:
        """Return whether a key is given."""
        return name in self.table

    def shown(self) -> str:
        """Return file and line, for messages: ``layers.toml:12``."""
        line = self.file.lines.get(self.at)
        return self.file.name if line is None else f"{self.file.name}:{line}"

    def key(self, name: str) -> str:
        """Return the dotted key of one of its keys; its own without a name."""
        return f"{self.at}.{name}".strip(".")

    def header(self) -> str:
        """Return how the table is begun in the file: ``[[life]]``."""
        name = re.sub(r"\[\d+\]", "", self.at)
        return f"[[{name}]]" if self.at.endswith("]") else f"[{name}]"

    def error(self, what: str, *, key: str = "", remedy: str = "") -> CatalogueInvalid:
        """Return the error of one of its keys, as :meth:`TomlFile.error`."""
        return self.file.error(what, key=self.key(key), remedy=remedy)


def error_in(name: str, what: str, *, key: str, remedy: str) -> CatalogueInvalid:
    """Return the error of a key in a file that was read before, with its line.

    Only what goes wrong pays for finding the line: the file is read once more. One that cannot
    be, as the shipped ones, is named without it.

    Parameters
    ----------
    name : str
        Path as the user sees it; ``""`` where there is no file.
    what, key, remedy : str
        As of :meth:`TomlFile.error`.
    """
    try:
        return read_toml(Path(name), name).error(what, key=key, remedy=remedy)
    except CatalogueInvalid:
        return CatalogueInvalid(what, where=Where(path=name or None, key=key), remedy=remedy)


def read_bytes(path: Path, name: str) -> bytes:
    """Read a file whole.

    Raises
    ------
    CatalogueInvalid
        Missing, a folder, not readable, or larger than :data:`MAX_FILE_BYTES`.
    """

    def refused(what: str, remedy: str = "Name the TOML file itself.") -> CatalogueInvalid:
        return CatalogueInvalid(what, where=Where(path=name), remedy=remedy)

    try:
        with path.open("rb") as stream:
            content = stream.read(MAX_FILE_BYTES + 1)
    except FileNotFoundError:
        raise refused("The file does not exist.", "Check the path.") from None
    except IsADirectoryError:
        raise refused("This is a folder, not a file.") from None
    except OSError as error:
        said = f"The file cannot be read: {error.strerror or error}."
        raise refused(said, "Check its permissions.") from None
    if len(content) > MAX_FILE_BYTES:
        raise refused(f"The file has more bytes than are read; at most {MAX_FILE_BYTES} are.")
    return content


def read_toml(path: Path, name: str) -> TomlFile:
    """Read and parse a TOML file.

    Raises
    ------
    CatalogueInvalid
        Missing, unreadable, not in UTF-8, or not TOML; with the line where there is one.
    """
    content = read_bytes(path, name)
    try:
        # Some editors put a byte-order mark in front; TOML does not know it.
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise CatalogueInvalid(
            f"The file is not in UTF-8: byte 0x{content[error.start]:02X} is not allowed here.",
            where=Where(path=name, line=line),
            remedy="Save it again with the encoding UTF-8.",
        ) from None
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        message = str(error)
        match = _AT.search(message)
        column = f" in column {match[2]}" if match else ""
        raise CatalogueInvalid(
            f"The file is not valid TOML{column}: {_AT.sub('', message)}.",
            where=Where(path=name, line=int(match[1]) if match else text.count("\n") + 1),
            remedy="Correct this line; values with units need quotes.",
        ) from None
    return TomlFile(name=name, text=text, content=content, data=data)


def _plain(key: str) -> str:
    return ".".join(part.strip().strip("\"'") for part in key.split("."))


def key_lines(text: str) -> dict[str, int]:
    """Find the line of each key of a TOML text.

    Returns
    -------
    dict
        Dotted key → line from 1. Entries of arrays of tables, and inline tables that begin
        a line of an array, are counted from 1: ``section[2].points[3]``. The keys of an
        inline table have no line of their own.
    """
    lines: dict[str, int] = {}
    counts: dict[str, int] = {}
    table = ""
    inside = ""  # the array or text that runs over several lines
    closing = ""
    entry = 0
    for number, line in enumerate(text.splitlines(), 1):
        if closing:
            if closing == "]" and line.lstrip().startswith("{"):
                entry += 1
                lines[f"{inside}[{entry}]"] = number
            # A bracket in a comment closes nothing; in a text of several lines there are no
            # comments.
            if closing in line.split("#")[0] if closing == "]" else closing in line:
                closing = ""
            continue
        header = _HEADER.fullmatch(line)
        if header is not None:
            table = _plain(header[2])
            parent, _, last = table.rpartition(".")
            if parent in counts:
                table = f"{parent}[{counts[parent]}].{last}"
            if header[1] == "[[":
                counts[table] = counts.get(table, 0) + 1
                table = f"{table}[{counts[table]}]"
            lines.setdefault(table, number)
            continue
        match = _KEY.match(line)
        if match is None:
            continue
        key = f"{table}.{_plain(match[1])}" if table else _plain(match[1])
        lines.setdefault(key, number)
        rest = line[match.end() :]
        for quotes in ('"""', "'''"):
            if rest.startswith(quotes) and quotes not in rest[3:]:
                inside, closing = key, quotes
        if rest.startswith("[") and "]" not in rest.split("#")[0]:
            inside, closing, entry = key, "]", 0
    return lines


def flatten(value: Any, key: str = "") -> Iterator[tuple[str, str]]:
    """Yield every figure of a parsed file with its dotted key, as text.

    Yields
    ------
    key, text : str
        A list of scalars is one text, its entries separated by commas; tables in a list are
        counted from 1.
    """
    if isinstance(value, dict):
        for name, item in value.items():
            yield from flatten(item, f"{key}.{name}" if key else name)
    elif isinstance(value, list) and any(isinstance(item, (dict, list)) for item in value):
        for number, item in enumerate(value, 1):
            yield from flatten(item, f"{key}[{number}]")
    elif isinstance(value, list):
        yield key, ", ".join(_scalar(item) for item in value)
    else:
        yield key, _scalar(value)


def _scalar(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return str(value)
