"""What the plan lacks or exceeds: steps, spindle speeds, pockets."""

from __future__ import annotations

from collections.abc import Sequence

from edgetime.errors import Where
from edgetime.passes import codes
from edgetime.passes.features import Planner
from edgetime.passes.pass_plan import PlannedVisit
from edgetime.passes.pockets import hand_swaps
from edgetime.passes.strokes import COUNT_SLACK
from edgetime.places import Place
from edgetime.tooling import Operation, Step
from edgetime.tooling.plausible import overspeed_finding
from edgetime.tooling.step_limits import feed_findings, overspeeds, profile_depth_mm


def _claimed(planner: Planner, *operations: Operation) -> set[tuple[int, Place]]:
    return {
        key
        for row, step in enumerate(planner.steps)
        if step.operation in operations
        for key in planner.claims[row]
    }


def check_coverage(planner: Planner) -> None:
    """Find edges whose profile, stock, seam or gauge strip no step of the stack serves."""
    stack = planner.load.stack.name
    traits = planner.traits
    finishing = _claimed(planner, Operation.PROFILE, Operation.FINE, Operation.POLISH)
    roughed = _claimed(planner, Operation.ROUGH)
    seamed = _claimed(planner, Operation.SEAM)
    gauged = _claimed(planner, Operation.GAUGE)
    for c in planner.contours:
        amount = planner.gauge_amount_mm(c.part)
        where = planner.where(c.part, c.number)
        for p in c.labels:
            name, key = planner.names[p], (p, c.place)
            stock = planner.stock_mm(c, p)
            at = "outer edges" if c.place is Place.OUTER else "cutout edges"
            if traits.finished[p] and key not in finishing:
                unknown = "" if planner.profiles[p] else "; the catalogue has no such profile"
                planner.findings.add(
                    codes.NO_STEP,
                    key,
                    f"No finishing step of stack {stack} makes {name} on {at}{unknown}.",
                    where,
                )
            if traits.finished[p] and stock > 0.0 and key not in roughed:
                planner.findings.add(
                    codes.NO_ROUGH_STEP,
                    key,
                    f"{at.capitalize()} with {name} carry {stock:g} mm of stock; stack {stack} "
                    f"has no rough step for them.",
                    where,
                )
            if traits.seam[p] and key not in seamed:
                planner.findings.add(
                    codes.NO_SEAM_STEP, key, f"Stack {stack} has no seam step for {at}.", where
                )
            if (
                traits.finished[p]
                and traits.strip_mm[p] > 0.0
                and amount > COUNT_SLACK
                and key not in gauged
            ):
                planner.findings.add(
                    codes.NO_GAUGE_STEP,
                    key,
                    f"{name} needs a back strip of {traits.strip_mm[p]:g} mm ground by "
                    f"{amount:.2f} mm; stack {stack} has no gauge step for {at}.",
                    where,
                )


def _rim_mm(planner: Planner, step: Step) -> float:
    """Return the greatest radius at the rim of a step's pieces [mm].

    A piece ground to a profile is wider there than at the finished edge, by the profile's depth.
    """
    tool = planner.tool(step)
    if not tool.profiled:
        return planner.radius_mm(step)
    claimed = {
        p for row, s in enumerate(planner.steps) if s is step for p, _ in planner.claims[row]
    }
    rims = [
        planner.radius_mm(step, f"{tool.name}/{planner.names[p]}")
        + (profile_depth_mm(tool, planner.section(profile)) if profile else 0.0)
        for p in claimed
        for profile in [planner.profiles[p]]
    ]
    return max(rims, default=planner.radius_mm(step))


def check_speeds(planner: Planner, steps: Sequence[Step]) -> None:
    """Hold spindle speeds and feeds against what tools, machine and operation bear.

    The peripheral speed is ``π D n``, that is ω D / 2, with the real diameter at the rim.
    """
    load = planner.load
    spindle = load.machine.max_rotation_rad_per_s
    for step in steps:
        tool = planner.tool(step)
        for found in overspeeds(step, tool, _rim_mm(planner, step), spindle):
            told = overspeed_finding(found, step, tool, load.machine.name, load.stack.file)
            planner.findings.add(told.kind, (step.name, found.what), told.message, told.where)
        for told in feed_findings(step, tool, load.stack.file):
            planner.findings.add(told.kind, (step.name, told.message), told.message, told.where)


def check_pockets(planner: Planner, visits: Sequence[PlannedVisit]) -> None:
    """Hold the number of tool pieces against the pockets of the rack."""
    machine = planner.load.machine
    pieces = [v.piece for v in visits]
    distinct = len(set(pieces))
    if distinct > machine.pockets:
        planner.findings.add(
            codes.POCKETS_SHORT,
            machine.name,
            f"The load needs {distinct} tools in the rack; {machine.name} has "
            f"{machine.pockets} pockets, so {len(hand_swaps(pieces, machine.pockets))} have to be swapped "
            f"by hand during the cycle.",
            Where(path=machine.file or None, key="pockets"),
        )


def check_diameters(planner: Planner, visits: Sequence[PlannedVisit]) -> None:
    """Find real diameters that are given for tools and pieces with nothing to do."""
    working = {name for v in visits for name in (v.piece, v.tool)}
    for name in planner.load.diameters_mm:
        if name not in working:
            planner.findings.add(
                codes.DIAMETER_UNUSED,
                name,
                f"{name} does nothing in this load, so its diameter changes nothing.",
                Where(key="--diameter"),
            )
