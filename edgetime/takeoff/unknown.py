"""When the outline's own layer is the one that no rule knows: say so first, and only so."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import replace
from typing import Final

from edgetime.drawing.drawing import Drawing
from edgetime.findings import Code, Finding, Severity
from edgetime.takeoff import codes
from edgetime.takeoff.layer_shapes import Role
from edgetime.takeoff.layer_use import shell_words
from edgetime.takeoff.parts import DrawingTakeOff
from edgetime.takeoff.proposals import UNWORKED, propose
from edgetime.tooling.layers import USUAL_PROFILE, LayerRules, Meaning, bare_layer, option_text

FOLLOWS: Final[tuple[Code, ...]] = (
    codes.PROFILE_TEXT_LOOSE,
    codes.OPEN_CHAIN,
    codes.EDGE_STRAY,
    codes.CUTOUT_OUTSIDE,
    codes.SEAM_LOOSE,
    codes.NO_PARTS,
)
"""What a missing outline makes of sound curves."""

MOST_SEGMENTS: Final = 50_000
"""A larger drawing is not read a second time to find the cause."""

Retake = Callable[[LayerRules], DrawingTakeOff]


def outline_first(
    found: DrawingTakeOff,
    drawing: Drawing,
    rules: LayerRules,
    retake: Retake,
    *,
    core_diameters_mm: Collection[float],
    command: str,
) -> DrawingTakeOff:
    """Blame the unknown layer that holds the outlines for the findings it causes.

    The drawing is taken off once more as if the layers that look like outlines were outlines;
    findings that are gone then are left out, but for the one that there is no part.

    Parameters
    ----------
    found : DrawingTakeOff
        As the rules have it.
    drawing : Drawing
        What was read.
    rules : LayerRules
        What its layers mean.
    retake : callable
        Takes the drawing off by other rules.
    core_diameters_mm : collection of float
        Core bits on hand [mm].
    command : str
        The command that proposes rules.
    """
    follows = [f for f in found.findings if f.kind in FOLLOWS]
    unmatched = any(use.rule is None for use in found.layers)
    if not follows or not unmatched or len(drawing.bulge) > MOST_SEGMENTS:
        return found
    proposals = propose([drawing], rules, core_diameters_mm=core_diameters_mm)
    bounding = [
        p
        for p in proposals
        if p.rule.means is not Meaning.IGNORE and p.shapes.has(Role.OUTER, Role.BORDER)
    ]
    if not bounding:
        return found
    trial = retake(replace(rules, rules=(*(p.rule for p in bounding), *rules.rules)))
    left = {_key(f) for f in trial.findings}
    gone = [f for f in follows if _key(f) not in left]
    if not gone or len(trial.parts) <= len(found.parts):
        return found
    once = [word for p in bounding for word in ("--layer", option_text(p.rule))]
    if not set(trial.lengths_by_profile_mm) - UNWORKED:
        once += ["--profile", USUAL_PROFILE]
    cure = f"For this run only, add {shell_words(once)}. To write rules permanently: {command}"
    others = sum(f.kind is not codes.NO_PARTS for f in gone)
    names = {p.layer.casefold() for p in bounding}
    told = [
        replace(
            f,
            message=_blame(f.message, len(names), len(trial.parts), others),
            level=Severity.ERROR,
            cure=cure,
            add=tuple(once),
        )
        if f.kind is codes.LAYER_UNMATCHED and bare_layer(f.where.layer or "").casefold() in names
        else f
        for f in found.findings
        if f.kind is codes.NO_PARTS or f not in gone
    ]
    return replace(found, findings=tuple(told))


def _blame(message: str, layers: int, parts: int, others: int) -> str:
    text = "It looks like the outline" if layers == 1 else "It looks like a part of the outlines"
    text += f": with a rule for {'it' if layers == 1 else 'these layers'} there "
    text += "is 1 part" if parts == 1 else f"are {parts} parts"
    if others == 1:
        text += "; 1 finding that follows from this is left out"
    elif others:
        text += f"; {others} findings that follow from this are left out"
    return f"{message} {text}."


def _key(finding: Finding) -> tuple[object, ...]:
    where = finding.where
    return (finding.code, where.layer, where.handle, where.x_mm, where.y_mm)
