"""A job list as written: rows of texts and numbers, with the line of each."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from edgetime.errors import CatalogueInvalid, PipelineInvalid, Where
from edgetime.tooling.suggest import shown, suggest
from edgetime.tooling.toml_file import read_bytes, read_toml

_SEPARATORS: Final = ",;\t"


@dataclass(frozen=True, slots=True)
class Row:
    """One job as written.

    Attributes
    ----------
    values : dict
        By key; a key without a value is missing.
    where : Where
        Where the job begins.
    places : dict of str to Where
        Where each value is written.
    """

    values: dict[str, Any]
    where: Where
    places: dict[str, Where]

    def at(self, key: str) -> Where:
        """Return where a value is written, or would be if it were given."""
        before = "" if self.where.key is None else f"{self.where.key}."
        default = Where(path=self.where.path, line=self.where.line, key=before + key)
        return self.places.get(key, default)


@dataclass(frozen=True, slots=True)
class Rows:
    """The rows of a file, and what is wrong with its form.

    Attributes
    ----------
    rows : tuple of Row
        Its jobs.
    errors : tuple of PipelineInvalid
        Unknown or repeated columns, rows of the wrong length.
    decimal_comma : bool
        Whether cells may hold decimal commas: in files separated by semicolons or tabs.
    """

    rows: tuple[Row, ...]
    errors: tuple[PipelineInvalid, ...]
    decimal_comma: bool = False


def read_rows(path: Path, name: str, *, keys: Sequence[str], needed: Sequence[str]) -> Rows:
    """Read the rows of a job list: TOML by its suffix, CSV otherwise.

    Parameters
    ----------
    path : Path
        Where it is.
    name : str
        How the user named it.
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


def _toml(path: Path, name: str, keys: Sequence[str]) -> Rows:
    file = read_toml(path, name)
    errors: list[PipelineInvalid] = []

    def place(key: str) -> Where:
        return Where(path=name, line=file.lines.get(key), key=key)

    def wrong(key: str, what: str, remedy: str) -> None:
        errors.append(PipelineInvalid(what, where=place(key), remedy=remedy))

    for key in file.data:
        if key != "job":
            wrong(key, f"There is no key {key!r} here.", suggest(key, ["job"]))
    jobs = file.data.get("job", [])
    if not isinstance(jobs, list) or not all(isinstance(job, dict) for job in jobs):
        wrong("job", f"job is {shown(jobs)}, not tables.", "Write one [[job]] table per job.")
        jobs = []
    rows = []
    for number, job in enumerate(jobs, 1):
        at = f"job[{number}]"
        for key in job:
            if key not in keys:
                wrong(f"{at}.{key}", f"There is no key {key!r} in a job.", suggest(key, keys))
        rows.append(
            Row(
                {key: value for key, value in job.items() if key in keys},
                Where(path=name, line=file.lines.get(at, 1), key=at),
                {key: place(f"{at}.{key}") for key in job if f"{at}.{key}" in file.lines},
            )
        )
    return Rows(tuple(rows), tuple(errors))


def _csv(content: bytes, name: str, keys: Sequence[str], needed: Sequence[str]) -> Rows:
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise PipelineInvalid(
            f"The file is not in UTF-8: byte 0x{content[error.start]:02X} is not allowed here.",
            where=Where(path=name, line=content.count(b"\n", 0, error.start) + 1),
            remedy="Save it as CSV with the encoding UTF-8; older encodings differ between "
            "computers.",
        ) from None
    first = next((line for line in text.splitlines() if not _ignored(line.strip())), None)
    if first is None:
        raise PipelineInvalid(
            "The file is empty.",
            where=Where(path=name, line=1),
            remedy=f"Write a line of column names ({', '.join(keys)}) and a line per job.",
        )
    separator = max(_SEPARATORS, key=first.count)
    errors: list[PipelineInvalid] = []
    header: list[str] = []
    rows: list[Row] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    before = 0
    try:
        for cells in reader:
            # A quoted cell may run over several lines: a row is named by its first.
            where, before = Where(path=name, line=before + 1), reader.line_num
            written = [cell.strip() for cell in cells]
            if not any(written) or _ignored(written[0] or "-"):
                continue
            if not header:
                header = [cell.casefold() for cell in written]
                errors += _header_errors(where, header, keys, needed)
                continue
            values = {k: c for k, c in zip(header, written, strict=False) if k in keys and c}
            rows.append(Row(values, where, {}))
            beyond = next((cell for cell in written[len(header) :] if cell), None)
            if beyond is not None:
                errors.append(
                    PipelineInvalid(
                        f"{shown(beyond)} is beyond the last of {len(header)} columns.",
                        where=where,
                        remedy="Put quotation marks around a cell that holds the separator.",
                    )
                )
    except csv.Error as error:
        raise PipelineInvalid(
            f"The file is not valid CSV: {error}.",
            where=Where(path=name, line=reader.line_num),
            remedy="Check the quotation marks of this line.",
        ) from None
    return Rows(tuple(rows), tuple(errors), decimal_comma=separator != ",")


def _ignored(line: str) -> bool:
    """Return whether a line is blank or a comment."""
    return not line or line.startswith("#")


def _header_errors(
    where: Where, header: Sequence[str], keys: Sequence[str], needed: Sequence[str]
) -> Iterable[PipelineInvalid]:
    def wrong(key: str, what: str, remedy: str) -> PipelineInvalid:
        place = Where(path=where.path, line=where.line, key=key)
        return PipelineInvalid(what, where=place, remedy=remedy)

    for number, key in enumerate(header):
        if key not in keys:
            yield wrong(key, f"There is no column {key!r}.", suggest(key, keys))
        elif key in header[:number]:
            yield wrong(key, f"The column {key!r} is given twice.", "Leave out one of them.")
    optional = f"Columns: {', '.join(keys)}; all but {', '.join(needed)} may be left out."
    for key in needed:
        if key not in header:
            yield wrong(key, f"The column {key!r} is missing.", optional)
