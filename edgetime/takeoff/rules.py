"""What a layer means. The TOML form is read by :mod:`edgetime.tooling`."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from enum import StrEnum
from fnmatch import fnmatchcase
from typing import Final

from edgetime.tolerances import GAP_MM

__all__ = [
    "TAKES",
    "LayerRule",
    "LayerRules",
    "Meaning",
    "bare_layer",
    "exact_match",
    "meaning_text",
    "option_text",
]

_BOUND = re.compile(r".*(?:\$\d+\$|\|)(?=.)")
# How programs name the layers of a reference to another drawing: FILE|LAYER while it is
# attached, FILE$0$LAYER once it is bound.


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


TAKES: Final[dict[str, tuple[Meaning, ...]]] = {
    "profile": (Meaning.EDGE, Meaning.CUTOUT),
    "method": (Meaning.CUTOUT,),
    "notch": (Meaning.CUTOUT,),
}
"""Key of a rule → the meanings it applies to."""


def bare_layer(layer: str) -> str:
    """Return a layer's name without that of the referenced drawing it was bound from.

    Parameters
    ----------
    layer : str
        Such as ``KITCHEN$0$OUTLINE`` or ``KITCHEN|OUTLINE``.

    Returns
    -------
    str
        ``OUTLINE``; the name itself where no drawing is named in it.
    """
    return _BOUND.sub("", layer, count=1)


def exact_match(layer: str) -> str:
    """Return the glob that matches one layer name and no other.

    Parameters
    ----------
    layer : str
        As the drawing has it.
    """
    return re.sub(r"([*?\[])", r"[\1]", layer)


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
    source : str
        Where the rule was given: ``my-shop/layers.toml:12``, ``--layer``.
    """

    match: str
    means: Meaning
    profile: str | None = None
    method: str | None = None
    notch: str | None = None
    source: str = field(default="", compare=False)


def option_text(rule: LayerRule) -> str:
    """Return a rule as the option ``--layer`` takes it.

    Parameters
    ----------
    rule : LayerRule
        Any rule.
    """
    return f"{rule.match}={meaning_text(rule)}"


def meaning_text(rule: LayerRule) -> str:
    """Return what a rule says its layers mean: ``edge:eased``.

    Parameters
    ----------
    rule : LayerRule
        Any rule.
    """
    text = str(rule.means)
    if rule.profile is not None or rule.method is not None:
        text += f":{rule.profile or ''}"
    return text if rule.method is None else f"{text}:{rule.method}"


@dataclass(frozen=True)
class LayerRules:
    """The rules of a shop, first match wins.

    Attributes
    ----------
    rules : tuple of LayerRule
        In order.
    default_profile : str or None
        For outlines that neither an overlay nor a text gives a profile.
    cutout_profile : str or None
        For openings that neither a rule nor an overlay gives a profile; None leaves them
        unfinished, with a finding.
    options : tuple of str
        Options of a command line that names these rules, for messages.
    source : str
        The file they come from, for messages.
    gap_mm : float
        Ends of curves no further apart are joined [mm].
    """

    rules: tuple[LayerRule, ...]
    default_profile: str | None = None
    source: str = ""
    gap_mm: float = GAP_MM
    cutout_profile: str | None = None
    options: tuple[str, ...] = field(default=(), compare=False)
    _cache: dict[str, LayerRule | None] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )

    def rule_for(self, layer: str) -> LayerRule | None:
        """Return the first rule whose glob matches the layer name, None if none does.

        Where none does, the layer of a bound reference is looked up by its own name.
        """
        if layer not in self._cache:
            found = self._first(layer)
            bare = bare_layer(layer)
            self._cache[layer] = self._first(bare) if found is None and bare != layer else found
        return self._cache[layer]

    def _first(self, layer: str) -> LayerRule | None:
        name = layer.casefold()
        return next((r for r in self.rules if fnmatchcase(name, r.match.casefold())), None)
