"""Screens for people: 80 columns, no colour needed, plain terminals too."""

from __future__ import annotations

import re

import pytest

SCREENS = {
    "help": ["--help"],
    "takeoff": ["takeoff", "DRAWINGS"],
    "takeoff imperial": ["takeoff", "DRAWINGS", "--units", "imperial"],
    "estimate": ["estimate", "DRAWINGS"],
    "estimate explain": ["estimate", "DRAWINGS", "--explain", "drum-75"],
    "estimate resume": ["estimate", "DRAWINGS", "--resume-at", "polish-2,p04"],
    "estimate runs": ["estimate", "DRAWINGS", "--runs"],
    "estimate runs by the clock": [
        "estimate",
        "DRAWINGS",
        "--runs",
        "--start",
        "23:30",
        "--units",
        "imperial",
    ],
    "estimate resume at a row": ["estimate", "DRAWINGS", "--resume-at", "12"],
    "estimate imperial": ["estimate", "DRAWINGS", "--units", "imperial"],
    "estimate sensitivity": ["estimate", "cafe-washroom.dxf", "--sensitivity"],
    "advise": ["advise", "DRAWINGS"],
    "catalogue": ["catalogue"],
    "catalogue profiles": ["catalogue", "profiles"],
    "catalogue tools": ["catalogue", "tools"],
    "catalogue stacks": ["catalogue", "stacks"],
    "catalogue machines": ["catalogue", "machines"],
    "catalogue stones": ["catalogue", "stones"],
    "catalogue one": ["catalogue", "stones", "granite"],
    "demo": ["demo"],
    "init": ["init", "my-shop"],
}


def _args(name: str, drawings: list) -> list[str]:
    # Named as a user in the folder would; long paths may be as long as they are.
    return [
        a
        for arg in SCREENS[name]
        for a in ([d.name for d in drawings] if arg == "DRAWINGS" else [arg])
    ]


@pytest.mark.parametrize("name", SCREENS)
def test_no_line_is_wider_than_the_screen(run, drawings, name: str) -> None:
    """At 80 columns nothing is wider, nothing is cut off, no escape codes come out."""
    ran = run(*_args(name, drawings))
    assert ran.code == 0, ran.err
    assert max(map(len, ran.out.splitlines())) <= 80
    assert "\x1b" not in ran.out + ran.err
    assert "…" not in ran.out
    assert all(line == line.rstrip() for line in ran.out.splitlines())


def test_plain_terminal(spawn, drawings) -> None:
    """An ASCII terminal gets the same figures in plain characters."""
    name = drawings[0].name
    plain = spawn("estimate", name, PYTHONIOENCODING="ascii", TERM="dumb")
    full = spawn("estimate", name)
    assert plain.code == full.code == 0
    assert plain.out.isascii()
    assert max(map(len, plain.out.splitlines())) <= 80
    clock = re.compile(r"\d+:\d\d")
    assert clock.findall(plain.out) == clock.findall(full.out)
    assert "?" not in plain.out.replace("Ask whether", "")


def test_estimate_screen_says_what_matters(run, drawings) -> None:
    """Units and size of each drawing, the tools in order, findings and the caution are there."""
    names = [d.name for d in drawings]
    screen = run("estimate", *names).out
    document = run("estimate", *names, "--format", "json").json()
    for name in names:
        assert f"{name}: units mm, " in " ".join(screen.split())
    header = next(line for line in screen.splitlines() if "Change" in line)
    assert header.split() == [
        "#", "Tool", "Start", "Change", "Cut", "Lead", "Plunge", "Rapid", "Dwell", "Total", "%",
    ]  # fmt: skip
    at = screen.index(header)
    for row in document["tools"]:
        found = screen.find(row["tool"][:12], at)
        assert found >= 0, row["tool"]
        at = found
    for code in {f["code"] for f in document["findings"]}:
        assert code in screen
    assert "What to do: " in screen or not document["findings"]
    assert "Cut wet" in screen
    assert "maximum speed" in screen
    assert "guards" in screen
    assert "local codes" in " ".join(screen.split())


def test_names_beside_times_of_day_are_broken_at_the_profile(run, drawings) -> None:
    """Past midnight the Start column is widest; no name is broken within a word."""
    screen = run("estimate", *[d.name for d in drawings], "--start", "23:00").out
    rows = screen[: screen.index("By part")].splitlines()
    assert sum(row.split()[0] == "half-bullnose" for row in rows if row.split()) == 4
    assert any(" +1 " in row for row in rows)


def test_figures_stand_to_the_right(run, drawings) -> None:
    """Totals in the tool table end in one column."""
    lines = run("estimate", *[d.name for d in drawings]).out.splitlines()
    first = next(i for i, line in enumerate(lines) if "Change" in line) + 2
    ends = set()
    for line in lines[first:]:
        if not line.strip():
            break
        if re.search(r"\d:\d\d +\S+$", line):
            ends.add(len(line))
    assert len(ends) == 1


def test_imperial_tables(run, drawings) -> None:
    """Imperial tables give feet; 2742.478 mm of half bullnose are 9.00 ft."""
    screen = run("takeoff", drawings[0].name, "--units", "imperial").out
    row = next(line for line in screen.splitlines() if line.startswith("half-bullnose"))
    # 1800 mm straight + π 300 mm round end = 2742.478 mm; ÷ 304.8 = 8.9976 ft
    assert row.split()[-1] == "9.00"


def test_names_that_fit_beside_times_of_day_are_not_broken(run, drawings) -> None:
    """Before midnight there is room for ``metal-1/flat-polish`` in one word."""
    screen = run("estimate", *[d.name for d in drawings], "--start", "9:10").out
    rows = screen[: screen.index("By part")].splitlines()
    assert any("/flat-polish " in row for row in rows)
    assert not any("/ flat" in row for row in rows)
    assert max(map(len, rows)) <= 80
