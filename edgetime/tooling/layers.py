"""What the layers of a drawing mean: the rules of ``layers.toml`` and of ``--layer``."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from enum import StrEnum
from fnmatch import fnmatchcase
from typing import Final, Literal, get_args

from edgetime.choices import CutoutMethod
from edgetime.errors import CatalogueInvalid
from edgetime.tolerances import GAP_MM
from edgetime.tooling.declare import Key, Record, key, keys_of, own, place
from edgetime.tooling.kinds import Choice, Quantity, Tables
from edgetime.tooling.shared_kinds import FLAG, TEXT
from edgetime.tooling.sources import Sources
from edgetime.tooling.toml_file import Spot

_BOUND = re.compile(r".*(?:\$\d+\$|\|)(?=.)")
# How programs name the layers of a reference to another drawing: FILE|LAYER while it is
# attached, FILE$0$LAYER once it is bound.


class Meaning(StrEnum):
    """What the geometry on a layer means."""

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
    Meaning.IGNORE: "not part of the work",
}
"""What each meaning is."""

NotchMethod = Literal["outline", "milled"]
"""Made with the outline, or cut by the router."""

NOTCH_METHODS: Final = get_args(NotchMethod)

USUAL_PROFILE: Final = "eased"
"""Profile of an edge that neither its layer nor the drawing names: the plainest worked edge,
and the commonest. Common practice, no source."""


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
    """Return the glob that matches one layer name and no other."""
    return re.sub(r"([*?\[])", r"[\1]", layer)


@dataclass(frozen=True)
class LayerRule(Record):
    """What the geometry on some layers means."""

    SCOPE = ("means", "a layer that means {}")

    match: str = key(TEXT, "Layer name; * matches any characters, ? one; case is ignored.")
    means: Meaning = key(
        Choice(Meaning),
        "What the geometry means. "
        + "; ".join(f"{m}: {what}" for m, what in MEANINGS.items())
        + ".",
    )
    profile: str | None = key(
        TEXT,
        "Profile of an edge or cutout.",
        default=None,
        only=(Meaning.EDGE, Meaning.CUTOUT),
    )
    method: CutoutMethod | None = key(
        Choice(CutoutMethod),
        "How the cutout is opened; the shop's default if absent.",
        default=None,
        only=(Meaning.CUTOUT,),
    )
    notch: NotchMethod | None = key(
        Choice(NotchMethod),
        "How a cutout that reaches the edge is made; the shop's default if absent.",
        default=None,
        only=(Meaning.CUTOUT,),
    )
    source: str = place(
        "Where the rule was given: my-shop/layers.toml:12, --layer.", Spot.shown, compare=False
    )

    def check(self, spot: Spot) -> Iterator[CatalogueInvalid]:
        """Yield an edge without a profile."""
        if self.means is Meaning.EDGE and self.profile is None:
            yield spot.error(
                "An edge needs a profile.", key="profile", remedy='Add profile = "...".'
            )


RULE_KEYS: Final[dict[str, Key]] = {
    name: k for name, k in keys_of(LayerRule).items() if name not in {"match", "means"}
}
"""What a rule may say besides its meaning, in the order an option takes them."""

NAMED: Final = frozenset({"notch"})
"""Keys that an option must name (``notch=milled``): their words are those of other keys too."""


def option_text(rule: LayerRule) -> str:
    """Return a rule as the option ``--layer`` takes it."""
    return f"{rule.match}={meaning_text(rule)}"


def meaning_text(rule: LayerRule) -> str:
    """Return what a rule says its layers mean: ``edge:eased``, ``cutout:eased:notch=milled``."""
    bare = [getattr(rule, name) or "" for name in RULE_KEYS if name not in NAMED]
    while bare and not bare[-1]:
        bare.pop()
    named = [
        f"{name}={value}"
        for name in RULE_KEYS
        if name in NAMED and (value := getattr(rule, name)) is not None
    ]
    return ":".join([str(rule.means), *bare, *named])


@dataclass(frozen=True)
class LayerRules(Record):
    """The rules of a shop; the first match wins."""

    rules: tuple[LayerRule, ...] = key(
        Tables(LayerRule), "One table per rule, in order.", name="layer", value=()
    )
    default_profile: str | None = key(
        TEXT,
        "Profile of outlines that neither an overlay nor a text gives one; "
        "unfinished, with a finding, if absent.",
        default=None,
    )
    cutout_profile: str | None = key(
        TEXT,
        "Profile of openings that neither a rule nor an overlay gives one; "
        "unfinished, with a finding, if absent.",
        default=None,
    )
    gap_mm: float = key(
        Quantity("length", at_least="0 mm", at_most="10 mm"),
        "Ends of curves at most this far apart are joined.",
        default=f"{GAP_MM:g} mm",
    )
    add_to_shipped: bool = key(
        FLAG,
        "true: the rules of this file come first, then the shipped ones. false: only the rules of "
        "this file apply.",
        default=False,
    )
    source: str = key(
        Sources(),
        "Where the figures come from, as in the other files; may be left out.",
        value="",
    )
    file: str = own("The file they come from, for messages.", "")
    options: tuple[str, ...] = own(
        "Options of a command line that names these rules, for messages.", (), compare=False
    )
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

    def check(self, spot: Spot) -> Iterator[CatalogueInvalid]:
        """Yield rules that are never used."""
        seen: dict[str, int] = {}
        for number, rule in enumerate(self.rules, 1):
            first = seen.setdefault(rule.match.casefold(), number)
            if first != number:
                yield spot.error(
                    f"{rule.match!r} is already matched by rule {first}; this one is never used.",
                    key=f"layer[{number}].match",
                    remedy="Remove one of them.",
                )
