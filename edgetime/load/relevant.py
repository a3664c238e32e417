"""What the take-off found that concerns the parts to be cut."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from edgetime.errors import Where
from edgetime.findings import Finding
from edgetime.geometry.measure import bounds
from edgetime.geometry.path import FloatArray
from edgetime.load import codes
from edgetime.load.choice import chosen_parts
from edgetime.load.layout import PartChoice
from edgetime.takeoff.parts import Part, TakeOff

NEAR_MM: Final = 100.0
"""A finding this near to a part may concern it: a curve that missed its outline, a text."""


def relevant_findings(take_off: TakeOff, choice: PartChoice) -> tuple[Finding, ...]:
    """Return the findings of a take-off without those that only concern parts left out.

    Left out is what lies in a part that is not cut and in none that is, or far from all that
    are. What has no place in a drawing concerns them all. A note counts what is left out.

    Parameters
    ----------
    take_off : TakeOff
        Parts where they are drawn.
    choice : PartChoice
        Which of them are cut.
    """
    if not (choice.only or choice.without):
        return take_off.findings
    cut = {p.part_id for p in chosen_parts(take_off.parts, choice.only, choice.without)}
    out: list[Finding] = []
    dropped = 0
    for drawing in take_off.drawings:
        kept = [p for p in drawing.parts if p.part_id in cut]
        inside, others = (
            _boxes(kept),
            _boxes([p for p in drawing.parts if p.part_id not in cut]),
        )
        own = [f for f in drawing.findings if _concerns(f.where, inside, others)]
        dropped += len(drawing.findings) - len(own)
        out += own
    if dropped:
        many = f"{dropped} findings concern" if dropped != 1 else "1 finding concerns"
        out.append(
            Finding(
                codes.FINDINGS_LEFT_OUT,
                f"{many} only what is not cut in this load.",
                Where(key="--only" if choice.only else "--without"),
            )
        )
    return tuple(out)


def _boxes(parts: Sequence[Part]) -> FloatArray:
    return np.array([bounds(p.outline.path) for p in parts], dtype=np.float64).reshape(-1, 4)


def _concerns(where: Where, cut: FloatArray, others: FloatArray) -> bool:
    if where.x_mm is None or where.y_mm is None:
        return True
    to_cut, to_others = (_least_distance(b, where.x_mm, where.y_mm) for b in (cut, others))
    return to_cut <= 1.0 or (to_cut <= NEAR_MM and to_others > 1.0)


def _least_distance(boxes: FloatArray, x: float, y: float) -> float:
    """Return how far a point is from the nearest of some boxes [mm], infinite for none."""
    gaps = np.maximum(boxes[:, :2] - (x, y), 0.0) + np.maximum((x, y) - boxes[:, 2:], 0.0)
    return float(np.hypot(*gaps.T).min(initial=np.inf))
