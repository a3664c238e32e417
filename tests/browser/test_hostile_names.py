"""Names from a drawing are only text: in a browser, on paper, in a spreadsheet, on a terminal."""

from __future__ import annotations

import csv
import io
import re
import subprocess
import sys
import zlib

import openpyxl
import pytest
from support.pen import Pen

pytestmark = [pytest.mark.browser, pytest.mark.slow]

NAMES = (
    "<script>alert(1)</script>",
    "</script><img src=x onerror=alert(1)>",
    '=HYPERLINK("http://attack.invalid","y")',
    "@SUM(1+1)*cmd|' /C calc'!A0",
    "\x1b[31mred\x1b]0;title\x07",
    "x" * 400,
    "\u202egnp.exe\u202c",
    "مطبخ الطابق الأول",
    "🍋 Küche",
    '" onmouseover="alert(1)',
)
DRAWING = "r&d <b>bold<b>.dxf"


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """Draw a part for each name, in a drawing whose own name is no better."""
    pen = Pen()
    for k, name in enumerate(NAMES):
        x, y = 150.0 + 800.0 * (k % 4), 150.0 + 600.0 * (k // 4)
        pen.rectangle("EASED", x, y, 600.0, 400.0)
        pen.text("NAMES", name, x + 100.0, y + 200.0)
    folder = tmp_path_factory.mktemp("names")
    pen.save(folder / DRAWING)
    return folder


@pytest.fixture(scope="module")
def call(folder):
    """Run a command line in that folder."""

    def run(*args):
        done = subprocess.run(
            [sys.executable, "-m", "edgetime", *args],
            capture_output=True, cwd=folder, check=False, timeout=120,
        )  # fmt: skip
        assert done.returncode == 0, done.stderr.decode()
        return done.stdout.decode()

    return run


@pytest.fixture
def watched(chromium):
    """Open a file; return its page, and everything that it did."""
    pages = []

    def call(path, **context):
        page = chromium.new_page(**context)
        did = []
        page.on("dialog", lambda d: (did.append(d.message), d.dismiss()))
        page.on("request", lambda r: did.append(r.url))
        page.on("console", lambda m: did.append(m.text))
        page.on("pageerror", lambda e: did.append(str(e)))
        page.on("popup", lambda p: did.append(p.url))
        page.goto(path.as_uri())
        page.wait_for_timeout(500)
        pages.append(page)
        return page, did

    yield call
    for page in pages:
        page.close()


@pytest.mark.parametrize("width", [1280, 390])
def test_the_page_of_the_load(call, folder, watched, width):
    """Nothing runs, nothing is asked for, all is shown as it is written, and it fits."""
    call("report", DRAWING, "--price", "-o", "load.html")
    path = folder / "load.html"
    page, did = watched(path, viewport={"width": width, "height": 900})
    for row in page.locator("tr[data-edge]").all():
        row.hover()
    page.click("#play")
    page.wait_for_timeout(300)
    assert did == [path.as_uri()]
    assert page.locator("script").count() == 2
    assert page.locator("img, iframe, object, embed, [onerror], [onmouseover]").count() == 0
    links = page.eval_on_selector_all("a[href]", "all => all.map(a => a.getAttribute('href'))")
    assert all(link.startswith("#s-") for link in links)
    text = page.text_content("main")
    for name in (*NAMES[:4], *NAMES[7:]):
        assert name in text
    assert "\x1b" not in text
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


@pytest.mark.parametrize("name", ["plan.svg", "set-up.html"])
def test_picture_and_sheet(call, folder, watched, name):
    """Opened by themselves."""
    if name.endswith(".svg"):
        call("picture", DRAWING, "-o", name)
    else:
        call("report", DRAWING, "--sheet", "-o", name)
    page, did = watched(folder / name)
    assert did == [(folder / name).as_uri()]
    assert page.evaluate("document.querySelectorAll('script, img, a').length") == 0


def test_paper(call, folder):
    """A PDF has neither scripts nor links nor actions."""
    pytest.importorskip("weasyprint")
    call("report", DRAWING, "--sheet", "-o", "set-up.pdf")
    raw = (folder / "set-up.pdf").read_bytes()
    streams = [raw]
    for held in re.findall(rb"stream\r?\n(.*?)endstream", raw, re.DOTALL):
        try:
            streams.append(zlib.decompressobj().decompress(held))
        except zlib.error:
            continue
    assert len(streams) > 1
    for word in (b"/JavaScript", b"/JS", b"/URI", b"/Launch", b"/OpenAction", b"/AA"):
        assert not any(re.search(re.escape(word) + rb"\b", s) for s in streams[:1]), word


def test_spreadsheets(call, folder):
    """No cell of a CSV file or a workbook is a formula or a link."""
    found = list(csv.reader(io.StringIO(call("takeoff", DRAWING, "--format", "csv"))))
    cells = {cell for row in found for cell in row}
    assert "'" + NAMES[2] in cells
    assert not [c for c in cells if "\x1b" in c or "\u202e" in c]
    assert not [c for c in cells if re.match(r"[=@\t\r]", c) or re.match(r"[+-](?![\d.]+$)", c)]
    call("takeoff", DRAWING, "--xlsx", "book.xlsx")
    held = set()
    for sheet in openpyxl.load_workbook(folder / "book.xlsx"):
        for row in sheet.iter_rows():
            for cell in row:
                # A summary may lead to the workbook's other sheets, and nowhere else.
                assert cell.hyperlink is None or cell.hyperlink.target is None
                if isinstance(cell.value, str) and cell.data_type == "f":
                    # A sum of its own may be live; a name is none.
                    assert "HYPERLINK" not in cell.value
                    assert "cmd" not in cell.value
                held.add(cell.value)
    assert NAMES[0] in held
    assert NAMES[2] in held


def test_terminal(call):
    """Nothing steers a terminal or reorders what is read on it."""
    for args in (("takeoff",), ("estimate",), ("price",), ("wear",)):
        out = call(args[0], DRAWING)
        assert not re.search("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]", out)
    assert "\\x1b[31mred" in call("takeoff", DRAWING)
