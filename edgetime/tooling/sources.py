"""The key ``source`` of a file: where its figures come from."""

from __future__ import annotations

from typing import Any

from edgetime.tooling.kinds import Kind, Refused
from edgetime.tooling.suggest import shown


class Sources(Kind):
    """Where figures come from: a sentence, or a table of sentences by key."""

    form = "a sentence, or a table of sentences by key with one for all others"

    def parse(self, value: Any) -> str:
        """Return the sentence for the figures that have none of their own."""
        return sentences(value)[""]


def sentences(value: Any) -> dict[str, str]:
    """Return the sentences of ``source`` by key; the one for all other figures under ``""``.

    Raises
    ------
    Refused
        Neither of the two forms.
    """
    form = "Write a sentence, or a table with all = and a sentence per key."
    if isinstance(value, str) and value.strip():
        return {"": value.strip()}
    if not isinstance(value, dict) or not value:
        raise Refused(f"{shown(value)} is not a source.", form)
    for key, text in value.items():
        if not (isinstance(text, str) and text.strip()):
            raise Refused(f"Found {shown(text)} where the source of {key} belongs.", form)
    if "all" not in value:
        raise Refused(
            "The table has no sentence for the remaining figures.", 'Add all = "..." to it.'
        )
    return {"" if k == "all" else k: text.strip() for k, text in value.items()}
