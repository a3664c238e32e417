"""Progress is for people at a terminal, who may ask for quiet."""

from __future__ import annotations

import contextlib
import os
import pty
import subprocess
import sys
from pathlib import Path

import pytest

from edgetime.cli.progress import Bars

LONG = ["shift", "cafe-counters.dxf", "--replications", "1500"]
"""Takes well over a second."""


def at_a_terminal(folder: Path, *args: str, **env: str) -> tuple[str, str]:
    """Run with standard error on a terminal; return standard output and what the terminal got."""
    master, slave = pty.openpty()
    process = subprocess.Popen(
        [sys.executable, "-m", "edgetime", *args],
        stdout=subprocess.PIPE,
        stderr=slave,
        cwd=folder,
        env={**os.environ, "TERM": "xterm", "COLUMNS": "80", "PYTHONIOENCODING": "utf-8", **env},
    )
    os.close(slave)
    got = bytearray()
    with contextlib.suppress(OSError):  # Linux ends a terminal's stream with an error
        while piece := os.read(master, 65536):
            got += piece
    os.close(master)
    out, _ = process.communicate(timeout=120)
    assert process.returncode == 0, got.decode()
    return out.decode(), got.decode()


@pytest.mark.slow
@pytest.mark.usefixtures("drawings")
def test_bars_are_drawn_on_a_terminal_and_wiped_away(tmp_path):
    """The shifts simulated count up; the answer is the same as without a terminal."""
    out, seen = at_a_terminal(tmp_path, *LONG)
    counts = [int(word.split("/")[0]) for word in seen.split() if word.endswith("/1500")]
    assert "simulating shifts" in seen
    assert len(counts) > 3
    assert counts == sorted(counts)
    # The cursor is there again, and nothing is left below what was wiped.
    assert seen.rstrip().endswith("\x1b[?25h")
    assert "simulating" not in out
    silent = subprocess.run(
        [sys.executable, "-m", "edgetime", *LONG],
        capture_output=True, check=True, cwd=tmp_path,
        env={**os.environ, "COLUMNS": "80", "PYTHONIOENCODING": "utf-8"},
    )  # fmt: skip
    assert silent.stdout.decode() == out
    assert silent.stderr == b""


@pytest.mark.slow
@pytest.mark.parametrize(
    ("args", "env"),
    [(["--quiet", *LONG], {}), ([*LONG, "--quiet"], {}), (LONG, {"TERM": "dumb"})],
    ids=["before", "after", "dumb"],
)
@pytest.mark.usefixtures("drawings")
def test_quiet(tmp_path, args, env):
    """Wherever the option is written; and a terminal that cannot move its cursor gets none."""
    out, seen = at_a_terminal(tmp_path, *args, **env)
    assert seen == ""
    assert "loads" in out


@pytest.mark.slow
@pytest.mark.usefixtures("drawings")
def test_no_color(tmp_path):
    """Bars without colour are bars all the same."""
    _, seen = at_a_terminal(tmp_path, *LONG, NO_COLOR="1")
    assert "simulating shifts" in seen
    assert "\x1b[3" not in seen
    assert "\x1b[9" not in seen


def test_short_work_gets_no_bar():
    """A second must have passed."""
    bars = Bars(sys.stderr)
    for done in range(4):
        bars("reading drawings", done, 3)
    assert bars.progress is None
    bars.close()


def test_quiet_leaves_out_notes_but_no_error(run):
    """What to try next is a note; what went wrong is none."""
    assert "Try next" in run("demo").err
    ran = run("demo", "--quiet")
    assert (ran.code, ran.err) == (0, "")
    assert "Total" in ran.out
    strict = ("estimate", "edgetime-demo/cafe-washroom.dxf", "--strict", "--format", "csv")
    assert "warning" in run(*strict).err
    ran = run("--quiet", *strict)
    assert (ran.code, ran.err) == (1, "")
    failed = run("--quiet", "estimate", "missing.dxf")
    assert failed.code == 3
    assert "missing.dxf" in failed.err


def test_a_file_may_be_called_so(run):
    """Behind two dashes it is a name."""
    ran = run("takeoff", "--", "--quiet")
    assert ran.code == 3
    assert "--quiet" in ran.err
