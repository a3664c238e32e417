"""Which closed lines can be measured, what they are drawn as, and what to say of the others."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from edgetime.findings import Code, Severity
from edgetime.geometry.segments import BoolArray
from edgetime.takeoff import codes
from edgetime.takeoff.by_layer import Sheet
from edgetime.takeoff.claims import Claims
from edgetime.takeoff.coincide import shared_stretches
from edgetime.takeoff.loops import Loops, retraced, same_loops, self_crossing
from edgetime.takeoff.notes import Notes
from edgetime.takeoff.pieces import Pieces
from edgetime.tooling.layers import Meaning

MIN_AREA_MM2 = 1.0
"""A smaller loop is a slip of the pen [mm²]: a 1 mm square is below the smallest core bit."""


def kinds(sheet: Sheet, loops: Loops) -> tuple[BoolArray, BoolArray]:
    """Return which loops are drawn as openings, and which of them on hole layers only."""
    opening = np.zeros(len(loops), dtype=bool)
    hole = np.zeros(len(loops), dtype=bool)
    if len(loops):

        def any_of(wanted: Meaning) -> BoolArray:
            flag = sheet.of_meaning(loops.segments, wanted)
            return np.logical_or.reduceat(flag, loops.first[:-1])

        outline, cutout = any_of(Meaning.OUTLINE), any_of(Meaning.CUTOUT)
        hole = any_of(Meaning.HOLE) & ~outline & ~cutout
        opening = (cutout | hole) & ~outline
    return opening, hole


class Reporter:
    """Writes findings about loops."""

    def __init__(self, sheet: Sheet, loops: Loops, notes: Notes) -> None:
        self.sheet, self.loops, self.notes = sheet, loops, notes

    def say(
        self, code: Code, loop: int, text: str, at: object = None, *, level: Severity | None = None
    ) -> None:
        """Add a finding about a loop, at its start unless another place is given."""
        info = self.sheet.entities[int(self.loops.lead[loop])]
        place = self.loops.segments.start[self.loops.first[loop]] if at is None else at
        self.notes.add(code, text, of=info, at=np.asarray(place).tolist(), level=level)

    def name(self, loop: int) -> str:
        """Return where a loop is, for messages."""
        return self.sheet.name(int(self.loops.lead[loop]))

    def size(self, loop: int) -> str:
        """Return how large a loop is, for messages: its diameter, or its length and width."""
        diameter = float(self.loops.circles[loop, 2])
        if math.isfinite(diameter):
            return f"{diameter:.1f} mm diameter"
        x0, y0, x1, y1 = self.loops.boxes[loop].tolist()
        return f"{x1 - x0:.1f} × {y1 - y0:.1f} mm"

    def lost(self, loop: int) -> str:
        """Return a sentence on the profiles that go with a loop left out, empty for none."""
        return lost_profiles(self.sheet, self.loops.loop(loop))


def lost_profiles(sheet: Sheet, pieces: Pieces) -> str:
    """Return a sentence on the worked edges of pieces that are in no part, empty for none."""
    length: dict[str, float] = {}
    for claim in np.unique(pieces.claim).tolist():
        profile = sheet.profile(claim)
        if profile is not None and sheet.worked(claim):
            own = float(pieces.length[pieces.claim == claim].sum())
            length[profile] = length.get(profile, 0.0) + own
    if not length:
        return ""
    return f" With it go {listed_mm(length)}."


def listed_mm(lengths: Mapping[str, float]) -> str:
    """Return lengths by profile as text: ``12.0 mm eased, 3.5 mm ogee``."""
    return ", ".join(f"{mm:.1f} mm {profile}" for profile, mm in sorted(lengths.items()))


def sound_loops(sheet: Sheet, claims: Claims, loops: Loops, notes: Notes) -> Loops:
    """Return the loops that can be measured, counter-clockwise and none twice.

    Parameters
    ----------
    sheet : Sheet
        The drawing's curves.
    claims : Claims
        Takes what loops drawn on one another say of their edge.
    loops : Loops
        Closed lines in any direction.
    notes : Notes
        Takes findings on lines that cannot be measured.
    """
    if not len(loops):
        return loops
    loops = loops.sound()
    x, y = np.round(loops.boxes[:, :2], 6).T
    # By layer rule and place: the order in which entities were drawn may not show.
    order = np.lexsort((y, x, loops.lead))
    loops = loops.select(order)
    report = Reporter(sheet, loops, notes)
    keep = np.ones(len(loops), dtype=bool)
    crossing, turning = self_crossing(loops)
    for k, place in crossing.items():
        keep[k] = False
        text = "The line crosses itself here; it is left out."
        report.say(codes.SELF_CROSSING, k, text + report.lost(k), place)
    for k in np.nonzero(keep & turning)[0].tolist():
        keep[k] = False
        text = "The line crosses or retraces itself; it is left out."
        report.say(codes.SELF_CROSSING, k, text + report.lost(k))
    for k in np.nonzero(keep & (loops.areas < MIN_AREA_MM2))[0].tolist():
        keep[k] = False
        report.say(
            codes.LOOP_TINY,
            k,
            f"A closed line of {loops.lengths[k]:.3f} mm encloses {loops.areas[k]:.4f} mm² "
            f"(at least {MIN_AREA_MM2:g} mm² count); it is left out." + report.lost(k),
        )
    for k in np.nonzero(keep & retraced(loops))[0].tolist():
        keep[k] = False
        text = "The line runs back on itself; it is left out."
        report.say(codes.SELF_CROSSING, k, text + report.lost(k))
    loops = loops.select(np.nonzero(keep)[0])
    return _counted_once(sheet, claims, loops)


def _counted_once(sheet: Sheet, claims: Claims, loops: Loops) -> Loops:
    """Return the loops without copies; what the copies say of the edge is kept.

    Of a hole, a cutout and an outline on one another the hole stays, then the cutout: the
    shop that draws a finish over a drawn opening wants that finish.
    """
    opening, hole = kinds(sheet, loops)
    loops = loops.select(np.lexsort((loops.lead, ~opening, ~hole)))
    copies = same_loops(loops)
    if not copies:
        return loops
    stays = np.arange(len(loops))
    stays[list(copies)] = list(copies.values())
    gone = np.isin(np.arange(len(loops)), list(copies))
    base = loops.select(np.flatnonzero(~gone))
    kept = np.flatnonzero(~gone)[base.owner]
    lost = np.flatnonzero(gone[loops.owner])
    over = loops.segments.take(lost)
    shared = shared_stretches(base.segments, over)
    shared = shared.take(kept[shared.base] == stays[loops.owner[lost]][shared.other])
    segments, came_from = claims.label(base.segments, shared, over, copies=False)
    for copy, first in sorted(copies.items()):
        x, y = loops.segments.start[loops.first[copy]].tolist()
        one, two = (int(loops.lead[k]) for k in (first, copy))
        claims.copied(one, two, float(loops.lengths[copy]), (x, y))
    return Loops(segments, np.searchsorted(came_from, base.first))
