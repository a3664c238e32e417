"""``edgetime picture`` writes the plan, whole or not at all."""

from __future__ import annotations

import json

import ezdxf
import pytest
from support.foreign_layers import drawn, german
from support.kitchens import write_kitchen


def test_each_form_is_what_its_name_says(run, tmp_path):
    """An SVG of XML, a PDF of one page, a PNG as wide as promised."""
    pypdfium2 = pytest.importorskip("pypdfium2")
    from PIL import Image  # noqa: PLC0415

    load = write_kitchen(tmp_path / "kitchen.dxf")
    for form in ("svg", "pdf", "png"):
        done = run("picture", load, "-o", tmp_path / f"plan.{form}")
        assert done.code == 0, done.err
        assert f"plan.{form}" in done.out.replace("\n", "")
    assert (tmp_path / "plan.svg").read_text(encoding="utf-8").startswith("<svg ")
    assert len(pypdfium2.PdfDocument(tmp_path / "plan.pdf")) == 1
    image = Image.open(tmp_path / "plan.png")
    assert image.width == pytest.approx(2400, abs=1)
    assert len(image.convert("RGB").getcolors(1 << 24)) > 20


def test_a_load_that_cannot_be_timed_is_still_drawn(run, tmp_path):
    """The plan is where one looks for what is wrong."""
    path, _ = drawn(german, tmp_path)
    done = run("picture", path, "-o", tmp_path / "plan.svg", "--format", "json")
    assert done.code == 0, done.err
    said = json.loads(done.out)
    assert said["shows"] == "take-off"
    assert "no part" in said["why_not_load"]
    assert "AUSSENKONTUR" in (tmp_path / "plan.svg").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("options", "key"),
    [
        (("-o", "plan.txt"), "--output"),
        (("--show", "everything"), "--show"),
        (("--tool", "nothing"), "--tool"),
    ],
)
def test_slips_write_nothing(run, tmp_path, monkeypatch, options, key):
    """One message that names the option; no file."""
    monkeypatch.chdir(tmp_path)
    load = write_kitchen(tmp_path / "kitchen.dxf")
    done = run("picture", load, *options)
    assert done.code == 2
    assert key in done.err
    assert [p.name for p in tmp_path.iterdir()] == ["kitchen.dxf"]


def test_a_folder_that_is_not_there_is_an_input_error(run, tmp_path):
    """The message names the file; nothing is left behind."""
    load = write_kitchen(tmp_path / "kitchen.dxf")
    done = run("picture", load, "-o", tmp_path / "none" / "plan.svg")
    assert done.code == 3
    assert "plan.svg" in done.err


def test_a_drawing_is_not_overwritten_by_its_plan(run, tmp_path):
    """The one file that cannot be made again."""
    load = write_kitchen(tmp_path / "kitchen.dxf")
    before = load.read_bytes()
    done = run("picture", load, "-o", load)
    assert done.code == 2
    assert load.read_bytes() == before
    assert run("picture", load, "-o", tmp_path / "plan.dxf").code == 0


def test_the_set_up_sheet_is_a_page_or_a_pdf(run, tmp_path):
    """A few print pages; the page with its replay is HTML alone."""
    pypdfium2 = pytest.importorskip("pypdfium2")
    load = write_kitchen(tmp_path / "kitchen.dxf")
    assert run("report", load, "--sheet", "--start", "9:10", "-o", "set-up.pdf").code == 0
    assert 1 <= len(pypdfium2.PdfDocument(tmp_path / "set-up.pdf")) <= 3
    assert run("report", load, "--sheet").code == 0
    assert "Set-up sheet" in (tmp_path / "kitchen-set-up.html").read_text(encoding="utf-8")
    done = run("report", load, "-o", "load.pdf")
    assert done.code == 2
    assert "--sheet" in done.err
    assert not (tmp_path / "load.pdf").exists()


def test_a_dxf_of_one_tool_has_its_paths_alone(run, tmp_path):
    """``--tool`` chooses; ``--show`` would change nothing and is refused."""
    load = write_kitchen(tmp_path / "kitchen.dxf")
    assert run("picture", load, "--tool", "polish-1", "-o", "one.dxf").code == 0
    layers = {e.dxf.layer for e in ezdxf.readfile(tmp_path / "one.dxf").modelspace()}
    paths = {name for name in layers if name.startswith(("PATH-", "LEAD-", "START-"))}
    assert paths
    assert all(name.endswith("-POLISH-1") for name in paths)
    done = run("picture", load, "--show", "paths", "-o", "all.dxf")
    assert (done.code, (tmp_path / "all.dxf").exists()) == (2, False)


def test_a_wrong_workbook_is_found_before_anything_is_written(run, tmp_path):
    """Neither the page nor the workbook is there."""
    load = write_kitchen(tmp_path / "kitchen.dxf")
    assert run("report", load, "-o", "load.html", "--xlsx", "book.csv").code == 2
    assert [p.name for p in tmp_path.iterdir()] == ["kitchen.dxf"]
