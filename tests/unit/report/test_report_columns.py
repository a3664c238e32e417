"""Tables declared once: one declaration, three forms."""

from __future__ import annotations

import pytest
from support.screens import shown

from edgetime.report.columns import CLOCK, COUNT, EDGE, PLACE, Column, Sheet
from edgetime.report.document import Table
from edgetime.units import UnitSystem

SHEET = Sheet(
    (
        Column(key="name", heading="Name", get=lambda r: r[0], total=lambda _: "Total"),
        Column(heading="Shown only", get=lambda r: r[0].upper()),
        Column(key="count", unit=COUNT, get=lambda _: 3),
        Column(key="time_s", heading="Time", unit=CLOCK, get=lambda r: r[1],
               total=lambda rows: sum(r[1] for r in rows)),
        Column(key="edge_mm", heading="Edge", unit=EDGE, get=lambda r: r[2]),
        Column(key="x_mm", heading="X", unit=PLACE, get=lambda r: r[2]),
    )
)  # fmt: skip
ROWS = [("a", 65.4, 3048.0), ("b", 60.0, None)]


def test_files_get_every_key_in_full():
    """CSV and JSON have the same keys and unrounded values; None stays None."""
    assert SHEET.header == ("name", "count", "time_s", "edge_mm", "x_mm")
    assert SHEET.csv_rows(ROWS) == [["a", 3, 65.4, 3048.0, 3048.0], ["b", 3, 60.0, None, None]]
    assert SHEET.records(ROWS)[1] == {
        "name": "b", "count": 3, "time_s": 60.0, "edge_mm": None, "x_mm": None,
    }  # fmt: skip


def test_screen_gets_headings_units_and_totals():
    """3048 mm are 10 ft and 120 in; 65.4 + 60 s are 2:05."""
    text = shown([Table(SHEET, ROWS)], UnitSystem.METRIC).splitlines()
    assert text[0].split() == ["Name", "Shown", "only", "Time", "Edge", "m", "X", "mm"]
    assert text[2].split() == ["a", "A", "1:05", "3.048", "3048"]
    assert text[3].split() == ["b", "B", "1:00", "-", "-"]
    assert text[5].split() == ["Total", "2:05"]
    imperial = shown([Table(SHEET, ROWS)], UnitSystem.IMPERIAL).splitlines()
    assert imperial[0].split()[-4:] == ["Edge", "ft", "X", "in"]
    assert imperial[2].split()[-2:] == ["10.00", "120.0"]


def test_table_without_totals_has_no_last_row():
    """No rule, no empty row."""
    plain = Sheet((Column(key="name", heading="Name", get=str),))
    assert shown([Table(plain, ["a"])]).splitlines() == [
        "Name", "────", "a",
    ]  # fmt: skip


@pytest.mark.parametrize(
    "columns",
    [
        (Column(key="a", get=str), Column(key="a", get=str)),
        (Column(key="edge", get=str, unit=EDGE),),
    ],
)
def test_a_table_that_misleads_is_refused(columns):
    """Two columns of one key, or a key that does not say its unit."""
    with pytest.raises(ValueError, match=r"key|unit"):
        Sheet(columns)
