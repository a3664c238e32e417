"""How long the program takes to start, as ratios to an empty Python process.

Goals: ``--help`` within 6 times, a small estimate within 24 times. Both are measured
interleaved in one run, because the machine's own speed changes from second to second; the
smallest of each is compared, for the noise of starting processes only ever adds. The
asserted bounds leave room for a busy machine.
"""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

import pytest

from edgetime.demo.dxf import Sketch, write_dxf

ROUNDS = 7


def _seconds(args: list[str], cwd: Path) -> float:
    began = time.perf_counter()
    subprocess.run([sys.executable, *args], check=True, capture_output=True, cwd=cwd)
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
    ("name", "args", "goal"),
    [
        ("help", ["-m", "edgetime", "--help"], 6.0),
        ("estimate", ["-m", "edgetime", "estimate", "small.dxf"], 24.0),
    ],
    ids=["help", "estimate"],
)
def test_startup(benchmark, small_load: Path, name: str, args: list[str], goal: float) -> None:
    """Start-up stays within a multiple of an empty process; the ratio reached is reported."""
    cwd = small_load.parent
    _seconds(args, cwd)
    bare, ours = [], []
    for _ in range(ROUNDS):
        bare.append(_seconds(["-c", "pass"], cwd))
        ours.append(_seconds(args, cwd))
    ratio = min(ours) / min(bare)
    benchmark.extra_info["what"] = name
    benchmark.extra_info["ratio_to_bare_python"] = round(ratio, 2)
    benchmark.extra_info["goal"] = goal
    benchmark.pedantic(_seconds, args=(args, cwd), rounds=3)
    assert ratio < 2.0 * goal
