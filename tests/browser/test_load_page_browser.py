"""The page of a load as a person uses it, in a real browser."""

from __future__ import annotations

import numpy as np
import pytest

from edgetime.picture.track import begins, places, tool_track

pytestmark = [pytest.mark.browser, pytest.mark.slow]


def on_edge(page, selector="path[data-edge]"):
    """Put the pointer on the middle of an edge, whatever mark of a finding lies on it."""
    at = page.evaluate(
        """s => { const p = document.querySelector(s); p.scrollIntoView({block: "center"});
        const m = p.getPointAtLength(p.getTotalLength() / 2);
        const q = new DOMPoint(m.x, m.y).matrixTransform(p.getScreenCTM());
        return [q.x, q.y]; }""",
        selector,
    )
    page.mouse.move(*at)


def seconds(text):
    """Return the moment that the line above the plan names, to the nearest second [s]."""
    minutes, rest = text.split(" of ")[0].split(":")
    return 60 * int(minutes) + int(rest)


def test_it_is_small(load_html):
    """Even a page of two thousand edges goes by e-mail."""
    assert load_html.stat().st_size < 3e6


def test_nothing_is_asked_of_the_network(open_page, load_html):
    """The page itself is the only request."""
    page = open_page()
    page.click("#play")
    page.click("#all-tools")
    page.wait_for_timeout(300)
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


def test_a_row_lights_up_its_edge(open_page, est):
    """Pointed at by the mouse: the other way round; a row of a part lights up all of its edges."""
    page = open_page()
    row = page.locator("tr[data-edge]").nth(3)
    row.hover()
    lit = page.locator("path.lit")
    assert lit.count() == 1
    for name in ("data-part", "data-contour", "data-edge"):
        assert lit.get_attribute(name) == row.get_attribute(name)
    assert "Time (min:s):" in page.text_content("#edge")
    part = est.load.parts[0].part
    page.locator(f"tr[data-part='{part.part_id}']:not([data-edge])").first.hover()
    assert page.locator("path.lit").count() == sum(len(c.edges) for c in part.contours())


def test_a_click_on_an_edge_brings_its_row_into_sight(open_page):
    """However far down the table it is."""
    page = open_page()
    row = page.locator("tr[data-edge]").last
    own = {n: row.get_attribute(n) for n in ("data-part", "data-contour", "data-edge")}
    on_edge(page, "path" + "".join(f"[{name}='{value}']" for name, value in own.items()))
    page.mouse.down()
    page.mouse.up()
    lit = page.locator("tr.lit[data-edge]")
    assert lit.count() == 1
    assert {n: lit.get_attribute(n) for n in own} == own
    box, high = lit.bounding_box(), page.viewport_size["height"]
    assert -1.0 <= box["y"] <= high


def test_the_keyboard_alone(open_page, est):
    """Tab reaches the replay, the plan's switches and each table once; arrows go along its rows."""
    page = open_page()
    reached = []
    for _ in range(400):
        page.keyboard.press("Tab")
        now = page.evaluate(
            "(e => e.id || (e.closest('tr') ? `row ${[...e.parentElement.children].indexOf(e)}`"
            " : e.className || e.tagName))(document.activeElement)"
        )
        if now == "BODY":
            break
        reached.append(now)
        if now == "play":
            page.keyboard.press("Space")
            assert page.text_content("#play") == "Pause"
            page.keyboard.press("Space")
            assert page.text_content("#play") == "Play"
        elif now == "moment":
            before = page.input_value("#moment")
            page.keyboard.press("PageUp")
            assert float(page.input_value("#moment")) > float(before)
    else:
        pytest.fail("Tab goes round and round")
    assert {"play", "moment", "speed", "plan", "all-tools", "no-tools"} <= set(reached)
    rows = [name for name in reached if name.startswith("row ")]
    assert rows
    assert set(rows) == {"row 0"}
    first = page.locator("tr[data-edge]").first
    first.focus()
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    third = page.locator("tr[data-edge]").nth(2)
    lit = page.locator("path.lit")
    assert lit.count() == 1
    for name in ("data-part", "data-contour", "data-edge"):
        assert lit.get_attribute(name) == third.get_attribute(name)
    page.keyboard.press("End")
    last = page.locator("tr[data-edge]").last
    assert "lit" in last.get_attribute("class")
    visit = page.locator("tr[data-start-s]").nth(1)
    visit.focus()
    page.keyboard.press("Enter")
    assert seconds(page.text_content("#now")) == round(est.cycle.visits[1].starts_s)


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
    assert seconds(page.text_content("#now")) == round(est.cycle.total_s)
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
    wall = est.wall_clock("9:10")
    assert wall.show(wall.at(row.visit - 1, moment)) in now


def test_the_slider_is_dragged(open_page, est):
    """By the mouse, half way."""
    page = open_page()
    box = page.locator("#moment").bounding_box()
    y = box["y"] + 0.5 * box["height"]
    page.mouse.move(box["x"] + 8.0, y)
    page.mouse.down()
    page.mouse.move(box["x"] + 0.5 * box["width"], y, steps=8)
    page.mouse.up()
    half = 0.5 * est.cycle.total_s
    assert seconds(page.text_content("#now")) == pytest.approx(half, rel=0.02)


def test_the_replay_follows_the_motion_model(open_page, est):
    """The page's own place of the tool, at 2,000 moments: within a millimetre of the model's."""
    page = open_page()
    rng = np.random.default_rng(12)
    motion = est.motion
    rows = rng.choice(np.flatnonzero(motion.seconds > 0.0), 2_000)
    shares = rng.random(len(rows))
    run = np.concatenate([[0.0], np.cumsum(motion.seconds)])
    state = motion.sample(
        np.minimum(run[rows] + shares * motion.seconds[rows], motion.total_s * (1 - 1e-12))
    )
    known = state.row == rows
    when = (begins(est)[rows] + shares * motion.seconds[rows])[known]
    true = places(est.paths.moves, state.row, state.place)[known]
    shown = page.evaluate(
        "all => all.map(s => (p => [p.x, p.y, p.z])(edgetimePlace(s)))", when.tolist()
    )
    assert len(when) > 1_900
    assert np.linalg.norm(np.array(shown) - true, axis=1).max() < 1.0


def test_a_button_leads_to_an_attended_stop(open_page, est):
    """It names the time of day and what to do; the line above the plan says it too."""
    page = open_page()
    buttons = page.locator("button[data-seek-s]")
    assert buttons.count() == len(est.plan.stops)
    for k, stop in enumerate(est.plan.stops):
        buttons.nth(k).click()
        begins_s = est.cycle.visits[stop.before_visit].starts_s
        assert seconds(page.text_content("#now")) == round(begins_s)
        assert "Attended stop" in page.text_content("#now")


def test_a_bar_of_the_timeline_seeks(open_page, est):
    """Clicking a tool's bar goes to where its visit begins."""
    page = open_page()
    page.locator(".timeline .bar").nth(2).click()
    assert seconds(page.text_content("#now")) == round(est.cycle.visits[2].starts_s)


@pytest.mark.parametrize(
    "context",
    [
        {"viewport": {"width": 390, "height": 800}},
        {"viewport": {"width": 1280, "height": 900}},
        {"viewport": {"width": 1280, "height": 900}, "color_scheme": "dark"},
    ],
    ids=["phone", "laptop", "dark"],
)
def test_it_fits_and_passes_axe(open_page, est, context):
    """No sideways scrolling; no serious finding of axe-core."""
    if len(est.load.parts) > 100 and context != {"viewport": {"width": 1280, "height": 900}}:
        return  # a minute for each way to show the same elements
    axe = pytest.importorskip("axe_playwright_python.sync_playwright")
    page = open_page(**context, bypass_csp=True)  # axe injects a script
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    found = axe.Axe().run(page).response["violations"]
    assert [v["id"] for v in found if v["impact"] in {"serious", "critical"}] == []


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_it_prints(open_page, est, tmp_path, paper):
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
    if len(est.load.parts) < 20:
        assert len(pdf) <= 12
