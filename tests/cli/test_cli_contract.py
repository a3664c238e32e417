"""What other programs rely on: documents, keys, streams, exit codes."""

from __future__ import annotations

import csv
import io
import json
import math
from datetime import datetime

import pytest

SEVERITIES = {"note", "warning", "error"}
TERMS = ("change_s", "cut_s", "plunge_s", "lead_s", "rapid_s", "dwell_s")


def _check_findings(document: dict) -> None:
    for finding in document["findings"]:
        assert set(finding) >= {"code", "severity", "message", "where"}
        assert finding["severity"] in SEVERITIES
        assert set(finding["where"]) >= {"path", "layer", "handle", "x_mm", "y_mm"}


def test_takeoff_document(run, drawings) -> None:
    """Every key of the take-off contract is there, and the sums agree with one another."""
    ran = run("takeoff", *drawings, "--format", "json")
    assert (ran.code, ran.err) == (0, "")
    document = ran.json()
    assert document["schema"] == "edgetime.takeoff/1"
    assert [d["path"] for d in document["drawings"]] == [str(d) for d in drawings]
    for drawing in document["drawings"]:
        assert drawing["units"] == "mm"
        assert drawing["mm_per_unit"] == 1.0
        assert all(v > 0.0 for v in drawing["lengths_by_layer_mm"].values())
        by_profile: dict[str, float] = {}
        for part in drawing["parts"]:
            assert set(part) >= {
                "part_id", "name", "area_mm2", "area_gross_mm2", "outline_mm",
                "cutouts", "holes", "edges",
            }  # fmt: skip
            assert part["area_mm2"] <= part["area_gross_mm2"]
            for opening in (*part["cutouts"], *part["holes"]):
                assert set(opening) >= {"perimeter_mm", "diameter_mm"}
            for edge in part["edges"]:
                assert set(edge) >= {"profile", "length_mm", "layer", "place"}
                assert edge["place"] in {"outer", "cutout", "hole"}
                if edge["place"] != "hole":
                    by_profile[edge["profile"]] = (
                        by_profile.get(edge["profile"], 0.0) + edge["length_mm"]
                    )
        assert by_profile == pytest.approx(drawing["lengths_by_profile_mm"], rel=1e-12)
        _check_findings(drawing)


def test_estimate_document(run, drawings) -> None:
    """Every key of the estimate contract is there; the parts of each total add up to it."""
    ran = run("estimate", *drawings, "--format", "json")
    assert (ran.code, ran.err) == (0, "")
    document = ran.json()
    assert document["schema"] == "edgetime.estimate/1"
    assert set(document) >= {
        "digest", "machine", "stack", "stone", "thickness_mm", "total_s", "attended_s",
        "hand_mm", "tools", "parts", "by_profile", "findings",
    }  # fmt: skip
    for row in document["tools"]:
        assert set(row) >= {
            "tool", "pocket", "operation", "starts_s", *TERMS, "total_s", "passes",
            "treated_mm", "edge_mm", "cut_path_mm", "volume_mm3",
        }  # fmt: skip
        assert math.fsum(row[t] for t in TERMS) == pytest.approx(row["total_s"], abs=1e-6)
    total = document["total_s"]
    assert math.fsum(r["total_s"] for r in document["tools"]) == pytest.approx(total, abs=1e-6)
    assert math.fsum(r["total_s"] for r in document["parts"]) == pytest.approx(total, abs=1e-6)
    assert math.fsum(r["total_s"] for r in document["by_profile"]) == pytest.approx(total, abs=1e-6)
    assert "(shared)" in {row["profile"] for row in document["by_profile"]}
    for part in document["parts"]:
        assert set(part) >= {"part_id", "name", "drawing", "total_s"}
    starts = [row["starts_s"] for row in document["tools"]]
    assert starts == sorted(starts)
    assert starts[0] == pytest.approx(0.0, abs=1e-9)
    _check_findings(document)


def test_extras_stand_in_the_same_document(run, drawings) -> None:
    """Explanation, sensitivity and time left are keys of the one estimate document."""
    tools = run("estimate", drawings[0], "--format", "json").json()["tools"]
    name = tools[-2]["tool"]
    ran = run(
        "estimate", drawings[0], "--format", "json",
        "--explain", name, "--sensitivity", "--resume-at", name,
    )  # fmt: skip
    assert ran.code == 0
    document = ran.json()
    factors = document["explain"]["factors"]
    told = math.fsum(f["seconds"] for f in factors if f["seconds"] is not None)
    spent = math.fsum(r["total_s"] for r in tools if r["tool"] == name)
    assert told == pytest.approx(spent, abs=1e-6)
    swings = [
        max(abs(e["low_delta_s"] or 0.0), abs(e["high_delta_s"] or 0.0))
        for e in document["sensitivity"]
    ]
    assert len(swings) == 5
    assert swings == sorted(swings, reverse=True)
    rest = document["resume"]
    assert rest["row"] == len(tools) - 2
    assert rest["done_s"] == pytest.approx(tools[-2]["starts_s"], abs=1e-6)
    assert rest["left_s"] == pytest.approx(tools[-2]["total_s"] + tools[-1]["total_s"], abs=1e-6)


def test_order_of_work_document(run, drawings) -> None:
    """Its rows add up to the tools; the CSV table has the same keys and figures."""
    args = ("estimate", *drawings, "--runs", "--start", "2027-01-18 22:30")
    document = run(*args, "--format", "json").json()
    rows = document["runs"]
    for number, tool in enumerate(document["tools"], 1):
        own = [r for r in rows if r["visit"] == number]
        assert math.fsum(r["total_s"] for r in own) == pytest.approx(tool["total_s"], abs=1e-6)
        assert {r["piece"] for r in own} == {tool["piece"]}
        assert own[0]["starts_at"] == tool["starts_at"]
    assert {r["part_id"] for r in rows if r["kind"] == "pass"} == {
        p["part_id"] for p in document["parts"]
    }
    table = list(csv.DictReader(io.StringIO(run(*args, "--format", "csv").out)))
    assert [set(r) for r in table] == [set(r) for r in rows]
    assert [float(r["ends_s"]) for r in table] == [r["ends_s"] for r in rows]


def test_start_turns_times_into_times_of_day(run, drawings) -> None:
    """From cycle start to the end of the program, with the stops, past midnight."""
    document = run("estimate", *drawings, "--start", "2027-01-18 22:30", "--format", "json").json()
    assert document["starts_at"] == "2027-01-18T22:30:00.000"
    start, end = (datetime.fromisoformat(document[k]) for k in ("starts_at", "ends_at"))
    stops = [s for s in document["stops"] if s["before_row"] < len(document["tools"])]
    assert stops
    waited = sum(s["attended_s"] for s in stops)
    assert (end - start).total_seconds() == pytest.approx(document["total_s"] + waited, abs=1e-3)
    assert document["ends_day"] == 1
    for stop in document["stops"]:
        begin, back = (datetime.fromisoformat(stop[k]) for k in ("starts_at", "ends_at"))
        assert (back - begin).total_seconds() == pytest.approx(stop["attended_s"], abs=2e-3)
        after = document["tools"][stop["before_row"]]
        assert datetime.fromisoformat(after["starts_at"]) >= back
    undated = run("estimate", *drawings, "--start", "22:30", "--format", "json").json()
    assert undated["starts_at"] == "22:30:00.000"


def test_advice_document(run, drawings) -> None:
    """Each advice says what, how much, and how that was reckoned."""
    ran = run("advise", *drawings, "--format", "json")
    assert ran.code == 0
    document = ran.json()
    assert document["schema"] == "edgetime.advice/1"
    assert document["advice"]
    for one in document["advice"]:
        assert one["what"]
        assert one["how"]
        assert {"saving_s", "saving_attended_s", "saving_hand_mm"} <= set(one)


def test_catalogue_document(run) -> None:
    """Every kind is there, every entry with its source and file, nothing infinite."""
    ran = run("catalogue", "--format", "json")
    assert ran.code == 0
    document = ran.json()
    assert document["schema"] == "edgetime.catalogue/1"
    for kind in ("profiles", "tools", "stacks", "machines", "stones"):
        assert document[kind]
        for entry in document[kind]:
            assert entry["name"]
            assert entry["source"]
            assert entry["file"]
    for constant in ("Infinity", "NaN"):
        assert constant not in ran.out


def test_one_entry(run) -> None:
    """A kind and a name give that entry alone."""
    document = run("catalogue", "stones", "granite", "--format", "json").json()
    assert [s["name"] for s in document["stones"]] == ["granite"]
    assert "tools" not in document


@pytest.mark.parametrize("command", ["takeoff", "estimate", "advise"])
def test_units_of_tables_never_change_json(run, drawings, command: str) -> None:
    """``--units`` is for tables only."""
    metric = run(command, *drawings, "--format", "json", "--units", "metric")
    imperial = run(command, *drawings, "--format", "json", "--units", "imperial")
    assert metric.out == imperial.out


@pytest.mark.parametrize("command", ["takeoff", "estimate"])
def test_same_input_same_bytes(run, drawings, command: str) -> None:
    """Two runs print the same document."""
    first = run(command, *drawings, "--format", "json")
    assert first.out == run(command, *drawings, "--format", "json").out


@pytest.mark.parametrize(
    "args",
    [
        ["takeoff", "DRAWINGS"],
        ["estimate", "DRAWINGS"],
        ["advise", "DRAWINGS"],
        ["catalogue"],
        ["catalogue", "tools"],
        ["demo"],
    ],
    ids=" ".join,
)
def test_csv_is_one_table(run, drawings, args: list[str]) -> None:
    """One header, rows as long as it, numbers as numbers, findings on the other stream."""
    filled = [a for arg in args for a in (map(str, drawings) if arg == "DRAWINGS" else [arg])]
    ran = run(*filled, "--format", "csv")
    assert ran.code == 0
    rows = list(csv.reader(io.StringIO(ran.out)))
    header = rows[0]
    assert len(rows) > 1 or args[0] == "advise"
    assert {len(row) for row in rows} == {len(header)}
    for row in rows[1:]:
        for name, cell in zip(header, row, strict=True):
            if cell and name.endswith(("_mm", "_s", "_mm3")):
                float(cell)


def test_strict(run, tmp_path, drawings) -> None:
    """A warning ends in exit code 1 under ``--strict``, with the document all the same."""
    rules = tmp_path / "some.toml"
    rules.write_text(
        '[[layer]]\nmatch = "EDGE-EASED"\nmeans = "edge"\nprofile = "eased"\n'
        '[[layer]]\nmatch = "NAMES"\nmeans = "ignore"\n'
    )
    lax = run("takeoff", drawings[0], "--layers", rules, "--format", "json")
    assert lax.code == 0
    (drawing,) = lax.json()["drawings"]
    assert "layer-unmatched" in {f["code"] for f in drawing["findings"]}
    strict = run("takeoff", drawings[0], "--layers", rules, "--format", "json", "--strict")
    assert strict.code == 1
    assert strict.json() == lax.json()
    assert "--strict" in strict.err


def test_json_survives_an_ascii_terminal(spawn, drawings) -> None:
    """With a plain encoding the document is plain ASCII and says the same."""
    plain = spawn("takeoff", *drawings, "--format", "json", PYTHONIOENCODING="ascii")
    rich = spawn("takeoff", *drawings, "--format", "json")
    assert plain.out.isascii()
    assert json.loads(plain.out) == json.loads(rich.out)
