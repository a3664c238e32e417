"""Advice on the drawing: corners, openings, profiles, room between parts."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial
from typing import Final

from edgetime.errors import Where
from edgetime.estimating.advice.proposal import Advice, Change, Proposal, Setup
from edgetime.estimating.advice.redraw import (
    drawn_id,
    edit_parts,
    profile_changed,
    rounder,
    up_to_tenth,
    wider,
)
from edgetime.estimating.by_hand import ByHand, by_hand
from edgetime.estimating.pipeline import Estimate
from edgetime.takeoff import Part
from edgetime.tooling import FaceUp, Profile
from edgetime.tooling.step_limits import section_near
from edgetime.toolpath.codes import KEEP_OUT, NEIGHBOUR

RARE_PROFILE_MM: Final = 1500.0
"""A profile with less edge than this in a load is worth a question: its own set of wheels
comes out of the rack for it [mm]."""

WORTH_HAND_MM: Final = 10.0
"""Hand work below this is not worth a line [mm]."""

SAME_HEIGHT_MM: Final = 0.1
"""Edges whose heights differ by less are of one height [mm]."""


def finishing_reach_mm(est: Estimate, tool: str | None = None) -> float:
    """Return the inside radius that all finishing tools of a load reach, 0 without any [mm].

    Parameters
    ----------
    est : Estimate
        The load.
    tool : str, optional
        Of one tool only, by the largest of its pieces.
    """
    at = {p.visit for p in est.plan.passes if p.step.operation.finishing}
    mounted = {(est.plan.visits[v].tool, est.plan.visits[v].piece) for v in at}
    known = est.load.catalogue.tools
    return max(
        (
            est.load.diameter_mm(piece) / 2.0 + known[name].clearance_mm
            for name, piece in mounted
            if tool in {None, name}
        ),
        default=0.0,
    )


def drawing_proposals(est: Estimate) -> Iterator[Proposal]:
    """Return what to change in the drawing, to be tried."""
    yield from _corners(est)
    yield from _turning_over(est)
    yield from _rare_profiles(est)


def drawing_advice(est: Estimate) -> Iterator[Advice]:
    """Return what to change in the drawing where no saving can be stated."""
    yield from _narrow_outlines(est)
    yield from _spacing(est)


# Corners and openings ---------------------------------------------------------------


def _hand_work(est: Estimate, needed: float) -> Iterator[tuple[Part, int, ByHand, Where]]:
    """Return part, contour, hand work and its place; copies of a part once."""
    seen: set[tuple[str, int]] = set()
    for (index, contour), hand in by_hand(est, needed).items():
        part = est.load.parts[index].part
        key = (drawn_id(est.take_off, part.part_id), contour)
        if key not in seen:
            seen.add(key)
            x, y = hand.place
            yield part, contour, hand, Where(path=part.drawing, part=part.part_id, x_mm=x, y_mm=y)


def _edited(edit: Callable[[Part, Setup], Part | None]) -> Change:
    """Return the change that draws parts anew."""

    def change(setup: Setup) -> Setup | None:
        parts = edit_parts(setup.take_off, lambda p: edit(p, setup))
        return None if parts is None else replace(setup, take_off=parts)

    return change


def _redrawn(est: Estimate, part: Part, edit: Callable[[Part, Setup], Part | None]) -> Change:
    """Return the change that draws one part anew."""
    name = drawn_id(est.take_off, part.part_id)
    return _edited(lambda p, setup: edit(p, setup) if p.part_id == name else p)


def _corners(est: Estimate) -> Iterator[Proposal]:
    """Ask for larger corners where they can be had, and for wider openings where they cannot."""
    needed = finishing_reach_mm(est)
    if not needed:
        return
    radius = up_to_tenth(needed)
    for part, contour, hand, where in _hand_work(est, needed):
        place = f"cutout {contour}" if contour else "the outline"
        name = f"{part.part_id} ({part.name}), {place}"
        if hand.corners_mm >= WORTH_HAND_MM:
            yield Proposal(
                kind="inside-radius",
                change=_redrawn(est, part, partial(_round, contour, radius)),
                say=f"{name}: {_rounder_text(radius, hand)}",
                where=where,
            )
        if contour and hand.narrow_mm >= WORTH_HAND_MM:
            by = up_to_tenth(round(radius - 0.5 * hand.width_mm, 2))
            yield Proposal(
                kind="wider-opening",
                change=_redrawn(est, part, partial(_widen, contour, by, radius)),
                say=f"{name}: {_wider_text(radius, by, hand)}",
                where=where,
            )


def _round(contour: int, radius: float, part: Part, setup: Setup) -> Part | None:
    return rounder(part, contour, radius, setup.catalogue)


def _widen(contour: int, by: float, radius: float, part: Part, _: Setup) -> Part | None:
    return wider(part, contour, by, radius)


def _rounder_text(radius: float, hand: ByHand) -> str:
    several = hand.corners > 1
    corners = f"{hand.corners} tight inside corners" if several else "tight inside corner"
    return (
        f"draw its {corners} with a radius of at least "
        f"{radius:.1f} mm (smallest now {hand.tightest_mm:.1f} mm); the largest finishing wheel "
        f"then reaches {'them' if several else 'it'}."
    )


def _wider_text(radius: float, by: float, hand: ByHand) -> str:
    return (
        f"make it at least {2.0 * radius:.1f} mm wide ({hand.width_mm:.1f} mm now, at its "
        f"narrowest), every side {by:.1f} mm further out, with inside corners of at least "
        f"{radius:.1f} mm; the largest finishing wheel then goes all round. Rounding its corners "
        "alone does not let it in."
    )


def _narrow_outlines(est: Estimate) -> Iterator[Advice]:
    """Report notches and necks of outlines: how they are widened is the designer's choice."""
    needed = finishing_reach_mm(est)
    if not needed:
        return
    for part, contour, hand, where in _hand_work(est, needed):
        if contour or hand.narrow_mm < WORTH_HAND_MM:
            continue
        yield Advice(
            kind="wider-opening",
            what=(
                f"{part.part_id} ({part.name}), the outline: a notch of {hand.width_mm:.1f} mm is "
                f"narrower than the {2.0 * needed:.1f} mm that the largest finishing wheel needs; "
                f"{hand.narrow_mm:.1f} mm are finished by hand."
            ),
            how="no saving is stated: the designer chooses which side moves",
            where=where,
            computed=False,
        )


# Profiles ---------------------------------------------------------------------------


def _lengths(est: Estimate) -> dict[str, float]:
    """Return the edge finished here, by profile, the commonest first [mm]."""
    lengths: dict[str, float] = defaultdict(float)
    for (_, profile), length in est.plan.treated_mm.items():
        lengths[profile] += length
    return dict(sorted(lengths.items(), key=lambda item: (-item[1], item[0])))


def _is_like(est: Estimate, old: Profile, new: Profile) -> bool:
    """Return whether a profile needs no work that another does not: it may take its place.

    No strip is glued on for either, both are of one height and made here, and the new one asks
    for no turning over, no other face up and no back strip that the old one does without.
    """
    sections = [section_near(p, est.load.nominal_mm) for p in (old, new)]
    heights = [section.height_mm for section in sections if section is not None]
    return (
        len(heights) == len(sections)
        and abs(heights[0] - heights[1]) <= SAME_HEIGHT_MM
        and old.made_here
        and new.made_here
        and not old.preparation
        and not new.preparation
        and new.sides <= old.sides
        and new.face_up in {old.face_up, FaceUp.EITHER, FaceUp.UP}
        and new.gauge_strip_mm <= old.gauge_strip_mm
    )


def _swapped(old: str, new: str) -> Change:
    """Return the change that gives all edges of one profile another."""
    return _edited(lambda p, _: profile_changed(p, {old: new}))


def _pairs(est: Estimate) -> Iterator[tuple[str, str, float]]:
    """Return each profile, the commonest one that may take its place, and its length [mm]."""
    known = est.load.catalogue.profiles
    lengths = {name: length for name, length in _lengths(est).items() if name in known}
    for name, length in sorted(lengths.items()):
        others = (n for n in lengths if n != name and _is_like(est, known[name], known[n]))
        new = next(others, None)
        if new is not None:
            yield name, new, length


def _turned(est: Estimate) -> int:
    """Return how many parts are turned over."""
    return sum(len(stop.parts) for stop in est.plan.stops if stop.reason == "flip")


def _asked(
    est: Estimate, kind: str, pair: tuple[str, str, float], fewer: Callable[[Estimate], int],
    what: tuple[str, str],
) -> Proposal:  # fmt: skip
    """Ask whether a profile may be another, where that makes fewer of something."""
    name, new, length = pair

    def say(other: Estimate) -> str | None:
        less = fewer(other)
        counted = f"{less} {what[0]}{'s' if less > 1 else ''} less{what[1]}"
        text = f"Ask whether the {length / 1000.0:.2f} m of {name} may be {new}: {counted}."
        return text if less > 0 else None

    where = Where(path=est.load.catalogue.profiles[name].file or None)
    return Proposal(kind=kind, change=_swapped(name, new), say=say, where=where)


def _rare_profiles(est: Estimate) -> Iterator[Proposal]:
    """Ask whether a little of one profile may be made as the rest, to save its wheels."""
    lengths = _lengths(est)
    turned = _turned(est)

    def fewer(other: Estimate) -> int:
        return len(est.cycle.visits) - len(other.cycle.visits) if _turned(other) <= turned else 0

    for name, new, length in _pairs(est):
        if length <= RARE_PROFILE_MM and (lengths[new], new) >= (length, name):
            yield _asked(est, "rare-profile", (name, new, length), fewer, ("tool change", ""))


def _turning_over(est: Estimate) -> Iterator[Proposal]:
    """Ask about profiles that have parts turned over half way."""
    now = _turned(est)
    known = est.load.catalogue.profiles
    for name, new, length in _pairs(est) if now else ():
        if known[name].sides > 1 or known[name].face_up is FaceUp.DOWN:
            pair = name, new, length
            what = "part", " to flip half way"
            yield _asked(est, "turning-over", pair, lambda other: now - _turned(other), what)


# Room -------------------------------------------------------------------------------


_APART: Final = {NEIGHBOUR.name: "Move the parts apart", KEEP_OUT.name: "Clear the way"}


def _spacing(est: Estimate) -> Iterator[Advice]:
    """Turn what the clearance check found into one line per pair of parts."""
    for finding in est.paths.findings:
        if finding.code in _APART:
            yield Advice(
                kind="spacing",
                what=f"{_APART[finding.code]}: {finding.message}",
                how="no saving is stated: the load cannot run safely as placed",
                where=finding.where,
                computed=False,
            )
