"""Take the pictures of the pages anew: ``python docs/screenshots.py``.

Needs Chromium, Playwright and Pillow. The load is the demo's, which is invented.
"""

from __future__ import annotations

import io
import os
import shutil
import sys
import tempfile
from pathlib import Path
from typing import Any

import pypdfium2
from PIL import Image
from playwright.sync_api import sync_playwright

from edgetime.demo import write_demo
from edgetime.estimating import estimate
from edgetime.page import load_page
from edgetime.page.sheets import setup_sheet
from edgetime.report.wear import wear_tables
from edgetime.units import UnitSystem

PICTURES = Path(__file__).resolve().parent / "pictures"
WIDE = 760


def _pages(folder: Path) -> tuple[Path, Path]:
    os.chdir(folder)  # so that the drawings are named as a user of the demo names them
    demo = write_demo(Path("edgetime-demo"))
    est = estimate(demo.drawings, shop=demo.folder)
    wall = est.wall_clock("9:10")
    chapters = [("Wear", wear_tables(est.wear, UnitSystem.METRIC))]
    load, sheet = folder / "load.html", folder / "set-up.html"
    load.write_text(
        load_page(est, wall=wall, chapters=chapters, title="The café by the lake"), encoding="utf-8"
    )
    sheet.write_text(setup_sheet(est, wall=wall), encoding="utf-8")
    return load, sheet


def _save(name: str, image: Image.Image, wide: int) -> None:
    small = image.convert("RGB").resize((wide, round(image.height * wide / image.width)))
    small.save(PICTURES / f"{name}.png", optimize=True)
    print(name, (PICTURES / f"{name}.png").stat().st_size // 1024, "KB")


def _screen(browser: Any, path: Path, wide: int, high: int, **more: Any) -> Image.Image:
    page = browser.new_page(viewport={"width": wide, "height": high}, **more)
    page.goto(path.as_uri())
    page.wait_for_selector("html[data-ready=yes]")
    page.evaluate(
        "(() => { const s = document.getElementById('moment'); s.value = 0.24 * s.max;"
        "s.dispatchEvent(new Event('input')); })()"
    )
    image = Image.open(io.BytesIO(page.screenshot()))
    page.close()
    return image


def _paper(browser: Any, path: Path) -> Image.Image:
    page = browser.new_page()
    page.goto(path.as_uri())
    pdf = pypdfium2.PdfDocument(page.pdf(format="A4"))
    page.close()
    return pdf[0].render(scale=1.6).to_pil()


def main() -> int:
    """Write every picture."""
    PICTURES.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as name, sync_playwright() as driver:
        home = Path.cwd()
        load, sheet = _pages(Path(name))
        path = shutil.which("chromium")
        browser = driver.chromium.launch(executable_path=path, args=["--no-sandbox"])
        _save("load-laptop", _screen(browser, load, 1280, 1250), WIDE)
        phone = _screen(browser, load, 390, 1000, device_scale_factor=1.5)
        _save("load-phone", phone, 360)
        _save("load-print", _paper(browser, load), 600)
        _save("set-up-sheet", _paper(browser, sheet), 600)
        browser.close()
        os.chdir(home)
    return 0


if __name__ == "__main__":
    sys.exit(main())
