"""Words on drawings that say what to do with a part, not what it is called."""

from __future__ import annotations

import re
from collections.abc import Collection
from typing import Final

__all__ = ["reads_as_note"]

_STEMS: Final = (
    # English
    "polish", "bevel", "chamfer", "bullnos", "mitre", "mitred", "mitering", "radius", "finish",
    "unfinish", "drill", "rebat", "groov", "undermount", "thick", "toleranc", "laminat",
    # German
    "polier", "politur", "gefast", "sichtkant", "ausschnitt", "bohr", "stärke", "dicke",
    "maßstab", "gehrung", "fuge",
    # French
    "chanfrein", "épaisseur", "perça", "découpe",
    # Spanish
    "pulid", "bisel", "espesor", "taladr", "recort",
    # Italian
    "lucid", "smuss", "bisell", "spessor",
)  # fmt: skip
"""Beginnings of words: of ``polish`` come polished and polishing."""

_WORDS: Final = (
    # English
    "edge", "edges", "eased", "ogee", "cove", "miter", "raw", "sawn", "cut", "cutout", "cutouts",
    "seam", "joint", "glue", "template", "check", "note", "notes", "see", "scale", "date", "rev",
    "qty", "pcs", "hole", "holes", "visible", "exposed", "tap",
    # German, French, Spanish, Italian
    "kante", "kanten", "fase", "naht", "poli", "polie", "chant", "chants", "bord", "joint", "canto", "cantos", "junta", "corte",
    "bordo", "bordi", "taglio", "giunto", "foro", "fori",
    # what it is made of
    "granite", "quartz", "quartzite", "marble", "limestone", "travertine", "slate", "porcelain",
    "ceramic", "granit", "quarz", "marmor", "keramik", "quarzite", "granito", "mármol", "marmo",
    "cuarzo", "marbre",
)  # fmt: skip
"""Whole words: ``edge`` is a note, Edgeware is not."""

_NOTE: Final = re.compile(
    rf"\b(?:(?:{'|'.join(_STEMS)})\w*|(?:{'|'.join(_WORDS)}))\b", re.IGNORECASE
)
_MEASURE: Final = re.compile(
    r"[Øø⌀]\s*\d|\bR\s*\d|\bM\s?1\s*:\s*\d|\b1\s*:\s*\d|\d\s*(?:mm|cm|m|in|ft|°|\"|')(?!\w)",
    re.IGNORECASE,
)


def reads_as_note(text: str, profiles: Collection[str] | None) -> bool:
    """Tell whether a text says how a part is worked, measured or what it is made of.

    Parameters
    ----------
    text : str
        One line.
    profiles : collection of str or None
        Profile names of the catalogue, which are notes, too.

    Returns
    -------
    bool
    """
    if _NOTE.search(text) or _MEASURE.search(text):
        return True
    flat = f" {_spaced(text)} "
    return any(f" {_spaced(name)} " in flat for name in profiles or ())


def _spaced(text: str) -> str:
    return " ".join(re.split(r"[\W_]+", text.casefold())).strip()
