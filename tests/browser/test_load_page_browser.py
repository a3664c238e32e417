"""The page of a load as a person uses it, in a real browser."""

from __future__ import annotations

import numpy as np
import pytest

from edgetime.picture.track import tool_track

pytestmark = [pytest.mark.browser, pytest.mark.slow]


def on_edge(page, selector="path[data-edge]"):
    """Put the pointer on the middle of the first edge."""
    at = page.evaluate(
        """s => { const p = document.querySelector(s); p.scrollIntoView({block: "center"});
        const m = p.getPointAtLength(p.getTotalLength() / 2);
        const q = new DOMPoint(m.x, m.y).matrixTransform(p.getScreenCTM());
        return [q.x, q.y]; }""",
        selector,
    )
    page.mouse.move(*at)


def seconds(text):
    """Return the moment that the line above the plan names [s]."""
    minutes, rest = text.split(" of ")[0].split(":")
    return 60 * int(minutes) + int(rest)


def test_nothing_is_asked_of_the_network(open_page, load_html):
    """The page itself is the only request."""
    page = open_page()
    assert page.asked == [load_html.as_uri()]


def test_drawn_lengths_are_those_of_the_take_off(open_page, est):
    """Measured by the browser's own path length, edge by edge."""
    page = open_page()
    drawn = page.eval_on_selector_all(
        "path[data-edge]", "all => all.map(p => [p.getTotalLength(), +p.dataset.lengthMm])"
    )
    assert len(drawn) == sum(len(c.edges) for p in est.load.parts for c in p.part.contours())
    # Chromium measures curves in single precision, to about 1e-4 of their length.
    for length, true in drawn:
        assert length == pytest.approx(true, rel=3e-4)


def test_pointing_at_an_edge_tells_of_it_and_lights_its_row(open_page, est):
    """Length, part and the time of each tool there."""
    page = open_page()
    on_edge(page)
    told = page.text_content("#edge")
    lit = page.locator("tr.lit[data-edge]")
    assert lit.count() == 1
    assert f"{est.load.parts[0].part.name}" in page.text_content("main")
    assert "Time (min:s):" in told
    assert page.locator("path.lit").count() == 1


def test_a_row_lights_its_edge_by_keyboard(open_page):
    """Focus does what the pointer does."""
    page = open_page()
    row = page.locator("tr[data-edge]").nth(3)
    row.focus()
    part, edge = row.get_attribute("data-part"), row.get_attribute("data-edge")
    lit = page.locator("path.lit")
    assert lit.count() == 1
    assert (lit.get_attribute("data-part"), lit.get_attribute("data-edge")) == (part, edge)


def test_tools_are_switched_on_and_off(open_page, est):
    """One tool is on at first; all and none are a button each."""
    page = open_page()
    assert page.locator("g.tool").count() == 1
    page.click("#all-tools")
    assert page.locator("g.tool").count() == len(est.cycle.visits)
    page.click("#no-tools")
    assert page.locator("g.tool").count() == 0
    page.locator("input[data-visit='1']").check()
    assert page.locator("g.tool").get_attribute("data-tool") == est.cycle.visits[0].piece
    page.locator("input[data-show='labels']").uncheck()
    assert not page.locator("g.labels").first.is_visible()


def test_play_moves_the_tool_and_pause_holds_it(open_page):
    """At speed 300, a second of watching is five minutes of the cycle."""
    page = open_page()
    page.select_option("#speed", "300")
    page.click("#play")
    for _ in range(100):
        if float(page.input_value("#moment")) > 60.0:
            break
        page.wait_for_timeout(50)
    page.click("#play")
    held = page.text_content("#now")
    page.wait_for_timeout(300)
    assert page.text_content("#now") == held
    assert seconds(held) > 60
    assert page.text_content("#play") == "Play"


def test_the_slider_shows_where_the_tool_is(open_page, est):
    """By keyboard; place, tool, what comes next and the time of day."""
    page = open_page()
    page.locator("#moment").focus()
    page.keyboard.press("End")
    assert seconds(page.text_content("#now")) == int(est.cycle.total_s)
    page.evaluate(
        "m => { const s = document.getElementById('moment'); s.value = m;"
        "s.dispatchEvent(new Event('input')); }",
        0.4 * est.cycle.total_s,
    )
    track = tool_track(est)
    moment = float(page.evaluate("document.getElementById('moment').value"))
    shown = page.evaluate(
        "(m => [m.e, -m.f])"
        "(document.querySelector('g.marker').transform.baseVal.consolidate().matrix)"
    )
    true = [float(np.interp(moment, track.time_s, track.place_mm[:, k])) for k in (0, 1)]
    assert shown == pytest.approx(true, abs=1.0)
    now = page.text_content("#now")
    (row,) = [r for r in est.order if r.starts_s <= moment < r.ends_s]
    assert row.piece in now
    assert "Next: " in now
    assert est.wall_clock("9:10").at(row.visit - 1, moment).strftime("%H:%M:%S") in now


def test_a_bar_of_the_timeline_seeks(open_page, est):
    """Clicking a tool's bar goes to where its visit begins."""
    page = open_page()
    page.locator(".timeline .bar").nth(2).click()
    assert seconds(page.text_content("#now")) == int(est.cycle.visits[2].starts_s)


@pytest.mark.parametrize(
    "context",
    [
        {"viewport": {"width": 390, "height": 800}},
        {"viewport": {"width": 1280, "height": 900}},
        {"viewport": {"width": 1280, "height": 900}, "color_scheme": "dark"},
    ],
    ids=["phone", "laptop", "dark"],
)
def test_it_fits_and_passes_axe(open_page, context):
    """No sideways scrolling; no serious finding of axe-core."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright")
    page = open_page(**context, bypass_csp=True)  # axe injects a script
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    found = axe.Axe().run(page).response["violations"]
    assert [v["id"] for v in found if v["impact"] in {"serious", "critical"}] == []


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_it_prints(open_page, tmp_path, paper):
    """Pages of that paper with the plan and without the controls."""
    pypdfium2 = pytest.importorskip("pypdfium2")
    page = open_page()
    page.pdf(path=tmp_path / "load.pdf", format=paper)
    pdf = pypdfium2.PdfDocument(tmp_path / "load.pdf")
    text = "".join(p.get_textpage().get_text_range() for p in pdf)
    assert "Tool by tool" in text
    assert "Play" not in text
    wide = {"A4": 595, "Letter": 612}[paper]
    assert pdf[0].get_width() == pytest.approx(wide, abs=2)
    assert len(pdf) <= 12
