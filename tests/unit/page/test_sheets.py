"""The set-up sheet says what the plan of passes and the catalogue say."""

from __future__ import annotations

import math
import re

import pytest
from support.estimates import two_tops
from support.kitchens import EASED, SINK, WALL, write_kitchen
from support.pen import Pen

from edgetime.drawing import read_drawing
from edgetime.estimating import estimate
from edgetime.estimating.settings import tool_settings
from edgetime.geometry.measure import bounds
from edgetime.page.sheets import CHECKS, setup_sheet
from edgetime.picture.convert import page_pdf


@pytest.fixture(scope="module")
def est(tmp_path_factory):
    return estimate([write_kitchen(tmp_path_factory.mktemp("sheet") / "kitchen.dxf")])


def test_settings_are_those_of_the_passes(est):
    """Feeds, offsets and depth bracket every pass; speeds are the plan's."""
    for setting in tool_settings(est):
        mine = [p for p in est.plan.passes if p.visit == setting.visit - 1]
        assert setting.passes == len(mine)
        assert setting.passes_per_run == max(p.count for p in mine)
        assert setting.runs * setting.passes_per_run >= setting.passes >= setting.runs
        for p in mine:
            assert setting.low_feed_mm_per_s <= p.feed_mm_per_s <= setting.high_feed_mm_per_s
            assert setting.near_mm <= p.offset_mm <= setting.far_mm
            assert setting.depth_mm >= -p.bottom_z_mm
        visit = est.plan.visits[setting.visit - 1]
        assert setting.rotation_rad_per_s == visit.rotation_rad_per_s


def test_a_marked_rim_speed_limits_the_spindle():
    """V = omega D / 2, the lower of both markings."""
    for setting in tool_settings(two_tops()):
        limit = setting.max_rotation_rad_per_s
        if limit is not None:
            assert setting.rotation_rad_per_s <= limit
    est = two_tops()
    tool = est.load.catalogue.tools[est.cycle.visits[0].tool]
    (first, *_) = tool_settings(est)
    marked = [m for m in (tool.max_rotation_rad_per_s,) if m]
    if tool.max_peripheral_mm_per_s:
        marked.append(2.0 * tool.max_peripheral_mm_per_s / first.diameter_mm)
    assert first.max_rotation_rad_per_s == (min(marked) if marked else None)


def test_the_sheet_has_every_tool_stop_and_check(est):
    """A row for each visit with its speed in rpm, each stop with its time of day."""
    wall = est.wall_clock("9:10")
    page = setup_sheet(est, wall=wall)
    text = re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page))
    for setting in tool_settings(est):
        rpm = f"{setting.rotation_rad_per_s * 60.0 / math.tau:.0f}"
        assert re.search(
            rf"\b{setting.visit} \S+( hand)? {re.escape(setting.piece.replace('/', ' / '))} .*?\b{rpm}\b",
            text,
        )
    for _, begin, _ in wall.stop_times():
        assert wall.show(begin) in text
    for check in CHECKS:
        assert check in text
    assert "<script" not in page
    assert "Measured cycle time" in text


def twelve(path):
    """Draw twelve tops of 700 × 400 mm on a grid, each with a round sink, eased in front."""
    pen = Pen()
    for n in range(12):
        x, y = 150.0 + 900.0 * (n % 4), 150.0 + 650.0 * (n // 4)
        pen.sides((EASED, WALL, WALL, WALL), x, y, 700.0, 400.0)
        pen.circle(SINK, x + 350.0, y + 200.0, 150.0)
    return pen.save(path)


def test_a_load_of_twelve_parts_is_two_pages(tmp_path):
    """Every part with its corner and size as drawn, every stop, on paper that is carried."""
    pypdfium2 = pytest.importorskip("pypdfium2")
    pytest.importorskip("weasyprint")
    est = estimate([twelve(tmp_path / "twelve.dxf")], machine="large")
    assert len(est.load.parts) == 12
    pdf = pypdfium2.PdfDocument(page_pdf(setup_sheet(est)))
    assert len(pdf) <= 2
    text = " ".join("".join(p.get_textpage().get_text_range() for p in pdf).split())
    for placed in est.load.parts:
        x0, y0, x1, y1 = bounds(placed.part.outline.path)
        corner = f"{x0:.1f} {y0:.1f} {x1 - x0:.0f} × {y1 - y0:.0f}".replace(".0", "")
        assert f"{placed.part.part_id} {corner}" in text.replace(f" {placed.name} ", " ")
    assert (x1 - x0, y1 - y0) == pytest.approx((700.0, 400.0))
    assert text.count("Take out the slugs") == len(est.plan.stops) == 1
    assert "Before tool" in text


def faulty(path):
    """Draw a top with a tap hole 20 mm from its edge, and a circle on a layer without a rule."""
    pen = Pen()
    pen.sides((EASED, WALL, WALL, WALL), 200.0, 200.0, 1500.0, 600.0)
    pen.circle("TAP", 700.0, 780.0, 35.0)
    pen.circle("SOCKETS", 1200.0, 500.0, 35.0)
    return pen.save(path)


def test_findings_are_told_by_the_numbers_of_the_plan(tmp_path):
    """At the size of the text, not in the small print below the plan; stray lines are drawn."""
    path = faulty(tmp_path / "top.dxf")
    page = setup_sheet(estimate([path]), drawings=[read_drawing(path)])
    plan = page[page.index('<div class="plan">') : page.index("<h2>Tools</h2>")]
    told = page[page.index("<h2>Marks in the plan</h2>") :]
    assert re.search(r">\d warning rib-thin: .* 2\.50 mm of stone are left", told)
    assert "stone are left; less" not in re.sub(r"<title>.*?</title>", "", plan)
    assert "no layer rule: SOCKETS" in plan
