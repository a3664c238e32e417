"""What the plan lacks or exceeds: steps, spindle speeds, pockets."""

from __future__ import annotations

import math
from collections.abc import Sequence

from edgetime.errors import Where
from edgetime.passes import codes
from edgetime.passes.model import PlannedVisit
from edgetime.passes.planner import Planner
from edgetime.passes.work import COUNT_SLACK
from edgetime.takeoff.model import Place
from edgetime.tooling.model import Operation, Step

__all__ = ["check_coverage", "check_pockets", "check_speeds", "swaps"]


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


def _profile_depth_mm(planner: Planner, step: Step) -> float:
    """Return how far a step's wheels reach into the stone beyond the finished edge [mm].

    A wheel ground to a profile is wider at its rim than where it meets the edge plane, by the
    greatest depth of the profile.
    """
    if not planner.tool(step).profiled:
        return 0.0
    claimed = {
        p for row, s in enumerate(planner.steps) if s is step for p, _ in planner.claims[row]
    }
    depth = 0.0
    for p in claimed:
        profile = planner.profiles[p]
        section = planner.section(profile) if profile else None
        if section is not None:
            depth = max(depth, *(u for u, _ in section.points_mm))
    return depth


def check_speeds(planner: Planner, steps: Sequence[Step]) -> None:
    """Hold spindle speeds against the tools' marked maximum and the machine's.

    The peripheral speed is ``π D n``, that is ω D / 2, with the real diameter at the rim.
    """
    load = planner.load
    per_minute = 30.0 / math.pi
    for step in steps:
        tool = planner.tool(step)
        omega = step.rotation_rad_per_s
        where = Where(path=load.stack.file or None, key=f"{step.key}.spindle")
        rim = planner.radius_mm(step) + _profile_depth_mm(planner, step)
        speed = omega * rim
        most = tool.max_peripheral_mm_per_s
        if most is not None and speed > most * (1.0 + COUNT_SLACK):
            planner.findings.add(
                codes.TOO_FAST,
                (step.name, "peripheral"),
                f"Step {step.name}: {tool.name}, {2 * rim:.4g} mm at the rim, runs at "
                f"{speed / 1000:.1f} m/s with {omega * per_minute:.0f} rev/min; it is marked "
                f"for {most / 1000:.1f} m/s.",
                where,
            )
        limit = tool.max_rotation_rad_per_s
        if limit is not None and omega > limit * (1.0 + COUNT_SLACK):
            planner.findings.add(
                codes.TOO_FAST,
                (step.name, "rotation"),
                f"Step {step.name} turns {tool.name} at {omega * per_minute:.0f} rev/min; it is "
                f"marked for {limit * per_minute:.0f} rev/min.",
                where,
            )
        spindle = load.machine.max_rotation_rad_per_s
        if omega > spindle * (1.0 + COUNT_SLACK):
            planner.findings.add(
                codes.SPINDLE_LIMIT,
                step.name,
                f"Step {step.name} asks for {omega * per_minute:.0f} rev/min; the spindle of "
                f"{load.machine.name} reaches {spindle * per_minute:.0f} rev/min.",
                where,
            )


def swaps(pieces: Sequence[str], pockets: int) -> int:
    """Return the least number of tools swapped by hand for a sequence of stays in the spindle.

    The rack is full at the start; each time a piece is not in it, the one whose next use
    lies furthest ahead makes room (Belady 1966, the optimal replacement).

    Parameters
    ----------
    pieces : sequence of str
        In running order.
    pockets : int
        Places in the rack.
    """
    rack: set[str] = set()
    count = 0
    for at, piece in enumerate(pieces):
        if piece in rack:
            continue
        if len(rack) >= pockets:
            count += 1
            if rack:
                ahead = list(pieces[at:])
                rack.remove(
                    max(sorted(rack), key=lambda p: ahead.index(p) if p in ahead else len(ahead))
                )
        if len(rack) < pockets:
            rack.add(piece)
    return count


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
            f"{machine.pockets} pockets, so {swaps(pieces, machine.pockets)} have to be swapped "
            f"by hand during the cycle.",
            Where(path=machine.file or None, key="pockets"),
        )
