"""What a layer means. The TOML form is read by :mod:`edgetime.tooling`."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from enum import StrEnum
from fnmatch import fnmatchcase
from typing import Final

from edgetime.tolerances import GAP_MM

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


MEANINGS: Final[dict[Meaning, str]] = {
    Meaning.OUTLINE: "closed lines around parts",
    Meaning.EDGE: "edges of one profile",
    Meaning.CUTOUT: "openings",
    Meaning.HOLE: "circles for core bits",
    Meaning.SEAM: "edges joined to another part",
    Meaning.UNFINISHED: "wall edges, left as sawn",
    Meaning.RECESS: "grooves and rebates: listed, not timed",
    Meaning.KEEP_OUT: "clamps and stops: no tool may sweep over them",
    Meaning.CUP: "cups under the slab: in the way of tools that reach its underside",
    Meaning.IGNORE: "no part of the work",
}
"""What each meaning stands for."""

CUTOUT_METHODS: Final = ("milled", "precut")
"""Cut out by the router, or open already."""

NOTCH_METHODS: Final = ("outline", "milled")
"""Made with the outline, or cut by the router."""


USUAL_PROFILE: Final = "eased"
"""Profile of an edge that neither its layer nor the drawing names: the plainest worked edge,
and the commonest. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class RuleKey:
    """A key that a rule may have besides what it means.

    Attributes
    ----------
    name : str
        As the file and :class:`LayerRule` have it.
    takers : tuple of Meaning
        The meanings it applies to.
    words : tuple of str or None
        What it may say; None for the name of a profile.
    named : bool
        Whether an option must name it: ``notch=milled``.
    """

    name: str
    takers: tuple[Meaning, ...]
    words: tuple[str, ...] | None = None
    named: bool = False


RULE_KEYS: Final = (
    RuleKey("profile", (Meaning.EDGE, Meaning.CUTOUT)),
    RuleKey("method", (Meaning.CUTOUT,), CUTOUT_METHODS),
    RuleKey("notch", (Meaning.CUTOUT,), NOTCH_METHODS, named=True),
)
"""Keys of a rule, those that an option need not name in the order it takes them."""


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
    """Return what a rule says its layers mean: ``edge:eased``, ``cutout:eased:notch=milled``.

    Parameters
    ----------
    rule : LayerRule
        Any rule.
    """
    bare = [getattr(rule, k.name) or "" for k in RULE_KEYS if not k.named]
    while bare and not bare[-1]:
        bare.pop()
    named = [
        f"{k.name}={value}"
        for k in RULE_KEYS
        if k.named and (value := getattr(rule, k.name)) is not None
    ]
    return ":".join([str(rule.means), *bare, *named])


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
