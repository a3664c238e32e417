"""What may be chosen for a load, each with the shop's default where nothing is chosen."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from typing import Any, TypedDict, Unpack

from edgetime.choices import CutoutMethod, DrawingUnits, RunOrder
from edgetime.load.choice import Copies
from edgetime.load.layout import ALL_AS_DRAWN, PartChoice
from edgetime.load.place import Placement
from edgetime.records import HIDDEN

_OF_PARTS = frozenset(f.name for f in fields(PartChoice))


class Choices(TypedDict, total=False):
    """Choices for one load by name, for :func:`estimate` and :func:`make_load`.

    Fields of :class:`Options` and of :class:`PartChoice`, where each is described; lists may be
    sequences of any kind, and ``diameters_mm=None`` leaves diameters as new.
    """

    drawing_units: DrawingUnits | None
    machine: str | None
    stone: str | None
    stack: str | None
    thickness_mm: float | None
    actual_mm: float | None
    cutout_method: CutoutMethod | None
    feed_override: float
    order: RunOrder | None
    place: Sequence[Placement]
    diameters_mm: Mapping[str, float] | None
    measured: dict[str, str] | None
    choice: PartChoice
    only: Sequence[str]
    without: Sequence[str]
    copies: Sequence[Copies]
    apart_mm: float | None


@dataclass(frozen=True, kw_only=True)
class Options:
    """Choices for one load; None means the shop's default.

    Attributes
    ----------
    drawing_units : DrawingUnits or None
        What a drawing's numbers mean.
    machine, stone, stack : str or None
        Names in the catalogue.
    thickness_mm : float or None
        Nominal thickness [mm].
    actual_mm : float or None
        Probed thickness; nominal plus the stone's spread when None [mm].
    cutout_method : CutoutMethod or None
        For cutouts whose layer does not say.
    feed_override : float
        Multiplies every cutting feed [-].
    order : RunOrder or None
        In which order a tool visits the edge runs.
    place : tuple of Placement
        Drawings that do not lie where they are drawn.
    diameters_mm : dict
        Real diameters of mounted tools, by tool name, or by piece as ``metal-1/eased`` [mm].
    measured : dict or None
        By the same names, which mounted piece was measured; None where no ledger was asked.
    choice : PartChoice
        Which parts are cut, how often, and how far apart pieces lie.
    """

    drawing_units: DrawingUnits | None = None
    machine: str | None = None
    stone: str | None = None
    stack: str | None = None
    thickness_mm: float | None = None
    actual_mm: float | None = None
    cutout_method: CutoutMethod | None = None
    feed_override: float = 1.0
    order: RunOrder | None = None
    place: tuple[Placement, ...] = ()
    diameters_mm: dict[str, float] = field(default_factory=dict)
    measured: dict[str, str] | None = field(default=None, metadata=HIDDEN)
    choice: PartChoice = ALL_AS_DRAWN

    def having(self, **choices: Unpack[Choices]) -> Options:
        """Return the options with some of them chosen.

        Parameters
        ----------
        **choices : Choices
            Fields of this record or of :class:`PartChoice`: ``stone="granite"``,
            ``only=["p01"]``.

        Raises
        ------
        TypeError
            There is no such option.
        """
        given: dict[str, Any] = dict(choices)
        given |= {name: tuple(given[name]) for name in _LISTS & given.keys()}
        if "diameters_mm" in choices:
            given["diameters_mm"] = dict(choices["diameters_mm"] or {})
        of_parts: dict[str, Any] = {name: given.pop(name) for name in _OF_PARTS & given.keys()}
        made = replace(self, **given)
        return replace(made, choice=replace(made.choice, **of_parts)) if of_parts else made


_LISTS = frozenset({"place", "only", "without", "copies"})
