"""The first thing a newcomer runs."""

from __future__ import annotations

import shlex
from pathlib import Path

import pytest


def _files(folder: Path) -> dict[str, bytes]:
    return {
        p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()
    }


def test_demo_writes_and_estimates(run, tmp_path: Path) -> None:
    """A shop folder and two drawings are there, and the load is estimated without errors."""
    ran = run("demo", "--format", "json")
    assert ran.code == 0
    document = ran.json()
    assert document["schema"] == "edgetime.estimate/1"
    assert document["total_s"] > 0.0
    assert "error" not in {f["severity"] for f in document["findings"]}
    files = _files(tmp_path / "edgetime-demo")
    assert {"shop.toml", "layers.toml", "cafe-counters.dxf", "cafe-washroom.dxf"} <= set(files)
    assert set(document["demo"]["new"]) == set(files) - {"load.html"}
    assert document["demo"]["report"] == str(Path("edgetime-demo") / "load.html")
    assert len(document["parts"]) == 7


def test_demo_says_it_is_invented(run) -> None:
    """Nobody may take the load for a real customer's."""
    assert "invented" in run("demo").out


def test_second_run_changes_nothing(run, tmp_path: Path) -> None:
    """Run again, no file is touched and the estimate is the same."""
    first = run("demo", "--format", "json").json()
    before = _files(tmp_path / "edgetime-demo")
    second = run("demo", "--format", "json").json()
    assert _files(tmp_path / "edgetime-demo") == before
    assert second["demo"]["new"] == second["demo"]["kept"] == []
    assert second["digest"] == first["digest"]


def test_edited_files_are_kept_and_lost_ones_come_back(run, tmp_path: Path) -> None:
    """An edited file stays as it is and is named; a deleted one is written again."""
    run("demo")
    folder = tmp_path / "edgetime-demo"
    edited = folder / "shop.toml"
    edited.write_text(edited.read_text() + "\n# edited\n")
    before = edited.read_bytes()
    (folder / "cafe-counters.dxf").unlink()
    document = run("demo", "--format", "json").json()
    assert edited.read_bytes() == before
    assert document["demo"]["kept"] == ["shop.toml"]
    assert document["demo"]["new"] == ["cafe-counters.dxf"]
    assert "shop.toml" in run("demo").out


@pytest.mark.parametrize("folder", ["edgetime-demo", "a folder with blanks"])
def test_three_commands_to_try_next(run, folder: str) -> None:
    """The three commands work as printed, from where the user is."""
    ran = run("demo", "--into", folder)
    assert ran.code == 0, ran.err
    commands = [line.strip() for line in ran.err.splitlines() if line.startswith("  edgetime ")]
    assert len(commands) == 3
    for command in commands:
        following = run(*shlex.split(command)[1:])
        assert following.code == 0, following.err


@pytest.mark.parametrize("folder", ["edgetime-demo", "Café & Söhne"])
def test_it_ends_with_the_report_and_how_to_open_it(run, tmp_path: Path, folder: str) -> None:
    """The address is that of the file, whatever the folder is called; the page is of this load."""
    ran = run("demo", "--into", folder)
    report = tmp_path / folder / "load.html"
    *_, named, how, address = ran.err.splitlines()
    assert named.endswith(str(Path(folder) / "load.html"))
    assert "browser" in how
    assert address.strip() == report.as_uri()
    page = report.read_text(encoding="utf-8")
    assert "an invented load" in page
    total = next(line for line in ran.out.splitlines() if line.startswith("Machine cycle"))
    assert total in page


def test_a_file_in_the_way(run, tmp_path: Path) -> None:
    """A file named like the folder is left alone."""
    (tmp_path / "edgetime-demo").write_text("mine")
    ran = run("demo")
    assert (ran.code, ran.out) == (3, "")
    assert (tmp_path / "edgetime-demo").read_text() == "mine"


def test_broken_edit_is_told(run, tmp_path: Path) -> None:
    """A file of the demo shop that was broken by an edit ends in an input error."""
    run("demo")
    (tmp_path / "edgetime-demo" / "shop.toml").write_text("machine = 3\n")
    ran = run("demo", "--format", "json")
    assert ran.code == 3
    assert "shop.toml" in ran.json()["where"]["path"]
