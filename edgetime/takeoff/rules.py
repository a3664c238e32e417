"""What a layer means. The TOML form is read by :mod:`edgetime.tooling`."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from fnmatch import fnmatchcase

from edgetime.tolerances import GAP_MM

__all__ = ["LayerRule", "LayerRules", "Meaning"]


class Meaning(StrEnum):
    """What the geometry on a layer stands for."""

    OUTLINE = "outline"
    EDGE = "edge"
    CUTOUT = "cutout"
    HOLE = "hole"
    SEAM = "seam"
    UNFINISHED = "unfinished"
    RECESS = "recess"
    KEEP_OUT = "keep-out"
    CUP = "cup"
    IGNORE = "ignore"


@dataclass(frozen=True, slots=True)
class LayerRule:
    """One entry of ``layers.toml``.

    Attributes
    ----------
    match : str
        Glob over the layer name, case-insensitive.
    means : Meaning
        What the layer's geometry stands for.
    profile : str or None
        Profile of an ``edge`` or ``cutout``.
    method : str or None
        ``milled`` or ``precut`` for a ``cutout``; None for the shop's default.
    notch : str or None
        ``milled`` or ``outline`` for a ``cutout`` that reaches the edge; None for the shop's
        default.
    """

    match: str
    means: Meaning
    profile: str | None = None
    method: str | None = None
    notch: str | None = None


@dataclass(frozen=True)
class LayerRules:
    """The rules of a shop, first match wins.

    Attributes
    ----------
    rules : tuple of LayerRule
        In order.
    default_profile : str or None
        For outlines that neither an overlay nor a text gives a profile.
    source : str
        The file they come from, for messages.
    gap_mm : float
        Ends of curves no further apart are joined [mm].
    """

    rules: tuple[LayerRule, ...]
    default_profile: str | None = None
    source: str = ""
    gap_mm: float = GAP_MM
    _cache: dict[str, LayerRule | None] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )

    def rule_for(self, layer: str) -> LayerRule | None:
        """Return the first rule whose glob matches the layer name, None if none does."""
        if layer not in self._cache:
            name = layer.casefold()
            self._cache[layer] = next(
                (r for r in self.rules if fnmatchcase(name, r.match.casefold())), None
            )
        return self._cache[layer]
