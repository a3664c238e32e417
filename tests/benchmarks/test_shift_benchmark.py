"""Growth of the shift's parts with their size, as ratios of one run."""

from __future__ import annotations

import random
from time import process_time

from support.shifts import PLAN, a_load, rules

from edgetime.shift.engine import run_shift
from edgetime.shift.pockets import swaps_of_order


def _seconds(work):
    times = []
    for _ in range(3):
        begin = process_time()
        work()
        times.append(process_time() - begin)
    return min(times)


def test_simulation_grows_linearly(benchmark) -> None:
    """Eight times the loads take about eight times as long; sixteen is the bound."""
    by = rules(hours_s=1e9, zones=2)
    few, many = [a_load(parts=4)] * 250, [a_load(parts=4)] * 2000

    def run(loads):
        return run_shift(loads, by, PLAN, pockets=9, begin_all=True)

    benchmark(run, few)
    ratio = _seconds(lambda: run(many)) / _seconds(lambda: run(few))
    benchmark.extra_info["ratio_8_times_the_loads"] = ratio
    assert ratio < 16.0


def test_counting_swaps_grows_mildly(benchmark) -> None:
    """Four times the loads, at most sixteen times the time: uses lie a rack apart."""
    rng = random.Random(1)
    needs = [rng.sample([f"t{k}" for k in range(30)], 8) for _ in range(800)]

    benchmark(swaps_of_order, needs[:200], 12)
    ratio = _seconds(lambda: swaps_of_order(needs, 12)) / _seconds(
        lambda: swaps_of_order(needs[:200], 12)
    )
    benchmark.extra_info["ratio_4_times_the_loads"] = ratio
    assert ratio < 16.0
