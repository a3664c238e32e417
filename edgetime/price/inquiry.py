"""A job without a drawing as it is typed: lengths by profile, numbers of the rest."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Final

from edgetime.errors import UnitInvalid, UsageError, Where
from edgetime.tooling import Catalogue
from edgetime.tooling.suggest import suggest
from edgetime.unit_table import FT_MM
from edgetime.units import parse_quantity

_ITEM: Final = re.compile(r"[,;]\s*(?=[^\s,;=]+\s*=)")
_FEET_AND_INCHES: Final = re.compile(
    r"""\s*(\d+)\s*(?:'|′|ft|feet|foot)\s*-?\s*(\d[\d\s./,-]*?)\s*(?:"|″|''|in|inch|inches)?\s*""",
    re.IGNORECASE,
)
"""``40 ft 6 in``, ``6' 6-1/2"``, ``6'6``: whole feet, then inches with or without their sign."""
_COUNTS: Final = ("cutouts", "plain-cutouts", "holes", "corners", "parts")
_MOST: Final = 500
_LONGEST_MM: Final = 1e6
_CORNER_EDGE_MM: Final = 300.0
"""Edge that one radius corner of 50 mm and the straight to the next take, at least [mm]."""


@dataclass(frozen=True, kw_only=True)
class Inquiry:
    """A job without a drawing: lengths by profile, numbers of the rest.

    Attributes
    ----------
    lengths_mm : dict
        Profile → length of outer edge [mm], in the order given.
    cutouts, plain_cutouts : int
        Openings with a worked edge, and those left as cut.
    holes, corners : int
        Tap holes; radius corners.
    parts : int or None
        Number of parts, None when it is not given.
    text : str
        As typed.
    """

    lengths_mm: dict[str, float] = field(default_factory=dict)
    cutouts: int = 0
    plain_cutouts: int = 0
    holes: int = 0
    corners: int = 0
    parts: int | None = None
    text: str = ""


def _wrong(what: str, remedy: str) -> UsageError:
    return UsageError(what, where=Where(key="--lengths"), remedy=remedy)


def _count(name: str, text: str) -> int:
    least = 1 if name == "parts" else 0
    if not re.fullmatch(r"\d{1,6}", text, re.ASCII) or not least <= int(text) <= _MOST:
        raise _wrong(
            f"{name}={text}: this is a whole number from {least} to {_MOST}.",
            f"Write it without a unit, such as {name}=2.",
        )
    return int(text)


def _millimetres(text: str) -> float:
    feet = _FEET_AND_INCHES.fullmatch(text)
    if feet is None:
        return parse_quantity(text, "length")
    inches = parse_quantity(f"{feet[2]} in", "length")
    if inches >= FT_MM:
        raise UnitInvalid(
            f"{text!r} has a foot or more of inches.", remedy="Correct the feet or the inches."
        )
    return parse_quantity(f"{feet[1]} ft", "length") + inches


def _length(name: str, text: str) -> float:
    try:
        length = _millimetres(text)
    except UnitInvalid as error:
        raise _wrong(
            f"{name}: {error.what}",
            error.remedy or f"Write a length with its unit, such as {name}=12.4 m.",
        ) from error
    if not 0.0 < length <= _LONGEST_MM:
        raise _wrong(
            f"{name}={text} is {length / 1000.0:g} m; a length is above 0 m and at most "
            f"{_LONGEST_MM / 1000.0:g} m.",
            "Correct the number or its unit; leave out unwanted profiles.",
        )
    return length


def read_inquiry(text: str, catalogue: Catalogue) -> Inquiry:
    """Read a job without a drawing.

    Parameters
    ----------
    text : str
        ``eased=12.4 m, half-bullnose=3 m, cutouts=2, holes=5``: profiles with a length, and
        ``cutouts`` (worked edge), ``plain-cutouts``, ``holes``, ``corners`` and ``parts`` with
        a number. A decimal comma is read, feet and inches (``6' 6"``), and names in any case.
    catalogue : Catalogue
        Gives the profiles.

    Raises
    ------
    UsageError
        A profile is not known, a length has no unit, a number is negative or too large,
        something is given twice, or nothing is asked for.
    """
    profiles = [n for n, p in catalogue.profiles.items() if p.family != "none" and p.made_here]
    known = {name: name for name in (*profiles, *_COUNTS)}
    folded = {name.casefold(): name for name in known}
    lengths: dict[str, float] = {}
    counts: dict[str, int] = {}
    for bit in filter(None, (b.strip() for b in _ITEM.split(text.strip().rstrip(",;")))):
        name, sign, value = (s.strip() for s in bit.partition("="))
        if not sign or not value:
            raise _wrong(
                f"{bit!r} is not of the form NAME=AMOUNT.",
                "Write lengths by profile and numbers of the rest, such as "
                "'eased=12.4 m, cutouts=2, holes=5'.",
            )
        name = known.get(name) or folded.get(name.casefold(), name)
        if name in lengths or name in counts:
            raise _wrong(f"{name} is given twice.", "Write the sum once.")
        if name in _COUNTS:
            counts[name] = _count(name, value)
        elif name in profiles:
            lengths[name] = _length(name, value)
        else:
            raise _wrong(f"{name!r} is not a profile this shop makes.", suggest(name, known))
    found = Inquiry(
        lengths_mm=lengths,
        cutouts=counts.get("cutouts", 0),
        plain_cutouts=counts.get("plain-cutouts", 0),
        holes=counts.get("holes", 0),
        corners=counts.get("corners", 0),
        parts=counts.get("parts"),
        text=text,
    )
    if not (lengths or found.cutouts or found.plain_cutouts or found.holes):
        raise _wrong("No quantities given.", "Specify at least one length, cutout or hole.")
    if found.corners * _CORNER_EDGE_MM > sum(lengths.values()):
        raise _wrong(
            f"{found.corners} radius corners on {sum(lengths.values()) / 1000.0:g} m of "
            f"edge; each needs at least {_CORNER_EDGE_MM / 1000.0:g} m.",
            "Correct the number of corners or the lengths.",
        )
    return found
