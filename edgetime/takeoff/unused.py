"""Layer rules given as options that match no layer: most likely misspelt."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from difflib import get_close_matches
from fnmatch import fnmatchcase

from edgetime.drawing.drawing import Drawing
from edgetime.errors import Where
from edgetime.findings import Finding
from edgetime.takeoff import codes
from edgetime.tooling.layers import LayerRule, bare_layer, option_text

LISTED_MOST = 12
"""A finding names this many layers."""


def matches_any(rule: LayerRule, layers: Sequence[str]) -> bool:
    """Return whether a rule's glob matches one of some layers."""
    wanted = rule.match.casefold()
    names = {name.casefold() for layer in layers for name in (layer, bare_layer(layer))}
    return any(fnmatchcase(name, wanted) for name in names)


def unused_rules(drawings: Sequence[Drawing], rules: Sequence[LayerRule]) -> Iterator[Finding]:
    """Return a finding for each rule given as an option that matches no layer of any drawing.

    Rules of files are made for all drawings of a shop, so theirs may match none.
    """
    given = [rule for rule in rules if rule.source.startswith("--")]
    if not given:
        return
    drawn = sorted({e.layer for d in drawings for e in d.entities})
    layers = sorted({*drawn, *(name for d in drawings for name in d.layers)})
    for rule in given:
        if matches_any(rule, layers):
            continue
        plain = {name.casefold(): name for name in drawn}
        near = get_close_matches(rule.match.strip("*").casefold(), list(plain), n=1)
        hint = f"Did you mean {plain[near[0]]}? " if near else ""
        more = f" and {len(drawn) - LISTED_MOST} more" if len(drawn) > LISTED_MOST else ""
        yield Finding(
            codes.LAYER_RULE_UNUSED,
            f'{rule.source} "{option_text(rule)}" matches no layer.',
            Where(path=", ".join(d.path for d in drawings), key=rule.source),
            cure=f"{hint}Layers with curves: {', '.join(drawn[:LISTED_MOST])}{more}.",
        )
