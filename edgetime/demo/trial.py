"""A tool of the demo whose life by the feed is stated, invented as all of it."""

from __future__ import annotations

from typing import Final

TRIED_TOOL: Final = "tools/metal-1.toml"
"""File of the demo's shop that states how the life depends on the feed."""

_SOURCE: Final = (
    'taylor = "Invented for the demo: nobody ran these trials; replace it by your own."\n'
)
_RELATION: Final = """
[taylor]
exponent = 0.5                    # n of v T^n = C
range = ["1.0 m/min", "3.2 m/min"]
"""


def with_trial(text: str) -> str:
    """Return a tool's file with an invented relation of life and feed."""
    return text.replace("[source]\n", f"[source]\n{_SOURCE}", 1) + _RELATION
