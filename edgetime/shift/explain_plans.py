"""How the choice of loads, their order, the table and the variation came about."""

from __future__ import annotations

from edgetime.explained import Explanation
from edgetime.shift.filling import Filling
from edgetime.shift.fit import Fit, urgency
from edgetime.shift.pockets import PocketPlan
from edgetime.shift.varying import VARIED, Variation
from edgetime.tooling import Machine


def explain_fit(out: Explanation, fit: Fit, limit_s: float) -> None:
    """Add the weights of the waiting loads, what was reached and the bounds.

    Parameters
    ----------
    out : Explanation
        Collects them.
    fit : Fit
        The choice.
    limit_s : float
        Time the search was given [s].
    """
    out.add("time for the search", limit_s, "s", key="--time-limit")
    for load in dict.fromkeys(fit.waiting):
        due = "no due date counts as 60 days"
        if load.due is not None:
            due = f"due {load.due}, the shift is on {fit.day}"
        place = load.where
        listed = bool(place.line and load.due)
        out.add(
            f"{load.name}: weight of its area",
            urgency(load.due, fit.day),
            "-",
            f"1 ÷ (1 + days left); {due}",
            file=f"{place.path}:{place.line}" if listed else "",
            key="due" if listed else "",
        )
    proved = "it is optimal" if fit.optimal else "a better one is not excluded"
    for name, value, note in (
        ("chosen of what is due", fit.due_value_m2, "sum of areas"),
        ("bound of what is due", fit.due_bound_m2, "no choice in any order has more"),
        ("chosen, weighted", fit.value_m2, "sum of areas by weight"),
        ("bound, weighted", fit.bound_m2, f"none with as much due has more; {proved}"),
    ):
        out.add(name, value, "m2", note)


def explain_pockets(out: Explanation, plan: PocketPlan) -> None:
    """Add the tool swaps of an order, as given, and their bound."""
    proved = "every order was excluded or tried" if plan.optimal else "a lower one is not excluded"
    for name, value, note in (
        ("tool swaps in the order given", plan.as_given, "tools needed soonest are kept"),
        (
            "tool swaps in the order found",
            plan.swaps,
            "likewise; the first filling is not counted",
        ),
        ("bound of the tool swaps", plan.bound, f"no order has fewer; {proved}"),
    ):
        out.add(name, float(value), "-", note)


def explain_filling(out: Explanation, filling: Filling, machine: Machine) -> None:
    """Add the gap between parts and how full each load is."""
    reach = filling.gap_mm - machine.spacing_mm
    out.add(
        "gap between parts",
        filling.gap_mm,
        "mm",
        f"reach of the widest wheel beside an outline, {reach:g} mm, plus the machine's spacing, "
        f"{machine.spacing_mm:g} mm",
        file=machine.file,
        key="spacing",
    )
    for number, load in enumerate(filling.loads, 1):
        note = f"{len(load.parts)} parts, each grown by half the gap, ÷ the table grown likewise"
        out.add(f"table load {number}: filled", load.filled, "-", note)
    out.add(
        "loads at least",
        float(filling.at_least),
        "-",
        "all grown areas ÷ the table's, rounded up, by stone, thickness and stack",
    )


def explain_variation(out: Explanation, variation: Variation) -> None:
    """Add the mean of each figure and between what 90 % of the shifts lie."""
    mean = f"of {variation.replications} shifts, seed {variation.seed}"
    for key, found in variation.figures:
        name, unit = VARIED[key]
        for which, value, note in (
            ("mean", found.mean, mean),
            ("from", found.low, "rank at 5 % of them"),
            ("to", found.high, "rank at 95 %"),
        ):
            out.add(f"with variation, {name}, {which}", value, unit, note)
