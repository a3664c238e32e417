"""From a small load to its wear, and tools with invented lives and prices."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from edgetime.cycle import compute_cycle
from edgetime.passes import plan_passes
from edgetime.toolpath import build_tool_paths
from edgetime.wear import compute_wear
from support.catalogue import TOOLS, a_catalogue


class AtFeed:
    """Seconds of moves at their feed, rapids at 500 mm/s: time by hand is length / feed."""

    def __init__(self, moves):
        self.seconds = moves.length / np.where(np.isinf(moves.feed), 500.0, moves.feed)


def wear_and_cycle(load):
    """Return the wear of a load whose moves run at their feed, its cycle and its paths."""
    paths = build_tool_paths(plan_passes(load))
    motion = AtFeed(paths.moves)
    cycle = compute_cycle(paths, motion)
    return compute_wear(paths, motion, cycle), cycle, paths


def wear_of(load):
    """Return the wear of a load whose moves run at their feed."""
    return wear_and_cycle(load)[0]


def shop(*, machine=None, stone=None, tools=None):
    """Return the small catalogue with changes to its stone, and to tools by name."""
    changed = tuple(replace(t, **(tools or {}).get(t.name, {})) for t in TOOLS)
    out = a_catalogue(tools=changed, machine=machine)
    if stone:
        (name, record), *_ = out.stones.items()
        out.stones[name] = replace(record, **stone)
    return out


def by_piece(wear):
    """Return the pieces' wear by name."""
    return {t.piece: t for t in wear.tools}
