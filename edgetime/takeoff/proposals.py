"""A rule for each layer that no rule knows, from what is on it and from its name."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

from edgetime.drawing.drawing import Drawing
from edgetime.takeoff.layer_names import Hint, read_name, short_for
from edgetime.takeoff.layer_shapes import Role, Shapes, shapes_of
from edgetime.takeoff.trade_words import TRADE_WORDS
from edgetime.tooling.layers import (
    USUAL_PROFILE,
    LayerRule,
    LayerRules,
    Meaning,
    bare_layer,
    exact_match,
    option_text,
)

PROPOSED: Final = "edgetime layers"
"""Where a proposed rule comes from."""

ANSWERED: Final = "as answered"
"""Reason of a rule the user chose instead of the proposed one."""

UNWORKED: Final = frozenset({"unfinished", "seam"})
"""Profiles that ask for no finishing."""


class Confidence(StrEnum):
    """How sure a proposal is."""

    SURE = "sure"
    LIKELY = "likely"
    UNSURE = "unsure"


_DOUBT: Final = (Confidence.UNSURE, Confidence.LIKELY, Confidence.SURE)
"""The least sure first."""


@dataclass(frozen=True)
class Proposal:
    """What a layer probably means.

    Attributes
    ----------
    layer : str
        Its name, without that of a bound drawing.
    rule : LayerRule
        The rule for it.
    confidence : Confidence
        How sure it is.
    reason : str
        Why it is proposed.
    length_mm : float
        Of all its curves, in all drawings [mm].
    curves, texts : int
        How many there are.
    shapes : Shapes
        What its curves look like.
    """

    layer: str
    rule: LayerRule
    confidence: Confidence
    reason: str
    length_mm: float
    curves: int
    texts: int
    shapes: Shapes

    @property
    def closed(self) -> int:
        """How many closed lines its curves make."""
        roles = (Role.OUTER, Role.INNER, Role.HOLE, Role.COPY, Role.FRAME, Role.NOTCH, Role.AREA)
        return sum(self.shapes.count.get(r, 0) for r in roles)


_FITS: Final[dict[Meaning, tuple[Meaning, ...]]] = {
    Meaning.OUTLINE: (Meaning.OUTLINE,),
    Meaning.EDGE: (Meaning.OUTLINE, Meaning.EDGE),
    Meaning.UNFINISHED: (Meaning.OUTLINE, Meaning.EDGE),
    Meaning.CUTOUT: (Meaning.CUTOUT, Meaning.HOLE, Meaning.EDGE),
    Meaning.HOLE: (Meaning.HOLE,),
    Meaning.SEAM: (Meaning.SEAM, Meaning.EDGE, Meaning.OUTLINE),
    Meaning.RECESS: (Meaning.CUTOUT, Meaning.HOLE, Meaning.IGNORE, Meaning.SEAM, Meaning.EDGE),
    Meaning.KEEP_OUT: (Meaning.KEEP_OUT,),
    Meaning.CUP: (Meaning.KEEP_OUT,),
    Meaning.IGNORE: (Meaning.IGNORE, Meaning.SEAM, Meaning.EDGE, Meaning.CUTOUT, Meaning.HOLE),
}
"""Meaning by name → meanings by look that go with it."""


def propose(
    drawings: Sequence[Drawing],
    rules: LayerRules,
    *,
    profiles: Collection[str] | None = None,
    core_diameters_mm: Collection[float] = (),
    edge_profile: str | None = None,
) -> tuple[Proposal, ...]:
    """Propose a rule for each layer with curves that no rule matches.

    Parameters
    ----------
    drawings : sequence of Drawing
        Drawings of one office: a layer means the same in all of them.
    rules : LayerRules
        What is known.
    profiles : collection of str, optional
        Names the catalogue knows; others are not proposed.
    core_diameters_mm : collection of float
        Core bits on hand [mm].
    edge_profile : str, optional
        Profile of edges whose layer names none.
    """
    merged: dict[str, _Layer] = {}
    for drawing in drawings:
        own = _unknown(drawing, rules)
        guesses = {layer: _first_meaning(layer) for layer in own}
        seen = shapes_of(drawing, rules, own, guesses, core_diameters_mm=core_diameters_mm)
        lengths = drawing.lengths_by_layer_mm()
        for layer in own:
            held = merged.setdefault(bare_layer(layer).casefold(), _Layer(bare_layer(layer)))
            held.take(drawing, layer, lengths[layer], seen[layer])
    usual = edge_profile or rules.default_profile or USUAL_PROFILE
    found = (_proposal(merged[key], profiles) for key in sorted(merged))
    return tuple(_with_profile(p, usual, chosen=edge_profile is not None) for p in found)


def _unknown(drawing: Drawing, rules: LayerRules) -> list[str]:
    shown = {e.layer for e in drawing.entities if e.visible}
    return sorted(layer for layer in shown if rules.rule_for(layer) is None)


def _first_meaning(layer: str) -> Meaning | None:
    hints = read_name(layer)
    return hints[0].means if hints else None


class _Layer:
    """One unknown layer, over all drawings."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.length_mm = 0.0
        self.curves = self.texts = 0
        self.shapes = Shapes()

    def take(self, drawing: Drawing, layer: str, length_mm: float, shapes: Shapes) -> None:
        """Add what one drawing has of it."""
        self.length_mm += length_mm
        self.curves += sum(e.layer == layer for e in drawing.entities)
        self.texts += sum(t.layer == layer for t in drawing.texts)
        for role, count in shapes.count.items():
            self.shapes.add(role, shapes.length_mm[role], count)


@dataclass(frozen=True)
class _View:
    """What the look of a layer suggests."""

    means: Meaning
    confidence: Confidence
    reason: str


def _many(count: int, one: str, more: str) -> str:
    return f"{count} {one if count == 1 else more}"


def _look(shapes: Shapes) -> _View:
    """Return what the geometry suggests."""
    n = shapes.count
    if areas := n.get(Role.AREA, 0):
        text = _many(areas, "closed line", "closed lines")
        return _View(Meaning.KEEP_OUT, Confidence.LIKELY, text)
    outer, openings = n.get(Role.OUTER, 0), n.get(Role.INNER, 0)
    holes, frames = n.get(Role.HOLE, 0), n.get(Role.FRAME, 0)
    if frames and outer:
        return _View(
            Meaning.OUTLINE,
            Confidence.UNSURE,
            "outlines, but also a frame around everything, which would count as a part: "
            "put it on another layer",
        )
    if frames:
        return _View(Meaning.IGNORE, Confidence.LIKELY, "a frame around everything")
    if outer:
        more = [_many(outer, "closed outline", "closed outlines")]
        more += [_many(openings, "opening in it", "openings in them")] if openings else []
        more += [_many(holes, "circle of bit size", "circles of bit size")] if holes else []
        return _View(Meaning.OUTLINE, Confidence.LIKELY, ", ".join(more))
    if notches := n.get(Role.NOTCH, 0):
        text = _many(notches, "closed line", "closed lines") + " over the edge of an outline"
        return _View(Meaning.CUTOUT, Confidence.UNSURE, text)
    if openings:
        text = _many(openings, "closed line inside an outline", "closed lines inside outlines")
        if holes:
            bits = _many(holes, "circle of bit size", "circles of bit size")
            text += f"; also {bits}: better on a separate layer"
        return _View(Meaning.CUTOUT, Confidence.UNSURE if holes else Confidence.LIKELY, text)
    if holes:
        text = _many(holes, "circle of a core bit's size", "circles of a core bit's size")
        return _View(Meaning.HOLE, Confidence.LIKELY, text)
    if shapes.has(Role.OVERLAY, Role.COPY):
        return _View(Meaning.EDGE, Confidence.LIKELY, "lines over an outline")
    if shapes.has(Role.BORDER):
        text = "lines that close an outline with others"
        return _View(Meaning.OUTLINE, Confidence.UNSURE, text)
    if shapes.has(Role.SEAM):
        return _View(Meaning.SEAM, Confidence.UNSURE, "a line across a part, from edge to edge")
    if shapes.has(Role.INSIDE):
        return _View(Meaning.IGNORE, Confidence.UNSURE, "open lines inside a part")
    return _View(Meaning.IGNORE, Confidence.UNSURE, "open lines outside all parts")


def _proposal(layer: _Layer, profiles: Collection[str] | None) -> Proposal:
    hints = [h for h in read_name(layer.name) if _known(h.row.profile, profiles)]
    look = _look(layer.shapes)
    # Of several words in a name the one that what is drawn bears out counts.
    hint = next((h for h in hints if look.means in _FITS[h.means]), hints[0] if hints else None)
    if hint is None or look.means not in _FITS[hint.means]:
        hint = _abbreviation(layer.name, look, profiles) or hint
        hints = hints if hint is None else [*hints, hint]
    if hint is None:
        means, confidence, reason = look.means, look.confidence, look.reason
    else:
        means = hint.means
        confidence, reason = _agreement(hint, look, layer.shapes)
    profile = _profile(means, [hint] if hint is not None and hint.full else hints)
    if means is Meaning.UNFINISHED and look.means is Meaning.IGNORE:
        # Walls of a building: not edges of parts that they do not touch.
        means = Meaning.IGNORE
    if means is Meaning.EDGE and look.means is Meaning.CUTOUT:
        # A closed line inside a part: an opening, whose edge gets this profile.
        means = Meaning.CUTOUT
    if means is Meaning.CUTOUT and look.means is Meaning.HOLE and profile is None:
        # All are circles of a core bit: drilled, whatever the word for an opening is.
        means, confidence = Meaning.HOLE, min(confidence, Confidence.LIKELY, key=_DOUBT.index)
    return Proposal(
        layer=layer.name,
        rule=LayerRule(exact_match(layer.name), means, profile, source=PROPOSED),
        confidence=confidence,
        reason=reason,
        length_mm=layer.length_mm,
        curves=layer.curves,
        texts=layer.texts,
        shapes=layer.shapes,
    )


def _abbreviation(name: str, look: _View, profiles: Collection[str] | None) -> Hint | None:
    """Return what a name may be short for, where what is drawn leaves one meaning of it."""
    fitting = [
        h
        for h in short_for(name)
        if _known(h.row.profile, profiles)
        and look.means in _FITS[h.means]
        and (h.means is not Meaning.IGNORE or look.means is Meaning.IGNORE)
        and (h.means is Meaning.OUTLINE or not _closes_alone(look))
    ]
    by_word: dict[str, list[Hint]] = {}
    for h in fitting:
        by_word.setdefault(h.word, []).append(h)
    plain = [
        hints[0]
        for hints in by_word.values()
        if len({(h.means, h.row.profile) for h in hints}) == 1
    ]
    return min(plain, key=lambda h: TRADE_WORDS.index(h.row), default=None)


def _closes_alone(look: _View) -> bool:
    return look.means is Meaning.OUTLINE and look.confidence is Confidence.LIKELY


def _with_profile(proposal: Proposal, usual: str, *, chosen: bool) -> Proposal:
    """Return a proposal whose edge has a profile, the usual one where nothing names one."""
    rule = proposal.rule
    if rule.means is not Meaning.EDGE or rule.profile is not None:
        return proposal
    rule = replace(rule, profile=usual)
    if chosen:
        return replace(proposal, rule=rule)
    reason = f"{proposal.reason}; it has no profile, {usual} is assumed"
    return replace(proposal, rule=rule, confidence=Confidence.UNSURE, reason=reason)


def _known(profile: str | None, profiles: Collection[str] | None) -> bool:
    return profile is None or profiles is None or profile in profiles


def _agreement(hint: Hint, look: _View, shapes: Shapes) -> tuple[Confidence, str]:
    """Weigh a name against the look of its layer."""
    said = f"name: {hint.word} ({hint.row.what})"
    if hint.full:
        # A guess that nothing drawn contradicts; of few letters it may be an accident.
        said = f"name: {hint.word}, short for {hint.full}? ({hint.row.what})"
        guess = Confidence.UNSURE if hint.short else Confidence.LIKELY
        if (hint.means, hint.row.profile) == (look.means, None):
            guess = look.confidence
        return guess, f"{said}; {look.reason}"
    fits = look.means in _FITS[hint.means]
    if hint.means is Meaning.IGNORE and not shapes.count:
        # Such layers are not looked at: their lines must not close what is none.
        return Confidence.LIKELY if hint.short else Confidence.SURE, said
    if not fits:
        return Confidence.UNSURE, f"{said}, but: {look.reason}"
    sure = Confidence.LIKELY if hint.short else Confidence.SURE
    if look.means is Meaning.OUTLINE and look.confidence is Confidence.UNSURE:
        sure = Confidence.LIKELY if shapes.has(Role.BORDER) else Confidence.UNSURE
    return sure, f"{said}; {look.reason}"


def _profile(means: Meaning, hints: Sequence[Hint]) -> str | None:
    """Return the profile the name says, of whichever of its words names one."""
    if means not in {Meaning.EDGE, Meaning.CUTOUT}:
        return None
    named = [h.row.profile for h in hints if h.row.profile is not None]
    edges = [h.row.profile for h in hints if h.means is Meaning.EDGE and h.row.profile is not None]
    return next(iter((*edges, *named)), None)


def with_rule(proposal: Proposal, rule: LayerRule) -> Proposal:
    """Return a proposal with the rule the user chose."""
    taken = option_text(rule) == option_text(proposal.rule)
    reason = f"confirmed; {proposal.reason}" if taken else ANSWERED
    return replace(proposal, rule=rule, confidence=Confidence.SURE, reason=reason)
