"""What can be doubtful about a catalogue whose files can all be used."""

from __future__ import annotations

from typing import Final

from edgetime.findings import Code, Severity

WHEEL_LOW: Final = Code(
    "wheel-low",
    Severity.WARNING,
    "The working part of a tool is lower than its edge, or shorter than its hole: part of the "
    "stone is not reached.",
    "Choose a tool with a larger working height, or correct width in the tool's file.",
)
FEED_UNUSUAL: Final = Code(
    "feed-unusual",
    Severity.WARNING,
    "A feed of a step is outside the usual range of its operation; most often its unit is wrong.",
    "Correct the number or its unit. Feeds in programs are mm/min or in/min, rarely mm/s.",
)
FEED_ABOVE_TOOL: Final = Code(
    "feed-above-tool",
    Severity.WARNING,
    "A step feeds its tool faster than max_feed in the tool's file or finish_feed of the step "
    "allows.",
    "Lower the feed, or correct the limit.",
)

TOO_FAST: Final = Code(
    "too-fast",
    Severity.ERROR,
    "A step runs a tool above its marked maximum speed.",
    "Lower the spindle speed in the stack; never exceed the marking.",
)
SPINDLE_LIMIT: Final = Code(
    "spindle-limit",
    Severity.ERROR,
    "A step asks for a spindle speed the machine does not reach.",
    "Lower the spindle speed in the stack, or choose another machine.",
)

OLD_KEY: Final = Code(
    "old-key",
    Severity.NOTE,
    "A file of the shop has a key under an older name; it is read with the meaning it had.",
    "Replace the line with the one in the message; see Files of a shop for the other values of "
    "the new key.",
)

"""All codes of the catalogue."""
