"""What a shift yields of the same loads, one after the other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from edgetime.errors import PlanError
from edgetime.estimating import Estimate
from edgetime.shift import shift_load, simulate_shift


@dataclass(frozen=True, slots=True, kw_only=True)
class ShiftYield:
    """What one shift makes as planned, nothing going wrong.

    Attributes
    ----------
    loads : int
        Done within the shift.
    area_mm2 : float
        Of their parts [mm²].
    done : tuple of (str, float, int)
        Name and area of each load [mm²], and how often it is done.
    account : tuple of (str, float)
        What the machine does in the shift [s].
    """

    loads: int
    area_mm2: float
    done: tuple[tuple[str, float, int], ...]
    account: tuple[tuple[str, float], ...]


def shift_yield(estimates: Sequence[Estimate]) -> ShiftYield | str:
    """Return what the shop's shift yields of loads that run in turn, or why nothing."""
    rules = estimates[0].load.catalogue.shop.shift
    pockets = estimates[0].load.machine.pockets
    try:
        loads = [shift_load(est, rules, pockets=pockets)[0] for est in estimates]
        shift = simulate_shift(loads, rules, pockets=pockets, fill=True, variation=False)
    except PlanError as error:
        return error.what
    figures = shift.figures
    in_time = [r.load for r in sorted(shift.runs, key=lambda r: r.done_s)[: figures.loads]]
    return ShiftYield(
        loads=figures.loads,
        area_mm2=figures.area_mm2,
        done=tuple((x.name, x.area_mm2, sum(r is x for r in in_time)) for x in loads),
        account=figures.account,
    )
