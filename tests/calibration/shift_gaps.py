"""How often a choice of loads is proved to be the best, and how large the gap is else.

Run it for the tables of docs/explanation/shift.md:

    PYTHONPATH=tests .venv/bin/python tests/calibration/shift_gaps.py [LISTS] [SECONDS]

The time of a search is processor time, not time of day: what else runs on the computer
changes little. A faster computer still proves more in it.
"""

from __future__ import annotations

import math
import random
import sys
import time
from dataclasses import replace
from datetime import date, timedelta

from support.shifts import HOUR, MIN, a_load, rules

from edgetime.shift import fit, orders, plan_pockets, search
from edgetime.shift.load_runs import Stop
from edgetime.tooling import ShiftDefaults

DAY = date(2027, 3, 15)
BY = rules(
    breaks=((4 * HOUR, 30 * MIN),), measure_s=2 * MIN, tool_swap_s=3 * MIN, warm_up_s=10 * MIN
)


class _ProcessorTime:
    """Stands in for the module ``time`` in the search."""

    monotonic = staticmethod(time.process_time)


def waiting(rng: random.Random, zones: int, *, late: bool) -> list:
    """Return 12 to 200 loads that wait, three fifths of them ready later if asked for."""
    count = rng.choice([12, 20, 40, 80, 200])
    return [
        a_load(
            rng.uniform(20.0, 140.0), load_min=4.0, unload_min=3.0, parts=rng.randint(1, 7),
            name=f"job {i}", zones=rng.randint(1, zones),
            setup_s=rng.choice([0.0, 5.0, 15.0]) * MIN,
            stops=(Stop(at_s=5 * MIN, seconds=rng.choice([2, 15]) * MIN, reason="flip"),)
            if rng.random() < 0.4 else (),
            due=rng.choice([None, DAY, DAY + timedelta(1), DAY + timedelta(9)]),
            ready_s=rng.choice([0.0, 0.0, 1.0, 2.0, 4.0]) * HOUR if late else 0.0,
        )
        for i in range(count)
    ]  # fmt: skip


def gaps(lists: int, seconds: float) -> None:
    """Print a line for each kind of list."""
    for module in (fit, orders, search):
        module.time = _ProcessorTime
    for zones in (1, 2):
        for late in (False, True):
            rng = random.Random(f"{zones}{late}")
            proved, found = 0, []
            for _ in range(lists):
                choice = fit.fit_shift(
                    waiting(rng, zones, late=late), rules_for(zones), pockets=30, day=DAY,
                    time_limit_s=seconds,
                )  # fmt: skip
                proved += choice.optimal
                found.append(0.0 if choice.optimal else max(choice.gap, choice.due_gap or 0.0))
            mean = math.fsum(found) / lists
            print(
                f"{zones} zones, late {late}: {proved} of {lists}, greatest {max(found):.1%}, "
                f"mean {mean:.1%}",
                flush=True,
            )


def rules_for(zones: int) -> ShiftDefaults:
    """Return the shift of these lists."""
    return replace(BY, zones=zones)


def pockets() -> None:
    """Print what an order of loads costs, and the processor time of finding it."""
    for count, tools, each, places in ((8, 20, 6, 8), (10, 20, 6, 8), (30, 40, 9, 12)):
        rng = random.Random(1)
        needs = [rng.sample([f"t{k}" for k in range(tools)], each) for _ in range(count)]
        begin = time.process_time()
        plan = plan_pockets(needs, places, time_limit_s=600.0)
        spent = time.process_time() - begin
        print(count, tools, each, places, plan.as_given, plan.swaps, plan.bound, f"{spent:.1f} s")


if __name__ == "__main__":
    pockets()
    given = [float(word) for word in sys.argv[1:]]
    gaps(int(given[0]) if given else 20, given[1] if len(given) > 1 else 2.0)
