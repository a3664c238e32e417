"""Texts on drawings that say what to do with a part, not what it is called."""

from __future__ import annotations

import re
from collections.abc import Collection
from functools import cache
from typing import Final

from edgetime.takeoff.trade_words import NOTE_WORDS, PART_WORDS, TRADE_WORDS
from edgetime.tooling.layers import Meaning

_WORK: Final = frozenset(
    (Meaning.EDGE, Meaning.UNFINISHED, Meaning.SEAM, Meaning.HOLE, Meaning.RECESS)
)
_WORK_ROWS: Final = frozenset(("texts", "opening", "undermount"))
"""Rows of other meanings whose words make a note, too: a sink or an island names a part."""

_SURE_LETTERS: Final = 6
"""A word this long is also found at the beginning of a longer one: of polish comes polishing."""

_ENDINGS: Final = "(?:s|n|e|es|en|er)?"

_MEASURE: Final = re.compile(
    r"[Øø⌀]\s*\d|\bR\s*\d|\bM\s?1\s*:\s*\d|\b1\s*:\s*\d|\d\s*(?:mm|cm|m|in|ft|°|\"|')(?!\w)",
    re.IGNORECASE,
)


def reads_as_note(text: str, profiles: Collection[str] | None) -> bool:
    """Return whether a text says how a part is worked, measured or what it is made of."""
    if _note().search(text) or _MEASURE.search(text):
        return True
    flat = f" {_spaced(text)} "
    return any(f" {_spaced(name)} " in flat for name in profiles or ())


@cache
def _note() -> re.Pattern[str]:
    """Return what finds a word of a note."""
    rows = [r.words for r in TRADE_WORDS if r.means in _WORK or r.what in _WORK_ROWS]
    words = _listed(*rows, NOTE_WORDS) - _listed(PART_WORDS)
    forms = (
        re.escape(w).replace(r"\ ", r"[\W_]+") + (r"\w*" if len(w) >= _SURE_LETTERS else _ENDINGS)
        for w in sorted(words)
    )
    return re.compile(rf"\b(?:{'|'.join(forms)})\b", re.IGNORECASE)


def _listed(*tables: dict[str, str]) -> set[str]:
    return {w for table in tables for words in table.values() for w in words.split("|")}


def _spaced(text: str) -> str:
    return " ".join(re.split(r"[\W_]+", text.casefold())).strip()
