"""What a user may choose for an estimate."""

from __future__ import annotations

from dataclasses import dataclass, field

from edgetime.load import PartChoice, Placement


@dataclass(frozen=True, kw_only=True)
class Options:
    """Choices for one estimate; None stands for the shop's default.

    Attributes
    ----------
    drawing_units : str or None
        What a drawing's numbers mean: ``mm``, ``cm``, ``m``, ``in``, ``ft``.
    machine, stone, stack : str or None
        Names in the catalogue.
    thickness_mm, actual_mm : float or None
        Nominal and actual thickness [mm].
    cutout_method : str or None
        ``milled`` or ``precut``.
    feed_override : float
        Multiplies every cutting feed [-].
    order : str or None
        ``short-travel`` or ``as-drawn``.
    place : tuple of Placement
        Drawings that do not lie where they are drawn.
    diameters_mm : dict
        Real diameters of mounted tools by name [mm].
    choice : PartChoice
        Which parts are cut, how often, and how far apart pieces lie.
    """

    drawing_units: str | None = None
    machine: str | None = None
    stone: str | None = None
    stack: str | None = None
    thickness_mm: float | None = None
    actual_mm: float | None = None
    cutout_method: str | None = None
    feed_override: float = 1.0
    order: str | None = None
    place: tuple[Placement, ...] = ()
    diameters_mm: dict[str, float] = field(default_factory=dict)
    choice: PartChoice = field(default_factory=PartChoice)
