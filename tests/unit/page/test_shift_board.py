"""The shift board says what the plan says, and fits its sheet."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date

import pytest
from support.kitchens import write_kitchen
from support.shifts import MIN

from edgetime.choices import Paper
from edgetime.findings import Finding, Severity
from edgetime.page.shift_board import shift_board, type_pt
from edgetime.picture.convert import page_pdf
from edgetime.report.text import time_of_day
from edgetime.shift import Job, ShiftOptions, codes, plan_shift
from edgetime.tooling import load_catalogue

CATALOGUE = load_catalogue()
BAD = "<script>alert(1)</script> & Söhne"


def phoned(number, **asked):
    """Return the plan of as many jobs that are not drawn."""
    hours = number * 25 * MIN + 3600.0
    jobs = [
        Job(name=f"Job {n} " + (BAD if n == 2 else "Miller"), cycle_s=10 * MIN, area_mm2=2e6,
            parts=2)
        for n in range(1, number + 1)
    ]  # fmt: skip
    options = ShiftOptions(replications=0, hours_s=min(24 * 3600.0, hours), **asked)
    plan = plan_shift(jobs, CATALOGUE, options)
    assert len(plan.timetable) == number
    return plan


@pytest.fixture(scope="module")
def plan(tmp_path_factory):
    """Plan a drawn kitchen twice, in a rack that is too small for its tools."""
    path = write_kitchen(tmp_path_factory.mktemp("board") / "kitchen.dxf")
    jobs = [Job(name="Kitchen", drawings=(str(path),), quantity=2)]
    return plan_shift(jobs, CATALOGUE, ShiftOptions(replications=0, pockets=12, zones=2))


def _text(page):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page))


def test_every_load_is_there_with_its_times(plan):
    """Zone, loading, start, end, clear; each stop and tool change with from and to."""
    text = _text(shift_board(plan, day=date(2027, 1, 18)))
    at = lambda s: time_of_day(plan.starts_s + s)  # noqa: E731
    assert "Monday 2027-01-18" in text
    errands = 0
    for row in plan.timetable:
        run = row.run
        zones = " + ".join(map(str, run.on_zones))
        assert (
            f"{row.number} {run.name} ({run.parts} parts) {zones} {at(run.loading_at_s)} "
            f"{at(run.starts_s)}"
        ) in text
        assert f"{at(run.ends_s)} {at(run.done_s)}" in text
        for errand in row.errands:
            assert f"{at(errand.start_s)}–{at(errand.stop_s)} " in text
            assert all(name in text for name in errand.on)
            errands += 1
    assert errands > 4
    assert "Put in the tool by hand: " in text
    assert "Actual start" in text
    assert "Cut wet" in text
    for b in plan.breaks:
        assert f"Break {at(b.after_s)}–{at(b.after_s + b.length_s)}" in text
    for span in plan.operator_needed:
        assert f"{at(span.start_s)}–{at(span.stop_s)}" in text


def test_bars_are_where_the_clock_says(plan):
    """Each bar of the chart, read back from its place, is the plan's to a second."""
    page = shift_board(plan)
    start, scale, left = (
        float(re.search(rf'data-{key}="([^"]*)"', page)[1]) for key in ("start", "scale", "left")
    )
    assert start == plan.starts_s
    told = {
        (round((float(x) - left) / scale, -1), round(float(wide) / scale, -1))
        for x, wide in re.findall(r'<rect x="([\d.]+)" y="[\d.]+" width="([\d.]+)"', page)
    }
    for row in plan.timetable:
        for bar in row.bars:
            near = [
                t for t in told
                if abs(t[0] - bar.start_s) <= 15 and abs(t[1] - (bar.stop_s - bar.start_s)) <= 20
            ]  # fmt: skip
            assert near, bar


def test_without_a_day_there_is_a_line_for_it():
    """A board that hangs for any day has its date written by hand."""
    page = shift_board(phoned(3))
    assert 'Date <span class="hand">' in page
    assert 'data-day=""' in page


def test_names_do_nothing():
    """What a user typed is text."""
    page = shift_board(phoned(3))
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert(1)&lt;/script&gt; &amp; Söhne" in page
    assert page.count("<script>") == 1
    assert " style=" not in page
    assert "http" not in page.replace("http-equiv", "").replace("http://www.w3.org/2000/svg", "")


def test_a_load_that_cannot_run_leads(plan):
    """An error of a load is in the head, in the words of the screen."""
    finding = Finding(codes.POCKETS_SHORT, "A wheel leaves the table.", level=Severity.ERROR)
    broken = replace(plan, shift=replace(plan.shift, findings=(finding,)))
    head = shift_board(broken).split("<main>")[0]
    assert "cannot run" in head


@pytest.mark.parametrize("paper", list(Paper))
@pytest.mark.parametrize("number", [3, 12, 30])
def test_it_fits_one_sheet(number, paper):
    """However many loads: one page of that paper, on its side, in type that is still read."""
    pypdfium2 = pytest.importorskip("pypdfium2")
    pytest.importorskip("weasyprint")
    plan = phoned(number, zones=2)
    pdf = pypdfium2.PdfDocument(page_pdf(shift_board(plan, paper=paper)))
    assert len(pdf) == 1
    wide = {Paper.A4: 297.0, Paper.A3: 420.0, Paper.LETTER: 279.4}[paper]
    assert pdf[0].get_width() == pytest.approx(wide / 25.4 * 72.0, abs=1.0)
    assert pdf[0].get_height() < pdf[0].get_width()
    assert f"Job {number} " in pdf[0].get_textpage().get_text_range()
    assert type_pt(plan, paper) >= 6.5


def test_type_grows_with_the_paper_and_with_fewer_loads():
    """A board is read from afar: it uses the room there is."""
    few, many = phoned(3), phoned(30)
    assert type_pt(few, Paper.A4) > 1.5 * type_pt(many, Paper.A4)
    assert type_pt(many, Paper.A3) > 1.3 * type_pt(many, Paper.A4)
