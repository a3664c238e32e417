"""``edgetime shift``: what it prints, its modes, and what it refuses."""

from __future__ import annotations

import csv
import io
import math
import re

import pytest

FEW = ["--replications", "30"]


def test_document(run, drawings) -> None:
    """The plan's times make sense, the machine's account makes the shift, figures are finite."""
    ran = run("shift", *drawings, *FEW, "--format", "json")
    assert ran.code == 0
    document = ran.json()
    assert document["schema"] == "edgetime.shift/1"
    assert [x["name"] for x in document["loads"]] == ["cafe-counters", "cafe-washroom"]
    names = [r["name"] for r in document["runs"]]
    assert len(names) == document["plan"]["loads"] >= 2
    assert names[:2] == ["cafe-counters", "cafe-washroom"]
    assert math.fsum(document["plan"]["machine_s"].values()) == pytest.approx(8 * 3600.0)
    assert document["variation"]["replications"] == 30
    assert document["variation"]["loads"]["low"] <= document["variation"]["loads"]["high"]
    assert document["limit"] == document["leverages"][0]["what"]


def test_cycle_is_that_of_the_estimate(run, drawings) -> None:
    """Cycle, parts and stops are the estimate's, and can be told instead."""
    estimate = run("estimate", drawings[0], "--format", "json").json()
    args = ["shift", drawings[0], "--replications", "0", "--format", "json"]
    (load,) = run(*args).json()["loads"]
    assert load["cycle_s"] == pytest.approx(estimate["total_s"])
    attended = load["loading_s"] + load["unloading_s"] + sum(s["attended_s"] for s in load["stops"])
    assert attended == pytest.approx(estimate["attended_s"])
    (told,) = run(*args, "--cycle-time", "108").json()["loads"]
    assert told["cycle_s"] == 108 * 60.0


def test_what_leads_is_what_can_be_planned_on(run, drawings) -> None:
    """The first line, the document and the table say the same of plan, chance and mean."""
    args = ["shift", drawings[1], "--replications", "400"]
    told = run(*args, "--format", "json").json()
    promise, met = told["promise"], told["promise"]["plan_met"]
    assert promise["plan_loads"] == told["plan"]["loads"] == met["loads"]
    assert promise["mean_loads"] == pytest.approx(told["variation"]["loads"]["mean"])
    assert met["low"] < met["share"] < met["high"]
    assert promise["sure_loads"] < promise["plan_loads"]
    sure = promise["by_loads"][promise["sure_loads"] - 1]
    assert sure["share"] >= promise["service_level"] == 0.9
    first = " ".join(run(*args).out.split("The plan makes")[0].split())
    assert first.startswith(
        f"Plan {met['loads']} loads: met in {100 * met['share']:.0f} of 100 shifts"
    )
    assert f"{promise['sure_loads']} loads are met in" in first
    rows = list(csv.DictReader(io.StringIO(run(*args, "--format", "csv").out)))
    assert [float(r["chance"]) for r in rows] == [
        c["share"] for c in promise["by_loads"][: len(rows)]
    ]
    assert {r["sure_loads"] for r in rows} == {str(promise["sure_loads"])}
    plain = run("shift", drawings[1], "--replications", "0")
    assert "how often that is met was not simulated" in " ".join(plain.out.split())


def test_the_last_load_runs_on_if_asked(run, drawings) -> None:
    """One load more, told apart in every form; the shop's file says it as well."""
    args = ["shift", drawings[0], "--repeat", "6", "--replications", "30"]
    assert run(*args, "--format", "json").json()["plan"]["loads"] == 5
    told = run(*args, "--last-load", "runs-on", "--format", "json").json()
    assert told["plan"]["loads"] == 6
    assert [r["runs_on"] for r in told["runs"]] == [False] * 5 + [True]
    assert told["runs"][-1]["done_s"] is None
    assert told["plan"]["runs_on"] == 1
    screen = " ".join(run(*args, "--last-load", "runs-on").out.split())
    assert "The last load runs on by itself until" in screen
    assert "next shift" in screen
    rows = list(
        csv.DictReader(io.StringIO(run(*args, "--last-load", "runs-on", "--format", "csv").out))
    )
    assert [r["runs_on"] for r in rows] == ["0"] * 5 + ["1"]
    assert rows[-1]["done_s"] == ""
    wrong = run(*args, "--last-load", "over-night")
    assert wrong.code == 2
    assert "runs-on" in wrong.err


def test_a_near_miss_is_told_with_what_would_mend_it(run, tmp_path) -> None:
    """Cycles of 55 min from a list: the screen says the minutes, and that much longer is enough."""
    jobs = tmp_path / "jobs.csv"
    jobs.write_text("name,quantity,cycle,area,parts\nkitchen,8,55 min,5 m2,1\n", encoding="utf-8")
    args = ["shift", "--jobs", str(jobs), "--replications", "0", "--no-breaks"]
    near = run(*args, "--format", "json").json()["next_load"]
    assert near["number"] == 8
    assert 0.0 < near["misses_s"] <= 1800.0
    assert near["mends"][0] == {"what": "hours", "longer_s": near["misses_s"]}
    screen = " ".join(run(*args).out.split())
    assert "Load 8, kitchen, misses the shift by" in screen
    assert "(--last-load runs-on)" in screen
    longer = f"{(8 * 3600 + near['misses_s'] + 0.01) / 3600:.9f}"
    assert run(*args, "--hours", longer, "--format", "json").json()["plan"]["loads"] == 8


@pytest.mark.parametrize(
    "text", ["108", "108 min", "1h48", "1 h 48 min", "1.8 h", "108:00", "1:48:00"]
)
def test_a_cycle_is_read_as_it_is_printed(run, tmp_path, drawings, text) -> None:
    """By option and by list; one colon is minutes and seconds, as the cycles of the tables."""
    args = ["--replications", "0", "--format", "json"]
    (load,) = run("shift", drawings[0], "--cycle-time", text, *args).json()["loads"]
    assert load["cycle_s"] == pytest.approx(6480.0)
    if text != "108":
        jobs = tmp_path / "jobs.csv"
        jobs.write_text(f"cycle,area,parts,ready\n{text},4 m2,3,1:30\n", encoding="utf-8")
        (load,) = run("shift", "--jobs", jobs, *args).json()["loads"]
        assert load["cycle_s"] == pytest.approx(6480.0)
        assert load["ready_s"] == 5400.0


def test_hours_and_breaks_are_hours_and_minutes(run, drawings) -> None:
    """A colon there is as in the tables of the shift, h:min."""
    args = ["shift", drawings[0], "--replications", "0", "--format", "json"]
    told = run(*args, "--hours", "8:30", "--break", "4:00+0:45").json()
    assert told["hours_s"] == 8.5 * 3600.0
    assert told["breaks"] == [{"after_s": 4 * 3600.0, "length_s": 45 * 60.0}]
    assert run(*args, "--hours", "8h30").json()["hours_s"] == 8.5 * 3600.0
    ran = run("shift", drawings[0], "--hours", "8:75")
    assert ran.code == 2
    assert "has 75 min after the colon" in ran.err


def test_areas_that_two_screens_give_are_told_apart(run, drawings) -> None:
    """Take-off net of openings, shift gross: each screen says so, the take-off with that figure."""
    net = " ".join(run("takeoff", drawings[0]).out.split())
    gross = " ".join(run("shift", drawings[0], "--repeat", "1", "--replications", "0").out.split())
    assert "Areas include openings, as kitchens are sold; takeoff leaves them out." in gross
    told = float(re.search(r"Openings included: ([\d.]+) m2, the area that shift", net)[1])
    assert told == pytest.approx(float(re.search(r" ([\d.]+) m² in ", gross)[1]), abs=0.006)


def test_together_and_repeat(run, drawings) -> None:
    """All drawings on one table are one load; repeated so many times and no more."""
    args = ["--replications", "0", "--format", "json", "--hours", "12"]
    one = run("shift", *drawings, "--together", "--repeat", "2", *args).json()
    assert len(one["loads"]) == 1
    assert len(one["runs"]) + len(one["left"]) == 2
    assert one["variation"] is None


def test_explain_adds_up_to_the_shift(run, drawings) -> None:
    """Factors with seconds make the shift; figures name their file and key, or their option."""
    args = ["--explain", "--replications", "0", "--hours", "7 h", "--format", "json"]
    factors = run("shift", drawings[0], *args).json()["explain"]
    timed = [f["seconds"] for f in factors if f["seconds"] is not None]
    assert math.fsum(timed) == pytest.approx(7 * 3600.0)
    by_key = {f["key"]: f for f in factors}
    assert by_key["shift.warm_up"]["written"] == "10 min"
    assert by_key["shift.warm_up"]["file"].endswith("shop.toml")
    assert by_key["load_part"]["file"].endswith("machines/medium.toml")
    assert by_key["--hours"]["value"] == 7 * 3600.0


def _by_name(run, *args):
    factors = run("shift", *args, "--explain", "--format", "json").json()["explain"]
    return {f["name"]: f for f in factors}


def test_explain_names_the_option_that_replaces_a_figure(run, drawings) -> None:
    """A cycle by watch, breaks, pockets and what is known of a piece."""
    found = _by_name(run, drawings[0], "--replications", "0", "--cycle-time", "70", "--break",
                     "3 h+20 min", "--pockets", "26", "--used", "polish-1=99%")  # fmt: skip
    cycle = found["cafe-counters: cycle"]
    assert (cycle["value"], cycle["key"], cycle["file"]) == (4200.0, "--cycle-time", "")
    assert found["break 1 begins"]["key"] == found["break 1 lasts"]["key"] == "--break"
    assert (found["pockets of the rack"]["value"], found["pockets of the rack"]["key"]) == (
        26.0,
        "--pockets",
    )
    assert (found["life used of polish-1"]["value"], found["life used of polish-1"]["key"]) == (
        0.99,
        "--used",
    )
    assert "polish-1" in found["tools swapped before load 1"]["note"]
    without = _by_name(run, drawings[0], "--replications", "0", "--no-breaks")
    assert without["breaks"]["key"] == "--no-breaks"
    assert without["pockets of the rack"]["file"].endswith("machines/medium.toml")


def test_explain_names_the_line_of_a_list(run, tmp_path, drawings) -> None:
    """Of a cycle by watch, and of a job that is not drawn."""
    path = tmp_path / "jobs.csv"
    path.write_text(
        "name,drawing,cycle,area,parts\n"
        f"Watched,{drawings[0].name},70 min,,\n"
        "By phone,,60 min,5 m2,4\n"
    )
    found = _by_name(run, "--jobs", path, "--replications", "0")
    for name, line, key in (
        ("Watched: cycle", 2, "cycle"),
        ("By phone: cycle", 3, "cycle"),
        ("By phone: area", 3, "area"),
        ("By phone: parts", 3, "parts"),
    ):
        assert found[name]["file"].endswith(f"jobs.csv:{line}")
        assert found[name]["key"] == key
    assert found["Watched: area"]["key"] == "drawing"
    loading = found["By phone: loading"]
    assert loading["file"].endswith("machines/medium.toml")
    assert loading["key"] == "load_part"
    assert loading["value"] == 4 * found["loading one part"]["value"]


def test_explain_covers_every_answer(run, tmp_path, drawings) -> None:
    """The person, the variation, the choice, the order and the table: as in the document."""
    args = ["--jobs", _jobs(tmp_path, drawings), "--fit", "--day", "2027-03-15", "--pocket-plan",
            "--table-filling", *FEW]  # fmt: skip
    document = run("shift", *args, "--format", "json").json()
    found = {name: f["value"] for name, f in _by_name(run, *args).items()}
    plan, fit = document["plan"], document["fit"]
    assert found["operator time"] == plan["attended_s"]
    assert found["unattended"] == plan["unattended_s"]
    assert found["longest unattended"] == plan["longest_unattended_s"]
    assert found["utilisation of the operator"] == plan["person_utilisation"]
    loads = document["variation"]["loads"]
    assert found["with variation, loads, mean"] == loads["mean"]
    assert found["with variation, loads, to"] == loads["high"]
    assert (found["chosen, weighted"], found["bound, weighted"]) == (
        fit["value_m2"],
        fit["bound_m2"],
    )
    assert found["Cafe: weight of its area"] == 0.5
    assert found["bound of the tool swaps"] == document["pocket_plan"]["bound"]
    filling = document["table_filling"]
    assert found["gap between parts"] == filling["gap_mm"]
    assert found["table load 1: filled"] == filling["loads"][0]["filled"]


def test_explain_writes_as_the_tables_do(run, drawings) -> None:
    """No bare seconds or square millimetres on the screen."""
    args = ["shift", drawings[0], "--explain", "--hours", "7", "--replications", "0"]
    shown = run(*args).out
    assert "7 h 00 min 00 s" in shown.split("How the throughput is calculated")[1]
    assert "25200" not in shown
    assert "mm2" not in shown
    imperial = run(*args, "--units", "imperial").out
    assert "sq ft" in imperial.split("How the throughput is calculated")[1]


def _jobs(tmp_path, drawings):
    path = tmp_path / "waiting.csv"
    path.write_text(
        "name,drawing,quantity,due,cycle,area,parts\n"
        f"Cafe,{drawings[0].name},2,2027-03-16,,,\n"
        f"Washroom,{drawings[1].name},1,2027-03-15,,,\n"
        "By phone,,1,,150 min,7 m2,5\n"
    )
    return path


def test_fit(run, tmp_path, drawings) -> None:
    """What is due comes first; the choice is proved best; the plan is of the chosen ones."""
    ran = run("shift", "--jobs", _jobs(tmp_path, drawings), "--fit", "--day", "2027-03-15",
              "--hours", "5", *FEW, "--format", "json")  # fmt: skip
    assert ran.code == 0
    document = ran.json()
    fit = document["fit"]
    assert fit["optimal"]
    assert fit["waiting"] == ["Cafe", "Cafe", "Washroom", "By phone"]
    chosen = [fit["waiting"][i] for i in fit["chosen"]]
    assert chosen[0] == "Washroom"
    assert [r["name"] for r in document["runs"]] == chosen


def test_fit_runs_first_what_is_ready_first(run, tmp_path) -> None:
    """A load that is due but not ready holds back none, and the screen says why the order."""
    path = tmp_path / "order.csv"
    path.write_text(
        "name,due,ready,cycle,area,parts\n"
        "Late ready,2027-01-18,4 h,150 min,5 m2,2\n"
        "Early bird,2027-01-19,,200 min,6 m2,2\n"
    )
    args = ["shift", "--jobs", path, "--fit", "--day", "2027-01-18", "--replications", "0"]
    document = run(*args, "--format", "json").json()
    assert [r["name"] for r in document["runs"]] == ["Early bird", "Late ready"]
    assert document["fit"]["optimal"] is True
    assert document["fit"]["in_turn"] is False
    shown = " ".join(run(*args).out.split())
    assert "Proven optimal: no other choice, in any order, is better." in shown
    assert "by due date they would not finish in time" in shown


def test_fit_writes_nothing_else_to_standard_output(spawn, tmp_path, drawings) -> None:
    """Neither the solver nor the simulation says a word of its own there."""
    ran = spawn("shift", "--jobs", _jobs(tmp_path, drawings), "--fit", "--day", "2027-03-15",
                "--replications", "0", "--format", "json")  # fmt: skip
    assert ran.code == 0
    assert ran.json()["schema"] == "edgetime.shift/1"


def test_pocket_plan(run, drawings) -> None:
    """The swaps told are those put in before the loads, and those of the plan."""
    estimate = run("shift", *drawings, "--replications", "0", "--format", "json").json()
    most = max(len(x["pieces"]) for x in estimate["loads"])
    ran = run("shift", *drawings, "--repeat", "2", "--hours", "20", "--pocket-plan", "--pockets",
              most, "--replications", "0", "--format", "json")  # fmt: skip
    assert ran.code == 0
    plan = ran.json()["pocket_plan"]
    assert plan["optimal"]
    assert sum(map(len, plan["inserted"])) == plan["swaps"] < plan["as_given"]


def test_table_filling(run, drawings) -> None:
    """Every part of the loads is there once, and the estimate calls itself an upper one."""
    ran = run("shift", *drawings, "--table-filling", "--replications", "0", "--format", "json")
    filling = ran.json()["table_filling"]
    assert filling["estimate"] == "upper"
    assert sum(len(x["parts"]) for x in filling["loads"]) == sum(
        x["parts"] for x in ran.json()["loads"]
    )
    assert all(0.0 < x["filled"] <= 1.0 for x in filling["loads"])
    shown = run("shift", *drawings, "--table-filling", "--replications", "0").out
    assert "upper estimate, no nesting" in shown


def test_csv(run, drawings) -> None:
    """A row per load, as long as the header, times as numbers."""
    ran = run("shift", drawings[0], "--replications", "0", "--format", "csv")
    header, *rows = csv.reader(io.StringIO(ran.out))
    assert rows
    assert all(len(row) == len(header) for row in rows)
    assert [float(row[header.index("starts_s")]) for row in rows] == sorted(
        float(row[header.index("starts_s")]) for row in rows
    )


def _table(ran):
    header, *rows = csv.reader(io.StringIO(ran.out))
    assert ran.code == 0
    assert all(len(row) == len(header) for row in rows)
    return [dict(zip(header, row, strict=True)) for row in rows]


def test_csv_of_a_choice(run, tmp_path, drawings) -> None:
    """All waiting loads, those not chosen too, with the bound."""
    args = ["shift", "--jobs", _jobs(tmp_path, drawings), "--fit", "--day", "2027-03-15", "--hours",
            "4", "--replications", "0", "--format"]  # fmt: skip
    fit = run(*args, "json").json()["fit"]
    rows = _table(run(*args, "csv"))
    assert [r["load"] for r in rows] == fit["waiting"]
    place = {i: n for n, i in enumerate(fit["chosen"], 1)}
    assert [int(r["runs"] or 0) for r in rows] == [place.get(i, 0) for i in range(len(rows))]
    assert len(place) < len(rows)
    assert {float(r["bound_m2"]) for r in rows} == {fit["bound_m2"]}
    assert [i for i, r in enumerate(rows) if r["late"] == "1"] == fit["late"]


def test_csv_of_an_order_and_of_a_table(run, drawings) -> None:
    """The order with what is put in; the parts with the load each goes into."""
    args = ["shift", *drawings, "--repeat", "2", "--hours", "20", "--replications", "0"]
    plan_args = ["--pocket-plan", "--pockets", "16", "--format"]
    plan = run(*args, *plan_args, "json").json()["pocket_plan"]
    rows = _table(run(*args, *plan_args, "csv"))
    assert [int(r["listed"]) - 1 for r in rows] == plan["order"]
    assert [r["inserted"].split() for r in rows] == plan["inserted"]
    filling = run(*args, "--table-filling", "--format", "json").json()["table_filling"]
    rows = _table(run(*args, "--table-filling", "--format", "csv"))
    assert [(int(r["load"]), r["part_id"]) for r in rows] == [
        (n, p["part_id"]) for n, x in enumerate(filling["loads"], 1) for p in x["parts"]
    ]


@pytest.mark.parametrize(
    ("column", "cell"), [("stone", "onyx"), ("stack", "onyx"), ("thickness", "400")]
)
def test_a_list_is_blamed_for_what_it_says(run, tmp_path, drawings, column, cell) -> None:
    """Its line and column, and the exit code of a file that cannot be used."""
    path = tmp_path / "z.csv"
    path.write_text(f"name,drawing,{column}\nA,{drawings[0].name},{cell}\n")
    ran = run("shift", "--jobs", path, *FEW)
    assert ran.code == 3
    assert f"z.csv:2, {column}" in ran.err
    assert f"--{column}" not in ran.err


@pytest.mark.parametrize("option", [[], ["--fit"]])
def test_a_load_of_a_list_that_is_too_long(run, tmp_path, option) -> None:
    """Its line is named, chosen or not."""
    path = tmp_path / "long.csv"
    path.write_text("name,cycle,area,parts\nLong,20 h,5 m2,3\n")
    ran = run("shift", "--jobs", path, *option, *FEW)
    assert ran.code == 4
    assert "long.csv:2" in ran.err
    assert "Long" in ran.err


@pytest.mark.parametrize("option", [[], ["--fit"]])
def test_a_drawing_that_is_too_long(run, drawings, option) -> None:
    """The drawing, and the option that would help."""
    ran = run("shift", drawings[0], "--hours", "40 min", *option, *FEW)
    assert ran.code == 4
    assert f"{drawings[0].name}, --hours" in "".join(ran.err.split("\n"))


def test_jobs_without_a_drawing_are_told(run, tmp_path, drawings) -> None:
    """They are in no filling and need no tool that is known: a warning where that is asked."""
    args = ["shift", "--jobs", _jobs(tmp_path, drawings), "--hours", "14", "--replications", "0"]
    (plain,) = [f for f in run(*args, "--format", "json").json()["findings"]
                if f["code"] == "job-not-drawn"]  # fmt: skip
    assert plain["severity"] == "note"
    assert plain["where"]["line"] == 4
    asked = run(*args, "--table-filling", "--pocket-plan", "--format", "json").json()["findings"]
    (told,) = [f for f in asked if f["code"] == "job-not-drawn"]
    assert told["severity"] == "warning"
    assert "By phone has no drawing" in told["message"]
    shown = " ".join(run(*args, "--table-filling", "--pocket-plan").out.split())
    assert "The drawn parts need at least" in shown
    assert "By phone not known: not drawn" in shown


@pytest.mark.parametrize("asked", [[], ["--fit"], ["--table-filling"], ["--pocket-plan"]])
def test_a_told_job_meets_the_table(run, tmp_path, asked) -> None:
    """200 sq ft on the shop's table: refused whatever is asked, with its line and the way out."""
    jobs = tmp_path / "jobs.csv"
    row = "name,cycle,area,parts\nsmall,1 h,40 sqft,3\nbig,2 h,200 sqft,12\n"
    jobs.write_text(row, encoding="utf-8")
    ran = run("shift", "--jobs", jobs, *asked, *FEW)
    assert ran.code == 4
    said = " ".join(ran.err.split())
    assert "big has 18.58 m² (200 sq ft) of parts; the table of medium has 7.20 m²" in said
    assert "jobs.csv:3, area" in said
    assert "Split the job into at least 3 loads" in said


@pytest.mark.parametrize(
    ("column", "cell"),
    [("area", "0 m2"), ("area", "-3 m2"), ("area", "5"), ("parts", "0"), ("parts", "-2"),
     ("parts", "2.5"), ("cycle", "0 min"), ("cycle", "-5 min"), ("stone", "granitee"),
     ("stack", "nonesuch")],
)  # fmt: skip
def test_a_told_job_that_cannot_be(run, tmp_path, column, cell) -> None:
    """Counts and areas of nothing or less, stones and stacks there are not: the line and column."""
    cells = {"name": "k", "cycle": "1 h", "area": "4 m2", "parts": "3", column: cell}
    jobs = tmp_path / "jobs.csv"
    jobs.write_text(f"{','.join(cells)}\n{','.join(cells.values())}\n", encoding="utf-8")
    ran = run("shift", "--jobs", jobs, *FEW)
    assert ran.code == 3
    assert f"jobs.csv:2, {column}" in ran.err


def test_what_limits_when_all_are_run(run, drawings) -> None:
    """One load of a long shift: not the machine, the loads given."""
    args = ["shift", drawings[0], "--repeat", "1", "--replications", "0"]
    assert run(*args, "--format", "json").json()["limit"] == "loads"
    assert "Limit: no more loads listed" in run(*args).out


def test_the_persons_share_is_one(run, drawings) -> None:
    """Screen and document reckon it of the same time, without the breaks."""
    args = ["shift", drawings[0], "--repeat", "4", "--break", "2 h+2 h", "--replications", "0"]
    told = run(*args, "--format", "json").json()["plan"]["person_utilisation"]
    (row,) = [
        x for x in run(*args).out.splitlines() if x.startswith("Operator time") and x[-1].isdigit()
    ]
    assert row.split()[-1] == f"{100.0 * told:.0f}"


def test_a_table_filling_names_the_parts(run, drawings) -> None:
    """By the names that stand in the drawing."""
    args = ["shift", drawings[0], "--table-filling", "--replications", "0"]
    (load, *_) = run(*args, "--format", "json").json()["table_filling"]["loads"]
    shown = " ".join(run(*args).out.split())
    assert all(p["name"] in shown for p in load["parts"])


def test_screen_keeps_its_width(run, tmp_path, drawings) -> None:
    """No line of any mode is wider than the screen."""
    ran = run("shift", "--jobs", _jobs(tmp_path, drawings), "--fit", "--day", "2027-03-15",
              "--pocket-plan", "--table-filling", "--explain", *FEW)  # fmt: skip
    assert ran.code == 0
    assert max(map(len, ran.out.splitlines())) <= 80
    for word in ("Chosen:", "Pocket plan:", "Table filling", "Limit: ", "variation"):
        assert word in ran.out


def test_same_question_same_bytes(run, drawings) -> None:
    """The seed is fixed."""
    first = run("shift", drawings[0], *FEW, "--format", "json")
    assert first.out == run("shift", drawings[0], *FEW, "--format", "json").out


@pytest.mark.parametrize(
    ("args", "code", "told"),
    [
        (["D", "--hours", "0"], 2, "0 hours"),
        (["D", "--hours", "nan"], 2, "nan"),
        (["D", "--hours", "soon"], 2, "soon"),
        (["D", "--hours", "40 min"], 4, "a load is never left half done"),
        (["D", "--break", "9 h+30 min"], 2, "outside the shift"),
        (["D", "--break", "noon"], 2, "not a break"),
        (["D", "--break", "4+30", "--no-breaks"], 2, "contradict each other"),
        (["D", "--hours", "200"], 2, "the most is 24"),
        (["D", "--zones", "0"], 2, "0 zones"),
        (["D", "--zones", "50"], 2, "the most is 8"),
        (["D", "--zones", "2", "--zone-length", "100"], 4, "2 zones of 100 mm are 200 mm"),
        (["D", "--break", "4 h+-30 min"], 2, "has no length"),
        (["D", "--pockets", "0"], 2, "0 pockets"),
        (["D", "--pocket-plan", "--pockets", "2"], 3, "tools; the rack has 2 pockets"),
        (["D", "--cycle-time", "0"], 2, "above zero"),
        (["D", "--used", "nothing=50%"], 2, "No tool 'nothing'"),
        (["D", "--used", "polish-1=150%"], 2, "0 to 100 %"),
        (["D", "--used", "polish-1"], 2, "'polish-1' has no share"),
        (["D", "--used", "polish-1=90%", "--used", "polish-1=10%"], 2, "given twice"),
        (["D", "--day", "tomorrow"], 2, "not a date"),
        (["D", "--day", "2027-02-30"], 2, "not a date"),
        (["D", "--day", "2027-02-20"], 2, "only used with --fit"),
        (["D", "--fit", "--pocket-plan", "--format", "csv"], 2, "CSV holds one table"),
        (["D", "--day", "tomorrow", "--fit"], 2, "not a date"),
        (["D", "--repeat", "0"], 2, "--repeat"),
        (["D", "--machine", "huge"], 2, "huge"),
        (["missing.dxf"], 3, "missing.dxf"),
        (["--jobs", "missing.csv"], 3, "missing.csv"),
        (["D", "--jobs", "x.csv"], 2, "cannot be combined with drawings"),
        ([], 2, "Neither a drawing nor a job list"),
    ],
)
def test_refusals(run, drawings, args, code, told) -> None:
    """Each with its exit code, what is wrong and what to do, and nothing on standard output."""
    ran = run("shift", *[drawings[0] if a == "D" else a for a in args], *FEW)
    assert ran.code == code
    assert told in " ".join(ran.err.split())
    assert "what to do:" in ran.err
    assert ran.out == ""


def test_a_shop_whose_break_lies_outside(run, tmp_path, drawings) -> None:
    """The shop's file and key are named."""
    (tmp_path / "shop.toml").write_text(
        '[shift]\nhours = "4 h"\nbreaks = [{ after = "5 h", length = "30 min" }]\n'
    )
    ran = run("shift", drawings[0], "--shop", tmp_path)
    assert ran.code == 3
    assert "shift.breaks" in ran.err


def test_zones_shorter_than_a_load_leave_a_comparison_without_yield(
    run, tmp_path, drawings
) -> None:
    """The comparison goes on; it only has no loads per shift."""
    (tmp_path / "shop.toml").write_text('[shift]\nzones = 2\nzone_length = "100 mm"\n')
    args = ["compare", drawings[0], "--shop", tmp_path, "--with", "feed-override=90%"]
    ran = run(*args, "--format", "json")
    assert ran.code == 0
    assert [x["loads_per_shift"] for x in ran.json()["setups"]] == [None, None]


def test_a_shorter_shift_drops_the_shops_break(run, drawings) -> None:
    """The shop's break after four hours does not stand in the way of three."""
    ran = run("shift", drawings[0], "--hours", "3", "--replications", "0", "--format", "json")
    assert ran.code == 0
    assert ran.json()["breaks"] == []


def test_what_if_stands_beside_the_plan(run, drawings) -> None:
    """Screen, CSV and JSON have today's plan and each change, of one table."""
    args = ["shift", drawings[0], "--replications", "0", "--what-if", "feed=120%"]
    told = run(*args, "--format", "json").json()
    assert [c["what_if"] for c in told["what_if"]] == ["", "feed=120%"]
    before, after = told["what_if"]
    assert before["loads"] == told["plan"]["loads"]
    assert before["makespan_s"] == told["makespan_s"] == told["runs"][-1]["done_s"]
    assert after["refused"] is None
    rows = list(csv.DictReader(io.StringIO(run(*args, "--format", "csv").out)))
    assert [int(r["loads"]) for r in rows] == [c["loads"] for c in told["what_if"]]
    assert [float(r["makespan_s"]) for r in rows] == [c["makespan_s"] for c in told["what_if"]]
    screen = run(*args).out
    assert re.search(r"^today's +\d", screen, re.MULTILINE)
    assert re.search(r"^feed=120% +\d", screen, re.MULTILINE)
    both = run(*args, "--fit", "--format", "csv")
    assert both.code == 2
    assert "--what-if" in both.err


def test_the_board_is_written(run, drawings, tmp_path) -> None:
    """HTML by its name, and said; other names and --paper without it are refused early."""
    board = tmp_path / "board.html"
    args = ["shift", drawings[0], "--replications", "0"]
    ran = run(*args, "--board", str(board), "--day", "2027-01-18")
    assert ran.code == 0
    assert "Monday 2027-01-18" in board.read_text()
    assert ran.out.rstrip().endswith("board.html.")
    told = run(*args, "--board", str(board), "--format", "json").json()
    assert told["board"] == str(board)
    for wrong, match in (
        (["--board", str(tmp_path / "board.png")], ".pdf"),
        (["--paper", "a3"], "--board"),
        (["--day", "2027-01-18"], "--board"),
    ):
        ran = run(*args, *wrong)
        assert ran.code == 2
        assert match in ran.err
