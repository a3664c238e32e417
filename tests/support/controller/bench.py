"""Runs tables of moves on a real trajectory planner and counts the time.

The reference is LinuxCNC 2.9 (Debian package ``linuxcnc-uspace``), a general open motion
controller, headless, with simulated axes that follow at once. It knows nothing of stone.

Time is the number of servo cycles from the first to the last change of the commanded place, so
a thread that wakes up late does not count. All runs are quicker than life by a factor k: speeds
times k, accelerations times k², dwells and servo period divided by k; seconds are given back
multiplied by k. What remains are the same cycles of one millisecond.
"""

from __future__ import annotations

import fcntl
import json
import math
import os
import shutil
import signal
import subprocess
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from edgetime.moves import Moves

DRIVER = Path(__file__).with_name("driver.py")
PYTHON = "/usr/bin/python3"
CYCLE_S = 1e-3
LOCK = Path(tempfile.gettempdir()) / "edgetime-controller.lock"
RUNNING = Path("/tmp/linuxcnc.lock")  # noqa: S108  the controller's own
NOBODY = "65534"

HABITS = {
    "stop_at_rapids": True,
    "look_ahead_moves": 50,
    "arc_shares": (0.5, 0.866),
    "block_time_s": CYCLE_S,
}
"""How this controller plans, as fields of MotionLimits: from its sampled profiles."""
HABITS_OF_MODE = {
    "exact-path": {"corner_share": 0.9},
    "exact-stop": {},
    "continuous": {"last_move_share": 0.5},
}
KEYS = """\
stop_at_rapids = true
look_ahead = 50
arc_shares = ["50 %", "86.6 %"]
block_time = "1 ms"
corner_share = "90 %"
last_move_share = "50 %"
"""
"""The same as keys of a machine's file."""

HAL = """\
loadrt [KINS]KINEMATICS
loadrt [EMCMOT]EMCMOT servo_period_nsec=[EMCMOT]SERVO_PERIOD num_joints=[KINS]JOINTS
loadrt sampler depth=60000 cfg=ssfff
addf motion-command-handler servo-thread
addf motion-controller servo-thread
addf sampler.0 servo-thread
net line motion.program-line => sampler.0.pin.1
net place-x joint.0.motor-pos-cmd => joint.0.motor-pos-fb sampler.0.pin.2
net place-y joint.1.motor-pos-cmd => joint.1.motor-pos-fb sampler.0.pin.3
net place-z joint.2.motor-pos-cmd => joint.2.motor-pos-fb sampler.0.pin.4
net stop-loop iocontrol.0.user-enable-out iocontrol.0.emc-enable-in
net tool-prepared iocontrol.0.tool-prepare iocontrol.0.tool-prepared
net tool-changed iocontrol.0.tool-change iocontrol.0.tool-changed
"""


@dataclass(frozen=True)
class Job:
    """One program: moves that form one path, and the mode they are run in."""

    name: str
    moves: Moves
    mode: str
    tolerance_mm: float = 0.0


@dataclass(frozen=True)
class Timed:
    """What the controller made of a program."""

    seconds: float
    by_move: np.ndarray
    """Seconds in motion of each row of the table; 0 for rows that do not move."""


def why_not() -> str:
    """Return why the controller cannot be run here; empty if it can."""
    if shutil.which("linuxcnc") is None:
        return "no real controller here: install the Debian package linuxcnc-uspace"
    if RUNNING.exists():
        return f"the controller is in use ({RUNNING} is there)"
    if not Path(PYTHON).exists():
        return f"the controller's own Python, {PYTHON}, is not here"
    return ""


def _scaled(values: Sequence[float], factor: float) -> list[float]:
    return [value * factor for value in values]


def _settings(k: float, speed: Sequence[float], acceleration: Sequence[float]) -> str:
    """Return the controller's settings: three linear axes with limits of their own, no others."""
    v, a = _scaled(speed, k), _scaled(acceleration, k * k)
    sections: dict[str, dict[str, object]] = {
        "EMC": {"VERSION": "1.1", "MACHINE": "bench"},
        "DISPLAY": {"DISPLAY": "./display", "CYCLE_TIME": 0.1},
        "TASK": {"TASK": "milltask", "CYCLE_TIME": 0.001},
        "RS274NGC": {"PARAMETER_FILE": "bench.var"},
        "EMCMOT": {
            "EMCMOT": "motmod", "COMM_TIMEOUT": 4.0, "SERVO_PERIOD": round(1e9 * CYCLE_S / k),
        },
        "EMCIO": {"EMCIO": "io", "CYCLE_TIME": 0.1, "TOOL_TABLE": "bench.tbl"},
        "HAL": {"HALFILE": "bench.hal"},
        "TRAJ": {
            "COORDINATES": "X Y Z", "LINEAR_UNITS": "mm", "ANGULAR_UNITS": "degree",
            "DEFAULT_LINEAR_VELOCITY": v[0], "MAX_LINEAR_VELOCITY": math.hypot(*v),
            "DEFAULT_LINEAR_ACCELERATION": 10 * max(a), "MAX_LINEAR_ACCELERATION": 10 * max(a),
        },
        "KINS": {"KINEMATICS": "trivkins coordinates=xyz", "JOINTS": 3},
    }  # fmt: skip
    for i, axis in enumerate("XYZ"):
        limits = {
            "MAX_VELOCITY": v[i], "MAX_ACCELERATION": a[i], "MIN_LIMIT": -1e5, "MAX_LIMIT": 1e5,
        }  # fmt: skip
        sections[f"AXIS_{axis}"] = dict(limits)
        sections[f"JOINT_{i}"] = limits | {
            "TYPE": "LINEAR", "HOME": 0, "HOME_OFFSET": 0, "HOME_SEARCH_VEL": 0,
            "HOME_LATCH_VEL": 0, "HOME_SEQUENCE": 0, "FERROR": 1e5, "MIN_FERROR": 1e5,
        }  # fmt: skip
    return "".join(
        f"[{name}]\n" + "".join(f"{key} = {value}\n" for key, value in keys.items())
        for name, keys in sections.items()
    )


def program(job: Job, k: float) -> tuple[str, np.ndarray]:
    """Return a program in RS-274/NGC, and the line of each row, counted from 1 (0 for none).

    A stop that nothing else brings about (a dwell, the end) is made by one move in exact stop.
    """
    word = {
        "exact-path": "G61",
        "exact-stop": "G61.1",
        "continuous": f"G64 P{job.tolerance_mm:g} Q0",
    }[job.mode]
    m = job.moves
    text = ["G21 G90 G94 G17 G40 G49 G80 G91.1", word, "F1000"]
    line = np.zeros(len(m), dtype=np.int64)
    moving = np.flatnonzero(m.length >= 1e-6)
    for i in range(len(m)):
        if m.length[i] >= 1e-6:
            waits = m.dwell[i] > 0.0 or i == moving[-1]
            alone = bool(m.exact_stop[i]) and not waits and job.mode != "exact-stop"
            text += ["G61.1"] * alone + [_block(m, i, k)]
            line[i] = len(text)
            text += [word] * alone
        if m.dwell[i] > 0.0:
            text.append(f"G4 P{m.dwell[i] / k:.6f}")
    return "\n".join([*text, "M2", ""]), line


def _block(m: Moves, i: int, k: float) -> str:
    x, y, z = m.end[i]
    to = f"X{x:.6f} Y{y:.6f} Z{z:.6f}"
    if math.isinf(m.feed[i]):
        return f"G0 {to}"
    feed = f"F{m.feed[i] * 60.0 * k:.6f}"
    bulge = float(m.bulge[i])
    if bulge == 0.0:
        return f"G1 {to} {feed}"
    # The centre lies off the middle of the chord along its left normal.
    dx, dy = m.end[i, :2] - m.start[i, :2]
    off = (1.0 / bulge - bulge) / 4.0
    return f"G{3 if bulge > 0 else 2} {to} I{dx / 2 - off * dy:.6f} J{dy / 2 + off * dx:.6f} {feed}"


def run(
    jobs: Sequence[Job],
    speed: Sequence[float],
    acceleration: Sequence[float],
    *,
    k: float,
    limit_s: float = 240.0,
) -> dict[str, Timed]:
    """Run programs one after the other and return their times by name.

    Parameters
    ----------
    jobs : sequence of Job
        With different names.
    speed, acceleration : 3 floats
        Of the axes [mm/s, mm/s²]; rapids run at the speed of the axes.
    k : float
        How much quicker than life.
    limit_s : float
        The run is given up after this time by the clock [s].
    """
    try:
        return _run(jobs, speed, acceleration, k=k, limit_s=limit_s)
    except SamplesLost:
        return _run(jobs, speed, acceleration, k=k, limit_s=limit_s)


class SamplesLost(RuntimeError):
    """The machine was too busy to record every cycle; a second run may find it less so."""


def _run(
    jobs: Sequence[Job],
    speed: Sequence[float],
    acceleration: Sequence[float],
    *,
    k: float,
    limit_s: float,
) -> dict[str, Timed]:
    with _alone(), _folder() as work:
        lines = []
        todo = []
        for n, job in enumerate(jobs):
            text, line = program(job, k)
            file = work / f"program-{n:03d}.ngc"
            file.write_text(text)
            lines.append(line)
            todo.append({"start": list(job.moves.start[0]), "file": str(file), "limit_s": limit_s})
        (work / "jobs.json").write_text(json.dumps(todo))
        (work / "bench.ini").write_text(_settings(k, speed, acceleration))
        (work / "bench.hal").write_text(HAL)
        for name in ("bench.tbl", "bench.var"):
            (work / name).write_text("")
        display = work / "display"
        display.write_text(f'#!/bin/sh\nexec {PYTHON} "{DRIVER}" "$@"\n')
        display.chmod(0o755)
        _start(work, limit_s)
        return {
            job.name: timed for job, timed in zip(jobs, _counted(work, lines, CYCLE_S), strict=True)
        }


@contextmanager
def _alone() -> Iterator[None]:
    """Hold the lock under which one controller runs at a time: it uses shared memory."""
    with LOCK.open("w") as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        yield


@contextmanager
def _folder() -> Iterator[Path]:
    work = Path(tempfile.mkdtemp(prefix="edgetime-controller-"))
    try:
        yield work
    finally:
        shutil.rmtree(work, ignore_errors=True)


def _start(work: Path, limit_s: float) -> None:
    """Run the controller until its programs are done, and leave nothing of it behind."""
    env = {k: v for k, v in os.environ.items() if k not in {"DISPLAY", "PYTHONPATH"}}
    env |= {"BENCH_WORK": str(work), "HOME": str(work), "RTAPI_FIFO_PATH": str(work / "fifo")}
    if os.geteuid() == 0:
        # Its realtime part does not run as root; told whom to become, it does.
        env["RTAPI_UID"] = NOBODY
        work.chmod(0o777)
    with (work / "console.txt").open("w") as console:
        process = subprocess.Popen(
            ["linuxcnc", "-r", str(work / "bench.ini")],
            cwd=work, env=env, stdin=subprocess.DEVNULL, stdout=console, stderr=console,
            start_new_session=True,
        )  # fmt: skip
        try:
            process.wait(limit_s)
        except BaseException:
            _end(process, env)
            raise
    report = work / "driver.json"
    said = json.loads(report.read_text()) if report.exists() else None
    if said is None or said["messages"] or not (said["homed"] and all(said["done"])):
        _end(process, env)
        console_text = (work / "console.txt").read_text()[-2000:]
        raise RuntimeError(f"the controller did not run its programs: {said}\n{console_text}")


def _end(process: subprocess.Popen[bytes], env: dict[str, str]) -> None:
    """End a controller that did not end by itself: what we started, and its realtime part."""
    for sign in (signal.SIGTERM, signal.SIGKILL):
        try:
            os.killpg(process.pid, sign)
            process.wait(20)
        except (ProcessLookupError, subprocess.TimeoutExpired):
            continue
    subprocess.run(["halrun", "-U"], env=env, check=False, capture_output=True, timeout=30)


def _counted(work: Path, lines: Sequence[np.ndarray], cycle_s: float) -> Iterator[Timed]:
    """Count the cycles in motion of each program and of each of its rows."""
    with (work / "samples.txt").open() as file:
        # Columns: number of the sample, job, line of the program, X, Y, Z.
        table = np.array([row.split() for row in file if row.count(" ") >= 5], dtype=np.float64)
    number = table[:, 0].astype(np.int64)
    if (np.diff(number) != 1).any():
        raise SamplesLost("samples were lost")
    moved = np.concatenate([[False], (np.diff(table[:, 3:6], axis=0) != 0.0).any(axis=1)])
    for n, line in enumerate(lines, 1):
        rows = np.flatnonzero((table[:, 1] == n) & moved)
        if not len(rows):
            raise RuntimeError(f"program {n} did not move")
        by_line = np.bincount(table[rows, 2].astype(np.int64), minlength=int(line.max()) + 1)
        seconds = (rows[-1] - rows[0] + 1) * cycle_s
        yield Timed(seconds, np.where(line > 0, by_line[line], 0) * cycle_s)


__all__ = ["HABITS", "HABITS_OF_MODE", "KEYS", "Job", "Timed", "run", "why_not"]
