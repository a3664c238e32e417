"""Routers: table, axes, controller and tool rack."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from edgetime.errors import CatalogueInvalid, Where
from edgetime.findings import Finding
from edgetime.moves import MODE_OF_CORNER, PathMode
from edgetime.records import figure
from edgetime.tooling.codes import OLD_KEY
from edgetime.tooling.declare import Entry, OldKey, OldName, key, own
from edgetime.tooling.keep_out import KeepOut, TableArea
from edgetime.tooling.kinds import Choice, Count, Quantity, Several, Tables
from edgetime.tooling.shared_kinds import (
    FLAG,
    HANDLING,
    LENGTH,
    ROOM,
    ROTATION,
    SECONDS,
    SHARE,
    SIZE,
    SPOT,
)
from edgetime.tooling.toml_file import Spot

_ACCELERATION = Quantity("acceleration", above="0 m/s2", at_most="50 m/s2")
_TRAVERSES = Several(
    Quantity("speed", above="0 m/min", at_most="200 m/min", usual="traverse"), "X", "Y", "Z"
)
_POWER = Quantity("power", at_least="0 W", at_most="200 kW")

XYZ = tuple[float, float, float]


def _stated(shares: tuple[float, float]) -> tuple[float, float] | None:
    return None if all(map(math.isinf, shares)) else shares


@dataclass(frozen=True, kw_only=True)
class Machine(Entry):
    """A router: table, axes, controller, tool rack."""

    table_mm: tuple[float, float] = key(
        SIZE, "Length and width of the table; its corner is at (0, 0)."
    )
    travel_min_mm: tuple[float, float] = key(
        SPOT, "Least X and Y the tool centre reaches, in table coordinates."
    )
    travel_max_mm: tuple[float, float] = key(SPOT, "Greatest X and Y the tool centre reaches.")
    axis_speed_mm_per_s: XYZ = key(_TRAVERSES, "Greatest speed of each axis while feeding.")
    rapid_mm_per_s: XYZ = key(_TRAVERSES, "Traverse speed of each axis.")
    axis_acceleration_mm_per_s2: XYZ = key(
        Several(_ACCELERATION, "X", "Y", "Z"), "Greatest acceleration of each axis."
    )
    axis_jerk_mm_per_s3: XYZ = key(
        Several(Quantity("jerk", above="0 m/s3", at_most="5000 m/s3", word="none"), "X", "Y", "Z"),
        'Greatest jerk of each axis; "none" when the controller does not limit it.',
    )
    path_acceleration_mm_per_s2: float = key(_ACCELERATION, "Greatest acceleration along the path.")
    centripetal_mm_per_s2: float = key(
        _ACCELERATION, "Greatest acceleration across the path, on arcs."
    )
    path_mode: PathMode = key(
        Choice(PathMode),
        "The controller's path control mode, after RS-274/NGC. exact-path (G61): "
        "moves that meet smoothly are run through, the tool stops in every corner. exact-stop "
        "(G61.1): it stops after every move. continuous (G64 P): it rounds corners within "
        "corner_tolerance.",
        old=OldName("corner", MODE_OF_CORNER),
    )
    corner_tolerance_mm: float = key(
        Quantity("length", at_least="0 mm", at_most="5 mm"),
        "How far a rounded corner may leave the programmed path: P of G64.",
        default="0.05 mm",
    )
    blend_share: float = key(
        Quantity("ratio", above="0 %", at_most="50 %"),
        "Greatest share of a move that the rounding of a corner may replace; its time "
        "is that of the arc. Half by default, since the corner at the other end needs the rest.",
        default="50 %",
    )
    stop_at_rapids: bool = key(
        FLAG,
        "Whether the tool stops between a feed and a rapid, even in line. true by "
        "default: controllers commonly finish a positioning move before they begin to cut; "
        "false for one that runs through.",
        default=True,
    )
    block_time_s: float = key(
        Quantity("time", at_least="0 s", at_most="1 s", usual="block"),
        "Least time the controller needs for one move.",
        default="2 ms",
    )
    look_ahead_moves: int | None = key(
        Count(1, 1_000_000, word="unlimited"),
        "Moves the controller reads in advance: it keeps to speeds from which it can stop "
        "within them. It matters for curves drawn as short chords. unlimited by default: "
        "controllers of this class read hundreds of moves, and edge paths have few and long ones.",
        name="look_ahead",
        default="unlimited",
    )
    arc_shares: tuple[float, float] | None = key(
        Several(
            Quantity("ratio", above="0 %", at_most="100 %", word="by-direction"), "along", "across"
        ),
        "Shares of the weakest axis' acceleration that the controller uses along and across the "
        "path on arcs; their squares add up to 100 % at most. by-direction by default: as much of "
        "both as no axis exceeds in the directions swept, which needs no support by the "
        "controller.",
        default="by-direction",
        make=_stated,
    )
    corner_share: float = key(
        SHARE,
        "Share of the acceleration that the controller uses on a move beside a corner in which "
        "it stops. All of it by default: holding some back is a habit of few.",
        default="100 %",
    )
    last_move_share: float = key(
        SHARE,
        "Share of the acceleration that the controller uses, when continuous, on the last move "
        "before the program ends or waits. All of it by default: holding some back is a habit "
        "of few.",
        default="100 %",
    )
    pockets: int = key(Count(1, 500), "Tools that fit in the rack.")
    rack_mm: tuple[float, float] = key(SPOT, "Where the tool is exchanged, in table coordinates.")
    safe_z_mm: float = key(LENGTH, "Height of rapids above the slab's top face.", default="80 mm")
    approach_z_mm: float = key(
        ROOM, "Height above the top face where a vertical feed begins.", default="10 mm"
    )
    exchange_s: float = key(SECONDS, "Tool change: putting one tool away and taking the next.")
    measure_s: float = key(SECONDS, "Measuring a tool's length after the exchange.", default="0 s")
    spindle_up_s: float = key(
        Quantity("time", above="0 s", at_most="10 min"),
        "Time from standstill to the greatest spindle speed; slowing down takes as long.",
    )
    max_rotation_rad_per_s: float = key(ROTATION, "Greatest spindle speed.", name="max_speed")
    probe_s: float = key(SECONDS, "Probing the thickness of one part.", default="0 s")
    water_on_s: float = key(SECONDS, "Wait for the water after each tool change.", default="0 s")
    flip_s: float = key(HANDLING, "Operator time: turning one part over.", default="5 min")
    cup_move_s: float = key(
        HANDLING, "Operator time: moving the cups under one part.", default="3 min"
    )
    slug_s: float = key(
        HANDLING, "Operator time: removing the slug of one cutout.", default="1 min"
    )
    load_part_s: float = key(
        HANDLING,
        "Operator time: loading and clamping one part, before the cycle.",
        default="2.5 min",
    )
    unload_part_s: float = key(
        HANDLING, "Operator time: unloading one part, after the cycle.", default="1.5 min"
    )
    stop_s: float = key(
        HANDLING,
        "Operator time: stopping and restarting the program once.",
        default="1 min",
    )
    water_mm3_per_s: float | None = key(
        Quantity("flow", at_least="0 l/min", at_most="1000 l/min"),
        "Water at the tool while it is in the cut.",
        name="water_flow",
        default=None,
    )
    spindle_w: float | None = key(
        _POWER,
        "Mean power drawn by the spindle while in the cut.",
        name="spindle_power",
        default=None,
    )
    base_w: float | None = key(
        _POWER,
        "Mean power drawn by axes, control and pumps throughout the cycle.",
        name="base_power",
        default=None,
    )
    spacing_mm: float = key(
        ROOM, "Clearance kept between the swept wheel and anything else.", default="5 mm"
    )
    min_hold_mm: float = key(ROOM, "A part narrower than this cannot be held.", default="80 mm")
    keep_out: tuple[TableArea, ...] = key(
        Tables(TableArea),
        "Clamps, stops and cups on the table, one table each.",
        value=(),
    )
    old_keys: tuple[OldKey, ...] = own("Keys under older names that its file still has.", ())

    @property
    @figure
    def corner(self) -> Literal["exact-stop", "blend"]:
        """The older and coarser word for path_mode: blend when continuous."""
        return "blend" if self.path_mode == "continuous" else "exact-stop"

    @property
    @figure
    def spindle_up_rad_per_s2(self) -> float:
        """Run-up and run-down of the spindle [rad/s²]."""
        return self.max_rotation_rad_per_s / self.spindle_up_s

    @cached_property
    @figure
    def keep_outs(self) -> tuple[KeepOut, ...]:
        """Where no tool may come, on this table."""
        areas = (area.keep_out(self.file) for area in self.keep_out)
        return tuple(area for area in areas if area is not None)

    def notes(self) -> tuple[Finding, ...]:
        """Return a note on each key of its file that has an older name."""
        return tuple(
            Finding(
                OLD_KEY,
                f"{old.key} is the old name of {old.instead.split(' ')[0]}; write {old.instead}.",
                Where(path=self.file, line=old.line, key=old.key),
            )
            for old in self.old_keys
        )

    def check(self, spot: Spot) -> Iterator[CatalogueInvalid]:
        """Yield a travel upside down, a plunge above the rapids, and shares that cannot be."""
        for axis, low, high in zip("XY", self.travel_min_mm, self.travel_max_mm, strict=True):
            if low >= high:
                yield spot.error(
                    f"The travel in {axis} runs from {low:g} to {high:g} mm.",
                    key="travel_max",
                    remedy="travel_max must exceed travel_min.",
                )
        if self.approach_z_mm > self.safe_z_mm:
            yield spot.error(
                f"approach_z, {self.approach_z_mm:g} mm, is above safe_z, {self.safe_z_mm:g} mm.",
                key="approach_z",
                remedy="A plunge begins below the height of rapids.",
            )
        if self.arc_shares is not None:
            yield from self._check_arcs(*self.arc_shares, spot)

    def _check_arcs(self, along: float, across: float, spot: Spot) -> Iterator[CatalogueInvalid]:
        """Yield a share of one direction only, or two that ask an axis for too much."""
        if math.isinf(along) or math.isinf(across):
            yield spot.error(
                "arc_shares gives one share of two.",
                key="arc_shares",
                remedy='Give both, or "by-direction" for both.',
            )
        elif math.hypot(along, across) > 1.0 + 1e-9:
            most = math.floor(1e4 * math.sqrt(1.0 - along * along)) / 100.0
            yield spot.error(
                f"arc_shares of {along:.4g} and {across:.4g} ask an axis for "
                f"{math.hypot(along, across):.4g} of its acceleration in the worst direction.",
                key="arc_shares",
                remedy=f"The squares may add up to 1: beside {100 * along:g} % along, at most "
                f"{most:g} % across.",
            )
