"""What can be doubtful about a catalogue whose files can all be used."""

from __future__ import annotations

from typing import Final

from edgetime.findings import error, note, warning

WHEEL_LOW: Final = warning(
    "wheel-low",
    "The working part of a tool is lower than its edge, or shorter than its hole: part of the "
    "stone is not reached.",
    "Choose a tool with a larger working height, or correct width in the tool's file.",
)
FEED_UNUSUAL: Final = warning(
    "feed-unusual",
    "A feed of a step is outside the usual range of its operation; most often its unit is wrong.",
    "Correct the number or its unit. Feeds in programs are mm/min or in/min, rarely mm/s.",
)
FEED_ABOVE_TOOL: Final = warning(
    "feed-above-tool",
    "A step feeds its tool faster than max_feed in the tool's file or finish_feed of the step "
    "allows.",
    "Lower the feed, or correct the limit.",
)

TOO_FAST: Final = error(
    "too-fast",
    "A step runs a tool above its marked maximum speed.",
    "Lower the spindle speed in the stack; never exceed the marking.",
)
SPINDLE_LIMIT: Final = error(
    "spindle-limit",
    "A step asks for a spindle speed the machine does not reach.",
    "Lower the spindle speed in the stack, or choose another machine.",
)

OLD_KEY: Final = note(
    "old-key",
    "A file of the shop has a key under an older name; it is read with the meaning it had.",
    "Replace the line with the one in the message; see Files of a shop for the other values of "
    "the new key.",
)

"""All codes of the catalogue."""
