"""Wrong use of the command line: exit code 2, one message, JSON when asked for."""

from __future__ import annotations

import json

import pytest

WRONG = {
    "unknown command": (["estimat"], "estimat"),
    "no drawing": (["estimate"], "DRAWING"),
    "unknown option": (["estimate", "x.dxf", "--fast"], "--fast"),
    "unknown unit": (["takeoff", "x.dxf", "--drawing-units", "furlong"], "furlong"),
    "unknown units of tables": (["takeoff", "x.dxf", "--units", "cgs"], "cgs"),
    "thickness without number": (["estimate", "x.dxf", "--thickness", "thick"], "thick"),
    "negative thickness": (["estimate", "x.dxf", "--thickness", "-30"], "-30"),
    "endless thickness": (["estimate", "x.dxf", "--thickness", "inf"], "inf"),
    "thickness in an unknown unit": (["estimate", "x.dxf", "--thickness", "3 ells"], "ells"),
    "override without number": (["estimate", "x.dxf", "--feed-override", "fast"], "fast"),
    "diameter without tool": (["estimate", "x.dxf", "--diameter", "60"], "60"),
    "diameter twice": (
        ["estimate", "x.dxf", "--diameter", "a=60", "--diameter", "a=61"],
        "given twice",
    ),
    "place without numbers": (["estimate", "x.dxf", "--place", "here"], "here"),
    "place with nan": (["estimate", "x.dxf", "--place", "nan,0"], "nan"),
    "place of which": (["estimate", "x.dxf", "y.dxf", "--place", "1,2"], "1,2"),
    "cutouts": (["estimate", "x.dxf", "--cutouts", "chewed"], "chewed"),
    "start": (["estimate", "x.dxf", "--start", "25:10"], "25:10"),
    "copies without number": (["estimate", "x.dxf", "--copies", "two"], "two"),
    "copies of which": (["estimate", "x.dxf", "y.dxf", "--copies", "2"], "2 drawings"),
    "half a copy": (["wear", "x.dxf", "--copies", "1.5"], "1.5"),
    "part of no drawing": (["price", "--lengths", "eased=3 m", "--only", "p01"], "no drawing"),
    "no gap": (["price", "x.dxf", "--apart", "0"], "0"),
    "order": (["estimate", "x.dxf", "--order", "random"], "random"),
    "kind": (["catalogue", "wheels"], "wheels"),
    "entry": (["catalogue", "stones", "granit"], "Did you mean granite"),
    "two shops": (["check", "one", "--shop", "two"], "one"),
    "no shop": (["check"], "edgetime init"),
    "same drawing twice": (["takeoff", "x.dxf", "./x.dxf"], "twice"),
}


@pytest.mark.parametrize("name", WRONG)
def test_wrong_use(run, name: str) -> None:
    """Exit code 2, the culprit named, the way out told, nothing on standard output."""
    args, told = WRONG[name]
    ran = run(*args)
    assert ran.code == 2
    assert ran.out == ""
    assert told in ran.err
    assert "what to do: " in ran.err
    assert ran.err.count("edgetime: ") == 1
    assert "Traceback" not in ran.err
    assert "Value error" not in ran.err


@pytest.mark.parametrize("form", [["--format", "json"], ["--format=json"]])
@pytest.mark.parametrize("name", WRONG)
def test_wrong_use_as_json(run, name: str, form: list[str]) -> None:
    """Asked for JSON, even a usage error is one document of the contract."""
    args, told = WRONG[name]
    ran = run(*args, *form)
    assert ran.code == 2
    document = json.loads(ran.out)
    assert document["schema"] == "edgetime.error/1"
    assert document["code"] == "usage"
    assert document["what"]
    assert document["remedy"]
    assert set(document["where"]) >= {"path", "layer", "handle", "x_mm", "y_mm"}
    assert told in document["what"] + document["remedy"] + str(document["where"])


def test_unknown_format_is_told_in_words(run) -> None:
    """A form there is not leaves standard output empty."""
    ran = run("takeoff", "x.dxf", "--format", "xml")
    assert ran.code == 2
    assert ran.out == ""
    assert "'table', 'json', 'csv'" in ran.err


@pytest.mark.parametrize("option", ["machine", "stone", "stack"])
def test_unknown_names_list_the_known(run, drawings, option: str) -> None:
    """A name that the catalogue lacks is refused with those it has."""
    ran = run("estimate", drawings[0], f"--{option}", "nosuch")
    assert ran.code == 2
    assert ran.out == ""
    assert "'nosuch'" in ran.err
    assert "Allowed: " in ran.err


@pytest.mark.parametrize("option", ["--explain", "--resume-at"])
def test_tools_that_do_not_run(run, drawings, option: str) -> None:
    """A tool that is not in the load is refused with those that are."""
    ran = run("estimate", drawings[0], option, "spoon", "--format", "json")
    assert ran.code == 2
    assert "spoon" in ran.json()["what"]
    assert "Name one of: " in ran.json()["remedy"]
