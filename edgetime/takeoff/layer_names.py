"""What a layer's name says, by the words of the trade in it."""

from __future__ import annotations

import re
import unicodedata
from collections import defaultdict
from dataclasses import dataclass
from functools import cache
from typing import Final

from edgetime.takeoff.trade_words import FILLERS, TRADE_WORDS, TradeWords
from edgetime.tooling.layers import Meaning, bare_layer

_WORD = re.compile(r"[^\W\d_]+|\d+", re.UNICODE)
_HUMP = re.compile(r"(?<=[a-zà-ÿ])(?=[A-ZÀ-Þ])")
_UMLAUTS: Final = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "ß": "ss", "æ": "ae", "ø": "oe"})
_ENDINGS: Final = ("s", "n", "e", "x", "es", "en", "er")
_LINKS: Final = ("", "s", "n", "en", "es")
_LONGEST_PHRASE: Final = 4
_SHORTEST: Final = 3
"""Letters of an abbreviation; of so few that of one word and not of another is an accident."""

_VOWEL = re.compile("[aeiouy]")
_TWICE = re.compile(r"(.)\1+")
_SURE_LETTERS: Final = 5
"""A word this long is found at the beginning or end of a longer one whatever the rest is."""


@dataclass(frozen=True, slots=True)
class Hint:
    """One thing a name says.

    Attributes
    ----------
    row : TradeWords
        The row of the table.
    word : str
        The word found, as the name has it.
    short : bool
        An abbreviation of three letters or fewer: less sure.
    full : str
        The word that it may be short for, ``""`` where it is a word itself.
    """

    row: TradeWords
    word: str
    short: bool
    full: str = ""

    @property
    def means(self) -> Meaning:
        """What it speaks for."""
        return self.row.means


def _forms(text: str) -> set[str]:
    """Return a word with umlauts as two letters, and with its accents left off."""
    low = text.casefold().replace("ss", "ß") if "ß" in text else text.casefold()
    spelt = low.translate(_UMLAUTS)
    return {_plain(spelt), _plain(low.replace("ß", "ss"))}


def _plain(text: str) -> str:
    return "".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c))


@cache
def _table() -> dict[str, tuple[int, ...]]:
    """Word without blanks → rows of the table."""
    found: dict[str, list[int]] = defaultdict(list)
    for k, row in enumerate(TRADE_WORDS):
        for words in row.words.values():
            for phrase in words.split("|"):
                for form in _forms(phrase.replace(" ", "")):
                    if k not in found[form]:
                        found[form].append(k)
    return {word: tuple(rows) for word, rows in found.items()}


def _stem(word: str) -> str | None:
    """Return the table's word that this one is, a plural or an inflected form allowed."""
    table = _table()
    if word in table:
        return word
    for ending in _ENDINGS:
        base = word.removesuffix(ending)
        if base != word and len(base) >= (3 if ending == "s" else 4) and base in table:
            return base
    return None


@cache
def _split(word: str) -> tuple[str, ...] | None:
    """Split a compound into words of the table and fillers, None where it is none."""
    if _stem(word) is not None or word in FILLERS:
        return (word,)
    # The longest head first: compounds are read as their longest known words.
    for at in range(len(word) - 3, 2, -1):
        head = word[:at]
        heads = [head.removesuffix(link) for link in _LINKS if head.endswith(link)]
        known = next((h for h in heads if len(h) > 2 and (_stem(h) or h in FILLERS)), None)
        if known is not None and (rest := _split(word[at:])) is not None:
            return (known, *rest)
    return None


def _inside(word: str) -> list[str]:
    """Return the words of the table in one word of a name."""
    parts = _split(word)
    if parts is not None:
        return [p for p in parts if _stem(p) is not None]
    out = [
        known
        for known in _table()
        if len(known) >= _SURE_LETTERS and (word.startswith(known) or word.endswith(known))
    ]
    longest: list[str] = []
    for known in sorted(out, key=len, reverse=True):
        if not any(known in other for other in longest):
            longest.append(known)
    return longest


def read_name(layer: str) -> tuple[Hint, ...]:
    """Return what the words in a layer's name speak for, the strongest first.

    Whole words and compounds count, phrases before their single words; umlauts may be
    written as two letters or without dots. The name of a bound drawing before ``$0$`` does
    not count.
    """
    hints: dict[int, Hint] = {}
    for words in _words(layer):
        for word in _found(words):
            base = _stem(word) or word
            for k in _table()[base]:
                hints.setdefault(k, Hint(TRADE_WORDS[k], word, len(word) <= 3))
    return tuple(hints[k] for k in sorted(hints))


def short_for(layer: str) -> tuple[Hint, ...]:
    """Return what words in a layer's name may be short for.

    An abbreviation is how a word of the trade begins (``FREG``, ``ACOT``), or its first letter
    and consonants (``GRZ``). Many fit several words: only what is drawn can decide which.
    """
    hints: dict[int, Hint] = {}
    for words in _words(layer):
        for word in words:
            if len(word) < _SHORTEST or word in FILLERS or _inside(word):
                continue
            for full, rows in _table().items():
                if _is_short_for(word, full):
                    for k in rows:
                        hints.setdefault(k, Hint(TRADE_WORDS[k], word, len(word) <= 3, full))
    return tuple(hints[k] for k in sorted(hints))


def _is_short_for(word: str, full: str) -> bool:
    if len(full) >= len(word) + 2 and full.startswith(word):
        return True
    return not _VOWEL.search(word) and _consonants(full) == _TWICE.sub(r"\1", word)


@cache
def _consonants(word: str) -> str:
    return _TWICE.sub(r"\1", word[:1] + _VOWEL.sub("", word[1:]))


def _words(layer: str) -> list[list[str]]:
    """Return the words of a layer's name, once for each way to write umlauts."""
    spelt = unicodedata.normalize("NFC", _HUMP.sub(" ", bare_layer(layer)))
    return [
        [
            sorted(_forms(w), key=len, reverse=form == 0)[0]
            for w in _WORD.findall(spelt)
            if not w.isdigit()
        ]
        for form in range(2)
    ]


def _found(words: list[str]) -> list[str]:
    """Return the words of the table in a name, longest phrases first."""
    left: list[str | None] = list(words)
    out: list[str] = []
    for size in range(min(_LONGEST_PHRASE, len(words)), 0, -1):
        for at in range(len(words) - size + 1):
            run = left[at : at + size]
            if None in run:
                continue
            phrase = "".join(w for w in run if w is not None)
            if _stem(phrase) is not None:
                out.append(phrase)
                left[at : at + size] = [None] * size
    for word in left:
        if word is not None and word not in FILLERS:
            out += _inside(word)
    return out
