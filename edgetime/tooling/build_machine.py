"""From the checked table of a machine to its record."""

from __future__ import annotations

import math
from typing import cast

from edgetime.errors import CatalogueInvalid
from edgetime.moves import MODE_OF_CORNER, PATH_MODES, PathMode
from edgetime.tooling.build_keep_out import build_keep_outs
from edgetime.tooling.model import Machine, OldKey
from edgetime.tooling.schema import MachineFile
from edgetime.tooling.toml_file import TomlFile

Errors = list[CatalogueInvalid]


def build_machine(name: str, table: MachineFile, file: TomlFile, errors: Errors) -> Machine:
    """Make a machine; append what contradicts itself to ``errors``."""
    for axis, low, high in zip("XY", table.travel_min, table.travel_max, strict=True):
        if low >= high:
            errors.append(
                file.error(
                    f"The travel in {axis} runs from {low:g} to {high:g} mm.",
                    key="travel_max",
                    remedy="travel_max must exceed travel_min.",
                )
            )
    if table.approach_z > table.safe_z:
        errors.append(
            file.error(
                f"approach_z, {table.approach_z:g} mm, is above safe_z, {table.safe_z:g} mm.",
                key="approach_z",
                remedy="A plunge begins below the height of rapids.",
            )
        )
    return Machine(
        name=name,
        title=table.title,
        table_mm=table.table,
        travel_min_mm=table.travel_min,
        travel_max_mm=table.travel_max,
        axis_speed_mm_per_s=table.axis_speed,
        axis_acceleration_mm_per_s2=table.axis_acceleration,
        axis_jerk_mm_per_s3=table.axis_jerk,
        rapid_mm_per_s=table.rapid,
        path_acceleration_mm_per_s2=table.path_acceleration,
        centripetal_mm_per_s2=table.centripetal,
        path_mode=_path_mode(table, file, errors),
        corner_tolerance_mm=table.corner_tolerance,
        block_time_s=table.block_time,
        pockets=table.pockets,
        rack_mm=table.rack,
        safe_z_mm=table.safe_z,
        approach_z_mm=table.approach_z,
        exchange_s=table.exchange,
        measure_s=table.measure,
        spindle_up_rad_per_s2=table.max_speed / table.spindle_up,
        max_rotation_rad_per_s=table.max_speed,
        probe_s=table.probe,
        water_on_s=table.water_on,
        flip_s=table.flip,
        cup_move_s=table.cup_move,
        slug_s=table.slug,
        load_part_s=table.load_part,
        unload_part_s=table.unload_part,
        stop_s=table.stop,
        spacing_mm=table.spacing,
        min_hold_mm=table.min_hold,
        source=table.source[""],
        file=file.name,
        water_mm3_per_s=table.water_flow,
        spindle_w=table.spindle_power,
        base_w=table.base_power,
        keep_outs=build_keep_outs(table.keep_out, file, errors),
        blend_share=table.blend_share,
        stop_at_rapids=table.stop_at_rapids,
        look_ahead_moves=table.look_ahead,
        arc_shares=_arc_shares(table, file, errors),
        corner_share=table.corner_share,
        last_move_share=table.last_move_share,
        old_keys=_old_keys(table, file),
    )


def _path_mode(table: MachineFile, file: TomlFile, errors: Errors) -> PathMode:
    """Return the path mode, from the old key where the new one is not there."""
    if table.path_mode is None and table.corner is None:
        errors.append(
            file.error(
                "path_mode is missing.",
                key="path_mode",
                remedy=f"Add it: {', '.join(PATH_MODES)}. It is the mode the controller runs its "
                "programs in: G61, G61.1 or G64.",
            )
        )
    if table.path_mode is not None and table.corner is not None:
        errors.append(
            file.error(
                "Both path_mode and its old form corner are given.",
                key="corner",
                remedy="Remove corner.",
            )
        )
    if table.corner is not None:
        return MODE_OF_CORNER[table.corner]
    return cast("PathMode", table.path_mode)


def _old_keys(table: MachineFile, file: TomlFile) -> tuple[OldKey, ...]:
    if table.corner is None:
        return ()
    instead = f'path_mode = "{MODE_OF_CORNER[table.corner]}"'
    return (OldKey("corner", file.lines.get("corner"), instead),)


def _arc_shares(table: MachineFile, file: TomlFile, errors: Errors) -> tuple[float, float] | None:
    """Return the shares along and across on arcs, None where the directions decide."""
    along, across = table.arc_shares
    if math.isinf(along) and math.isinf(across):
        return None
    if math.isinf(along) or math.isinf(across):
        what = "arc_shares gives one share of two."
        remedy = 'Give both, or "by-direction" for both.'
    elif math.hypot(along, across) > 1.0 + 1e-9:
        what = (
            f"arc_shares of {along:.4g} and {across:.4g} ask an axis for "
            f"{math.hypot(along, across):.4g} of its acceleration in the worst direction."
        )
        most = math.floor(1e4 * math.sqrt(1.0 - along * along)) / 100.0
        remedy = f"The squares may add up to 1: beside {100 * along:g} % along, at most {most:g} % across."
    else:
        return along, across
    errors.append(file.error(what, key="arc_shares", remedy=remedy))
    return None
