"""What limits the yield of a shift: the same loads with a tenth less of each cause in turn."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from edgetime.shift.engine import AsPlanned, run_shift
from edgetime.shift.model import Leverage, ShiftLoad
from edgetime.tooling.model import ShiftDefaults

__all__ = ["leverages_of"]

_LESS = 0.9
"""How much of its time each cause is left in turn, to see which one limits the shift [-]."""


def leverages_of(
    loads: Sequence[ShiftLoad], rules: ShiftDefaults, pockets: int, known: Mapping[str, float]
) -> tuple[Leverage, ...]:
    """Return how much sooner the loads would be done with a tenth less of each cause.

    Parameters
    ----------
    loads : sequence of ShiftLoad
        In the order they run.
    rules : ShiftDefaults
        How the shift runs.
    pockets : int
        Of the rack.
    known : mapping of str to float
        Share of life that pieces have behind them.

    Returns
    -------
    tuple of Leverage
        Greatest first.
    """
    less = _LESS

    def last(these: Sequence[ShiftLoad], by: ShiftDefaults) -> float:
        outcome = run_shift(these, by, AsPlanned(by.used, known), pockets=pockets, begin_all=True)
        return max(r.done_s for r in outcome.runs)

    faster = [
        replace(
            x,
            cycle_s=x.cycle_s * less,
            stops=tuple(replace(s, at_s=s.at_s * less) for s in x.stops),
        )
        for x in loads
    ]
    handier = [
        replace(
            x,
            load_part_s=x.load_part_s * less,
            unload_part_s=x.unload_part_s * less,
            setup_s=x.setup_s * less,
            attend_s=x.attend_s * less,
            stops=tuple(replace(s, seconds=s.seconds * less) for s in x.stops),
        )
        for x in loads
    ]
    base = last(loads, rules)
    tries = {
        "machine": last(faster, rules),
        "person": last(handier, replace(rules, measure_s=rules.measure_s * less)),
        "tools": last(loads, replace(rules, tool_swap_s=rules.tool_swap_s * less)),
        "breaks": last(
            loads, replace(rules, breaks=tuple((at, n * less) for at, n in rules.breaks))
        ),
        "warm-up": last(loads, replace(rules, warm_up_s=rules.warm_up_s * less)),
        "supply": last([replace(x, ready_s=x.ready_s * less) for x in loads], rules),
    }
    found = [Leverage(what=what, saved_s=base - value) for what, value in tries.items()]
    return tuple(sorted(found, key=lambda x: -x.saved_s))
