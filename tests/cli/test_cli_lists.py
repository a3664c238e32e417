"""Every error of a list names the file and the line of the row it comes from."""

from __future__ import annotations

from pathlib import Path

import pytest

GOOD = "edgetime-demo/cafe-washroom.dxf"


@pytest.fixture
def folder(run, tmp_path: Path) -> Path:
    """Make a folder with the demo's drawings and one that is no DXF."""
    run("demo")
    (tmp_path / "bad.dxf").write_text("no dxf\n")
    (tmp_path / "wall.dxf").write_text("  0\nEOF\n")
    return tmp_path


# What is wrong with the second job → its columns, the column blamed, and the exit code.
JOBS = {
    "no such drawing": ({"drawing": "none.dxf"}, "drawing", 3),
    "a drawing that is no DXF": ({"drawing": "bad.dxf"}, "drawing", 3),
    "a drawing without anything": ({"drawing": "wall.dxf"}, "drawing", 4),
    "an unknown stone": ({"stone": "granit"}, "stone", 3),
    "an unknown stack": ({"stack": "standart"}, "stack", 3),
    "a stack for another stone": ({"stack": "sintered"}, "stack", 4),
    "a thickness no stack serves": ({"thickness": "70"}, "thickness", 4),
    "a thickness out of range": ({"thickness": "900"}, "thickness", 3),
    "a thickness without a unit": ({"thickness": "-3"}, "thickness", 3),
    "a quantity of none": ({"quantity": "0"}, "quantity", 3),
    "a day that is none": ({"due": "31.12.2027"}, "due", 3),
    "a time without a unit": ({"ready": "7"}, "ready", 3),
}


def _csv(rows: list[dict[str, str]], head: tuple[str, ...]) -> str:
    lines = [",".join(head)]
    # The first job's name runs over two lines: rows are counted as lines of the file.
    lines += [",".join(row.get(key, "") for key in head) for row in rows]
    return "\n".join(lines) + "\n"


def _toml(rows: list[dict[str, str]]) -> str:
    return "\n".join(
        "[[job]]\n" + "\n".join(f'{key} = "{value}"' for key, value in row.items()) for row in rows
    ) + "\n"  # fmt: skip


@pytest.mark.parametrize("what", JOBS)
def test_a_job_that_waits_is_named_by_its_row(run, folder: Path, what: str) -> None:
    """In CSV by its first line, behind a name of two lines; in TOML by the key's own."""
    wrong, blamed, code = JOBS[what]
    jobs = [{"name": "first", "drawing": GOOD}, {"name": "second", "drawing": GOOD, **wrong}]
    head = tuple(dict.fromkeys(key for job in jobs for key in job))
    two_lines = [{**jobs[0], "name": '"first\njob"'}, jobs[1]]
    (folder / "list.csv").write_text(_csv(two_lines, head))
    (folder / "list.toml").write_text(_toml(jobs))
    ran = run("shift", "--jobs", "list.csv", "--replications", "0")
    assert ran.code == code, ran.err
    assert f"where: list.csv:4, {blamed}\n" in ran.err
    line = 5 + list(jobs[1]).index(blamed)
    ran = run("shift", "--jobs", "list.toml", "--replications", "0")
    assert ran.code == code, ran.err
    assert f"where: list.toml:{line}, job[2].{blamed}\n" in ran.err


PIPELINE = {
    "no such drawing": ({"drawing": "none.dxf"}, "drawing"),
    "a drawing that is no DXF": ({"drawing": "bad.dxf"}, "drawing"),
    "a drawing without anything": ({"drawing": "wall.dxf"}, "drawing"),
    "an unknown profile": ({"drawing": "", "metres": "easd=5"}, "metres"),
    "a stack for another stone": ({"stack": "sintered"}, "stack"),
    "a chance above 1": ({"probability": "1.5"}, "probability"),
    "a day that is none": ({"date": "5 January"}, "date"),
}


@pytest.mark.parametrize("what", PIPELINE)
def test_a_job_to_come_is_named_by_its_row(run, folder: Path, what: str) -> None:
    """The forecast reads the same lists, with other columns."""
    wrong, blamed = PIPELINE[what]
    good = {"name": '"first\njob"', "date": "2027-01-05", "drawing": GOOD}
    jobs = [good, {**good, "name": "second", **wrong}]
    head = tuple(dict.fromkeys(key for job in jobs for key in job))
    (folder / "pipeline.csv").write_text(_csv(jobs, head))
    ran = run("forecast", "--pipeline", "pipeline.csv", "--from", "2027-01-04")
    assert ran.code == 3, ran.err
    assert f"where: pipeline.csv:4, {blamed}\n" in ran.err


def test_an_entry_of_an_export_is_named_by_its_line(run, tmp_path: Path) -> None:
    """A CSV export by the line of the file, a JSON export by the entry."""
    for serial in ("D1", "D2"):
        args = (
            "ledger",
            "receive",
            "drum-75",
            "--serial",
            serial,
            "--anyway",
            "--ledger",
            "a.sqlite",
        )
        assert run(*args).code == 0
    for name, place in (("books.csv", "books.csv:3"), ("books.json", "books.json, entries[2]")):
        assert run("ledger", "export", name, "--ledger", "a.sqlite").code == 0
        text = (tmp_path / name).read_text()
        before, after = text.rsplit("received", 1)
        (tmp_path / name).write_text(f"{before}bought{after}")
        ran = run("ledger", "import", name, "--ledger", "b.sqlite")
        assert ran.code == 5
        assert f"where: {place}\n" in ran.err


def test_a_full_ledger_is_not_blamed_on_the_file(run) -> None:
    """Importing into a ledger with entries names no line of the export."""
    run("ledger", "receive", "drum-75", "--serial", "D1", "--anyway", "--ledger", "a.sqlite")
    run("ledger", "export", "books.csv", "--ledger", "a.sqlite")
    ran = run("ledger", "import", "books.csv", "--ledger", "a.sqlite")
    assert ran.code == 5
    assert "books.csv" not in ran.err
