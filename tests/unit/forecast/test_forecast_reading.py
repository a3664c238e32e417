"""Pipelines: what is read, and what is refused with file, line, column, value and range."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from edgetime.errors import PipelineInvalid, Where
from edgetime.forecast import read_pipeline
from edgetime.tooling import load_catalogue


@pytest.fixture(scope="module")
def catalogue():
    """Return the shipped catalogue."""
    return load_catalogue(None)


@pytest.fixture
def read(tmp_path, catalogue):
    """Return a function that writes a pipeline and reads it; kitchen.dxf is there."""
    (tmp_path / "kitchen.dxf").write_text("")

    def reading(text, *, name="pipeline.csv", encoding="utf-8"):
        path = tmp_path / name
        path.write_bytes(text.encode(encoding))
        return read_pipeline(path, catalogue)

    return reading


def faults(error):
    """Return what is wrong, one row per error: line, column or key, sentence, remedy."""
    told = error.value
    return [(e.where.line, e.where.key, e.what, e.remedy) for e in (told, *told.others)]


CSV = """date,name,drawing,metres,stone,thickness,quantity,probability
2027-01-11,Kitchen,kitchen.dxf,,granite,30,2,1
2027-02-01,Flats,,eased=60; seam=1.2,quartz,20 mm,3,80 %
"""

TOML = """
[[job]]
date = 2027-01-11
name = "Kitchen"
drawing = "kitchen.dxf"
stone = "granite"
thickness = 30
quantity = 2
probability = 1

[[job]]
date = "2027-02-01"
name = "Flats"
metres = { eased = 60, seam = 1.2 }
stone = "quartz"
thickness = "2 cm"
quantity = 3
probability = 0.8
"""


def test_csv(read, tmp_path) -> None:
    """Every column of a CSV file."""
    kitchen, flats = read(CSV).jobs
    assert kitchen.day == date(2027, 1, 11)
    assert kitchen.drawings == (str(tmp_path / "kitchen.dxf"),)
    assert (kitchen.quantity, kitchen.probability, kitchen.where.line) == (2, 1.0, 2)
    assert flats.metres == (("eased", 60.0), ("seam", 1.2))
    assert (flats.stone, flats.thickness_mm, flats.probability) == ("quartz", 20.0, 0.8)
    assert flats.name == "Flats"


def test_toml_is_the_same(read) -> None:
    """The same jobs in TOML, but for the lines they stand on."""
    as_csv = [replace(job, where=Where()) for job in read(CSV).jobs]
    as_toml = read(TOML, name="pipeline.toml").jobs
    assert [replace(job, where=Where()) for job in as_toml] == as_csv
    assert [job.where.line for job in as_toml] == [2, 11]


def test_of_a_spreadsheet(read) -> None:
    """Semicolons, decimal commas, a byte-order mark, blank and comment lines, other case."""
    text = "\ufeffDate;Metres;Probability\r\n# ours\r\n\r\n2027-01-11;eased=12,5;0,5\r\n"
    (job,) = read(text).jobs
    assert job.metres == (("eased", 12.5),)
    assert job.probability == 0.5
    assert job.where.line == 4


def test_defaults(read, catalogue) -> None:
    """What is left out is the shop's default, once, and certain."""
    (job,) = read("date,metres\n2027-01-11,eased=1\n").jobs
    shop = catalogue.shop
    assert (job.stone, job.stack, job.thickness_mm) == (shop.stone, shop.stack, shop.thickness_mm)
    assert (job.quantity, job.probability, job.name) == (1, 1.0, "job 1")


def test_stack_that_serves(read) -> None:
    """A stone the shop's stack does not serve gets one that does, and it is said."""
    pipeline = read("date,metres,stone\n2027-01-11,eased=1,marble\n")
    assert pipeline.jobs[0].stack == "marble"
    (finding,) = pipeline.findings
    assert finding.code == "job-stack"
    assert finding.where.line == 2
    with pytest.raises(PipelineInvalid, match="does not serve marble"):
        read("date,metres,stone,stack\n2027-01-11,eased=1,marble,standard\n")


def test_everything_wrong_at_once(read) -> None:
    """Ten faults in one file, each with line, column, the value found and what is allowed."""
    text = """date,drawing,metres,stone,thickness,quantity,probability,colour
11.01.2027,kitchen.dxf,,granite,30,1,1,
2027-01-12,missing.dxf,,granite,30,1,1,
2027-01-13,,easd=5,granite,30,1,1,
2027-01-14,,eased=-5,granite,30,1,1,
2027-01-15,,eased=5,granit,30,1,1,
2027-01-16,,eased=5,granite,30 m,1,1,
2027-01-17,,eased=5,granite,30,-1,1,
2027-01-18,,eased=5,granite,30,1,1.2,
2027-01-19,,,granite,30,1,1,
"""
    with pytest.raises(PipelineInvalid) as error:
        read(text)
    found = faults(error)
    assert [(line, key) for line, key, _, _ in found] == [
        (1, "colour"), (2, "date"), (3, "drawing"), (4, "metres"), (5, "metres"), (6, "stone"),
        (7, "thickness"), (8, "quantity"), (9, "probability"), (10, "drawing"),
    ]  # fmt: skip
    values = [
        "colour", "11.01.2027", "missing.dxf", "easd", "-5", "granit", "30 m", "-1", "1.2", ""
    ]  # fmt: skip
    allowed = [
        "probability", "2027-03-15", "folder", "eased", "metres", "granite", "3 mm to 300 mm",
        "0 to 100000", "0 % to 100 %", "eased=12.5",
    ]  # fmt: skip
    for (_, _, what, remedy), value, word in zip(found, values, allowed, strict=True):
        assert value in what
        assert word in remedy
    assert error.value.where.path.endswith("pipeline.csv")
    assert error.value.exit_code == 3


@pytest.mark.parametrize(
    ("entry", "key", "word"),
    [
        ("date = 5", "date", "not a date"),
        ("date = 2027-01-11T08:00:00", "date", "not a date"),
        ("date = 2027-01-11\nquantity = 1.5", "quantity", "whole number"),
        ("date = 2027-01-11\nquantity = true", "quantity", "whole number"),
        ("date = 2027-01-11\nquantity = 100001", "quantity", "100001"),
        ('date = 2027-01-11\nprobability = "often"', "probability", "often"),
        ("date = 2027-01-11\nprobability = -0.1", "probability", "-0.1"),
        ("date = 2027-01-11\nprobability = nan", "probability", "nan"),
        ("date = 2027-01-11\nname = 7", "name", "not a text"),
        ("date = 2027-01-11\nstone = 7", "stone", "7"),
        ("date = 2027-01-11\nthickness = false", "thickness", "not a quantity"),
        ("date = 2027-01-11\nstack = 'standart'", "stack", "standart"),
        ("date = 2027-01-11\ndrawing = ['kitchen.dxf', 3]", "drawing", "not name a drawing"),
        ("date = 2027-01-11\ndrawing = '.'", "drawing", "is a folder"),
        ("date = 2027-01-11\ncolour = 'red'", "colour", "colour"),
    ],
)
def test_values_in_toml(read, entry, key, word) -> None:
    """Values of the wrong kind or out of range, each told at its own key and line."""
    with pytest.raises(PipelineInvalid) as error:
        read(f"[[job]]\nmetres = {{ eased = 1 }}\n{entry}\n", name="p.toml")
    (row,) = faults(error)
    assert row[1] == f"job[1].{key}"
    assert row[0] == 3 + entry.count("\n")
    assert word in row[2]


@pytest.mark.parametrize(
    "metres", ["{ eased = inf }", "{ eased = nan }", "{ eased = true }", "{ eased = 'long' }"]
)
def test_metres_that_are_none(read, metres) -> None:
    """Lengths that are no finite number."""
    with pytest.raises(PipelineInvalid, match="length of eased"):
        read(f"[[job]]\ndate = 2027-01-11\nmetres = {metres}\n", name="p.toml")


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("", "is empty"),
        ("\n# nothing\n", "is empty"),
        ("date,metres\n", "no job"),
        ("name,metres\nx,eased=1\n", "'date' is missing"),
        ("date,date,metres\n2027-01-11,2027-01-11,eased=1\n", "twice"),
        ("date,metres\n2027-01-11,eased=1,extra\n", "beyond the last"),
        ("date,metres\n2027-01-11,eased\n", "not a profile with its metres"),
        ("date,metres\n2027-01-11,eased=1;eased=2\n", "twice"),
        ('date,metres\n2027-01-11,"eased=1\n', "not valid CSV"),
        ("date,metres\n,eased=1\n", "has no date"),
    ],
)
def test_forms_that_are_wrong(read, text, word) -> None:
    """Files whose form is wrong."""
    with pytest.raises(PipelineInvalid, match=word):
        read(text)


def test_other_encodings(read) -> None:
    """A file in an older encoding is refused with its line."""
    with pytest.raises(PipelineInvalid, match="UTF-8") as error:
        read("date,name\n2027-01-11,Küche\n", encoding="latin-1")
    assert error.value.where.line == 2


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("job = 3", "not tables"),
        ("jobs = 3", "no key 'jobs'"),
        ("[[job]\n", "not valid TOML"),
        ("", "no job"),
    ],
)
def test_toml_forms_that_are_wrong(read, text, word) -> None:
    """TOML files whose form is wrong."""
    with pytest.raises(PipelineInvalid, match=word):
        read(text, name="p.toml")


def test_no_such_file(tmp_path, catalogue) -> None:
    """A pipeline that is not there."""
    with pytest.raises(PipelineInvalid, match="does not exist"):
        read_pipeline(tmp_path / "none.csv", catalogue)
