"""Bad drawings: one message, the right exit code, no traceback, no partial output."""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import ezdxf
import pytest
from support.sketch import Sketch, write_dxf

SQUARE = [(100.0, 100.0), (1300.0, 100.0), (1300.0, 700.0), (100.0, 700.0)]


def _square(layer: str = "EDGE-EASED") -> str:
    sketch = Sketch()
    sketch.polyline(layer, SQUARE)
    return write_dxf(sketch, {})


def _blocks(depth: int) -> str:
    """Return a drawing in which block B0 shows B1 ten times over, and so on."""
    blocks: dict[str, Sketch] = {}
    for level in range(depth):
        block = Sketch()
        for column in range(10):
            if level + 1 < depth:
                block.insert("0", f"B{level + 1}", (column * 1.0, 0.0))
            else:
                block.line("EDGE-EASED", (0.0, column * 1.0), (1.0, column * 1.0))
        blocks[f"B{level}"] = block
    sketch = Sketch()
    sketch.insert("0", "B0", (0.0, 0.0))
    return write_dxf(sketch, blocks)


def _self_insert() -> str:
    block = Sketch()
    block.line("EDGE-EASED", (0.0, 0.0), (100.0, 0.0))
    block.insert("0", "LOOP", (10.0, 0.0))
    sketch = Sketch()
    sketch.insert("0", "LOOP", (0.0, 0.0))
    return write_dxf(sketch, {"LOOP": block})


def _array(columns: int, rows: int) -> str:
    block = Sketch()
    block.line("EDGE-EASED", (0.0, 0.0), (1.0, 0.0))
    sketch = Sketch()
    sketch.insert("0", "ONE", (0.0, 0.0))
    sketch.tags[-1] += [(70, columns), (71, rows), (44, 2.0), (45, 2.0)]
    return write_dxf(sketch, {"ONE": block})


def _severities(document: dict) -> set[str]:
    """Return the severities of all findings of a take-off or an estimate."""
    groups = [document, *document["drawings"]]
    return {f["severity"] for group in groups for f in group.get("findings", ())}


REFUSED: dict[str, Callable[[], bytes]] = {
    "empty file": lambda: b"",
    "no DXF": lambda: b"Dear reader,\nthis is a letter.\n",
    "some other format": lambda: b"%PDF-1.4\n%\xe2\xe3\xcf\xd3\n1 0 obj\n",
    "binary noise": lambda: bytes(range(256)) * 40,
    "truncated binary DXF": lambda: b"AutoCAD Binary DXF\r\n\x1a\x00\x00SECT",
    "unitless": lambda: _square().replace("$INSUNITS\n 70\n4\n", "$INSUNITS\n 70\n0\n").encode(),
    "a million inserts": lambda: _array(1000, 1000).encode(),
    "ten to the seventh by nesting": lambda: _blocks(7).encode(),
}


@pytest.mark.parametrize("name", REFUSED)
@pytest.mark.parametrize("command", ["takeoff", "estimate", "advise"])
def test_refused_drawings(run, tmp_path: Path, command: str, name: str) -> None:
    """Exit code 3, the file named once, a remedy, and nothing on standard output."""
    (tmp_path / "bad.dxf").write_bytes(REFUSED[name]())
    began = time.perf_counter()
    ran = run(command, "bad.dxf")
    assert time.perf_counter() - began < 20.0
    assert ran.code == 3, ran.err
    assert ran.out == ""
    assert ran.err.count("edgetime: ") == 1
    assert "bad.dxf" in ran.err
    assert "what to do: " in ran.err
    assert "Traceback" not in ran.err


@pytest.mark.parametrize("name", REFUSED)
def test_refused_drawings_as_json(run, tmp_path: Path, name: str) -> None:
    """The same as one error document that names the file."""
    (tmp_path / "bad.dxf").write_bytes(REFUSED[name]())
    ran = run("estimate", "bad.dxf", "--format", "json")
    assert ran.code == 3
    document = ran.json()
    assert document["schema"] == "edgetime.error/1"
    assert document["where"]["path"] == "bad.dxf"
    assert document["what"]
    assert document["remedy"]


def test_unitless_says_what_it_would_measure(run, tmp_path: Path) -> None:
    """Without units the refusal tells the size in millimetres and in inches."""
    (tmp_path / "bad.dxf").write_bytes(REFUSED["unitless"]())
    ran = run("takeoff", "bad.dxf")
    assert "1200" in ran.err
    assert "30480" in ran.err or "30.480 m" in ran.err  # 1200 in = 30.48 m
    assert run("takeoff", "bad.dxf", "--drawing-units", "mm").code == 0


def test_missing_file(run) -> None:
    """A file that is not there is an input error."""
    ran = run("estimate", "nowhere.dxf")
    assert (ran.code, ran.out) == (3, "")
    assert "nowhere.dxf" in ran.err


def test_folder_for_a_file(run, tmp_path: Path) -> None:
    """A folder is not read as a drawing."""
    (tmp_path / "folder.dxf").mkdir()
    ran = run("takeoff", "folder.dxf")
    assert (ran.code, ran.out) == (3, "")
    assert "folder" in ran.err


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may read all")
def test_unreadable_file(run, tmp_path: Path) -> None:
    """A file without the right to read it is an input error."""
    path = tmp_path / "locked.dxf"
    path.write_text(_square())
    path.chmod(0)
    ran = run("takeoff", "locked.dxf")
    assert (ran.code, ran.out) == (3, "")
    assert "locked.dxf" in ran.err


def test_one_bad_drawing_fails_the_load(run, tmp_path: Path) -> None:
    """No estimate is made of the good half of a load."""
    (tmp_path / "good.dxf").write_text(_square())
    (tmp_path / "bad.dxf").write_bytes(b"")
    ran = run("estimate", "good.dxf", "bad.dxf")
    assert (ran.code, ran.out) == (3, "")
    assert "bad.dxf" in ran.err


def test_truncated_drawing(run, tmp_path: Path) -> None:
    """A file cut off in the middle of an entity is refused, or read with an error finding."""
    text = _square()
    (tmp_path / "cut.dxf").write_text(text[: text.rindex("VERTEX") + 20])
    ran = run("takeoff", "cut.dxf", "--format", "json")
    if ran.code == 3:
        assert ran.json()["schema"] == "edgetime.error/1"
    else:
        assert ran.code == 0
        assert _severities(ran.json()) & {"warning", "error"}


FOUND: dict[str, tuple[Callable[[], str], str]] = {
    "unmatched layers only": (lambda: _square("SCRIBBLES"), "layer-unmatched"),
    "open chain": (
        lambda: write_dxf(_line_sketch(SQUARE), {}),
        "open-chain",
    ),
    "no geometry": (lambda: write_dxf(Sketch(), {}), "no-geometry"),
    "self-crossing": (
        lambda: write_dxf(_bow_tie(), {}),
        "self-crossing",
    ),
}


def _line_sketch(points: list[tuple[float, float]]) -> Sketch:
    sketch = Sketch()
    for start, end in pairwise(points):
        sketch.line("EDGE-EASED", start, end)
    return sketch


def _bow_tie() -> Sketch:
    sketch = Sketch()
    sketch.polyline("EDGE-EASED", [SQUARE[0], SQUARE[2], SQUARE[1], SQUARE[3]])
    return sketch


@pytest.mark.parametrize("name", FOUND)
def test_findings_of_readable_drawings(run, tmp_path: Path, name: str) -> None:
    """A readable drawing keeps its lengths by layer; what is wrong is a finding."""
    make, code = FOUND[name]
    (tmp_path / "odd.dxf").write_text(make())
    ran = run("takeoff", "odd.dxf", "--format", "json")
    assert ran.code == 0
    document = ran.json()
    (drawing,) = document["drawings"]
    assert code in {f["code"] for f in drawing["findings"]}
    assert (sum(drawing["lengths_by_layer_mm"].values()) > 1000.0) == (name != "no geometry")
    assert run("takeoff", "odd.dxf", "--strict").code == 1


@pytest.mark.parametrize("name", FOUND)
def test_no_part_is_nothing_to_cut(run, tmp_path: Path, name: str) -> None:
    """An estimate of a drawing without a part ends in a plan error, not in zero seconds."""
    (tmp_path / "odd.dxf").write_text(FOUND[name][0]())
    ran = run("estimate", "odd.dxf")
    assert (ran.code, ran.out) == (4, "")
    assert ran.err.count("edgetime: ") == 1


@pytest.mark.parametrize("value", ["nan", "1e300", "-1e300", "inf"])
def test_impossible_coordinates(run, tmp_path: Path, value: str) -> None:
    """Coordinates beyond any table end in an error of the input or a finding, never in 70."""
    text = _square().replace(" 10\n1300.0\n", f" 10\n{value}\n", 1)
    assert value in text
    (tmp_path / "wild.dxf").write_text(text)
    for command in ("takeoff", "estimate"):
        ran = run(command, "wild.dxf", "--format", "json")
        assert ran.code in {0, 3, 4}, ran.err
        document = ran.json()
        if ran.code == 0:
            assert _severities(document) & {"warning", "error"}


def test_block_that_inserts_itself(run, tmp_path: Path) -> None:
    """A block inside itself ends at once, in a refusal or a finding."""
    (tmp_path / "loop.dxf").write_text(_self_insert())
    ran = run("takeoff", "loop.dxf", "--format", "json")
    assert ran.code in {0, 3}
    if ran.code == 0:
        assert _severities(ran.json()) & {"warning", "error"}


def test_binary_drawing_is_read(run, tmp_path: Path) -> None:
    """A binary DXF gives the same take-off as the text it was made from."""
    document = ezdxf.new("R2000", units=4)
    document.modelspace().add_lwpolyline(SQUARE, close=True, dxfattribs={"layer": "EDGE-EASED"})
    document.saveas(tmp_path / "text.dxf")
    document.saveas(tmp_path / "binary.dxf", fmt="bin")
    assert (tmp_path / "binary.dxf").read_bytes().startswith(b"AutoCAD Binary DXF")
    (text,) = run("takeoff", "text.dxf", "--format", "json").json()["drawings"]
    (binary,) = run("takeoff", "binary.dxf", "--format", "json").json()["drawings"]
    assert binary["lengths_by_profile_mm"] == text["lengths_by_profile_mm"]
    assert binary["lengths_by_profile_mm"] == {"eased": pytest.approx(3600.0, rel=1e-12)}


def test_other_encoding(run, tmp_path: Path) -> None:
    """A layer name in the drawing's own code page comes out as it is written."""
    sketch = Sketch()
    sketch.polyline("KANTE GEFÄLLIG", SQUARE)
    text = write_dxf(sketch, {}).replace(
        "$INSUNITS", "$DWGCODEPAGE\n  3\nANSI_1252\n  9\n$INSUNITS"
    )
    (tmp_path / "old.dxf").write_bytes(text.encode("cp1252"))
    ran = run("takeoff", "old.dxf", "--format", "json")
    assert ran.code == 0
    (drawing,) = ran.json()["drawings"]
    assert "KANTE GEFÄLLIG" in drawing["lengths_by_layer_mm"]


def test_absurd_units_are_told(run, tmp_path: Path) -> None:
    """A drawing read in feet by mistake is larger than any table, and that is said."""
    (tmp_path / "feet.dxf").write_text(_square())
    ran = run("estimate", "feet.dxf", "--drawing-units", "ft", "--format", "json")
    assert ran.code in {0, 3, 4}
    if ran.code == 0:
        assert _severities(ran.json()) & {"warning", "error"}
