"""Names, and what a misspelt one most likely means."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable

NAME = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
"""Names of profiles, tools, stacks, machines and stones, and so of their files."""


def closest(word: str, known: Iterable[str]) -> str | None:
    """Return the known word that the given one most likely means, None for none.

    Returns
    -------
    str or None
        The nearest by difflib's ratio, at least 0.6.
    """
    near = difflib.get_close_matches(word.casefold(), list(known), n=1, cutoff=0.6)
    return near[0] if near else None


def suggest(word: str, known: Iterable[str], called: str = "Allowed") -> str:
    """Return a remedy that names the nearest known word, and all that are known as what they are."""
    names = list(known)
    near = closest(word, names)
    hint = f"Did you mean {near}? " if near is not None else ""
    return f"{hint}{called}: {', '.join(names)}." if names else hint.strip()


def shown(value: object) -> str:
    """Return a value as its TOML file would show it, shortened.

    Returns
    -------
    str
        At most 60 characters.
    """
    if isinstance(value, bool):
        text = "true" if value else "false"
    elif isinstance(value, str):
        text = f'"{value}"'
    elif isinstance(value, dict):
        text = "a table"
    elif isinstance(value, list):
        text = "a list"
    else:
        text = str(value)
    return text if len(text) <= 60 else f"{text[:57]}..."
