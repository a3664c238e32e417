"""One browser for all tests of pages."""

from __future__ import annotations

import shutil

import pytest
from support.kitchens import write_kitchen

from edgetime.estimating import estimate
from edgetime.page import load_page


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


@pytest.fixture(scope="session")
def est(tmp_path_factory):
    """Estimate a kitchen with a sink, a hob and a basin."""
    return estimate([write_kitchen(tmp_path_factory.mktemp("load") / "kitchen.dxf")])


@pytest.fixture(scope="session")
def load_html(est, tmp_path_factory):
    """Write its page, by the clock."""
    path = tmp_path_factory.mktemp("page") / "load.html"
    path.write_text(load_page(est, wall=est.wall_clock("9:10")), encoding="utf-8")
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
