"""Our own faults, interruption and broken pipes: short, quiet, with their own codes."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

import edgetime.estimating


@pytest.fixture
def broken(monkeypatch: pytest.MonkeyPatch) -> None:
    """Make the take-off fail as a bug of ours would."""

    def fail(*_args, **_options):
        raise KeyError("no such thing")

    monkeypatch.setattr(edgetime.estimating, "read_take_off", fail)


@pytest.mark.usefixtures("broken")
def test_a_fault_of_ours(run, drawings) -> None:
    """Exit code 70, a short message, no traceback."""
    ran = run("takeoff", drawings[0])
    assert (ran.code, ran.out) == (70, "")
    assert "KeyError" in ran.err
    assert "bug in edgetime" in ran.err
    assert "Traceback" not in ran.err


@pytest.mark.usefixtures("broken")
def test_a_fault_of_ours_as_json(run, drawings) -> None:
    """The same as an error document."""
    ran = run("takeoff", drawings[0], "--format", "json")
    assert ran.code == 70
    assert ran.json()["schema"] == "edgetime.error/1"
    assert ran.json()["code"] == "internal"


@pytest.mark.usefixtures("broken")
def test_traceback_on_demand(run, drawings, monkeypatch, capsys) -> None:
    """With EDGETIME_DEBUG the traceback is shown, beside the message."""
    monkeypatch.setenv("EDGETIME_DEBUG", "1")
    ran = run("takeoff", drawings[0])
    assert ran.code == 70
    assert "Traceback" in ran.err + capsys.readouterr().err


def test_interruption(run, drawings, monkeypatch) -> None:
    """Ctrl-C ends with 130 and says nothing."""

    def stop(*_args, **_options):
        raise KeyboardInterrupt

    monkeypatch.setattr(edgetime.estimating, "read_take_off", stop)
    ran = run("takeoff", drawings[0])
    assert (ran.code, ran.out) == (130, "")
    assert "Traceback" not in ran.err


@pytest.mark.skipif(os.name != "posix", reason="signals of POSIX systems")
def test_broken_pipe(drawings) -> None:
    """A reader that goes away is no fault: as a process stopped by SIGPIPE, without a word."""
    code = (
        "import sys; from edgetime.cli.app import main; "
        "sys.stdin.read(1); sys.argv = ['edgetime', 'takeoff', *sys.argv[1:]]; main()"
    )
    process = subprocess.Popen(
        [sys.executable, "-c", code, str(drawings[0])],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    assert process.stdin is not None
    assert process.stdout is not None
    assert process.stderr is not None
    process.stdout.close()
    process.stdin.write(b"x")
    process.stdin.close()
    told = process.stderr.read().decode()
    process.stderr.close()
    assert process.wait(timeout=60) == 128 + signal.SIGPIPE
    assert told == ""


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is full")
@pytest.mark.parametrize("form", ["table", "json"])
def test_full_disk(drawings, form: str) -> None:
    """Output that cannot be written is told in a sentence, and is no fault of ours."""
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            [sys.executable, "-m", "edgetime", "takeoff", str(drawings[0]), "--format", form],
            stdout=full,
            stderr=subprocess.PIPE,
            check=False,
        )
    told = done.stderr.decode()
    assert done.returncode == 3
    assert "The operating system reports: " in told
    assert "Traceback" not in told
