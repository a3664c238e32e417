"""Whole loads for the comparison with a real controller, on a machine that is set as it is."""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path

import numpy as np

from edgetime import Estimate
from edgetime.moves import Moves
from edgetime.tooling import shipped_folder
from support.controller.bench import KEYS, Job
from support.pen import Pen

TOLERANCE_MM = 0.1
_OWN = {"path_acceleration", "centripetal", "axis_jerk", "rapid", "source"}
_OWN |= {line.split(" =")[0] for line in KEYS.splitlines()}


def write_bench(shop: Path, size: str = "medium") -> Path:
    """Write a shop whose machine ``bench`` is a shipped one with the controller's keys.

    The controller knows speeds and accelerations of axes alone, so the limits along and across
    the path are set where they bind nothing, and jerk is off.
    """
    shipped = (shipped_folder() / "machines" / f"{size}.toml").read_text(encoding="utf-8")
    kept = [line for line in shipped.split("[source]")[0].splitlines() if _key(line) not in _OWN]
    speed = next(line for line in kept if _key(line) == "axis_speed")
    own = f"""{speed.replace("axis_speed", "rapid")}
axis_jerk = "none"
path_acceleration = "50 m/s2"
centripetal = "50 m/s2"
source = "Set as the controller that the tests compare with."
{KEYS}"""
    (shop / "machines").mkdir(parents=True, exist_ok=True)
    path = shop / "machines" / "bench.toml"
    path.write_text("\n".join([*kept, own]), encoding="utf-8")
    return shop


def _key(line: str) -> str:
    return line.partition("=")[0].strip()


def write_small_load(path: Path) -> Path:
    """Draw one part with a rounded cutout and a tap hole."""
    pen = Pen()
    pen.rectangle("EASED", 200, 200, 360, 260)
    pen.rounded("SINK", 280, 260, 200, 120, 55)
    pen.circle("TAP", 380, 425, 35)
    return pen.save(path)


def jobs_of(estimate: Estimate) -> list[tuple[Job, np.ndarray]]:
    """Return the program of every stay of a tool, and its rows of the table of moves."""
    moves, out = estimate.paths.moves, []
    for visit in sorted(set(moves.visit.tolist())):
        rows = np.flatnonzero(moves.visit == visit)
        own = Moves(**{f.name: getattr(moves, f.name)[rows] for f in fields(Moves)})
        name = f"{visit} {estimate.paths.plan.visits[visit].piece}"
        out.append((Job(name, own, "continuous", TOLERANCE_MM), rows))
    return out
