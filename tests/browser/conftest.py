"""One browser for all tests of pages."""

from __future__ import annotations

import shutil

import pytest
from support.kitchens import write_kitchen
from support.many_edges import write_many_edges

from edgetime.demo import demo_drawings
from edgetime.estimating import estimate
from edgetime.page import load_page
from edgetime.report.wear import wear_tables
from edgetime.units import UnitSystem


@pytest.fixture(scope="session")
def chromium():
    """Debian's Chromium, driven by Playwright."""
    playwright = pytest.importorskip("playwright.sync_api")
    path = shutil.which("chromium")
    if path is None:
        pytest.skip("Chromium is not installed")
    with playwright.sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=path, args=["--no-sandbox"])
        yield browser
        browser.close()


def demo_load(folder):
    """Return the estimate of the demo's drawings."""
    paths = []
    for name, text in demo_drawings().items():
        paths.append(folder / name)
        paths[-1].write_text(text, encoding="ascii")
    return estimate(paths)


LOADS = {
    "demo": demo_load,
    "kitchen": lambda folder: estimate([write_kitchen(folder / "kitchen.dxf")]),
    "many": lambda folder: estimate([write_many_edges(folder / "many.dxf")], machine="large"),
}
"""What the demo shows, tops with an oval basin, and two thousand edges."""


@pytest.fixture(scope="session", params=LOADS)
def est(request, tmp_path_factory):
    """Estimate a load."""
    return LOADS[request.param](tmp_path_factory.mktemp("load"))


@pytest.fixture(scope="session")
def load_html(est, tmp_path_factory):
    """Write its page, by the clock, with its wear."""
    path = tmp_path_factory.mktemp("page") / "load.html"
    chapters = [("Wear", wear_tables(est.wear, UnitSystem.METRIC))]
    page = load_page(est, wall=est.wall_clock("9:10"), chapters=chapters)
    path.write_text(page, encoding="utf-8")
    return path


@pytest.fixture
def open_page(chromium, load_html):
    """Return a function that opens the page; what went wrong is in ``page.wrong``."""
    pages = []

    def call(path=load_html, **context):
        page = chromium.new_page(**context)
        page.wrong, page.asked = [], []
        page.on("console", lambda m: m.type in {"error", "warning"} and page.wrong.append(m.text))
        page.on("pageerror", lambda e: page.wrong.append(str(e)))
        page.on("request", lambda r: page.asked.append(r.url))
        page.goto(path.as_uri())
        page.wait_for_selector("html[data-ready=yes]")
        pages.append(page)
        return page

    yield call
    for page in pages:
        assert page.wrong == []
        page.close()
