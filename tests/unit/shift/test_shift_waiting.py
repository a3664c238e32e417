"""Job lists: what they say, and everything wrong with them told at once."""

from __future__ import annotations

from datetime import date

import pytest
from support.shifts import HOUR, MIN

from edgetime.errors import PipelineInvalid
from edgetime.shift import read_waiting
from edgetime.tooling import load_catalogue

CATALOGUE = load_catalogue()


def read_jobs(path):
    """Return the jobs of a list, with the names of the shipped catalogue."""
    return read_waiting(path, CATALOGUE)


@pytest.fixture
def write(tmp_path):
    """Return a function that writes a list beside a drawing that is there."""
    (tmp_path / "a.dxf").write_text("")
    (tmp_path / "b.dxf").write_text("")

    def call(text, name="jobs.csv"):
        path = tmp_path / name
        path.write_text(text)
        return path

    return call


def test_csv(write, tmp_path) -> None:
    """Columns in any order, several drawings of one load, what is left out is open."""
    one, two = read_jobs(
        write(
            "drawing,name,quantity,due,ready,stone,thickness\n"
            "a.dxf;b.dxf,Miller,2,2027-03-15,1.5 h,marble,20\n"
            "a.dxf,,,,,,\n"
        )
    )
    assert one.name == "Miller"
    assert one.drawings == (str(tmp_path / "a.dxf"), str(tmp_path / "b.dxf"))
    assert (one.quantity, one.due, one.ready_s) == (2, date(2027, 3, 15), 1.5 * HOUR)
    assert (one.stone, one.thickness_mm) == ("marble", 20.0)
    assert (two.name, two.quantity, two.due, two.stone) == ("a", 1, None, None)


def test_toml_and_a_job_that_is_not_drawn_yet(write) -> None:
    """Cycle, area and parts stand in for the drawing."""
    (job,) = read_jobs(
        write(
            '[[job]]\nname = "by phone"\ncycle = "95 min"\narea = "85 ft2"\nparts = 6\n'
            "due = 2027-03-15\n",
            "jobs.toml",
        )
    )
    assert job.cycle_s == 95 * MIN
    assert job.area_mm2 == pytest.approx(85.0 * 304.8**2)
    assert (job.parts, job.due, job.drawings) == (6, date(2027, 3, 15), ())


@pytest.mark.parametrize(
    ("cell", "column", "what"),
    [
        ("c.dxf", "drawing", "does not exist"),
        ("granit", "stone", "no stone"),
        ("900 mm", "thickness", "out of range"),
        ("0", "quantity", "quantity is"),
        ("2.5", "quantity", "quantity is"),
        ("1001", "quantity", "quantity is"),
        ("soon", "due", "is not a date"),
        ("20270315", "due", "is not a date"),
        ("-1 h", "ready", "out of range"),
        ("2", "ready", "has no unit"),
        ("0 min", "cycle", "out of range"),
        ("-3", "thickness", "has no unit"),
        ("6", "parts", "which gives its parts"),
    ],
)
def test_bad_cells(write, cell, column, what) -> None:
    """Each is refused with its line, its column and what is allowed."""
    given = {"drawing": "a.dxf", column: cell}
    with pytest.raises(PipelineInvalid, match=what) as told:
        read_jobs(write(f"{','.join(given)}\n{','.join(given.values())}\n"))
    assert told.value.where.line == 2
    assert told.value.where.key == column
    assert told.value.remedy


def test_a_column_that_stands_twice(write) -> None:
    """The remedy is to leave one out, not to write what was written."""
    with pytest.raises(PipelineInvalid, match="given twice") as told:
        read_jobs(write("drawing,name,name\na.dxf,A,B\n"))
    assert told.value.remedy == "Leave out one of them."


def test_a_folder_is_no_list(tmp_path) -> None:
    """A CSV file will do as well as a TOML file."""
    with pytest.raises(PipelineInvalid, match="folder") as told:
        read_jobs(tmp_path)
    assert "CSV or TOML" in told.value.remedy


def test_places_of_the_keys(write) -> None:
    """Each key that is given is known with its line."""
    (job,) = read_jobs(write("drawing,stone,cycle\na.dxf,granite,\n"))
    assert set(job.places) == {"drawing", "stone"}
    assert (job.places["stone"].line, job.places["stone"].key) == (2, "stone")


def test_columns_of_another_command(write) -> None:
    """One list serves forecast and shift: what the other needs is read and kept."""
    (job,) = read_jobs(write("date,drawing,metres,probability\n2027-03-12,a.dxf,eased=3.5,80 %\n"))
    assert (job.day, job.metres, job.probability) == (date(2027, 3, 12), (("eased", 3.5),), 0.8)


def test_all_errors_at_once(write) -> None:
    """An unknown column, a missing drawing and a bad quantity are one report."""
    with pytest.raises(PipelineInvalid) as told:
        read_jobs(write("drawing,quantity,colour\nx.dxf,none,red\n"))
    assert len([told.value, *told.value.others]) == 3


@pytest.mark.parametrize("text", ["name\n", "# nothing\nname,drawing\n"])
def test_no_job(write, text) -> None:
    """A list without a line is refused."""
    with pytest.raises(PipelineInvalid, match="no job"):
        read_jobs(write(text))


def test_neither_drawing_nor_figures(write) -> None:
    """It says which figures are missing."""
    with pytest.raises(PipelineInvalid, match="no drawing, and no area, no parts"):
        read_jobs(write("name,cycle\nphone,90 min\n"))
