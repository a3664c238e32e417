"""How edges, tools and marks look, and why.

A plan is read on a screen in the office, on paper beside the machine, in grey by a copier, and
by people who do not distinguish red from green. So nothing rests on colour alone:

* every profile has a letter, written beside its edges and in the legend;
* every profile has its own dash pattern, so that lines stay apart in grey;
* colours are the eight that Okabe and Ito chose for all kinds of colour vision (Color Universal
  Design, 2008; values from memory). Yellow is left out: on white paper it cannot be seen.

Edges that get no work, such as those against a wall, are thin and grey: what is worked stands
out. Findings have a shape for their severity, beside its colour.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from edgetime.findings import Severity


@dataclass(frozen=True, slots=True)
class Stroke:
    """How a line is drawn.

    Attributes
    ----------
    colour : str
        CSS colour.
    dash : tuple of float
        Lengths of strokes and gaps in line widths; empty for a solid line.
    width : float
        In line widths of the picture.
    """

    colour: str
    dash: tuple[float, ...] = ()
    width: float = 1.0


_BLUE, _VERMILLION, _GREEN = "#0072B2", "#D55E00", "#009E73"
_PURPLE, _ORANGE, _SKY = "#CC79A7", "#E69F00", "#56B4E9"
_GREY = "#767676"

WORKED: Final = (
    Stroke(_BLUE, (), 2.2),
    Stroke(_VERMILLION, (6, 2), 2.2),
    Stroke(_GREEN, (2, 1.5), 2.2),
    Stroke(_PURPLE, (8, 2, 1.5, 2), 2.2),
    Stroke("#000000", (10, 3), 2.2),
    Stroke(_ORANGE, (4, 1.5, 1, 1.5, 1, 1.5), 2.2),
    Stroke(_SKY, (1, 1), 2.2),
)
"""For worked profiles, in the order of their length in the load; they repeat from the eighth.

Orange and sky blue have less than 3:1 against white, so they come last.
"""

UNWORKED: Final = Stroke(_GREY, (), 0.9)
"""For edges that stay as they were sawn."""

SEAM: Final = Stroke("#000000", (1.5, 1.5), 1.2)
"""For seams: short dashes, as joints are drawn."""

DRAWN: Final = Stroke("#8a8a8a", (1, 2), 0.6)
"""Curves that belong to no part and are meant so, as they were drawn."""

UNMATCHED: Final = Stroke("#A61C00", (3, 2), 1.2)
"""Curves on layers that no rule matches."""

LOOSE: Final = Stroke("#A61C00", (1, 1.5), 1.6)
"""Curves meant for parts that are in none: open lines, stray edges."""

HAND: Final = Stroke("#A61C00", (), 4.5)
"""Under edges that no finishing tool reaches."""

CUT: Final = Stroke("#444444", (), 0.7)
LEAD: Final = Stroke("#444444", (3, 2), 0.7)
RAPID: Final = Stroke("#888888", (1, 2.5), 0.6)
"""Tool-centre paths: in the cut, leading in and out, in the air."""

SEVERITY: Final = {
    Severity.ERROR: ("#A61C00", "triangle"),
    Severity.WARNING: ("#8A5A00", "diamond"),
    Severity.NOTE: ("#3D5A80", "circle"),
}
"""Colour and shape of a finding's mark."""


def letter(index: int) -> str:
    """Return A, B, ... Z, AA, AB ... for 0, 1, ..."""
    out = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        out = chr(ord("A") + rest) + out
    return out


def profile_strokes(lengths_mm: dict[str, float], seams: set[str]) -> dict[str, Stroke]:
    """Return the stroke of each profile, the longest worked one first.

    Parameters
    ----------
    lengths_mm : dict
        Edge by profile [mm].
    seams : set of str
        Profiles that are joints.
    """
    out: dict[str, Stroke] = {}
    worked = 0
    for name in sorted(lengths_mm, key=lambda n: (-lengths_mm[n], n)):
        if name == "unfinished":
            out[name] = UNWORKED
        elif name in seams:
            out[name] = SEAM
        else:
            out[name] = WORKED[worked % len(WORKED)]
            worked += 1
    return out
