"""Bad shop folders: all errors at once, each with file, key, value and what is allowed."""

from __future__ import annotations

import re
from pathlib import Path

import pytest


@pytest.fixture
def shop(run, tmp_path: Path) -> Path:
    """Make an untouched shop folder."""
    assert run("init", "shop").code == 0
    return tmp_path / "shop"


def _first(folder: Path) -> Path:
    return min(folder.glob("*.toml"))


def _set(path: Path, key: str, value: str) -> None:
    # The [source] table has keys of the same names; what it says is a sentence.
    pattern = rf'(?m)^{key}\s*=(?! "[A-Z][a-z]+[ ,].*:).*$'
    text, count = re.subn(pattern, f"{key} = {value}", path.read_text(), count=1)
    assert count == 1, f"{path.name} has no {key}"
    path.write_text(text)


def test_untouched_shop_is_sound(run, shop: Path) -> None:
    """What ``init`` writes passes ``check``."""
    ran = run("check", shop, "--format", "json")
    assert ran.code == 0
    assert ran.json()["schema"] == "edgetime.check/1"
    assert ran.json()["errors"] == []


def test_init_does_not_overwrite(run, shop: Path) -> None:
    """A second ``init`` on the same folder changes nothing that was edited."""
    edited = shop / "shop.toml"
    edited.write_text(edited.read_text() + "\n# mine\n")
    before = edited.read_bytes()
    run("init", "shop")
    assert edited.read_bytes() == before


BREAK = {
    "wrong type": ("stones", "density", "true"),
    "no unit": ("stones", "density", "2700"),
    "unknown unit": ("stones", "density", '"2700 stone/pint"'),
    "negative": ("machines", "exchange", '"-3 s"'),
    "negative feed": ("stacks", "feed", '"-2 m/min"'),
    "feed in minutes": ("stacks", "feed", '"2 min"'),
    "not a number": ("stones", "feed_factor", "nan"),
    "not TOML": ("machines", "title", '"open'),
}


@pytest.mark.parametrize("name", BREAK)
@pytest.mark.parametrize("command", ["check", "estimate"])
def test_broken_files(run, shop: Path, drawings, name: str, command: str) -> None:
    """Exit code 3, file and key named, nothing on standard output."""
    kind, key, value = BREAK[name]
    path = _first(shop / kind)
    _set(path, key, value)
    args = ["check", "shop"] if command == "check" else ["estimate", drawings[0], "--shop", "shop"]
    ran = run(*args)
    assert (ran.code, ran.out) == (3, "")
    assert path.name in ran.err
    assert "Traceback" not in ran.err
    if name != "not TOML":
        assert key in ran.err


def test_unknown_key(run, shop: Path) -> None:
    """A key there is not is an error, not ignored."""
    path = shop / "shop.toml"
    path.write_text('colour = "green"\n' + path.read_text())
    ran = run("check", "shop", "--format", "json")
    assert ran.code == 3
    assert "colour" in str(ran.json())


def test_missing_tool(run, shop: Path) -> None:
    """A stack whose tool does not exist is an error."""
    path = _first(shop / "stacks")
    _set(path, "tool", '"no-such-tool"')
    ran = run("check", "shop", "--format", "json")
    assert ran.code == 3
    assert "no-such-tool" in str(ran.json())


def test_all_errors_at_once(run, shop: Path) -> None:
    """Three faults in three files are told in one go, each with its place."""
    for kind, key, value in (
        ("stones", "density", "true"),
        ("machines", "exchange", '"-3 s"'),
    ):
        _set(_first(shop / kind), key, value)
    (shop / "shop.toml").write_text('colour = "green"\n' + (shop / "shop.toml").read_text())
    document = run("check", "shop", "--format", "json").json()
    assert document["schema"] == "edgetime.error/1"
    told = [document, *document["others"]]
    assert len(told) >= 3
    assert {Path(e["where"]["path"]).name for e in told} >= {"shop.toml"}
    assert all(e["what"] for e in told)
    human = run("check", "shop").err
    assert human.count("where: ") == len(told)


@pytest.mark.parametrize("command", ["check", "catalogue"])
def test_no_such_shop(run, command: str) -> None:
    """A folder that is not there is refused."""
    ran = run(command, "--shop", "nowhere")
    assert (ran.code, ran.out) == (3, "")
    assert "nowhere" in ran.err


def test_init_on_a_file(run, tmp_path: Path) -> None:
    """A file stands in the way: nothing is written."""
    (tmp_path / "taken").write_text("mine")
    ran = run("init", "taken")
    assert (ran.code, ran.out) == (3, "")
    assert (tmp_path / "taken").read_text() == "mine"


def test_stack_for_another_thickness(run, drawings) -> None:
    """No stack serves a thickness of 100 mm: a plan error."""
    ran = run("estimate", drawings[0], "--thickness", "100", "--format", "json")
    assert ran.code == 4
    assert ran.json()["code"] == "stack-missing"


def test_layers_file_that_is_missing(run, drawings) -> None:
    """``--layers`` names a file that must be there."""
    ran = run("takeoff", drawings[0], "--layers", "nowhere.toml")
    assert (ran.code, ran.out) == (3, "")
    assert "nowhere.toml" in ran.err


def test_layers_with_a_wrong_meaning(run, drawings, tmp_path: Path) -> None:
    """A meaning there is not is refused with those there are."""
    (tmp_path / "my.toml").write_text('[[layer]]\nmatch = "*"\nmeans = "dance"\n')
    ran = run("takeoff", drawings[0], "--layers", "my.toml")
    assert (ran.code, ran.out) == (3, "")
    assert "dance" in ran.err
    assert "outline" in ran.err


def test_shop_is_found_from_below(run, shop: Path, monkeypatch) -> None:
    """A command inside the shop folder, or below it, uses that shop."""
    _set(shop / "shop.toml", "units", '"imperial"')
    monkeypatch.chdir(shop / "machines")
    assert " in" in run("catalogue", "machines").out
    assert run("check").code == 0


def test_too_fast_a_spindle_is_an_error_of_the_check(run, shop):
    """9,500 rpm on a drum marked 9,000 and a metal marked 8,500: errors with file, line and key."""
    stack = shop / "stacks" / "standard.toml"
    text = stack.read_text()
    stack.write_text(text.replace('spindle = "6500 rpm"', 'spindle = "9500 rpm"', 1))
    ran = run("check", "shop", "--format", "json")
    assert ran.code == 3
    document = ran.json()
    assert document["schema"] == "edgetime.error/1"
    assert "it is marked for 9000 rev/min" in document["what"]
    assert document["where"]["key"] == "step[8].spindle"


def test_feed_in_mm_per_s_is_a_warning_of_the_check(run, shop):
    """450 mm/s for a finger bit passes with a warning, and fails under --strict."""
    stack = shop / "stacks" / "standard.toml"
    stack.write_text(stack.read_text().replace('feed = "600 mm/min"', 'feed = "450 mm/s"', 1))
    ran = run("check", "shop", "--format", "json")
    assert ran.code == 0
    assert [f["code"] for f in ran.json()["findings"]] == ["feed-unusual"]
    assert run("check", "shop", "--strict").code == 1
    assert "feed-unusual" in run("check", "shop").out


def test_an_old_key_is_read_and_noted(run, shop: Path, drawings: list[Path]) -> None:
    """A machine's old ``corner`` ends nothing: ``check`` and ``estimate`` note what to write."""
    path = shop / "machines" / "medium.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("path_mode =", "corner ="), encoding="utf-8")
    path.write_text(path.read_text().replace('"continuous"', '"blend"'), encoding="utf-8")
    for command in (("check", shop), ("estimate", *drawings, "--shop", shop)):
        ran = run(*command, "--format", "json")
        assert ran.code == 0, ran.err
        notes = [f for f in ran.json()["findings"] if f["code"] == "old-key"]
        assert [n["where"]["key"] for n in notes] == ["corner"]
        assert 'path_mode = "continuous"' in notes[0]["message"]
    shown = run("check", shop)
    assert "note old-key" in shown.out
    assert "no errors" in shown.out
