"""How the choice of loads, their order, the table and the variation came about."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from edgetime.estimating.factors import Factor
from edgetime.shift.figures import Variation
from edgetime.shift.filling import Filling
from edgetime.shift.fit import Fit, urgency
from edgetime.shift.model import ShiftLoad
from edgetime.shift.pockets import PocketPlan
from edgetime.tooling.model import Machine

_UNITS = {
    "loads": "-",
    "parts": "-",
    "area_mm2": "mm2",
    "utilisation": "-",
    "swaps": "-",
    "spoiled": "-",
}
_NAMES = {
    "area_mm2": "good area",
    "attended_s": "attended",
    "unattended_s": "unattended",
    "longest_unattended_s": "longest unattended",
    "utilisation": "share the machine runs",
    "overtime_s": "overtime",
    "swaps": "tool swaps",
    "parts": "good parts",
    "spoiled": "spoiled parts",
}


def explain_fit(
    fit: Fit, loads: Sequence[ShiftLoad], day: date, *, limit_s: float
) -> Iterator[Factor]:
    """Yield the weights of the waiting loads, what was reached and the bounds.

    Parameters
    ----------
    fit : Fit
        The choice.
    loads : sequence of ShiftLoad
        Those that wait.
    day : date
        Of the shift.
    limit_s : float
        Time the search was given [s].
    """
    yield Factor(name="time for the search", value=limit_s, unit="s", key="--time-limit")
    for load in dict.fromkeys(loads):
        due = "no due date counts as 60 days"
        if load.due is not None:
            due = f"due {load.due}, the shift is on {day}"
        place = load.where
        yield Factor(
            name=f"{load.name}: weight of its area",
            value=urgency(load.due, day),
            unit="-",
            file=f"{place.path}:{place.line}" if place.line and load.due else "",
            key="due" if place.line and load.due else "",
            note=f"1 ÷ (1 + days left); {due}",
        )
    proved = "it is the best" if fit.optimal else "a better one is not ruled out"
    for name, value, note in (
        ("chosen of what is due", fit.due_value, "sum of areas"),
        ("bound of what is due", fit.due_bound, "no choice in any order has more"),
        ("chosen, weighted", fit.value, "sum of areas by weight"),
        ("bound, weighted", fit.bound, f"none with as much due has more; {proved}"),
    ):
        yield Factor(name=name, value=value, unit="m2", note=note)


def explain_pockets(plan: PocketPlan) -> Iterator[Factor]:
    """Yield the swaps of an order, as given, and their bound.

    Parameters
    ----------
    plan : PocketPlan
        The order.
    """
    proved = (
        "every order was ruled out or tried" if plan.optimal else "a lower one is not ruled out"
    )
    for name, value, note in (
        ("swaps in the order given", plan.as_given, "pieces needed soonest are kept"),
        ("swaps in the order found", plan.swaps, "likewise; the first filling is not counted"),
        ("bound of the swaps", plan.bound, f"no order has fewer; {proved}"),
    ):
        yield Factor(name=name, value=float(value), unit="-", note=note)


def explain_filling(filling: Filling, machine: Machine) -> Iterator[Factor]:
    """Yield the gap between parts and how full each load is.

    Parameters
    ----------
    filling : Filling
        The loads.
    machine : Machine
        Whose table it is.
    """
    yield Factor(
        name="gap between parts",
        value=filling.gap_mm,
        unit="mm",
        file=machine.file,
        key="spacing",
        note=f"reach of the widest wheel beside an outline, {filling.gap_mm - machine.spacing_mm:g}"
        f" mm, plus the machine's spacing, {machine.spacing_mm:g} mm",
    )
    for number, load in enumerate(filling.loads, 1):
        yield Factor(
            name=f"table load {number}: filled",
            value=load.filled,
            unit="-",
            note=f"{len(load.parts)} parts, each grown by half the gap, ÷ the table grown likewise",
        )
    yield Factor(
        name="loads at least",
        value=float(filling.at_least),
        unit="-",
        note="all grown areas ÷ the table's, rounded up, by stone, thickness and stack",
    )


def explain_variation(variation: Variation) -> Iterator[Factor]:
    """Yield the mean of each figure and between what nine of ten shifts lie.

    Parameters
    ----------
    variation : Variation
        Of the simulated shifts.
    """
    mean = f"of {variation.replications} shifts, seed {variation.seed}"
    for key, found in variation.figures:
        for which, value, note in (
            ("mean", found.mean, mean),
            ("from", found.low, "rank at 5 % of them"),
            ("to", found.high, "rank at 95 %"),
        ):
            yield Factor(
                name=f"with variation, {_NAMES.get(key, key)}, {which}",
                value=value,
                unit=_UNITS.get(key, "s"),
                note=note,
            )
