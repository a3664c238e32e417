"""Parts that can be measured but are probably not intended: too small, in an opening, touching."""

from __future__ import annotations

import numpy as np

from edgetime.findings import Severity
from edgetime.takeoff import codes
from edgetime.takeoff.by_layer import Sheet
from edgetime.takeoff.coincide import shared_stretches
from edgetime.takeoff.nesting import Nest
from edgetime.takeoff.notes import Notes
from edgetime.takeoff.pairs import box_pairs
from edgetime.takeoff.sound import Reporter
from edgetime.tolerances import HAND_MM, NOTHING_MM, OVERLAY_MM, STRIP_MM
from edgetime.tooling.layers import Meaning


def note_small(sheet: Sheet, nest: Nest, notes: Notes, *, units: str, mm_per_unit: float) -> None:
    """Note parts that nobody can hold; when all are so small, the units are doubted instead."""
    loops = nest.loops
    parts = np.array(nest.parts, dtype=np.int64)
    if not len(parts):
        return
    boxes = loops.boxes[parts]
    longest = (boxes[:, 2:] - boxes[:, :2]).max(axis=1)
    width = 2.0 * loops.areas[parts] / loops.lengths[parts]
    largest = float(longest.max())
    if largest < HAND_MM:
        notes.add(
            codes.PART_SMALL,
            f"The largest part is {largest:.2f} mm long, read in {units} "
            f"({mm_per_unit:g} mm each); a hand is about {HAND_MM:.0f} mm.",
            level=Severity.ERROR if largest < NOTHING_MM else None,
        )
        return
    report = Reporter(sheet, loops, notes)
    for k in np.flatnonzero((longest < HAND_MM) | (width < STRIP_MM)).tolist():
        text = f"This part is {longest[k]:.2f} mm long and {width[k]:.2f} mm wide on average; "
        if longest[k] < HAND_MM:
            text += f"less than {HAND_MM:g} mm of length cannot be held."
        else:
            text += f"less than {STRIP_MM:g} mm of width is not a strip of stone."
        tiny = longest[k] < NOTHING_MM or width[k] < 0.1 * STRIP_MM
        level = Severity.ERROR if tiny else None
        report.say(codes.PART_TOO_SMALL, int(parts[k]), text, level=level)


def note_islands(sheet: Sheet, nest: Nest, methods: dict[int, str | None], notes: Notes) -> None:
    """Note parts that lie in an opening of another part.

    Parameters
    ----------
    sheet : Sheet
        The drawing's curves.
    nest : Nest
        Its parts and openings.
    methods : dict
        How each opening is made, None for the shop's default.
    notes : Notes
        Takes the findings.
    """
    report = Reporter(sheet, nest.loops, notes)
    for part, opening in sorted(nest.islands.items()):
        precut = methods.get(opening) == "precut"
        report.say(
            codes.PART_IN_OPENING,
            part,
            f"This part lies in an opening of {report.size(opening)} in another part "
            f"({report.name(opening)}), which is "
            + ("open already." if precut else "cut out under it."),
            level=Severity.NOTE if precut else None,
        )


def note_touching(sheet: Sheet, nest: Nest, notes: Notes) -> None:
    """Note parts that share a stretch of edge which is not a seam."""
    outlines = nest.loops.select(np.array(nest.parts, dtype=np.int64))
    i, j = box_pairs(outlines.boxes, outlines.boxes, margin_mm=OVERLAY_MM)
    outlines = outlines.select(np.unique(i[i != j]))
    if not len(outlines):
        return
    table, owner = outlines.segments, outlines.owner
    shared = shared_stretches(table, table, among=True)
    one, two = owner[shared.base], owner[shared.other]
    seam = np.array([sheet.meaning(int(c)) is Meaning.SEAM for c in table.claim])
    apart = (one != two) & ~(seam[shared.base] & seam[shared.other])
    shared = shared.take(np.flatnonzero(apart))
    one, two = one[apart], two[apart]
    length = (shared.t1 - shared.t0) * table.length[shared.base]
    report = Reporter(sheet, outlines, notes)
    for a, b in sorted(set(zip(one.tolist(), two.tolist(), strict=True))):
        own = np.flatnonzero((one == a) & (two == b))
        at = table.part(shared.base[own[:1]], shared.t0[own[:1]], shared.t1[own[:1]]).start[0]
        report.say(
            codes.PARTS_TOUCH,
            b,
            f"This part shares {length[own].sum():.1f} mm of its edge with another "
            f"({report.name(a)}).",
            at,
        )
