"""Names and ids of parts: by block, by text, by position."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence

from edgetime.drawing.drawing import Entity

_POSITION = re.compile(r"row \d+, \d+(st|nd|rd|th)")
_COPY = re.compile(r" \(\d+\)$")

Box = tuple[float, float, float, float]


def ordinal(n: int) -> str:
    """Return 1st, 2nd, 3rd, 4th, …, 11th, 12th, 13th, …, 21st."""
    if n % 100 in {11, 12, 13}:
        return f"{n}th"
    return f"{n}{({1: 'st', 2: 'nd', 3: 'rd'}).get(n % 10, 'th')}"


def in_rows(boxes: Sequence[Box]) -> list[list[int]]:
    """Return the boxes in rows from the top, each row from left to right.

    A row begins with the highest box that is left and takes in every box whose middle is
    above that box's lower edge.

    Parameters
    ----------
    boxes : sequence of (x_min, y_min, x_max, y_max)
        One per part [mm].
    """

    def key(k: int) -> tuple[float, float, float]:
        x0, y0, _, y1 = boxes[k]
        return (-round(y1, 3), round(y0, 3), round(x0, 3))

    # From the top; a row is what has its middle above the bottom of its first part.
    left = sorted(range(len(boxes)), key=key)
    rows = []
    while left:
        floor = boxes[left[0]][1]
        row = [left[0]]
        rest: list[int] = []
        at = 1
        # Sorted by their tops: from the first that ends below the row, none has its middle in it.
        while at < len(left) and boxes[left[at]][3] > floor - 1.0:
            _, y0, _, y1 = boxes[left[at]]
            row_or_rest = row if round(0.5 * (y0 + y1) - floor, 3) >= 0.0 else rest
            row_or_rest.append(left[at])
            at += 1
        row.sort(key=lambda k: (round(boxes[k][0], 3), *key(k)))
        rows.append(row)
        left = rest + left[at:]
    return rows


def block_names(outlines: Sequence[Entity]) -> list[str | None]:
    """Return for each part the name its block gives it, None for none.

    The outermost block names a part that is alone in its INSERT. Where one INSERT holds
    several parts, the innermost block names each, if that is another one. Names that a
    program has made up (they begin with ``*``) count for nothing.
    """
    held = Counter(e.insert for e in outlines if e.insert >= 0)
    out: list[str | None] = []
    for info in outlines:
        own = [b for b in info.blocks if not b.startswith("*")]
        if not own:
            out.append(None)
        elif held[info.insert] <= 1:
            out.append(own[0])
        else:
            out.append(own[-1] if len(own) > 1 else None)
    return out


def unique_names(names: Sequence[str]) -> list[str]:
    """Return the names with `` (2)``, `` (3)`` … behind the second and later of a kind."""
    seen: Counter[str] = Counter()
    taken = set(names)
    used: set[str] = set()
    out = []
    for name in names:
        seen[name] += 1
        unique = name
        while unique in used or (seen[name] > 1 and unique in taken):
            if unique != name:
                seen[name] += 1
            unique = f"{name} ({max(seen[name], 2)})"
        used.add(unique)
        out.append(unique)
    return out


def given_name(name: str) -> str | None:
    """Return the name that a drawing gives a part, None where it is named by its position.

    What :func:`unique_names` puts behind the second of a kind is left out.
    """
    own = _COPY.sub("", name)
    return None if _POSITION.fullmatch(own) else own
