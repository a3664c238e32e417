"""What the texts of a drawing say about its parts.

``PROFILE: eased`` on a separate line, in upper or lower case, gives a part the profile of
all outer edges that no curve gives one; ``PART: name`` names it. Without that a part is named by
the largest text in it that does not read as a note on the work; of equal ones by the first, from
the top and from the left.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass, replace

import numpy as np

from edgetime.drawing.drawing import Text
from edgetime.geometry.path import IntArray
from edgetime.takeoff import codes
from edgetime.takeoff.instructions import reads_as_note
from edgetime.takeoff.loops import Loops, holders
from edgetime.takeoff.notes import Notes
from edgetime.tooling.layers import LayerRules, Meaning

BESIDE_MM = 300.0
"""A PROFILE: text outside all parts belongs to the nearest part within this [mm]: about the
height of a few lines of text at usual plot scales, less than the gap between tops."""

_PROFILE = re.compile(r"^\s*profile\s*[:=]\s*(.+?)\s*$", re.IGNORECASE)
_PART = re.compile(r"^\s*part\s*[:=]\s*(.+?)\s*$", re.IGNORECASE)
_SIZE = re.compile(
    r"^(?=.*\d)[\d\s.,/×x*'\"]*(mm|cm|m|in|ft|inch)?[\d\s.,/×x*'\"]*$", re.IGNORECASE
)
_LONGEST_NAME = 40


@dataclass(frozen=True, slots=True)
class Labels:
    """What the texts say about one part.

    Attributes
    ----------
    profile : str or None
        Of its outer edges.
    name : str or None
        Its name.
    others : tuple of str
        Further texts that could have named it.
    """

    profile: str | None = None
    name: str | None = None
    others: tuple[str, ...] = ()


def known_profile(name: str, profiles: Collection[str] | None) -> str | None:
    """Return the catalogue's spelling of a profile, None if it has none of that name.

    Case, blanks and underscores do not matter. Without a catalogue every name is known.
    """
    slug = re.sub(r"[\s_]+", "-", name.strip()).casefold()
    if profiles is None:
        return slug
    wanted = {re.sub(r"[\s_]+", "-", p).casefold(): p for p in (*profiles, "seam", "unfinished")}
    return wanted.get(slug)


def read_labels(
    texts: tuple[Text, ...],
    rules: LayerRules,
    outlines: Loops,
    openings: Loops,
    inserts: IntArray,
    notes: Notes,
    *,
    profiles: Collection[str] | None,
) -> list[Labels]:
    """Read profile and name of every part from the texts in and beside it.

    Parameters
    ----------
    texts : tuple of Text
        The drawing's texts.
    rules : LayerRules
        Texts on ignored layers are not read.
    outlines : Loops
        One per part.
    openings : Loops
        A text in one of them names the opening, not the part.
    inserts : (n,) integer array
        INSERT instance of each part.
    notes : Notes
        Takes findings on unknown profiles and texts that belong nowhere.
    profiles : collection of str or None
        The catalogue's names.
    """
    usable = []
    for text in texts:
        rule = rules.rule_for(text.layer)
        if text.visible and not (rule is not None and rule.means is Meaning.IGNORE):
            usable.append(text)
    usable.sort(key=lambda t: (-round(t.y_mm, 3), round(t.x_mm, 3), t.text))
    owner = _owners(usable, outlines, inserts)
    in_opening = [k >= 0 for k in _around(usable, openings)]
    named: dict[int, list[Text]] = {}
    plain: dict[int, list[Text]] = {}
    profile: dict[int, str] = {}
    for text, part, opening in zip(usable, owner, in_opening, strict=True):
        for line in text.text.splitlines():
            if found := _PROFILE.match(line):
                _take_profile(text, found[1], part, outlines, profile, notes, profiles)
            elif part < 0:
                continue
            elif found := _PART.match(line):
                named.setdefault(part, []).append(replace(text, text=found[1]))
            elif not opening and _is_name(line) and not reads_as_note(line, profiles):
                plain.setdefault(part, []).append(replace(text, text=line.strip()))
    return [
        Labels(profile.get(k), *_chosen(named.get(k) or _largest(plain.get(k, []))))
        for k in range(len(outlines))
    ]


def _chosen(texts: list[Text]) -> tuple[str | None, tuple[str, ...]]:
    """Return the first text and the others that say something else."""
    names = list(dict.fromkeys(t.text for t in texts))
    return (names[0], tuple(names[1:])) if names else (None, ())


def _largest(texts: list[Text]) -> list[Text]:
    """Return the texts by size, the largest first; sizes within a twentieth are one."""
    left = list(texts)
    out: list[Text] = []
    while left:
        least = max(t.height_mm for t in left) / 1.05
        out += [t for t in left if t.height_mm >= least]
        left = [t for t in left if t.height_mm < least]
    return out


def _is_name(line: str) -> bool:
    text = line.strip()
    return (
        0 < len(text) <= _LONGEST_NAME and any(c.isalpha() for c in text) and not _SIZE.match(text)
    )


def _owners(texts: list[Text], outlines: Loops, inserts: IntArray) -> list[int]:
    """Return the part each text lies in: the smallest around it, else its block's only part."""
    owner = _around(texts, outlines)
    for k, part in enumerate(owner):
        if part < 0 and texts[k].insert >= 0:
            own = np.nonzero(inserts == texts[k].insert)[0]
            if len(own) == 1:
                owner[k] = int(own[0])
    return owner


def _around(texts: list[Text], loops: Loops) -> list[int]:
    """Return the smallest loop around each text, -1 for none."""
    points = np.array([[t.x_mm, t.y_mm] for t in texts]).reshape(-1, 2)
    return list(holders(loops, points).tolist())


def _take_profile(
    text: Text,
    said: str,
    part: int,
    outlines: Loops,
    profile: dict[int, str],
    notes: Notes,
    profiles: Collection[str] | None,
) -> None:
    at = (text.x_mm, text.y_mm)
    name = known_profile(said, profiles)
    if name is None:
        message = f"The text names profile {said!r}; the catalogue has none of that name."
        notes.add(codes.PROFILE_UNKNOWN, message, of=text, at=at)
        return
    if part < 0:
        part, distance = _beside(text, outlines)
        if distance > BESIDE_MM:
            far = f"the nearest is {distance:.0f} mm away" if part >= 0 else "there is none"
            message = f"PROFILE: {name} is inside no part; {far}, at most {BESIDE_MM:.0f} mm count."
            notes.add(codes.PROFILE_TEXT_LOOSE, message, of=text, at=at)
            return
    first = profile.setdefault(part, name)
    if first != name:
        message = f"PROFILE: {name} is beside PROFILE: {first} in one part; {first} counts."
        notes.add(codes.PROFILE_TEXT_LOOSE, message, of=text, at=at)


def _beside(text: Text, outlines: Loops) -> tuple[int, float]:
    if not len(outlines):
        return -1, float("inf")
    at = np.array([text.x_mm]), np.array([text.y_mm])
    _, distance = outlines.segments.shape.nearest(*at)
    k = int(distance.argmin())
    return int(outlines.owner[k]), float(distance[k])
