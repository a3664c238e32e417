"""Growth of load, plan and cycle with the number of parts, as ratios of one run."""

from __future__ import annotations

from time import process_time

import numpy as np
from support.catalogue import a_cutout, a_load, a_part
from support.shapes import rectangle

from edgetime.passes import plan_passes
from edgetime.passes.tour import short_tour

FEW, MANY = 100, 400


def parts(count):
    """Return parts in rows, each with a sink and three profiles."""
    names = ["eased", "half-bullnose", "apron", "unfinished"]
    out = []
    for i in range(count):
        x, y = 700.0 * (i % 20), 500.0 * (i // 20)
        sink = a_cutout(rectangle(250.0, 200.0, x=x + 150.0, y=y + 80.0, radius=50.0), "eased")
        out.append(a_part(rectangle(600.0, 400.0, x=x, y=y), names, sink, name=f"p{i:04d}"))
    return out


def seconds(work):
    """Return the least of three timings, of this process alone."""
    times = []
    for _ in range(3):
        begin = process_time()
        work()
        times.append(process_time() - begin)
    return min(times)


def test_load_and_plan_grow_linearly(benchmark):
    """Four times the parts take about four times as long; six is the bound."""
    few, many = parts(FEW), parts(MANY)

    def both(drawn):
        return plan_passes(a_load(*drawn, order="as-drawn"))

    plan = benchmark.pedantic(both, args=(many,), rounds=3)
    growth = seconds(lambda: both(many)) / seconds(lambda: both(few))
    benchmark.extra_info["passes"] = len(plan.passes)
    benchmark.extra_info["growth_per_4x_parts"] = growth
    assert growth < 1.5 * MANY / FEW


def test_large_tours_grow_nearly_linearly(benchmark):
    """Above the bound of nearest neighbour, four times the runs take under eight times."""
    rng = np.random.default_rng(1)

    def tour(count):
        rows = list(rng.uniform(0.0, 9000.0, (count, 1, 2)))
        return lambda: short_tour(rows, rows, (0.0, 0.0))

    benchmark.pedantic(tour(20_000), rounds=2)
    growth = seconds(tour(20_000)) / seconds(tour(5_000))
    benchmark.extra_info["growth_per_4x_runs"] = growth
    assert growth < 8.0
