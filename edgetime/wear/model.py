"""The wear of a load, tool piece by tool piece."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Context, Decimal
from typing import Any, Final

from edgetime.findings import Finding
from edgetime.records import as_json

EXACT: Final = Context(prec=60)
"""Wide enough that neither a price times the seventeen digits of a share nor a sum of such
products is ever rounded."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """One of the ways a tool's file states its life, held against what the load uses.

    Attributes
    ----------
    by : str
        ``length``, ``volume``, ``g-ratio``, ``time``, ``holes`` or ``area``.
    used : float
        By this load, in ``unit``; for ``g-ratio`` the volume of the wheel that wears.
    life : float
        Of a new piece, in this stone and thickness, in ``unit``; for ``g-ratio`` the usable
        volume of the wheel.
    unit : str
        ``mm``, ``mm3``, ``s``, ``mm2``, or ``1`` for holes.
    share : float
        ``used / life`` [-].
    abrasiveness : float
        Of the stone, where the life is stated without one and is divided by it; otherwise 1.
    file, key : str
        Where the life is stated.
    """

    by: str
    used: float
    life: float
    unit: str
    share: float
    abrasiveness: float
    file: str
    key: str

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form; ``unit`` says what ``used`` and ``life`` are in."""
        return {
            "by": self.by,
            "used": self.used,
            "life": self.life,
            "unit": self.unit,
            "share": self.share,
            "abrasiveness": self.abrasiveness,
            "file": self.file,
            "key": self.key,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class ToolWear:
    """What one tool piece does in a load, and what that takes out of it.

    Attributes
    ----------
    tool, piece : str
        Tool name, and what occupies a pocket: the tool's name, with ``/profile`` for a
        profiled wheel.
    stone : str
        Name of the stone.
    thickness_mm : float
        Nominal [mm].
    contact_mm : float
        Edge in contact, each pass counted [mm].
    path_mm : float
        Way of the tool's centre in the cut [mm].
    volume_mm3 : float
        Stone removed [mm³].
    cut_s : float
        Time in the cut; for core bits the time drilling in stone [s].
    holes : int
        Holes drilled.
    area_mm2 : float
        Area of the cut: length times the depth in the stone [mm²].
    measures : tuple of Measure
        The lives that hold for this stone and thickness, in the order of the tool's file.
    share : float or None
        Share of a life used, the greatest of the measures; None when no life is stated [-].
    governing : str
        ``by`` of that measure, ``""`` when no life is stated.
    cost : Decimal or None
        Price times share; None when either is unknown.
    price : Decimal or None
        Of one piece.
    currency : str
        ISO 4217 code, ``""`` without a price.
    radius_loss_mm : float or None
        By how much the radius shrinks, where a usable depth is stated [mm].
    by_part : tuple of (int, float)
        Index into the load's parts and share of life used there, in running order; a part
        the tool comes back to stands there again. The shares add up to ``share``.
    by_profile : tuple of (str, float)
        Profile and share of life used on it, ``(shared)`` for holes and what else has none.
    """

    tool: str
    piece: str
    stone: str
    thickness_mm: float
    contact_mm: float
    path_mm: float
    volume_mm3: float
    cut_s: float
    holes: int
    area_mm2: float
    measures: tuple[Measure, ...]
    share: float | None
    governing: str
    cost: Decimal | None
    price: Decimal | None
    currency: str
    radius_loss_mm: float | None
    by_part: tuple[tuple[int, float], ...]
    by_profile: tuple[tuple[str, float], ...]

    @property
    def measure(self) -> Measure | None:
        """The governing measure, None when no life is stated."""
        return next((m for m in self.measures if m.by == self.governing), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Consumables:
    """What a load uses up.

    Attributes
    ----------
    pieces : tuple of (str, float)
        Tool name and pieces of it used up, over all its profiles; tools without a stated life
        are missing [-].
    water_l : float or None
        Water flow times the time in the cut [l]; None when the machine's file states no flow.
    spindle_kwh, base_kwh : float or None
        Spindle power times the time in the cut; base power times the whole cycle [kWh].
    """

    pieces: tuple[tuple[str, float], ...]
    water_l: float | None
    spindle_kwh: float | None
    base_kwh: float | None

    @property
    def electricity_kwh(self) -> float | None:
        """Sum of both, None unless both are known [kWh]."""
        if self.spindle_kwh is None or self.base_kwh is None:
            return None
        return self.spindle_kwh + self.base_kwh

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "pieces": [{"tool": tool, "pieces": count} for tool, count in self.pieces],
            "water_l": self.water_l,
            "spindle_kwh": self.spindle_kwh,
            "base_kwh": self.base_kwh,
            "electricity_kwh": self.electricity_kwh,
        }


@dataclass(frozen=True, eq=False, kw_only=True)
class Wear:
    """The wear of a load.

    Attributes
    ----------
    tools : tuple of ToolWear
        One per piece, in order of first use.
    consumables : Consumables
        Beside the tools.
    stone, machine : str
        Names.
    thickness_mm : float
        Nominal [mm].
    parts : tuple of (str, str)
        Id and name of the load's parts, as indexed by ``by_part``.
    findings : tuple of Finding
        Of this stage only.
    """

    tools: tuple[ToolWear, ...]
    consumables: Consumables
    stone: str
    machine: str
    thickness_mm: float
    parts: tuple[tuple[str, str], ...]
    findings: tuple[Finding, ...]

    @property
    def cost(self) -> tuple[tuple[str, Decimal], ...]:
        """Currency and cost of all tools whose cost is known, one per currency."""
        totals: dict[str, Decimal] = {}
        for tool in self.tools:
            if tool.cost is not None:
                so_far = totals.get(tool.currency, Decimal(0))
                totals[tool.currency] = EXACT.add(so_far, tool.cost)
        return tuple(sorted(totals.items()))

    def as_dict(self) -> dict[str, Any]:
        """Return the ``edgetime.wear/1`` document; money is a decimal text."""
        return {
            "schema": "edgetime.wear/1",
            "machine": self.machine,
            "stone": self.stone,
            "thickness_mm": self.thickness_mm,
            "tools": [self._tool(t) for t in self.tools],
            "consumables": self.consumables.as_dict(),
            "cost": [{"currency": c, "amount": _money(a)} for c, a in self.cost],
            "findings": as_json(self.findings),
        }

    def _tool(self, t: ToolWear) -> dict[str, Any]:
        return {
            "tool": t.tool,
            "piece": t.piece,
            "contact_mm": t.contact_mm,
            "path_mm": t.path_mm,
            "volume_mm3": t.volume_mm3,
            "cut_s": t.cut_s,
            "holes": t.holes,
            "area_mm2": t.area_mm2,
            "share": t.share,
            "governing": t.governing,
            "measures": [m.as_dict() for m in t.measures],
            "price": _money(t.price),
            "cost": _money(t.cost),
            "currency": t.currency,
            "radius_loss_mm": t.radius_loss_mm,
            "by_part": [{"part_id": self.parts[part][0], "share": s} for part, s in t.by_part],
            "by_profile": [{"profile": name, "share": s} for name, s in t.by_profile],
        }


def _money(amount: Decimal | None) -> str | None:
    return None if amount is None else f"{amount:f}"
