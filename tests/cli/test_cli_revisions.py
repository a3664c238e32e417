"""``edgetime takeoff NEW --against OLD`` and the plan of a change."""

from __future__ import annotations

import csv
import io
import json
import xml.etree.ElementTree as ET

import ezdxf
import pytest
from support.pen import Pen

SVG = "{http://www.w3.org/2000/svg}"


def drawn(path, *, width=1200.0, front="EASED", y=0.0, hole=True, inches=False, reverse=False):
    """Draw a top and a shelf; the top may be wider, its front of another profile, its tap gone."""
    pen = Pen(1, 25.4) if inches else Pen()
    sides = [
        (front, (100, 100 + y), (100 + width, 100 + y)),
        ("EASED", (100 + width, 100 + y), (100 + width, 700 + y)),
        ("WALL", (100 + width, 700 + y), (100, 700 + y)),
        ("EASED", (100, 700 + y), (100, 100 + y)),
    ]
    for layer, a, b in reversed(sides) if reverse else sides:
        pen.line(layer, *((b, a) if reverse else (a, b)))
    pen.text("TEXT", "TOP", 500, 300 + y)
    if hole:
        pen.circle("HOLE", 700, 600 + y, 35)
    pen.rectangle("EASED", 100, 900 + y, 900, 300)
    pen.text("TEXT", "SHELF", 300, 1000 + y)
    return pen.save(path)


@pytest.fixture
def old(tmp_path):
    return drawn(tmp_path / "old.dxf")


def test_a_drawing_saved_again_has_not_changed(run, old, tmp_path):
    """In inches, in another order and direction: it says so, exits with 0 and times nothing."""
    new = drawn(tmp_path / "new.dxf", inches=True, reverse=True)
    done = run("takeoff", new, "--against", old)
    assert done.code == 0, done.err
    assert "none: parts, edges and openings are the same within 0.1 mm" in " ".join(
        done.out.split()
    )
    assert "Machine time" not in done.out
    said = json.loads(run("takeoff", new, "--against", old, "--format", "json").out)
    assert said["schema"] == "edgetime.revision/1"
    assert (said["changed"], said["moved"], said["times"]) == (False, False, None)


def test_changes_by_hand_in_each_form(run, old, tmp_path):
    """A top 50 wider with another front and without its tap hole."""
    new = drawn(tmp_path / "new.dxf", width=1250.0, front="EDGE-HALF-BULLNOSE", hole=False)
    done = run("takeoff", new, "--against", old, "--format", "json")
    assert done.code == 0, done.err
    said = json.loads(done.out)
    assert said["changed"]
    lengths = {p["profile"]: p["change_mm"] for p in said["profiles"]}
    # The front of 1200 is no longer eased; front and back are longer by 50.
    assert lengths == pytest.approx({"eased": -1200.0, "half-bullnose": 1250.0, "unfinished": 50.0})
    top = next(p for p in said["parts"] if p["name"] == "TOP")
    assert [o["change"] for o in top["openings"]] == ["removed"]
    assert sorted(e["change"] for e in top["edges"]) == ["length", "moved", "profile-and-length"]
    assert said["counts"] == {"same": 1, "moved": 0, "changed": 1, "added": 0, "removed": 0}
    times = said["times"]
    for key in ("total_s", "old_total_s"):
        assert sum(t[key] for t in times["tools"]) == pytest.approx(times[key], abs=1e-6)
    estimate = json.loads(run("estimate", new, "--format", "json").out)
    assert times["total_s"] == pytest.approx(estimate["total_s"], abs=1e-6)
    rows = list(
        csv.DictReader(io.StringIO(run("takeoff", new, "--against", old, "--format", "csv").out))
    )
    assert {r["item"] for r in rows} == {"part", "edge", "hole"}
    assert {r["part_name"] for r in rows} == {"TOP"}
    done = run("takeoff", new, "--against", old)
    assert "eased to half-bullnose" in done.out
    assert all(len(line) <= 80 for line in done.out.splitlines())


def test_prices_of_both_revisions(run, old, tmp_path):
    """Their difference is that of two prices."""
    new = drawn(tmp_path / "new.dxf", width=1250.0)
    more = ("--stone", "granite", "--thickness", "30", "--format", "json")
    said = json.loads(run("takeoff", new, "--against", old, "--price", *more).out)["price"]
    for key, drawing in (("net", new), ("old_net", old)):
        alone = json.loads(run("price", drawing, *more).out)
        assert float(said[key]) == pytest.approx(float(alone["net"]), abs=0.005)
    assert float(said["change_net"]) == pytest.approx(
        float(said["net"]) - float(said["old_net"]), abs=1e-9
    )


def test_a_drawing_moved_as_a_whole(run, old, tmp_path):
    """No part changed, and the shift is told."""
    new = drawn(tmp_path / "new.dxf", y=40.0)
    said = json.loads(run("takeoff", new, "--against", old, "--format", "json").out)
    assert (said["changed"], said["moved"]) == (False, True)
    assert said["frame"]["y_mm"] == pytest.approx(40.0)
    assert {p["status"] for p in said["parts"]} == {"same"}
    assert "moved by 0.0 mm in X, 40.0 mm in Y" in " ".join(
        run("takeoff", new, "--against", old).out.split()
    )


def test_a_workbook_has_the_changes(run, old, tmp_path):
    """One sheet for each table."""
    new = drawn(tmp_path / "new.dxf", width=1250.0)
    assert run("takeoff", new, "--against", old, "--xlsx", tmp_path / "book.xlsx").code == 0
    assert (tmp_path / "book.xlsx").stat().st_size > 1000


@pytest.mark.parametrize(
    "options",
    [
        ("--price",),
        ("--tolerance", "1"),
        ("--stone", "granite"),
        ("--against", "old.dxf", "--show", "layers"),
        ("--against", "old.dxf", "--tolerance", "20 mm"),
        ("--dxf-out", "edges.txt"),
        ("--dxf-out", "old.dxf"),
    ],
)
def test_slips_of_take_off(run, old, options):
    """One message about an option; the drawing stays."""
    before = old.read_bytes()
    done = run("takeoff", old, *options)
    assert done.code == 2
    assert options[-1].split()[0] in done.err or "--" in done.err
    assert old.read_bytes() == before


def test_an_earlier_revision_that_is_missing(run, old):
    """An input error that names the file."""
    done = run("takeoff", old, "--against", "nothing.dxf")
    assert done.code == 3
    assert "nothing.dxf" in done.err


def test_a_load_that_cannot_be_timed_is_compared(run, tmp_path):
    """Nothing is left to cut: lengths are compared, and the reason is told."""
    pen = Pen()
    pen.rectangle("WALL", 100, 100, 900, 300)
    bare = pen.save(tmp_path / "bare.dxf")
    new = drawn(tmp_path / "new.dxf")
    done = run("takeoff", bare, "--against", new)
    assert done.code == 0, done.err
    assert "Not calculated:" in done.out
    assert run("takeoff", bare, "--against", new, "--price").code == 4


def test_the_plan_of_a_change(run, old, tmp_path):
    """Old and new lines in groups of their own, as long as they are; every change has a number."""
    new = drawn(tmp_path / "new.dxf", width=1250.0, hole=False)
    target = tmp_path / "change.svg"
    done = run("picture", new, "--against", old, "-o", target)
    assert done.code == 0, done.err
    root = ET.fromstring(target.read_text(encoding="utf-8"))  # noqa: S314  our own picture
    groups = {g.get("class"): g for g in root.iter(f"{SVG}g")}
    assert {"same", "old", "new", "marks", "legend"} <= groups.keys()
    assert groups["old"].get("stroke-dasharray")
    assert not groups["new"].get("stroke-dasharray")
    said = json.loads(run("takeoff", new, "--against", old, "--format", "json").out)
    numbers = {str(c["number"]) for p in said["parts"] for c in (*p["edges"], *p["openings"])}
    marks = {t.text for t in groups["marks"].iter(f"{SVG}text")}
    assert marks == numbers
    told = [t.text for t in groups["legend"].iter(f"{SVG}text")]
    for number in numbers:
        assert any(t.startswith(f"{number} ") for t in told)


@pytest.mark.parametrize(
    "options",
    [
        ("--tool", "polish-1"), ("--show", "labels"), ("--take-off",), ("-o", "change.dxf"),
        ("-o", "old.dxf.svg", "--tolerance", "0"),
    ],
)  # fmt: skip
def test_slips_of_the_plan_of_a_change(run, old, tmp_path, options):
    """Nothing is written."""
    new = drawn(tmp_path / "new.dxf")
    assert run("picture", new, "--against", old, *options).code == 2
    assert sorted(p.name for p in tmp_path.iterdir()) == ["new.dxf", "old.dxf"]


def test_dxf_out_of_take_off_and_estimate(run, old, tmp_path):
    """Edges read back to the lengths taken off; the estimate has the paths of its tools too."""
    for command, kinds in (("takeoff", {"EDGE", "HOLE"}), ("estimate", {"EDGE", "PATH", "START"})):
        target = tmp_path / f"{command}.dxf"
        assert run(command, old, "--dxf-out", target).code == 0
        layers = {e.dxf.layer for e in ezdxf.readfile(target).modelspace()}
        assert kinds <= {name.split("-")[0] for name in layers}
    assert not any(name.startswith("PATH") for name in
                   {e.dxf.layer for e in ezdxf.readfile(tmp_path / "takeoff.dxf").modelspace()})  # fmt: skip
    rules = [f"--layer=EDGE-{name.upper()}=edge:{name}" for name in ("eased", "unfinished")]
    back = json.loads(run("takeoff", tmp_path / "takeoff.dxf", *rules, "--format", "json").out)
    first = json.loads(run("takeoff", old, "--format", "json").out)
    assert back["drawings"][0]["lengths_by_profile_mm"] == pytest.approx(
        first["drawings"][0]["lengths_by_profile_mm"]
    )
