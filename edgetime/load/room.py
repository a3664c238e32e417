"""Room that tools need beside a part: to run round it without coming near another one."""

from __future__ import annotations

from collections.abc import Mapping

from edgetime.places import Place
from edgetime.tooling import Catalogue, Machine, Operation, Stack


def clear_gap_mm(
    catalogue: Catalogue, stack: Stack, machine: Machine, diameters_mm: Mapping[str, float]
) -> float:
    """Return the gap between two parts that no wheel of a stack needs to mind [mm].

    The centre of a wheel runs its radius and the stock beside the edge; its lead takes it
    further out, and so does an overrun past a free end. Beyond the wheel the machine keeps its
    spacing.

    Parameters
    ----------
    catalogue : Catalogue
        For tools and stock.
    stack : Stack
        Whose steps run.
    machine : Machine
        Gives the spacing.
    diameters_mm : mapping of str to float
        Real diameters of mounted tools, where they differ [mm].
    """
    shop = catalogue.shop
    stock = max(shop.stock_mm[shop.outer_source], shop.stock_mm[shop.seam_source])
    gap = 0.0
    for step in stack.steps:
        tool = catalogue.tools.get(step.tool)
        inside = step.places and Place.OUTER not in step.places
        if tool is None or inside or step.operation in {Operation.CORE, Operation.CUT}:
            continue
        stated = [d for name, d in diameters_mm.items() if name.partition("/")[0] == tool.name]
        if tool.name not in diameters_mm:
            stated.append(tool.diameter_mm)
        radius = 0.5 * max(stated)
        lead = step.lead_mm
        if step.operation is Operation.GAUGE:
            # A disc on the back goes down clear of the stone.
            lead = max(lead, machine.spacing_mm)
        away = lead + max(radius + stock, step.overrun_mm)
        gap = max(gap, away + max(radius, 0.5 * tool.shaft_mm))
    return gap + machine.spacing_mm
