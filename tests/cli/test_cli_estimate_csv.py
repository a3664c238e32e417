"""The CSV form of an estimate: the tools, or the one table that is asked for."""

from __future__ import annotations

import csv
import io
import itertools

import pytest

ASKED = {
    "--runs": ("--runs",),
    "--explain": ("--explain", "finger-22"),
    "--sensitivity": ("--sensitivity",),
    "--resume-at": ("--resume-at", "drum-75"),
    "--wear": ("--wear",),
}


@pytest.fixture
def table(run, drawings):
    """Return the rows of a CSV table, and the JSON document for the same options."""

    def call(*args):
        rows = list(
            csv.DictReader(io.StringIO(run("estimate", drawings[1], *args, "--format", "csv").out))
        )
        return rows, run("estimate", drawings[1], *args, "--format", "json").json()

    return call


def test_an_explanation_as_csv_adds_up_to_the_time_of_its_tool(table) -> None:
    """Terms with seconds are the tool's rows of the estimate, to a microsecond."""
    rows, told = table(*ASKED["--explain"])
    seconds = sum(float(r["seconds"]) for r in rows if r["seconds"])
    spent = sum(t["total_s"] for t in told["tools"] if t["tool"] == "finger-22")
    assert seconds == pytest.approx(spent, abs=1e-6)
    assert [r["name"] for r in rows] == [f["name"] for f in told["explain"]["factors"]]


def test_what_is_left_as_csv_adds_up(table) -> None:
    """The stays that are left make the time left."""
    rows, told = table(*ASKED["--resume-at"])
    assert sum(float(r["left_s"]) for r in rows) == pytest.approx(told["resume"]["left_s"])
    assert rows[0]["tool"] == "drum-75"


def test_sensitivity_and_wear_as_csv_are_those_of_json(table) -> None:
    """The same figures by the same names."""
    rows, told = table(*ASKED["--sensitivity"])
    assert [float(r["low_delta_s"]) for r in rows] == [
        e["low_delta_s"] for e in told["sensitivity"]
    ]
    rows, told = table(*ASKED["--wear"])
    assert list(dict.fromkeys(r["piece"] for r in rows)) == [
        t["piece"] for t in told["wear"]["tools"]
    ]


@pytest.mark.parametrize("two", list(itertools.combinations(ASKED, 2)), ids=" ".join)
def test_two_tables_in_one_file_are_refused(run, drawings, two) -> None:
    """CSV holds one; both options are named."""
    args = [x for name in two for x in ASKED[name]]
    ran = run("estimate", drawings[1], *args, "--format", "csv")
    assert (ran.code, ran.out) == (2, "")
    assert f"{two[0]} and {two[1]} give one each" in ran.err
