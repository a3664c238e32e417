"""Wheels, pads and bits: their shape, how long they last, and what they cost."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from edgetime.errors import CatalogueInvalid
from edgetime.records import figure, written
from edgetime.tooling.declare import Entry, Record, key, one_of, own, place
from edgetime.tooling.kinds import Choice, Count, Quantity, Several, Table, Tables
from edgetime.tooling.money_kinds import Money
from edgetime.tooling.ordering import LARGEST_STOCK, SHELF_LIFE
from edgetime.tooling.shared_kinds import FEED, FLAG, LENGTH, ROOM, ROTATION, SECONDS, SMALL, TEXT
from edgetime.tooling.toml_file import Spot
from edgetime.units import speed_text


class ToolKind(StrEnum):
    """The shape of a tool, as far as paths and life need it."""

    CORE_BIT = "core-bit"
    FINGER_BIT = "finger-bit"
    DRUM = "drum"
    GAUGE_WHEEL = "gauge-wheel"
    PROFILE_WHEEL = "profile-wheel"
    POLISH_PAD = "polish-pad"


@dataclass(frozen=True)
class Life(Record):
    """How long a tool lasts, by one measure."""

    by: str = own("The measure: length, volume, g-ratio, time, holes or area.")
    value: float = one_of(
        {
            "length": (
                Quantity("length", above="0 m", usual="edge"),
                "Edge in contact: the edge length, counted once per pass.",
            ),
            "volume": (Quantity("volume", above="0 cm3"), "Stone removed."),
            "g_ratio": (
                Quantity("ratio", above="0 %", at_most="1000000"),
                (
                    "G-ratio: volume of stone removed per volume of wheel worn. Needs "
                    "usable_depth or usable_volume; the life is G times the usable volume."
                ),
            ),
            "time": (Quantity("time", above="0 s", usual="tool life"), "Time in the cut."),
            "holes": (Count(1, 10_000_000), "Holes drilled; core bits only."),
            "area": (
                Quantity("area", above="0 mm2"),
                "Area of the cut: its length times the thickness.",
            ),
        },
        "The life in mm, mm³, s or mm², or a plain number.",
    )
    stone: str | None = key(
        TEXT,
        "Stone, or family of stones, it holds for. If absent, stated for granite: it "
        "holds for all others, divided by their abrasiveness.",
        default=None,
    )
    thickness_mm: float | None = key(
        LENGTH, "Nominal thickness it holds for; all others if absent.", default=None
    )
    key: str = place("Its key in the tool's file, counted from 1: life[2].length.")


@dataclass(frozen=True, kw_only=True)
class Taylor(Record):
    """How a tool's life falls as its feed rises: ``v T^n = C``, T the time in the cut.

    Feeds are those of a stack's step times the feed override; a stone's feed factor is not in
    them.
    """

    exponent: float = key(
        Quantity("ratio", at_least="0.02", at_most="0.98"),
        "n of v T^n = C. From two trials: ln(v2/v1) / ln(T1/T2), v the feed and T the cutting "
        "time until the tool was worn out; `edgetime feed --trial` calculates it.",
    )
    reference_mm_per_s: float | None = key(
        FEED,
        "The feed the tool's lives hold for, within the range; the feed of the step if absent.",
        name="reference_feed",
        default=None,
    )
    range_mm_per_s: tuple[float, float] = key(
        Several(FEED, "lowest", "highest"),
        "The feeds the relation was found between; it is not used outside of them.",
    )

    @property
    @figure
    def low_mm_per_s(self) -> float:
        """The lowest feed of the range [mm/s]."""
        return self.range_mm_per_s[0]

    @property
    @figure
    def high_mm_per_s(self) -> float:
        """The highest feed of the range [mm/s]."""
        return self.range_mm_per_s[1]

    def check(self, spot: Spot) -> Iterator[CatalogueInvalid]:
        """Yield a range upside down, or a reference feed outside of it."""
        low, high = self.range_mm_per_s
        at = self.reference_mm_per_s
        if low >= high:
            yield spot.error(
                f"The range runs from {speed_text(low, high)}.",
                key="range",
                remedy="Write the lowest feed first; two trials at different feeds make a range.",
            )
        elif at is not None and not low <= at <= high:
            yield spot.error(
                f"The reference feed, {speed_text(at)}, lies outside the range from "
                f"{speed_text(low, high)}.",
                key="reference_feed",
                remedy="Give a feed within the range that was tried.",
            )


def _ring_mm3(tool: Tool) -> float | None:
    """Return the volume of the usable depth over the whole width, ``π u (D - u) w`` [mm³]."""
    depth = tool.usable_depth_mm
    if depth is None:
        return None
    return math.pi * depth * (tool.diameter_mm - depth) * tool.width_mm


@dataclass(frozen=True, kw_only=True)
class Tool(Entry):
    """A model of wheel, pad or bit."""

    kind: ToolKind = key(Choice(ToolKind), "Shape.")
    diameter_mm: float = key(
        Quantity("length", above="0 mm", at_most="1 m"),
        "Working diameter when new: what follows the finished edge.",
    )
    shaft_mm: float = key(
        Quantity("length", above="0 mm", at_most="1 m"),
        "Largest diameter above or below the working part; the working diameter if absent.",
        fill=lambda tool: tool.diameter_mm,
    )
    clearance_mm: float = key(
        ROOM, "Extra radius an inside corner must have for this tool.", default="1 mm"
    )
    width_mm: float = key(LENGTH, "Axial height of the working part.")
    profiled: bool = key(
        FLAG,
        "true when the wheel is ground to one profile, so that each profile needs its own.",
        default=False,
    )
    max_rotation_rad_per_s: float | None = key(
        ROTATION, "Maximum speed marked on the tool.", name="max_speed", default=None
    )
    max_peripheral_mm_per_s: float | None = key(
        Quantity("speed", above="0 m/s", at_most="150 m/s", usual="rim speed"),
        "Maximum peripheral speed marked on the tool.",
        default=None,
    )
    life: tuple[Life, ...] = key(
        Tables(Life),
        "One table per measure; the shortest life is the limiting one.",
        value=(),
    )
    usable_depth_mm: float | None = key(
        SMALL, "How far the radius may wear before the tool is worn out.", default=None
    )
    usable_volume_mm3: float | None = key(
        Quantity("volume", above="0 cm3", usual="bond"),
        "Volume of bond that may wear; otherwise the ring of usable_depth over the whole width.",
        fill=_ring_mm3,
    )
    price: Decimal | None = key(
        Money(),
        "Price of one tool.",
        default=None,
        currency="currency",
        json=written(write=str),
    )
    currency: str = own("ISO 4217 code of the price, empty when there is none.", "")
    pack: int = key(Count(1, 10_000), "Tools in a pack.", default=1)
    supplier: str = key(TEXT, "The shop's own name of the supplier.", value="")
    lead_time_d: float = key(
        Quantity("time", at_least="0 s", at_most="730 d", usual="delivery", days=True),
        "Lead time from order to delivery.",
        default="14 d",
    )
    lead_time_spread_d: float = key(
        Quantity("time", at_least="0 s", at_most="365 d", usual="delivery", days=True),
        "Standard deviation of the lead time.",
        default="0 d",
    )
    minimum_order: int = key(Count(1, 10_000), "Minimum order quantity.", default=1)
    largest_stock: int | None = key(
        LARGEST_STOCK, "Most tools of this article to keep; the shop's if absent.", default=None
    )
    shelf_life_d: float | None = key(
        SHELF_LIFE,
        "How long the article keeps; no order covers more than the use of that time. The shop's "
        "if absent.",
        default=None,
    )
    set_name: str = key(
        TEXT,
        "Name of a set: tools of one set are ordered together, in equal numbers.",
        name="set",
        value="",
    )
    dress_every_mm: float = key(
        Quantity("length", at_least="0 m", usual="edge"),
        "Path in the cut after which the tool is dressed; 0 m for never.",
        default="0 m",
    )
    dress_s: float = key(SECONDS, "Time one dressing takes.", name="dress_time", default="0 s")
    max_feed_mm_per_s: float | None = key(
        FEED,
        "Greatest feed the tool tolerates; `edgetime feed` does not exceed it.",
        default=None,
    )
    taylor: Taylor | None = key(
        Table(Taylor), "How the life depends on the feed, for `edgetime feed`.", default=None
    )

    def check(self, spot: Spot) -> Iterator[CatalogueInvalid]:
        """Yield what contradicts itself in lives, wear, dressing and the feed relation."""
        yield from self._check_lives(spot)
        depth, radius = self.usable_depth_mm, 0.5 * self.diameter_mm
        if depth is not None and depth >= radius:
            yield spot.error(
                f"{depth:g} mm of usable depth is more than the radius, {radius:g} mm.",
                key="usable_depth",
                remedy="Give the depth on the radius, less than the radius itself.",
            )
        if (self.dress_every_mm > 0.0) != (self.dress_s > 0.0):
            missing = "dress_time" if self.dress_every_mm > 0.0 else "dress_every"
            yield spot.error(
                f"Dressing needs both an interval and a time; {missing} is zero.",
                key=missing,
                remedy="Give both, or neither.",
            )
        if self.taylor is not None and not self.life:
            yield spot.error(
                "The relation says how the life changes, but the tool states no life.",
                key="taylor",
                remedy="Add a [[life]].",
            )

    def _check_lives(self, spot: Spot) -> Iterator[CatalogueInvalid]:
        seen: set[tuple[str, str | None, float | None]] = set()
        for number, life in enumerate(self.life, 1):
            if life.by == "holes" and self.kind is not ToolKind.CORE_BIT:
                yield spot.error(
                    f"A {self.kind} drills no holes, so its life cannot be counted in them.",
                    key=life.key,
                    remedy="State its life by another measure.",
                )
            if life.by == "g-ratio" and self.usable_volume_mm3 is None:
                yield spot.error(
                    "A life by G-ratio needs to know how much of the wheel may wear.",
                    key=life.key,
                    remedy="Add usable_depth or usable_volume to the tool.",
                )
            what = (life.by, life.stone, life.thickness_mm)
            if what in seen:
                yield spot.error(
                    f"A life by {life.by} for the same stone and thickness is given twice.",
                    key=f"life[{number}]",
                    remedy="Keep one of them.",
                )
            seen.add(what)
