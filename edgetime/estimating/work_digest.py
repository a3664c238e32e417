"""What a load does, as one short text: equal work, whatever the shop's files say beside it."""

from __future__ import annotations

import hashlib
import json
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from edgetime.motion import MotionTimes
    from edgetime.toolpath import ToolPaths


def work_digest(paths: ToolPaths, motion: MotionTimes) -> str:
    """Return the SHA-256 of what a load's tools do.

    It is taken of the moves themselves, summed by visit: edge, path, stone removed, seconds,
    to nine digits, with the pieces, the machine, the stone and its thickness. So it covers just
    those figures of drawings, catalogue and options that the load uses, by what they come to:
    comments, titles, prices, lives and tools that do not run leave it as it is.
    """
    load, moves = paths.plan.load, paths.moves
    visit = np.maximum(moves.visit, 0)
    sums = [
        np.bincount(visit, weights=amount, minlength=len(paths.plan.visits))
        for amount in (moves.treated, moves.length, moves.volume, motion.seconds)
    ]
    facts = {
        "machine": load.machine.name,
        "stone": load.stone.name,
        "thickness_mm": load.nominal_mm,
        "visits": [
            [piece.piece, *(f"{amount[i]:.9g}" for amount in sums)]
            for i, piece in enumerate(paths.plan.visits)
        ],
    }
    return hashlib.sha256(json.dumps(facts, sort_keys=True).encode()).hexdigest()
