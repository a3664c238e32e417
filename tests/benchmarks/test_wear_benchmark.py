"""What the wear costs beside the stages it stands on, and how it grows."""

from __future__ import annotations

from time import process_time

from support.catalogue import a_load, a_part
from support.shapes import rectangle
from support.wears import AtFeed

from edgetime.cycle import compute_cycle
from edgetime.passes import plan_passes
from edgetime.toolpath import build_tool_paths
from edgetime.wear import compute_wear

FEW, MANY = 200, 800


def staged(count):
    """Return paths, motion and cycle of parts in rows."""
    parts = [
        a_part(
            rectangle(600.0, 400.0, x=700.0 * (i % 20), y=500.0 * (i // 20), radius=40.0),
            "eased" if i % 2 else "half-bullnose",
            name=f"p{i:04d}",
        )
        for i in range(count)
    ]
    paths = build_tool_paths(plan_passes(a_load(*parts, order="as-drawn")))
    motion = AtFeed(paths.moves)
    return paths, motion, compute_cycle(paths, motion)


def seconds(work):
    """Return the least of five timings, of this process alone."""
    times = []
    for _ in range(5):
        begin = process_time()
        work()
        times.append(process_time() - begin)
    return min(times)


def test_wear_costs_no_more_than_the_cycle_and_grows_linearly(benchmark):
    """Wear sums the same moves as the cycle; four times the parts take at most six times."""
    few, many = staged(FEW), staged(MANY)
    benchmark.pedantic(compute_wear, args=many, rounds=5)
    wear = seconds(lambda: compute_wear(*many))
    cycle = seconds(lambda: compute_cycle(many[0], many[1]))
    growth = wear / seconds(lambda: compute_wear(*few))
    benchmark.extra_info["wear_to_cycle"] = wear / cycle
    benchmark.extra_info["growth_per_4x_parts"] = growth
    assert wear < cycle
    assert growth < 1.5 * MANY / FEW
