"""From what is done to the attended time of a load."""

from __future__ import annotations

from collections import defaultdict
from decimal import Decimal

from edgetime.cycle.timeline import Cycle
from edgetime.labour.tasks import Labour, Preparation, Task
from edgetime.passes.pass_plan import PassPlan
from edgetime.wear.tool_wear import Wear


def compute_labour(plan: PassPlan, cycle: Cycle, wear: Wear) -> Labour:
    """Return the attended time of a load, by kind.

    Minutes come from the machine's file (loading, stops, unloading), from ``[price]``
    (``setup``, ``attendance``) and from ``[shift]`` (``measure``, ``tool_swap``). Replacing
    worn tools is an expectation: the lives used up by the load, times ``tool_swap``.

    Parameters
    ----------
    plan : PassPlan
        What is done; gives the load and its stops.
    cycle : Cycle
        Gives the time that a person may have to attend.
    wear : Wear
        Gives the lives used up.
    """
    load = plan.load
    machine, shop = load.machine, load.catalogue.shop
    count = len(load.parts)
    worn = sum(t.share for t in wear.tools if t.share is not None)
    tasks = (
        Task("set-up", 3600.0 * float(shop.price.setup_h)),
        Task("load", machine.load_part_s * count),
        *(Task(stop.reason, stop.seconds, stop.places) for stop in plan.stops),
        Task("attend", float(shop.price.attendance) * cycle.total_s),
        Task("swap", worn * shop.shift.tool_swap_s),
        Task("measure", shop.shift.measure_s),
        Task("unload", machine.unload_part_s * count),
    )
    return Labour(tuple(t for t in tasks if t.seconds > 0.0), _preparation(plan))


def _preparation(plan: PassPlan) -> tuple[Preparation, ...]:
    profiles = plan.load.catalogue.profiles
    lengths: dict[tuple[int, str], float] = defaultdict(float)
    for number, placed in enumerate(plan.load.parts):
        for contour in placed.part.contours():
            for edge in contour.edges:
                lengths[number, edge.profile] += edge.length_mm
    return tuple(
        Preparation(
            part,
            name,
            step.name,
            length,
            step.s_per_mm * length,
            step.material_per_m * Decimal(repr(length)) / 1000,
        )
        for (part, name), length in lengths.items()
        if name in profiles
        for step in profiles[name].preparation
    )
