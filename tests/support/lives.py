"""Records of lives, balances and wear, built by hand."""

from __future__ import annotations

from dataclasses import dataclass

from edgetime.wear.tool_wear import Consumables, Measure, ToolWear, Wear


@dataclass(frozen=True)
class Lived:
    """A life as the ledger gives it."""

    share: float | None
    ended: str | None = None
    tool: str = "pad"


@dataclass(frozen=True)
class Use:
    """Use of a piece by one measure."""

    by: str
    share: float | None


@dataclass(frozen=True)
class Piece:
    """A piece as the ledger's balances give it."""

    serial: str
    model: str = "pad"
    pocket: int | None = 1
    used: tuple[Use, ...] = ()
    share: float | None = None
    restored: float = 1.0
    state: str = "mounted"


def piece(serial: str, share: float, *, by: str = "length", **more: object) -> Piece:
    """Make a piece used by one measure."""
    return Piece(serial, used=(Use(by, share),), share=share, **more)  # type: ignore[arg-type]


def measure(by: str, share: float) -> Measure:
    """Make a measure of which a load uses a share."""
    return Measure(
        by=by,
        used=share * 1e6,
        life=1e6,
        unit="mm",
        share=share,
        abrasiveness=1.0,
        file="tools/pad.toml",
        key="life[1]",
    )


def tool_wear(
    shares: dict[str, float],
    by_part: tuple[tuple[int, float], ...] = (),
    *,
    tool: str = "pad",
    name: str | None = None,
) -> ToolWear:
    """Make the wear of one piece; ``by_part`` defaults to all of it on the first part."""
    measures = tuple(measure(by, share) for by, share in shares.items())
    worst = max(measures, key=lambda m: m.share, default=None)
    return ToolWear(
        tool=tool,
        piece=name or tool,
        stone="granite",
        thickness_mm=30.0,
        contact_mm=1.0,
        path_mm=1.0,
        volume_mm3=1.0,
        cut_s=1.0,
        holes=0,
        area_mm2=1.0,
        measures=measures,
        share=None if worst is None else worst.share,
        governing="" if worst is None else worst.by,
        cost=None,
        price=None,
        currency="",
        radius_loss_mm=None,
        by_part=by_part or (() if worst is None else ((0, worst.share),)),
        by_profile=(),
        part_ids=("p01", "p02", "p03"),
    )


def wear_of(*tools: ToolWear) -> Wear:
    """Make the wear of a load of three parts."""
    return Wear(
        tools=tools,
        consumables=Consumables(pieces=(), water_l=None, spindle_kwh=None, base_kwh=None),
        stone="granite",
        machine="medium",
        thickness_mm=30.0,
        parts=(("p01", "LEFT"), ("p02", "RIGHT"), ("p03", "ISLAND")),
        findings=(),
    )
