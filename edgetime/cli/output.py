"""From a command's result or failure to bytes on the two streams and an exit code.

A command returns a :class:`Result` and prints nothing, so that a failure half way leaves
nothing half written.
"""

from __future__ import annotations

import json
import os
import re
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, TextIO

from edgetime.errors import (
    EdgetimeError,
    InputError,
    InternalError,
    PlanError,
    UsageError,
    Where,
)
from edgetime.findings import Finding, Severity, worst
from edgetime.records import as_json
from edgetime.safe_text import cell, shown, without_secrets
from edgetime.units import UnitSystem

if TYPE_CHECKING:
    from edgetime.report.document import Block, Document, Table


class Format(StrEnum):
    """What goes to standard output."""

    TABLE = "table"
    JSON = "json"
    CSV = "csv"


@dataclass(frozen=True, kw_only=True)
class Result:
    """The answer of a command, in each output form.

    Attributes
    ----------
    output : Format
        The form asked for; a command with blocks of options gets it from them, as it does
        ``strict`` and ``xlsx``.
    answer : record, mapping or callable
        Its JSON form, written by :func:`~edgetime.records.as_json`; a callable makes it.
    beside : mapping
        Further keys of the JSON form, such as the drawings and their digest.
    table : Table, callable or None
        The CSV form; a callable makes it.
    blocks : callable
        Makes the document that people read.
    workbook : callable or None
        Makes the document of a workbook, where it is another one.
    assumptions : callable or None
        Makes the figures the answer rests on, with their sources; a workbook keeps them.
    system : UnitSystem
        Units of these documents.
    findings : tuple of Finding
        For ``--strict``, and for people beside a CSV table.
    strict : bool
        Exit with 1 for a warning or worse.
    xlsx : Path or None
        Workbook to write beside it.
    hints : tuple of str
        What to try next; for people only.
    """

    output: Format = Format.TABLE
    answer: object = None
    beside: Mapping[str, object] = field(default_factory=dict)
    table: Table[Any] | Callable[[], Table[Any]] | None = None
    blocks: Callable[[], Iterable[Block]]
    workbook: Callable[[], Iterable[Block]] | None = None
    assumptions: Callable[[], Iterable[Block]] | None = None
    system: UnitSystem = UnitSystem.METRIC
    findings: tuple[Finding, ...] = ()
    strict: bool = False
    xlsx: Path | None = None
    hints: tuple[str, ...] = ()

    def json_form(self) -> dict[str, Any]:
        """Return the JSON document."""
        answer = self.answer() if callable(self.answer) else self.answer
        return {**as_json(answer), **as_json(self.beside)}

    def csv_form(self) -> tuple[Sequence[str], Iterable[Sequence[Any]]]:
        """Return the first row of the CSV table, and the others."""
        table = self.table() if callable(self.table) else self.table
        return ((), ()) if table is None else (table.header, table.cells())

    def workbook_document(self) -> Document:
        """Return the document of a workbook: what people read, and what it rests on."""
        from edgetime.report.document import Document  # noqa: PLC0415  not needed for --help

        blocks = [*(self.workbook or self.blocks)()]
        if self.assumptions is not None:
            blocks += self.assumptions()
        return Document.of(blocks, self.system)

    @property
    def exit_code(self) -> int:
        """0, or 1 for findings of warning or worse under ``strict``."""
        level = worst(self.findings)
        failed = self.strict and level is not None and level.rank >= Severity.WARNING.rank
        return 1 if failed else 0


def one_table(asked: Mapping[str, bool]) -> None:
    """Refuse a CSV table for more than one of the options that each give one."""
    names = [name for name, yes in asked.items() if yes]
    if len(names) > 1:
        raise UsageError(
            f"CSV holds one table; {' and '.join(names)} give one each.",
            where=Where(key="--format"),
            remedy="Ask for one at a time, or for --format json.",
        )


def _json_text(document: dict[str, Any], stream: TextIO) -> str:
    unicode_fits = "utf" in (getattr(stream, "encoding", None) or "ascii").lower()
    return json.dumps(document, indent=2, allow_nan=False, ensure_ascii=not unicode_fits) + "\n"


def csv_text(header: Sequence[str], rows: Iterable[Sequence[Any]]) -> str:
    """Return a CSV table, its cells safe for spreadsheets."""
    import csv  # noqa: PLC0415  only for this form
    import io  # noqa: PLC0415

    page = io.StringIO()
    writer = csv.writer(page, lineterminator="\n")
    writer.writerow(header)
    writer.writerows(["" if value is None else cell(value) for value in row] for row in rows)
    return page.getvalue()


def _write(stream: TextIO, text: str) -> None:
    stream.write(text)
    stream.flush()


def _screen_text(document: Document, stream: TextIO) -> str:
    from edgetime.report.screen import Screen  # noqa: PLC0415  brings rich

    return Screen.of(stream).render(document) if document.blocks else ""


def check_workbook(target: Path) -> None:
    """Refuse a file name that no spreadsheet program takes for a workbook."""
    if target.suffix.lower() != ".xlsx":
        raise UsageError(
            f"{target} does not end with .xlsx.",
            where=Where(key="--xlsx"),
            remedy="End the name of the workbook with .xlsx.",
        )


def _write_workbook(target: Path, document: Document) -> None:
    from edgetime.workbook import workbook_bytes  # noqa: PLC0415  only for this surface

    write_whole(target, workbook_bytes(document))


def emit(result: Result, *, quiet: bool = False) -> int:
    """Write a result and return the exit code.

    Parameters
    ----------
    result : Result
        Of a command.
    quiet : bool
        Leave out what is written beside it on standard error.
    """
    from edgetime.report.document import Document  # noqa: PLC0415  not needed for --help
    from edgetime.report.screen import plain  # noqa: PLC0415  as above

    out, err = sys.stdout, sys.stderr
    notes = ""
    if result.xlsx is not None:
        _write_workbook(result.xlsx, result.workbook_document())
    if result.output is Format.JSON:
        text = _json_text(result.json_form(), out)
    elif result.output is Format.CSV:
        text = plain(shown(csv_text(*result.csv_form())), getattr(out, "encoding", None))
        if result.findings:
            from edgetime.report.findings import finding_parts  # noqa: PLC0415  brings rich

            notes = _screen_text(Document.of(finding_parts(result.findings)), err)
    else:
        text = _screen_text(Document.of(result.blocks(), result.system), out)
    if result.output is Format.TABLE:
        notes += "".join(f"{hint}\n" for hint in result.hints)
    if result.exit_code:
        notes += "edgetime: --strict: findings of warning or worse, exit code 1\n"
    _write(out, text)
    if notes and not quiet:
        _write(err, plain(notes, getattr(err, "encoding", None)))
    return result.exit_code


def as_error(error: BaseException) -> EdgetimeError:
    """Return any failure in the form of the contract.

    Returns
    -------
    EdgetimeError
        Itself; an input error for what the system refuses; else an internal error.
    """
    if isinstance(error, EdgetimeError):
        return error
    if isinstance(error, OSError):
        # A full disk names no file; neither is a fault of ours.
        name = error.filename
        return InputError(
            f"The operating system reports: {error.strerror or type(error).__name__}.",
            where=Where() if name is None else Where(path=os.fsdecode(name)),
            remedy="Check the file or folder, your rights to it, and the space on the disk.",
        )
    if isinstance(error, MemoryError):
        return InternalError("There is not enough memory for this load.")
    text = " ".join(str(error).split())[:200]
    return InternalError(
        f"{type(error).__name__}: {text}" if text else type(error).__name__,
        remedy="This is a bug in edgetime: please report it. With EDGETIME_DEBUG=1 the whole "
        "traceback is shown.",
    )


_ONCE = "  for this once: "
_INDENTED = "    edgetime "


def _mended(argv: Sequence[str], add: Sequence[str]) -> str:
    """Return a command line with options added, as it is typed."""
    from edgetime.takeoff.layer_use import shell_words  # noqa: PLC0415  only for a failure

    words = list(argv)
    at = words.index("--") if "--" in words else len(words)
    return shell_words(["edgetime", *words[:at], *add, *words[at:]])


_QUOTED: Final = r"(?<= )'[^'\n]*'"
_COMMAND: Final = re.compile(
    rf"edgetime ledger (?:[^'()\n;]|{_QUOTED})*(?:[^'()\n;.,\s]|{_QUOTED})"
)
_KEPT: Final = ("--shop", "--ledger")


def _as_given(text: str, argv: Sequence[str]) -> str:
    """Let the ledger's commands in a message name the shop and the ledger that were given."""
    from edgetime.takeoff.layer_use import shell_words  # noqa: PLC0415  only for a failure

    given: dict[str, str] = {}
    for word, after in zip(argv, [*argv[1:], ""], strict=True):
        name, sign, value = word.partition("=")
        if name in _KEPT:
            given[name] = value if sign else after

    def kept(found: re.Match[str]) -> str:
        words = [w for name, value in given.items() if name not in found[0] for w in (name, value)]
        use = words and "--help" not in found[0]
        return f"{found[0]} {shell_words(words)}" if use else found[0]

    return _COMMAND.sub(kept, text)


def _human(error: EdgetimeError, argv: Sequence[str], system: UnitSystem, width: int) -> str:
    from edgetime.report.screen import fill  # noqa: PLC0415  only for failures
    from edgetime.report.wording import in_units, place_in_units  # noqa: PLC0415  as above

    lines: list[str] = []
    for one in (error, *error.others):
        # What is wrong with a file is said in the units of the file.
        units = system if isinstance(one, PlanError) else UnitSystem.METRIC
        names = (one.where.layer, one.where.part, one.where.path)
        what = in_units(one.what, units, names=names)
        place = place_in_units(one.where, units)
        lines.append(f"edgetime: {what}" if one is error else f"  and: {what}")
        lines += [f"  where: {place}"] if place else []
        remedy = _as_given(in_units(one.remedy, units), argv)
        lines += [f"  what to do: {remedy}"] if remedy else []
        if one.add:
            lines.append(f"{_ONCE}{_mended(argv, one.add)}")
    # A remedy may list commands, each on a line of its own.
    rows = [row for line in lines for row in line.split("\n")]
    # What is to be copied stays on one line.
    return "".join(
        f"{row if row.startswith((_ONCE, _INDENTED)) else fill(row, width, hang=4)}\n"
        for row in rows
    )


def emit_error(
    error: BaseException,
    *,
    output: Format,
    argv: Sequence[str] = (),
    system: UnitSystem = UnitSystem.METRIC,
) -> int:
    """Write a failure and return the exit code.

    Parameters
    ----------
    error : exception
        What was raised.
    output : Format
        With ``json`` one ``edgetime.error/1`` document goes to standard output.
    argv : sequence of str
        The command line that failed.
    system : UnitSystem
        Units of lengths in what is said of a load.
    """
    from edgetime.report.screen import Screen, plain  # noqa: PLC0415  not needed for --help

    told = as_error(error)
    if os.environ.get("EDGETIME_DEBUG") and isinstance(told, InternalError):
        import traceback  # noqa: PLC0415  only for our own faults

        traceback.print_exception(error)
    if output is Format.JSON:
        # Where standard output itself is what fails, the other stream still tells.
        with suppress(OSError):
            _write(sys.stdout, without_secrets(_json_text(told.json_form(), sys.stdout)))
    text = shown(without_secrets(_human(told, argv, system, Screen.of(sys.stderr).width)))
    _write(sys.stderr, plain(text, getattr(sys.stderr, "encoding", None)))
    return told.exit_code


def write_whole(target: Path, content: bytes) -> None:
    """Write a file whole or not at all; what was there before stays until the new one is whole."""
    import tempfile  # noqa: PLC0415  only for commands that write files

    beside: Path | None = None
    try:
        with tempfile.NamedTemporaryFile(
            dir=target.parent, prefix=f".{target.name}.", delete=False
        ) as file:
            beside = Path(file.name)
            file.write(content)
        beside.chmod(0o666 & ~_umask())
        beside.replace(target)
    except OSError as error:
        # The user named the target, not the file beside it.
        error.filename = str(target)
        raise
    finally:
        if beside is not None:
            with suppress(OSError):
                beside.unlink(missing_ok=True)


def check_page(target: Path | None, option: str) -> None:
    """Refuse a file that is neither a page nor a PDF, before anything is calculated."""
    if target is not None and target.suffix.lower() not in {".html", ".htm", ".pdf"}:
        raise UsageError(
            f"{target} ends neither with .html nor with .pdf.",
            where=Where(key=option),
            remedy="End the file name with one of these.",
        )


def write_page(target: Path, page: str) -> None:
    """Write a page as HTML or, by the name of the file, as PDF."""
    content = page.encode()
    if target.suffix.lower() == ".pdf":
        from edgetime.picture.convert import page_pdf  # noqa: PLC0415  an extra

        content = page_pdf(page)
    write_whole(target, content)


def _umask() -> int:
    """Return which rights new files do not get; it can only be read by setting it."""
    mask = os.umask(0o022)
    os.umask(mask)
    return mask


def table_units(units: UnitSystem | None, shop_units: str) -> UnitSystem:
    """Return the units of tables: the option's, else the shop's."""
    return units if units is not None else UnitSystem(shop_units)
