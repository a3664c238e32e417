"""What limits the yield of a shift: the same loads with 10 % less of each cause in turn."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from edgetime.shift.engine import made_by_s
from edgetime.shift.load_runs import ShiftLoad
from edgetime.tooling import ShiftDefaults

_LESS = 0.9
"""How much of its time each cause is left in turn, to see which one limits the shift [-]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Leverage:
    """How much sooner the same loads would be done if something took 10 % less time.

    Attributes
    ----------
    what : str
        ``machine``, ``person``, ``tools``, ``breaks``, ``warm-up``, ``supply``.
    saved_s : float
        Of the time until the last load is unloaded [s].
    """

    what: str
    saved_s: float


def quicker_cycles(
    loads: Sequence[ShiftLoad], rules: ShiftDefaults, factor: float
) -> tuple[list[ShiftLoad], ShiftDefaults]:
    """Return loads whose cycles take less time, and the rules that go with them.

    Parameters
    ----------
    loads : sequence of ShiftLoad
        As they are.
    rules : ShiftDefaults
        How the shift runs.
    factor : float
        Of the cycles' time [-].
    """
    faster = [
        replace(
            x,
            cycle_s=x.cycle_s * factor,
            stops=tuple(replace(s, at_s=s.at_s * factor) for s in x.stops),
        )
        for x in loads
    ]
    return faster, rules


def quicker_person(
    loads: Sequence[ShiftLoad], rules: ShiftDefaults, factor: float
) -> tuple[list[ShiftLoad], ShiftDefaults]:
    """Return loads whose attended tasks take less time, and rules likewise.

    Parameters
    ----------
    loads : sequence of ShiftLoad
        As they are.
    rules : ShiftDefaults
        How the shift runs.
    factor : float
        Of the tasks' time [-].
    """
    handier = [
        replace(
            x,
            load_part_s=x.load_part_s * factor,
            unload_part_s=x.unload_part_s * factor,
            setup_s=x.setup_s * factor,
            attend_s=x.attend_s * factor,
            stops=tuple(replace(s, seconds=s.seconds * factor) for s in x.stops),
        )
        for x in loads
    ]
    return handier, replace(rules, measure_s=rules.measure_s * factor)


def leverages_of(
    loads: Sequence[ShiftLoad], rules: ShiftDefaults, pockets: int, known: Mapping[str, float]
) -> tuple[Leverage, ...]:
    """Return how much sooner the loads would be done with 10 % less of each cause."""
    shorter = tuple((at, length * _LESS) for at, length in rules.breaks)
    tries = {
        "machine": quicker_cycles(loads, rules, _LESS),
        "person": quicker_person(loads, rules, _LESS),
        "tools": (loads, replace(rules, tool_swap_s=rules.tool_swap_s * _LESS)),
        "breaks": (loads, replace(rules, breaks=shorter)),
        "warm-up": (loads, replace(rules, warm_up_s=rules.warm_up_s * _LESS)),
        "supply": ([replace(x, ready_s=x.ready_s * _LESS) for x in loads], rules),
    }
    base = made_by_s(loads, rules, pockets, known)
    found = [
        Leverage(what=what, saved_s=base - made_by_s(*case, pockets, known))
        for what, case in tries.items()
    ]
    return tuple(sorted(found, key=lambda x: -x.saved_s))
