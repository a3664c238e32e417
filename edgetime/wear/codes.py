"""Every kind of finding the wear can make."""

from __future__ import annotations

from typing import Final

from edgetime.findings import Code, Severity

NO_LIFE: Final = Code(
    "no-life",
    Severity.NOTE,
    "A tool's file states no life for this stone and thickness; its share of life and its cost "
    "are unknown.",
    "Add a [[life]] table to the tool's file: length, volume, g_ratio, time, holes or area.",
)
NO_PRICE: Final = Code(
    "no-price",
    Severity.NOTE,
    "A tool's file states no price; its cost is unknown.",
    'Add price = "..." with its currency to the tool\'s file.',
)
LIFE_EXCEEDED: Final = Code(
    "life-exceeded",
    Severity.WARNING,
    "A load uses more than one tool life.",
    "Have a second tool ready and plan a stop, or split the load.",
)
CONSUMPTION_UNSTATED: Final = Code(
    "consumption-unstated",
    Severity.NOTE,
    "The machine's file does not state its water flow or its power; that consumption is unknown.",
    "Add the keys named to the machine's file.",
)
