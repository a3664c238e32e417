"""The shift board on a screen in the shop, in a real browser."""

from __future__ import annotations

from datetime import date

import pytest

from edgetime.page.shift_board import shift_board
from edgetime.shift import Job, ShiftOptions, plan_shift
from edgetime.tooling import load_catalogue

pytestmark = [pytest.mark.browser, pytest.mark.slow]

NAME = "<script>document.title='x'</script>"


@pytest.fixture(scope="module")
def boards(tmp_path_factory):
    """Write boards of 3 and of 30 loads, on two zones, for one day."""
    folder = tmp_path_factory.mktemp("board")
    out = {}
    for number in (3, 30):
        jobs = [
            Job(name=f"{n} {NAME}", cycle_s=1800.0, area_mm2=2e6, parts=2) for n in range(number)
        ]
        hours = 24 * 3600.0 if number > 10 else 8 * 3600.0
        plan = plan_shift(
            jobs, load_catalogue(), ShiftOptions(replications=0, zones=2, hours_s=hours)
        )
        out[number] = folder / f"board-{number}.html"
        page = shift_board(plan, day=date(2027, 1, 18))
        out[number].write_text(page, encoding="utf-8")
    return out


def _open(page, path, time):
    page.wrong = []
    page.on("console", lambda m: m.type in {"error", "warning"} and page.wrong.append(m.text))
    page.on("pageerror", lambda e: page.wrong.append(str(e)))
    page.asked = []
    page.on("request", lambda r: page.asked.append(r.url))
    page.clock.set_fixed_time(time)
    page.goto(path.as_uri())
    page.wait_for_selector("html[data-ready=yes]")


@pytest.mark.parametrize("number", [3, 30])
@pytest.mark.parametrize("size", [(1920, 1080), (1280, 800)])
def test_the_whole_board_is_on_the_screen(chromium, boards, number, size):
    """Nothing is cut off or scrolled, the type is as large as goes, nothing is asked for."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright")
    page = chromium.new_page(
        viewport={"width": size[0], "height": size[1]}, bypass_csp=True
    )  # axe injects a script
    _open(page, boards[number], "2027-01-18T08:00:00")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    type_px = page.evaluate("parseFloat(getComputedStyle(document.documentElement).fontSize)")
    if page.evaluate("document.documentElement.scrollHeight > innerHeight"):
        # Only a long list on a small screen is scrolled, in the smallest type.
        assert (number, type_px) == (30, 10)
    if number == 3:
        assert type_px > 18
    assert page.title() == "Shift board"
    assert page.asked == [boards[number].as_uri()]
    found = axe.Axe().run(page).response["violations"]
    assert [v["id"] for v in found if v["impact"] in {"serious", "critical"}] == []
    assert page.wrong == []
    page.close()


def test_the_time_is_marked_on_its_day_only(chromium, boards):
    """At 08:00, one hour into the shift, under the policy of the page itself."""
    page = chromium.new_page(viewport={"width": 1600, "height": 900})
    _open(page, boards[3], "2027-01-18T08:00:00")
    assert page.wrong == []
    x, mark = page.evaluate(
        """() => { const m = document.getElementById('now');
        const c = document.querySelector('.chart').dataset;
        return [m.transform.baseVal.consolidate().matrix.e, +c.left + 3600 * c.scale]; }"""
    )
    assert x == pytest.approx(mark, abs=0.1)
    assert page.locator("tr.now").count() >= 1
    page.close()
    page = chromium.new_page()
    _open(page, boards[3], "2027-01-19T08:00:00")
    assert page.locator("#now").get_attribute("display") == "none"
    assert page.locator("tr.now").count() == 0
    page.close()


def test_a_browser_prints_it_on_one_sheet(chromium, boards, tmp_path):
    """The paper is the page's own, on its side."""
    pypdfium2 = pytest.importorskip("pypdfium2")
    for number, path in boards.items():
        page = chromium.new_page()
        _open(page, path, "2027-01-18T08:00:00")
        page.pdf(path=tmp_path / "board.pdf", prefer_css_page_size=True)
        pdf = pypdfium2.PdfDocument(tmp_path / "board.pdf")
        assert (number, len(pdf)) == (number, 1)
        assert pdf[0].get_width() > pdf[0].get_height()
        page.close()
