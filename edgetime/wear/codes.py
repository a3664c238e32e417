"""Every kind of finding the wear can make."""

from __future__ import annotations

from typing import Final

from edgetime.findings import note, warning

NO_LIFE: Final = note(
    "no-life",
    "A tool's file states no life for this stone and thickness; its share of life and its cost "
    "are unknown.",
    "Add a [[life]] table to the tool's file: length, volume, g_ratio, time, holes or area.",
)
NO_PRICE: Final = note(
    "no-price",
    "A tool's file states no price; its cost is unknown.",
    'Add price = "..." with its currency to the tool\'s file.',
)
LIFE_EXCEEDED: Final = warning(
    "life-exceeded",
    "A load uses more than one tool life.",
    "Have a second tool ready and plan a stop, or split the load.",
)
CONSUMPTION_UNSTATED: Final = note(
    "consumption-unstated",
    "The machine's file does not state its water flow or its power; that consumption is unknown.",
    "Add the keys named to the machine's file.",
)
