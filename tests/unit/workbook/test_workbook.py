"""A workbook holds the figures people read, as numbers, and nothing that runs."""

from __future__ import annotations

import io
from dataclasses import dataclass
from datetime import timedelta

import openpyxl
import pytest
from support.kitchens import write_kitchen

from edgetime.estimating import estimate
from edgetime.report.columns import CLOCK, EDGE, PERCENT, Column, Sheet, Unit
from edgetime.report.cycle import estimate_parts
from edgetime.report.document import Document, Fact, Heading, Line, Table, Tone
from edgetime.units import UnitSystem
from edgetime.workbook import workbook_bytes


def opened(document, *, values=False):
    return openpyxl.load_workbook(io.BytesIO(workbook_bytes(document)), data_only=values)


@dataclass
class Row:
    name: str
    time_s: float
    edge_mm: float
    share: float
    volume_mm3: float


LITRES = Unit("_mm3", lambda v, _: f"{v / 1e6:.1f}", lambda _: "l")
SHEET = Sheet(
    (
        Column(key="name", heading="Name", total=lambda _: "Total"),
        Column(key="time_s", heading="Time", unit=CLOCK, total=lambda r: sum(x.time_s for x in r)),
        Column(key="edge_mm", heading="Edge", unit=EDGE),
        Column(key="share", heading="%", unit=PERCENT),
        Column(key="volume_mm3", heading="Stone", unit=LITRES),
    )
)
ROWS = [Row("a", 90.0, 1234.5, 0.25, 2.34e6), Row("=1+1", 30.0, 500.0, 0.75, 1e5)]


@pytest.mark.parametrize(
    ("system", "edge", "heading"),
    [("metric", 1.2345, "Edge m"), ("imperial", 1234.5 / 304.8, "Edge ft")],
)
def test_figures_are_numbers_in_the_units_of_the_heading(system, edge, heading):
    """Times are times, shares percentages; what has a unit of its own keeps the printed digits."""
    sheet = opened(Document.of([Heading("Tools"), Table(SHEET, ROWS)], UnitSystem(system)))["Tools"]
    assert [c.value for c in sheet[1]][2] == heading
    cells = [c.value for c in sheet[2]]
    assert cells == ["a", timedelta(seconds=90), pytest.approx(edge), 0.25, 2.3]
    assert sheet.freeze_panes == "B2"


def test_totals_follow_their_column():
    """A formula with the value it has now."""
    document = Document.of([Table(SHEET, ROWS, name="tools")])
    assert opened(document)["Tools"]["B4"].value == "=SUM(B2:B3)"
    assert opened(document, values=True)["Tools"]["B4"].value == timedelta(seconds=120)


@pytest.mark.parametrize(
    "name", ["=HYPERLINK(1)", "+1", "@SUM(A1)", "-2", "http://x.invalid", "\tx"]
)
def test_names_are_texts(name):
    """Neither formula nor link comes of them."""
    blocks = [Fact(name, name), Line(name), Table(SHEET, [Row(name, 1.0, 1.0, 1.0, 1.0)])]
    book = opened(Document.of(blocks))
    for cell in (book["Summary"]["A1"], book["Summary"]["B1"], book.worksheets[1]["A2"]):
        assert cell.data_type == "s"
        assert cell.value.strip() == name.strip()
        assert cell.hyperlink is None


def test_sheets_have_names_of_their_own():
    """Alike headings, long ones and characters a name must not have."""
    tables = [Heading("By [part]: a/b"), Table(SHEET, ROWS), Heading("By [part]: a/b")]
    book = opened(Document.of([*tables, Table(SHEET, ROWS), Heading("x" * 60), Table(SHEET, [])]))
    assert len({n.lower() for n in book.sheetnames}) == 4
    assert all(len(n) <= 31 and not set(n) & set("[]:*?/\\") for n in book.sheetnames)


def test_an_estimates_tables_are_all_there(tmp_path):
    """Every table of the screen, and its sums recomputed from the cells."""
    est = estimate([write_kitchen(tmp_path / "kitchen.dxf")])
    blocks = estimate_parts(est, UnitSystem.METRIC)
    book = opened(Document.of(blocks), values=True)
    assert len(book.sheetnames) == 1 + sum(isinstance(b, Table) for b in blocks)
    tools = book.worksheets[1]
    heads = [c.value for c in tools[1]]
    total = heads.index("Total")
    rows = list(tools.iter_rows(min_row=2, max_row=1 + len(est.cycle.visits), values_only=True))
    recomputed = sum((row[total] for row in rows), timedelta())
    assert recomputed.total_seconds() == pytest.approx(est.cycle.total_s, abs=1e-3)
    errors = [b.text for b in blocks if isinstance(b, Line) and b.tone is Tone.ERROR]
    said = [c.value for c in book["Summary"]["A"]]
    assert all(e in said for e in errors)
