"""Help that teaches: every command says what it is for, how it is used, how it ends."""

from __future__ import annotations

import re
import shlex
from shutil import copyfile

import pytest

from edgetime import __version__
from edgetime.errors import EdgetimeError

COMMANDS = (
    "demo",
    "init",
    "catalogue",
    "layers",
    "takeoff",
    "estimate",
    "report",
    "picture",
    "wear",
    "survive",
    "ledger",
    "advise",
    "forecast",
    "price",
    "price-list",
    "shift",
    "compare",
    "feed",
    "check",
)


def test_no_arguments_show_the_help(run) -> None:
    """A newcomer who types only the name is told what there is."""
    ran = run()
    assert ran.code == 0
    assert ran.out == run("--help").out
    for command in COMMANDS:
        assert f"\n  {command} " in ran.out


def test_short_help_is_never_cut_off(run) -> None:
    """The list of commands ends each line with a sentence, not with dots."""
    listed = run("--help").out.split("Commands:")[1].strip().splitlines()
    assert len(listed) == len(COMMANDS)
    for text in listed:
        assert text.endswith(".")
        assert not text.endswith("...")


@pytest.mark.parametrize("command", COMMANDS)
def test_each_help_teaches(run, command: str) -> None:
    """A purpose, examples and exit codes stand in every help, within 80 columns."""
    ran = run(command, "--help")
    assert ran.code == 0
    assert ran.err == ""
    assert f"  edgetime {command} " in ran.out or f"  edgetime {command}\n" in ran.out
    assert "Examples:" in ran.out
    assert "Exit codes:" in ran.out
    assert max(map(len, ran.out.splitlines())) <= 80
    assert "\b" not in ran.out
    assert "\\b" not in ran.out


NEED_A_LEDGER = {"edgetime survive --shop my-shop --by supplier", "edgetime ledger post LOAD.dxf"}
"""Theirs begins with the first delivery."""


@pytest.mark.parametrize("command", COMMANDS)
def test_examples_run_as_printed(run, command: str) -> None:
    """Every example works after ``edgetime demo``, on drawings of the reader's own names.

    LOAD.dxf, A.dxf and B.dxf are the demo's; my-shop is a folder as ``edgetime init`` makes it.
    """
    listed = run(command, "--help").out.split("Examples:")[1].split("Exit codes:")[0]
    examples = [line.strip() for line in listed.splitlines() if line.strip()]
    assert examples
    assert all(example.startswith("edgetime ") for example in examples)
    assert run("demo").code == 0
    if command != "init":
        assert run("init", "my-shop").code == 0
    for own, name in (
        ("LOAD", "counters"),
        ("A", "counters"),
        ("B", "washroom"),
        ("NEW", "counters"),
        ("OLD", "washroom"),
    ):
        copyfile(f"edgetime-demo/cafe-{name}.dxf", f"{own}.dxf")
    for example in examples:
        if example in NEED_A_LEDGER:
            continue
        ran = run(*shlex.split(example)[1:])
        assert ran.code == 0, f"{example}: {ran.err}"


def test_every_exit_code_is_listed(run) -> None:
    """The root's help lists all codes that an error can end with; the ledger's commands list 5."""
    codes = {kind.exit_code for kind in _kinds(EdgetimeError)}
    listed = run("--help").out.split("Exit codes:")[1]
    assert {int(n) for n in re.findall(r"^ *(\d+) ", listed, re.MULTILINE)} == {0, 1, *codes}
    for command in COMMANDS:
        out = run(command, "--help").out
        told = " ".join(out.split("Exit codes:")[1].split())
        reads_a_ledger = "--ledger" in out or "--mounted" in out or command == "ledger"
        assert reads_a_ledger == ("; 5 " in told), command


def _kinds(kind):
    return {kind, *(k for sub in kind.__subclasses__() for k in _kinds(sub))}


@pytest.mark.parametrize("command", ["survive", "forecast"])
def test_a_damaged_ledger_ends_so(run, command: str, tmp_path) -> None:
    """The code that is listed is the one it ends with."""
    run("demo")
    (tmp_path / "books.sqlite").write_bytes(b"not a database, but long enough" * 40)
    what = ["--pipeline", "edgetime-demo/pipeline.csv"]
    what = ["edgetime-demo/cafe-counters.dxf"] if command == "survive" else what
    ran = run(command, *what, "--ledger", tmp_path / "books.sqlite")
    assert ran.code == 5, ran.err


def test_version(run) -> None:
    """The version is printed and nothing else."""
    assert run("--version").out == f"edgetime {__version__}\n"
