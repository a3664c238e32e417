"""The wear of a load, tool piece by tool piece."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Context, Decimal
from typing import ClassVar, Final, NamedTuple

from edgetime.findings import Finding
from edgetime.records import HIDDEN, figure, figure_named, written

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


class PartShare(NamedTuple):
    """Share of a life used on one part."""

    part_id: str
    share: float


class ProfileShare(NamedTuple):
    """Share of a life used on one profile, ``(shared)`` for holes and what else has none."""

    profile: str
    share: float


class ToolPieces(NamedTuple):
    """How many pieces of a tool are used up."""

    tool: str
    pieces: float


def _unrounded(amount: Decimal) -> str:
    # A price keeps the zeros it is written with.
    return f"{amount:f}"


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
        the tool comes back to is listed again. The shares add up to ``share``.
    by_profile : tuple of ProfileShare
        Share of life used on each profile.
    part_ids : tuple of str
        Of the load's parts, as indexed by ``by_part``.
    """

    tool: str
    piece: str
    stone: str = field(metadata=HIDDEN)
    thickness_mm: float = field(metadata=HIDDEN)
    contact_mm: float
    path_mm: float
    volume_mm3: float
    cut_s: float
    holes: int
    area_mm2: float
    measures: tuple[Measure, ...]
    share: float | None
    governing: str
    cost: Decimal | None = field(metadata=written(write=_unrounded))
    price: Decimal | None = field(metadata=written(write=_unrounded))
    currency: str
    radius_loss_mm: float | None
    by_part: tuple[tuple[int, float], ...] = field(metadata=HIDDEN)
    by_profile: tuple[ProfileShare, ...]
    part_ids: tuple[str, ...] = field(metadata=HIDDEN)

    @property
    @figure
    def pass_edge_mm(self) -> float:
        """Edge in contact, each pass counted, as the estimate names it [mm]."""
        return self.contact_mm

    @property
    @figure
    def cut_path_mm(self) -> float:
        """Way of the tool's centre in the cut, as the estimate names it [mm]."""
        return self.path_mm

    @property
    @figure_named("by_part")
    def shares_by_part(self) -> tuple[PartShare, ...]:
        """Share of life used on each part, in running order."""
        return tuple(PartShare(self.part_ids[part], share) for part, share in self.by_part)

    @property
    def measure(self) -> Measure | None:
        """The governing measure, None when no life is stated."""
        return next((m for m in self.measures if m.by == self.governing), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Consumables:
    """What a load uses up.

    Attributes
    ----------
    pieces : tuple of ToolPieces
        Of each tool, over all its profiles; tools without a stated life are missing [-].
    water_l : float or None
        Water flow times the time in the cut [l]; None when the machine's file states no flow.
    spindle_kwh, base_kwh : float or None
        Spindle power times the time in the cut; base power times the whole cycle [kWh].
    """

    pieces: tuple[ToolPieces, ...]
    water_l: float | None
    spindle_kwh: float | None
    base_kwh: float | None

    @property
    @figure
    def electricity_kwh(self) -> float | None:
        """Sum of both, None unless both are known [kWh]."""
        if self.spindle_kwh is None or self.base_kwh is None:
            return None
        return self.spindle_kwh + self.base_kwh


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

    SCHEMA: ClassVar[str] = "edgetime.wear/1"

    tools: tuple[ToolWear, ...]
    consumables: Consumables
    stone: str
    machine: str
    thickness_mm: float
    parts: tuple[tuple[str, str], ...] = field(metadata=HIDDEN)
    findings: tuple[Finding, ...]

    @property
    def most_radius_lost(self) -> ToolWear | None:
        """The piece whose radius shrinks most, None where no piece states a usable depth."""
        losing = [t for t in self.tools if t.radius_loss_mm]
        return max(losing, key=lambda t: t.radius_loss_mm or 0.0, default=None)

    @property
    @figure_named("cost")
    def cost_rows(self) -> tuple[dict[str, str], ...]:
        """The cost as JSON has it."""
        return tuple({"currency": c, "amount": _unrounded(amount)} for c, amount in self.cost)

    @property
    def cost(self) -> tuple[tuple[str, Decimal], ...]:
        """Currency and cost of all tools whose cost is known, one per currency."""
        totals: dict[str, Decimal] = {}
        for tool in self.tools:
            if tool.cost is not None:
                so_far = totals.get(tool.currency, Decimal(0))
                totals[tool.currency] = EXACT.add(so_far, tool.cost)
        return tuple(sorted(totals.items()))
