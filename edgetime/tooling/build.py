"""From checked tables to the records of the model, with the checks that look at a whole file."""

from __future__ import annotations

import math

from edgetime.errors import CatalogueInvalid
from edgetime.takeoff.model import Place
from edgetime.tooling.model import (
    Life,
    Operation,
    ShiftDefaults,
    ShopDefaults,
    Stack,
    Step,
    Stone,
    Taylor,
    Tool,
    ToolKind,
)
from edgetime.tooling.price_table import build_price
from edgetime.tooling.schema import (
    STEP_KEYS_OF,
    LifeTable,
    ShiftTable,
    ShopFile,
    StackFile,
    StepTable,
    StoneFile,
    ToolFile,
)
from edgetime.tooling.toml_file import TomlFile
from edgetime.unit_table import UNITS
from edgetime.units import speed_text

Errors = list[CatalogueInvalid]

_MEASURES = ("length", "volume", "g_ratio", "time", "holes", "area")


def _life(file: TomlFile, tool: ToolFile, table: LifeTable, at: str, errors: Errors) -> Life | None:
    given = [(by, getattr(table, by)) for by in _MEASURES if getattr(table, by) is not None]
    if len(given) != 1:
        found = " and ".join(by for by, _ in given) or "none"
        errors.append(
            file.error(
                f"A life is measured by exactly one of {', '.join(_MEASURES)}; found {found}.",
                key=at,
                remedy="Write one [[life]] table per measure.",
            )
        )
        return None
    key, value = given[0]
    if key == "holes" and tool.kind != ToolKind.CORE_BIT:
        errors.append(
            file.error(
                f"A {tool.kind} drills no holes, so its life cannot be counted in them.",
                key=f"{at}.holes",
                remedy="State its life by another measure.",
            )
        )
    if key == "g_ratio" and tool.usable_depth is None and tool.usable_volume is None:
        errors.append(
            file.error(
                "A life by G-ratio needs to know how much of the wheel may wear.",
                key=f"{at}.g_ratio",
                remedy="Add usable_depth or usable_volume to the tool.",
            )
        )
    return Life(
        by=key.replace("_", "-"),
        value=float(value),
        stone=table.stone,
        thickness_mm=table.thickness,
        key=f"{at}.{key}",
    )


def _usable_volume_mm3(table: ToolFile, file: TomlFile, errors: Errors) -> float | None:
    """Return the volume that may wear: as given, or the ring ``π u (D - u) w`` [mm³]."""
    depth, diameter = table.usable_depth, table.diameter
    if depth is not None and depth >= 0.5 * diameter:
        errors.append(
            file.error(
                f"{depth:g} mm of usable depth is more than the radius, {0.5 * diameter:g} mm.",
                key="usable_depth",
                remedy="Give the depth on the radius, less than the radius itself.",
            )
        )
        return None
    if table.usable_volume is not None or depth is None:
        return table.usable_volume
    return math.pi * depth * (diameter - depth) * table.width


def _taylor(table: ToolFile, file: TomlFile, errors: Errors) -> Taylor | None:
    if table.taylor is None:
        return None
    low, high = table.taylor.range
    at = table.taylor.reference_feed
    if low >= high:
        errors.append(
            file.error(
                f"The range runs from {speed_text(low, high)}.",
                key="taylor.range",
                remedy="Write the lowest feed first; two trials at different feeds make a range.",
            )
        )
    elif at is not None and not low <= at <= high:
        errors.append(
            file.error(
                f"The reference feed, {speed_text(at)}, lies outside the range from "
                f"{speed_text(low, high)}.",
                key="taylor.reference_feed",
                remedy="Give a feed within the range that was tried.",
            )
        )
    if not table.life:
        errors.append(
            file.error(
                "The relation says how the life changes, but the tool states no life.",
                key="taylor",
                remedy="Add a [[life]].",
            )
        )
    return Taylor(
        exponent=table.taylor.exponent,
        reference_mm_per_s=at,
        low_mm_per_s=low,
        high_mm_per_s=high,
    )


def build_tool(name: str, table: ToolFile, file: TomlFile, errors: Errors) -> Tool:
    """Make a tool; append what is wrong with its lives to ``errors``."""
    lives: list[Life] = []
    seen: set[tuple[str, str | None, float | None]] = set()
    for number, entry in enumerate(table.life, 1):
        life = _life(file, table, entry, f"life[{number}]", errors)
        if life is None:
            continue
        what = (life.by, life.stone, life.thickness_mm)
        if what in seen:
            errors.append(
                file.error(
                    f"A life by {life.by} for the same stone and thickness stands here twice.",
                    key=f"life[{number}]",
                    remedy="Keep one of them.",
                )
            )
        seen.add(what)
        lives.append(life)
    if (table.dress_every > 0.0) != (table.dress_time > 0.0):
        missing = "dress_time" if table.dress_every > 0.0 else "dress_every"
        errors.append(
            file.error(
                f"Dressing needs both an interval and a time; {missing} is zero.",
                key=missing,
                remedy="Give both, or neither.",
            )
        )
    price, currency = table.price if table.price is not None else (None, "")
    return Tool(
        name=name,
        title=table.title,
        kind=ToolKind(table.kind),
        diameter_mm=table.diameter,
        shaft_mm=table.diameter if table.shaft is None else table.shaft,
        clearance_mm=table.clearance,
        width_mm=table.width,
        profiled=table.profiled,
        max_rotation_rad_per_s=table.max_speed,
        max_peripheral_mm_per_s=table.max_peripheral,
        life=tuple(lives),
        price=price,
        currency=currency,
        pack=table.pack,
        dress_every_mm=table.dress_every,
        dress_s=table.dress_time,
        source=table.source[""],
        file=file.name,
        supplier=table.supplier or "",
        lead_time_d=table.lead_time / UNITS["time"]["d"],
        lead_time_spread_d=table.lead_time_spread / UNITS["time"]["d"],
        minimum_order=table.minimum_order,
        set_name=table.set or "",
        usable_depth_mm=table.usable_depth,
        usable_volume_mm3=_usable_volume_mm3(table, file, errors),
        max_feed_mm_per_s=table.max_feed,
        taylor=_taylor(table, file, errors),
    )


_PLACES = {
    "core": (Place.HOLE,),
    "cut": (Place.CUTOUT,),
    "seam": (Place.OUTER,),
}
_EDGES = (Place.OUTER, Place.CUTOUT)


def _step(table: StepTable, name: str, key: str) -> Step:
    applies = table.applies_to
    if applies is None:
        applies = ("seam",) if table.operation == "seam" else ()
    places = (
        _PLACES.get(table.operation, _EDGES)
        if table.places is None
        else tuple(Place(p) for p in table.places)
    )
    return Step(
        name=name,
        operation=Operation(table.operation),
        tool=table.tool,
        feed_mm_per_s=table.feed,
        plunge_mm_per_s=table.plunge,
        retract_mm_per_s=table.retract,
        rotation_rad_per_s=table.spindle,
        applies_to=applies,
        places=places,
        passes=table.passes,
        engagement_mm=table.engagement,
        depth_step_mm=table.depth_step,
        share=table.share,
        stock_left_mm=table.stock_left,
        lead=table.lead,
        lead_mm=table.lead_length,
        overrun_mm=table.overrun,
        overlap_mm=table.overlap,
        hold_contact_feed=table.hold_contact_feed,
        feed_floor=table.feed_floor,
        edge_feed_cap_mm_per_s=table.edge_feed_cap,
        dwell_s=table.dwell,
        key=key,
        finish_feed_mm_per_s=table.finish_feed,
    )


def build_stack(name: str, table: StackFile, file: TomlFile, errors: Errors) -> Stack:
    """Make a stack; append what is wrong with its steps to ``errors``."""
    if not table.step:
        errors.append(file.error("The stack has no step.", key="step", remedy="Add a [[step]]."))
    for number, thickness in enumerate(table.thicknesses):
        if number and thickness <= table.thicknesses[number - 1]:
            errors.append(
                file.error(
                    f"{thickness:g} mm comes after {table.thicknesses[number - 1]:g} mm.",
                    key="thicknesses",
                    remedy="Give each thickness once, the thinnest first.",
                )
            )
    steps: list[Step] = []
    taken: set[str] = set()
    for number, entry in enumerate(table.step, 1):
        at = f"step[{number}]"
        errors.extend(
            file.error(
                f"{key} does not apply to a step of operation {entry.operation}.",
                key=f"{at}.{key}",
                remedy=f"Remove it; it applies to: {', '.join(sorted(operations))}.",
            )
            for key, operations in STEP_KEYS_OF.items()
            if key in entry.model_fields_set and entry.operation not in operations
        )
        if entry.name is not None and entry.name in taken:
            errors.append(
                file.error(
                    f"There is already a step named {entry.name!r}.",
                    key=f"{at}.name",
                    remedy="Give each step its own name.",
                )
            )
        own = entry.name or entry.tool
        again = 2
        while own in taken:
            own = f"{entry.tool}-{again}"
            again += 1
        taken.add(own)
        steps.append(_step(entry, own, at))
    return Stack(
        name=name,
        title=table.title,
        stones=table.stones,
        thicknesses_mm=tuple(table.thicknesses),
        gauge_below_nominal_mm=table.gauge_below_nominal,
        steps=tuple(steps),
        source=table.source[""],
        file=file.name,
    )


def build_stone(name: str, table: StoneFile, file: TomlFile, errors: Errors) -> Stone:  # noqa: ARG001  one form for all builders
    """Make a stone."""
    return Stone(
        name=name,
        title=table.title,
        family=table.family,
        density_kg_per_m3=table.density,
        abrasiveness=table.abrasiveness,
        feed_factor=table.feed_factor,
        thickness_spread_mm=table.thickness_spread,
        source=table.source[""],
        file=file.name,
    )


def _shift(table: ShiftTable) -> ShiftDefaults:
    return ShiftDefaults(
        starts_s=table.starts,
        hours_s=table.hours,
        breaks=tuple((b.after, b.length) for b in table.breaks),
        zones=table.zones,
        zone_length_mm=table.zone_length,
        warm_up_s=table.warm_up,
        measure_s=table.measure,
        tool_swap_s=table.tool_swap,
        used=table.used,
        scrap=table.scrap,
        stoppage_every_s=table.stoppage_every,
        stoppage_s=table.stoppage,
        cycle_spread=table.cycle_spread,
        handling_spread=table.handling_spread,
        replications=table.replications,
        seed=table.seed,
        last_load=table.last_load,
        service_level=table.service_level,
    )


def build_shop(table: ShopFile, file: TomlFile, errors: Errors) -> ShopDefaults:
    """Make the shop's defaults; append what contradicts itself in its rates to ``errors``."""
    return ShopDefaults(
        machine=table.machine,
        stone=table.stone,
        stack=table.stack,
        thickness_mm=table.thickness,
        units=table.units,
        cutout_method=table.cutout_method,
        notch_method=table.notch_method,
        stock_mm={
            "saw": table.stock.saw,
            "waterjet": table.stock.waterjet,
            "router": table.stock.router,
        },
        outer_source=table.outer_source,
        seam_source=table.seam_source,
        precut_source=table.precut_source,
        order=table.order,
        file=file.name,
        price=build_price(table.price, file, errors),
        shift=_shift(table.shift),
        contour_tolerance_mm=table.contour_tolerance,
    )
