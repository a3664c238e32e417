"""Changes as they are typed: ``stone=marble``, ``stack=fast-metal,feed-override=110%``."""

from __future__ import annotations

import re
from collections.abc import Sequence
from difflib import get_close_matches
from typing import Final

from edgetime.errors import UsageError, Where

_CHANGE: Final = re.compile(r"(?:^|[\s,]+)(?=[^\s,=]+\s*=)")
"""Where a change begins: only before a key, for a value may hold blanks and a comma."""

_SHORT = {"feed": "feed-override"}
"""Short for a key, wherever changes are typed."""


def read_changes(
    text: str, *, keys: Sequence[str], option: str, can: str, example: str
) -> dict[str, str]:
    """Read ``KEY=VALUE`` bits, each key at most once.

    Parameters
    ----------
    text : str
        The changes, separated by commas or blanks; a value may hold either.
    keys : sequence of str
        Those that are known.
    option : str
        Where they were typed, for messages.
    can : str
        What is done with a key: ``changed``, ``compared``.
    example : str
        One change.

    Raises
    ------
    UsageError
        A key is not known, has no value or stands twice, or there is none.
    """

    def wrong(what: str, remedy: str) -> UsageError:
        return UsageError(what, where=Where(key=option), remedy=remedy)

    found: dict[str, str] = {}
    for bit in filter(None, (b.strip(" ,") for b in _CHANGE.split(text))):
        key, _, value = (b.strip() for b in bit.partition("="))
        key = _SHORT.get(key, key)
        if key not in keys:
            near = get_close_matches(key, keys, n=1)
            hint = f"Did you mean {near[0]}? " if near else ""
            raise wrong(
                f"{key!r} in {text!r} is nothing that can be {can}.",
                f"{hint}Known: {', '.join(keys)}.",
            )
        if not value or key in found:
            what = f"{key} stands twice" if key in found else f"{key} has no value"
            raise wrong(f"{what} in {text!r}.", f"Write {key}=VALUE once.")
        found[key] = value
    if not found:
        raise wrong("Nothing is changed.", f"Write at least one change, such as {example}.")
    return found
