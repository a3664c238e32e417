"""Workbooks as a spreadsheet program calculates them."""

from __future__ import annotations

import datetime as dt
import shutil
import subprocess
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

import openpyxl
import pytest

NO_OFFICE = shutil.which("soffice") is None

needs_office = pytest.mark.skipif(
    NO_OFFICE, reason="LibreOffice (Debian: libreoffice-calc) is not installed"
)

Change = Callable[[Any], None]


def recalculated(books: Mapping[Path, Change | None], folder: Path) -> dict[Path, Any]:
    """Return workbooks with every formula calculated anew, after a change to each.

    openpyxl writes formulas without their last results, so that the program has to calculate
    them. One start of it takes all files.
    """
    given, made = folder / "given", folder / "made"
    given.mkdir()
    for number, (path, change) in enumerate(books.items()):
        book = openpyxl.load_workbook(path)
        if change is not None:
            change(book)
        book.save(given / f"{number}.xlsx")
    done = subprocess.run(
        [
            shutil.which("soffice") or "",
            f"-env:UserInstallation={(folder / 'office').as_uri()}",
            "--headless",
            "--convert-to",
            "xlsx:Calc MS Excel 2007 XML",
            "--outdir",
            str(made),
            *map(str, sorted(given.glob("*.xlsx"))),
        ],
        check=False,
        capture_output=True,
        timeout=240,
    )
    assert done.returncode == 0, done.stderr
    return {
        path: openpyxl.load_workbook(made / f"{number}.xlsx", data_only=True)
        for number, path in enumerate(books)
    }


def number(value: object) -> float:
    """Return what a cell holds as a number; openpyxl makes times and dates of some."""
    if isinstance(value, dt.timedelta):
        return value.total_seconds() / 86400.0
    if isinstance(value, dt.time):
        return (value.hour * 3600 + value.minute * 60 + value.second) / 86400.0
    if isinstance(value, dt.datetime):
        day = (value.date() - dt.date(1899, 12, 30)).days
        return day + number(value.time())
    assert isinstance(value, (int, float)), value
    return float(value)


def half_a_digit(pattern: str) -> float:
    """Return half of the last digit that a number format prints."""
    if "h" in pattern or "yy" in pattern:
        return 0.5 / 86400.0
    first = pattern.partition(";")[0]
    decimals = len(first.partition(".")[2].rstrip("%")) if "." in first else 0
    return 0.5 * 10.0 ** -(decimals + 2 * first.endswith("%"))


def formulas(path: Path) -> Iterator[tuple[str, str, float, str]]:
    """Yield sheet, address, our result and number format of every formula."""
    written = openpyxl.load_workbook(path)
    ours = openpyxl.load_workbook(path, data_only=True)
    for sheet in written:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.data_type == "f":
                    value = ours[sheet.title][cell.coordinate].value
                    yield sheet.title, cell.coordinate, number(value), cell.number_format


def cell_of(book: Any, name: str) -> Any:
    """Return the cell that bears a name."""
    ((sheet, address),) = book.defined_names[name].destinations
    return book[sheet][address.replace("$", "")]
