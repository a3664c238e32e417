"""Speed of tool paths, as ratios of timings taken in one run.

The ratios stand in the report under ``extra_info``; the asserts are far from what was measured,
so that a busy machine does not fail them.
"""

from __future__ import annotations

import time
from dataclasses import replace

import numpy as np
import pytest
from support.catalogue import MACHINE
from support.plans import a_load, a_part, a_pass, a_plan, a_run, a_step, a_tool
from support.shapes import rectangle

from edgetime.geometry.chords import follow_chords
from edgetime.geometry.offset import offset_path
from edgetime.geometry.path import Path
from edgetime.tooling import Operation
from edgetime.toolpath import build_tool_paths
from edgetime.toolpath.batch_offset import Parallel, plain_lines


def many_parts(count):
    """Return the plan of parts with a sink each: three roughing and five finishing passes."""
    tools = [a_tool(name="rough"), a_tool(name="metal"), a_tool(96.0, name="pad")]
    side = int(count**0.5) + 1
    parts = []
    for k in range(count):
        x, y = 1500.0 * (k % side), 1200.0 * (k // side)
        outline = rectangle(1000.0 + 0.1 * k, 600.0, x=x, y=y)
        sink = rectangle(400.0, 300.0, x=x + 200.0, y=y + 100.0, radius=60.0, hand=-1)
        parts.append(a_part(outline, sink, name=f"p{k}"))
    machine = replace(MACHINE, table_mm=(1e6, 1e6), travel_max_mm=(1e6, 1e6))
    load = a_load(parts, tools=tools, machine=machine)
    runs = [a_run(load, k, c) for k in range(count) for c in (0, 1)]
    values = {"lead": "arc", "lead_mm": 30.0, "overlap_mm": 20.0}
    rough = a_step(name="rough", operation=Operation.ROUGH, tool="rough", **values)
    passes = [
        a_pass(load, run, rough, offset_mm=53.0 - n, number=n, count=3)
        for run in runs
        for n in (1, 2, 3)
    ]
    for visit, tool in enumerate(("metal", "metal", "pad", "pad", "pad"), start=1):
        step = a_step(name=f"{tool}-{visit}", tool=tool, **values)
        passes += [a_pass(load, run, step, visit=visit) for run in runs]
    return a_plan(load, passes)


def best_of(rounds, *functions):
    """Return the least processor time of each function over interleaved rounds [s]."""
    best = [float("inf")] * len(functions)
    for _ in range(rounds):
        for k, function in enumerate(functions):
            start = time.process_time()
            function()
            best[k] = min(best[k], time.process_time() - start)
    return best


@pytest.mark.slow
def test_growth_is_linear(benchmark):
    """Four times the parts take about four times as long, not sixteen times."""
    small, large = many_parts(25), many_parts(100)
    first, second = best_of(3, lambda: build_tool_paths(small), lambda: build_tool_paths(large))
    benchmark.extra_info["time_of_4n_over_time_of_n"] = second / first
    paths = benchmark.pedantic(build_tool_paths, args=(large,), rounds=1)
    benchmark.extra_info["moves"] = len(paths.moves)
    assert second / first < 8.0


def test_plain_runs_are_computed_together(benchmark):
    """Parallels of many runs at once against one by one by the general method."""
    paths = [rectangle(400.0 + k, 300.0, radius=60.0, hand=-1) for k in range(100)]
    wanted = [Parallel(p, len(p), 50.0, 0.0) for p in paths]
    together, singly = best_of(
        3, lambda: plain_lines(wanted), lambda: [offset_path(p, 50.0) for p in paths]
    )
    benchmark.extra_info["singly_over_together"] = singly / together
    benchmark.pedantic(plain_lines, args=(wanted,), rounds=1)
    assert singly / together > 3.0


def test_equal_steps_are_computed_once(benchmark):
    """Ten equal steps on one run cost far less than ten times one."""
    load = a_load([a_part(rectangle(400.0, 300.0, x=500.0, y=500.0, radius=60.0))])
    run = a_run(load)
    step = a_step(lead="arc", lead_mm=30.0)
    one = a_plan(load, [a_pass(load, run, step)])
    ten = a_plan(load, [a_pass(load, run, step, visit=v) for v in range(10)])
    single, tenfold = best_of(5, lambda: build_tool_paths(one), lambda: build_tool_paths(ten))
    benchmark.extra_info["time_of_ten_steps_over_one"] = tenfold / single
    benchmark.pedantic(build_tool_paths, args=(ten,), rounds=1)
    assert tenfold / single < 5.0


def toothed(count):
    """Return a contour with teeth of half a millimetre along its front."""
    front = [(0.5 * k, -0.5 * (k % 2)) for k in range(count)]
    end = front[-1][0]
    return Path.from_bulges([*front, (end, 600.0), (0.0, 600.0)], closed=True)


@pytest.mark.slow
@pytest.mark.parametrize(("small", "large"), [(1000, 2000), (2500, 10_000)])
def test_a_toothed_front_grows_with_its_teeth(benchmark, small, large):
    """Twice the teeth take about twice as long: no tooth meets every other."""
    few, many = toothed(small), toothed(large)
    first, second = best_of(3, lambda: offset_path(few, 40.0), lambda: offset_path(many, 40.0))
    benchmark.extra_info["time_of_many_over_time_of_few"] = second / first
    benchmark.extra_info["teeth"] = [small, large]
    benchmark.pedantic(offset_path, args=(many, 40.0), rounds=1)
    assert second / first < 2.0 * large / small


@pytest.mark.slow
def test_chords_are_followed_in_time_with_their_number(benchmark):
    """Ten times the chords of an ellipse; noise of 0.1 mm on both."""
    rng = np.random.default_rng(1)
    paths = []
    for n in (1000, 10_000):
        t = np.linspace(0.0, 2.0 * np.pi, n, endpoint=False)
        points = np.column_stack([800.0 * np.cos(t), 500.0 * np.sin(t)])
        paths.append(Path.from_bulges(points + rng.uniform(-0.1, 0.1, points.shape), closed=True))
    first, second = best_of(3, *(lambda p=p: follow_chords(p, 0.2) for p in paths))
    benchmark.extra_info["time_of_10n_over_time_of_n"] = second / first
    benchmark.pedantic(follow_chords, args=(paths[1], 0.2), rounds=1)
    assert second / first < 30.0
