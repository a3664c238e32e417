"""How long the program takes to start, as ratios to an empty Python process.

Goals: ``--help`` within 6 times, a small estimate within 24 times; what is reached is
reported beside them. The assertion compares with the one library that each of them cannot
do without, loaded by itself: that ratio hardly depends on how busy the machine is. All are
measured interleaved in one run, and the smallest of each counts, for the noise of starting
processes only ever adds.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest
from support.sketch import Sketch, write_dxf

ROUNDS = 7


# As installed for a user: where Python may not keep compiled modules, each start compiles all.
ENVIRONMENT = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}


def _seconds(args: list[str], cwd: Path) -> float:
    began = time.perf_counter()
    subprocess.run(
        [sys.executable, *args], check=True, capture_output=True, cwd=cwd, env=ENVIRONMENT
    )
    return time.perf_counter() - began


@pytest.fixture
def small_load(tmp_path: Path) -> Path:
    """One rectangular part."""
    sketch = Sketch()
    sketch.polyline(
        "EDGE-EASED", [(300.0, 300.0), (1500.0, 300.0), (1500.0, 900.0), (300.0, 900.0)]
    )
    path = tmp_path / "small.dxf"
    path.write_text(write_dxf(sketch, {}), encoding="ascii")
    return path


@pytest.mark.parametrize(
    ("args", "goal", "library", "most"),
    [
        (["-m", "edgetime", "--help"], 6.0, "typer", 2.0),
        (["-m", "edgetime", "estimate", "small.dxf"], 24.0, "ezdxf", 4.5),
    ],
    ids=["help", "estimate"],
)
def test_startup(
    benchmark, small_load: Path, args: list[str], goal: float, library: str, most: float
) -> None:
    """Start-up stays within a multiple of loading its main library alone."""
    cwd = small_load.parent
    _seconds(args, cwd)
    bare, alone, ours = [], [], []
    for _ in range(ROUNDS):
        bare.append(_seconds(["-c", "pass"], cwd))
        alone.append(_seconds(["-c", f"import {library}"], cwd))
        ours.append(_seconds(args, cwd))
    benchmark.extra_info["ratio_to_bare_python"] = round(min(ours) / min(bare), 2)
    benchmark.extra_info["goal"] = goal
    benchmark.extra_info[f"ratio_to_{library}_alone"] = round(min(ours) / min(alone), 2)
    benchmark.pedantic(_seconds, args=(args, cwd), rounds=3)
    assert min(ours) < most * min(alone)
