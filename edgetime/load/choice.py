"""Which parts of the drawings are cut, and how often."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches
from fnmatch import fnmatchcase
from typing import Final

import numpy as np

from edgetime.errors import NothingToCut, UsageError, Where
from edgetime.geometry.measure import bounds
from edgetime.geometry.path import FloatArray
from edgetime.load.moved import moved_part
from edgetime.load.place import bounds_of_parts
from edgetime.takeoff.parts import Part

MOST_COPIES: Final = 500
"""More copies than this are a slip of the keyboard: no table holds them."""

LISTED_MOST: Final = 12
"""An error names this many parts."""


@dataclass(frozen=True, slots=True)
class Copies:
    """How often one drawing lies on the table.

    Attributes
    ----------
    drawing : str or int
        The drawing's path as given, or its number in the order given, from 0.
    count : int
        All of them, the drawn one included.
    """

    drawing: str | int
    count: int


def _matches(part: Part, pattern: str) -> bool:
    wanted = pattern.casefold()
    return any(
        name == wanted or fnmatchcase(name, wanted)
        for name in (part.part_id.casefold(), part.name.casefold())
    )


def _matching(parts: Sequence[Part], pattern: str, key: str) -> set[str]:
    found = {p.part_id for p in parts if _matches(p, pattern)}
    if found:
        return found
    names = list(dict.fromkeys(n for p in parts for n in (p.part_id, p.name)))
    close = get_close_matches(pattern.casefold(), [n.casefold() for n in names], n=3)
    near = [n for n in names if n.casefold() in close]
    hint = f"Did you mean {' or '.join(map(repr, near))}? " if near else ""
    known = ", ".join(f"{p.part_id} ({p.name})" for p in parts[:LISTED_MOST])
    more = f" and {len(parts) - LISTED_MOST} more" if len(parts) > LISTED_MOST else ""
    raise UsageError(
        f"No part {pattern!r} is in the drawings.",
        where=Where(path=", ".join(dict.fromkeys(p.drawing for p in parts)) or None, key=key),
        remedy=f"{hint}Name an id or a name, * for any text: {known}{more}.",
    )


def chosen_parts(
    parts: Sequence[Part], only: Iterable[str] = (), without: Iterable[str] = ()
) -> tuple[Part, ...]:
    """Return the parts that are to be cut, in their order.

    Parameters
    ----------
    parts : sequence of Part
        All of them.
    only, without : iterable of str
        Ids or names, upper or lower case, with ``*``, ``?`` and ``[…]`` as in file names.
        All parts count where ``only`` is empty.

    Raises
    ------
    UsageError
        A pattern fits no part.
    NothingToCut
        No part is left.
    """
    wanted = [_matching(parts, pattern, "--only") for pattern in only]
    unwanted = [_matching(parts, pattern, "--without") for pattern in without]
    kept = set.union(*wanted) if wanted else {p.part_id for p in parts}
    left = kept.difference(*unwanted)
    if parts and not left:
        raise NothingToCut(
            "No part is left to cut.",
            where=Where(key="--without"),
            remedy="Leave out fewer parts, or choose others with --only.",
        )
    return tuple(p for p in parts if p.part_id in left)


def _spots(
    box: FloatArray, table_mm: tuple[float, float], step: FloatArray
) -> Iterator[FloatArray]:
    """Return the shifts of a block in a grid over the table: along the row first, then rows."""
    low = [math.ceil(-box[k] / step[k] - 1e-9) for k in (0, 1)]
    high = [math.floor((table_mm[k] - box[k + 2]) / step[k] + 1e-9) for k in (0, 1)]
    # Near the first one first: copies fill the table from where it lies.
    rows = sorted(range(low[1], high[1] + 1), key=lambda j: (abs(j), j < 0))
    places = sorted(range(low[0], high[0] + 1), key=lambda i: (abs(i), i < 0))
    for j in rows:
        for i in places:
            yield np.array([i * step[0], j * step[1]])


def _copy(parts: Sequence[Part], number: int, shift: FloatArray) -> list[Part]:
    still = np.eye(2)
    return [
        replace(
            moved_part(p, still, shift),
            part_id=f"{p.part_id}-{number}",
            name=f"{p.name}, copy {number}",
        )
        for p in parts
    ]


def with_copies(
    drawings: Sequence[Sequence[Part]],
    counts: Sequence[int],
    table_mm: tuple[float, float],
    gap_mm: float,
) -> tuple[Part, ...]:
    """Return the parts of each drawing as often as asked, laid in rows and columns.

    The first copy lies where its drawing does. The others lie beside it in a grid, first along
    the table, then across, where neither the table's edge nor another part is in the way. They
    are not turned.

    Parameters
    ----------
    drawings : sequence of sequence of Part
        The parts of each drawing on the table.
    counts : sequence of int
        How often each lies there.
    table_mm : (float, float)
        Length and width of the table [mm].
    gap_mm : float
        Between copies and from other parts [mm].

    Raises
    ------
    UsageError
        They do not fit.
    """
    out = [list(parts) for parts in drawings]
    taken = [np.array(bounds(p.outline.path)) for parts in drawings for p in parts]
    for k, (parts, count) in enumerate(zip(drawings, counts, strict=True)):
        if count <= 1 or not parts:
            continue
        box = np.array(bounds_of_parts(parts))
        size = box[2:] - box[:2]
        made = 1
        for shift in _spots(box, table_mm, size + gap_mm):
            if made == count:
                break
            spot = box + np.tile(shift, 2)
            grown = spot + gap_mm * np.array([-1.0, -1.0, 1.0, 1.0])
            if not shift.any() or _meets(grown, taken):
                continue
            made += 1
            out[k] += _copy(parts, made, shift)
            taken.append(spot)
        if made < count:
            raise UsageError(
                f"{count} copies do not fit on the table of {table_mm[0]:.0f} × "
                f"{table_mm[1]:.0f} mm: there is room for {made}, each {size[0]:.0f} × "
                f"{size[1]:.0f} mm with {gap_mm:.0f} mm between them for the wheels.",
                where=Where(path=parts[0].drawing, key="--copies"),
                remedy="Ask for fewer copies and run the load more often, lay the first into a "
                f'corner with --place "{parts[0].drawing}=0,0", or draw them as they lie.',
            )
    return tuple(p for parts in out for p in parts)


def _meets(box: FloatArray, taken: Sequence[FloatArray]) -> bool:
    """Return whether a box overlaps one of others; boxes that only touch do not."""
    others = np.array(taken)
    slack = 1e-6
    return bool(
        np.any(
            (box[0] < others[:, 2] - slack)
            & (others[:, 0] < box[2] - slack)
            & (box[1] < others[:, 3] - slack)
            & (others[:, 1] < box[3] - slack)
        )
    )
