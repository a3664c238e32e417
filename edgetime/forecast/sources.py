"""A pipeline file as it stands: rows of texts and numbers, with the line of each."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from edgetime.errors import CatalogueInvalid, EdgetimeError, PipelineInvalid, Where
from edgetime.tooling.toml_file import read_bytes, read_toml
from edgetime.tooling.words import shown, suggest

KEYS: Final = (
    "date",
    "name",
    "drawing",
    "metres",
    "stone",
    "thickness",
    "stack",
    "quantity",
    "probability",
)
"""Columns of a CSV file, keys of a [[job]] in a TOML file."""

NEEDED: Final = ("date",)

_SEPARATORS: Final = ",;\t"


class WrongValue(Exception):
    """One value that cannot be used.

    Attributes
    ----------
    what, remedy : str
        As of :class:`edgetime.errors.EdgetimeError`.
    """

    def __init__(self, what: str, remedy: str) -> None:
        self.what, self.remedy = what, remedy
        super().__init__(what)


def named_by_row(error: EdgetimeError, where: Where) -> EdgetimeError:
    """Return what stops one job of a list, with the row that asks for it as its place.

    Parameters
    ----------
    error : EdgetimeError
        Such as of its drawing, or of a stack that does not serve its stone.
    where : Where
        The job's row, with the key that brought it about.

    Returns
    -------
    EdgetimeError
        Of the same kind; its own place stands in its text, and its others beside it.
    """
    key = error.where.key or ""
    # An option that was not given is no place.
    place = str(replace(error.where, key=None) if key.startswith("--") else error.where)
    return type(error)(
        f"{place}: {error.what}" if place else error.what,
        where=where,
        remedy=error.remedy,
        others=[named_by_row(other, where) for other in error.others],
    )


def drawing_paths(value: Any, folder: Path, whose: str) -> tuple[str, ...]:
    """Return the paths of the drawings of one load.

    Parameters
    ----------
    value : list or str
        As written; a text may hold several with ``;`` between.
    folder : Path
        They are looked for from there.
    whose : str
        Whose folder that is, for messages.

    Raises
    ------
    WrongValue
        No name, or no such file.
    """
    found = []
    for name in value if isinstance(value, list) else str(value).split(";"):
        if not isinstance(name, str) or not name.strip():
            raise WrongValue(f"{shown(value)} names no drawing.", "Name a DXF file.")
        path = folder / name.strip()
        if not path.is_file():
            state = "is a folder" if path.is_dir() else "does not exist"
            raise WrongValue(
                f"The drawing {shown(name.strip())} {state}.",
                f"Give its path from the {whose}'s folder, {folder.as_posix()}.",
            )
        found.append(str(path))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Row:
    """One job as written.

    Attributes
    ----------
    values : dict
        By key; a key without a value is missing.
    line : int
        Where the job begins.
    at : str
        What goes before a key to name it: ``job[2].``, nothing in a CSV file.
    lines : dict
        Line of each key where it is not the job's.
    """

    values: dict[str, Any]
    line: int
    at: str
    lines: dict[str, int]


@dataclass(frozen=True, slots=True)
class Source:
    """A file and what is wrong with its form.

    Attributes
    ----------
    name : str
        Path as the user sees it.
    rows : tuple of Row
        Its jobs.
    errors : tuple of PipelineInvalid
        Unknown or doubled columns, rows of the wrong length.
    decimal_comma : bool
        Whether cells may hold decimal commas: where semicolons part them.
    """

    name: str
    rows: tuple[Row, ...]
    errors: tuple[PipelineInvalid, ...]
    decimal_comma: bool = False


def read_source(
    path: Path, name: str, *, keys: Sequence[str] = KEYS, needed: Sequence[str] = NEEDED
) -> Source:
    """Read a file of jobs, TOML by its ending, CSV otherwise.

    Parameters
    ----------
    path : Path
        Where it is.
    name : str
        How the user knows it.
    keys, needed : sequence of str
        Columns, or keys of a ``[[job]]``, and those that a CSV file must have.

    Raises
    ------
    PipelineInvalid
        Missing, unreadable, or neither CSV nor TOML.
    """
    if path.is_dir():
        raise PipelineInvalid(
            "This is a folder, not a file.",
            where=Where(path=name),
            remedy="Name the CSV or TOML file itself.",
        )
    try:
        if path.suffix.lower() == ".toml":
            return _toml(path, name, keys)
        content = read_bytes(path, name)
    except CatalogueInvalid as error:
        raise PipelineInvalid(error.what, where=error.where, remedy=error.remedy) from None
    return _csv(content, name, keys, needed)


def _toml(path: Path, name: str, keys: Sequence[str]) -> Source:
    file = read_toml(path, name)
    errors: list[PipelineInvalid] = []
    jobs = file.data.get("job", [])

    def wrong(key: str, what: str, remedy: str) -> None:
        errors.append(
            PipelineInvalid(
                what, where=Where(path=name, line=file.lines.get(key), key=key), remedy=remedy
            )
        )

    for key in file.data:
        if key != "job":
            wrong(key, f"There is no key {key!r} here.", suggest(key, ["job"]))
    if not isinstance(jobs, list) or not all(isinstance(job, dict) for job in jobs):
        wrong("job", f"job is {shown(jobs)}, not tables.", "Write one [[job]] table per job.")
        jobs = []
    rows = []
    for number, job in enumerate(jobs, 1):
        at = f"job[{number}]"
        for key in job:
            if key not in keys:
                wrong(f"{at}.{key}", f"There is no key {key!r} in a job.", suggest(key, keys))
        lines = {key: file.lines[f"{at}.{key}"] for key in job if f"{at}.{key}" in file.lines}
        values = {key: value for key, value in job.items() if key in keys}
        rows.append(Row(values, file.lines.get(at, 1), f"{at}.", lines))
    return Source(name, tuple(rows), tuple(errors))


def _csv(content: bytes, name: str, keys: Sequence[str], needed: Sequence[str]) -> Source:
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise PipelineInvalid(
            f"The file is not in UTF-8: byte 0x{content[error.start]:02X} is not allowed here.",
            where=Where(path=name, line=content.count(b"\n", 0, error.start) + 1),
            remedy="Save it as CSV with the encoding UTF-8; the older encodings differ from "
            "computer to computer.",
        ) from None
    lines = text.splitlines()
    first = next((number for number, line in enumerate(lines) if _says(line)), None)
    if first is None:
        raise PipelineInvalid(
            "The file is empty.",
            where=Where(path=name, line=1),
            remedy=f"Write a line of column names ({', '.join(keys)}) and a line per job.",
        )
    separator = max(_SEPARATORS, key=lines[first].count)
    errors: list[PipelineInvalid] = []
    header: list[str] = []
    rows: list[Row] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    before = 0
    try:
        for cells in reader:
            line, before = before + 1, reader.line_num
            written = [cell.strip() for cell in cells]
            if not any(written) or written[0].startswith("#"):
                continue
            if not header:
                header = [cell.casefold() for cell in written]
                errors += _header_errors(name, line, header, keys, needed)
            else:
                rows.append(_row(name, line, header, written, keys, errors))
    except csv.Error as error:
        raise PipelineInvalid(
            f"The file is not valid CSV: {error}.",
            where=Where(path=name, line=reader.line_num),
            remedy="Check the quotation marks of this line.",
        ) from None
    return Source(name, tuple(rows), tuple(errors), decimal_comma=separator != ",")


def _says(line: str) -> bool:
    return bool(line.strip()) and not line.lstrip().startswith("#")


def _header_errors(
    name: str, line: int, header: Sequence[str], keys: Sequence[str], needed: Sequence[str]
) -> list[PipelineInvalid]:
    errors = []
    for number, key in enumerate(header):
        what, remedy = "", suggest(key, keys)
        if key not in keys:
            what = f"There is no column {key!r}."
        elif key in header[:number]:
            what, remedy = f"The column {key!r} stands twice.", "Leave out one of them."
        if what:
            errors.append(
                PipelineInvalid(what, where=Where(path=name, line=line, key=key), remedy=remedy)
            )
    errors += [
        PipelineInvalid(
            f"The column {key!r} is missing.",
            where=Where(path=name, line=line, key=key),
            remedy=f"Columns: {', '.join(keys)}; all but {', '.join(needed)} may be left out.",
        )
        for key in needed
        if key not in header
    ]
    return errors


def _row(
    name: str,
    line: int,
    header: Sequence[str],
    cells: Sequence[str],
    keys: Sequence[str],
    errors: list[PipelineInvalid],
) -> Row:
    extra = [cell for cell in cells[len(header) :] if cell]
    if extra:
        errors.append(
            PipelineInvalid(
                f"{shown(extra[0])} stands beyond the last of {len(header)} columns.",
                where=Where(path=name, line=line),
                remedy="Put quotation marks around a cell that holds the separator.",
            )
        )
    values = {k: c for k, c in zip(header, cells, strict=False) if k in keys and c}
    return Row(values, line, "", {})
