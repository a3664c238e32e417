"""What can be doubtful about a catalogue whose files can all be used."""

from __future__ import annotations

from typing import Final

from edgetime.findings import Code, Severity

WHEEL_LOW: Final = Code(
    "wheel-low",
    Severity.WARNING,
    "The working part of a tool is not as high as the edge it works, or not as long as the hole "
    "is deep: a part of the stone stays untouched.",
    "Choose a tool with a higher working part, or correct width in the tool's file.",
)
FEED_UNUSUAL: Final = Code(
    "feed-unusual",
    Severity.WARNING,
    "A feed of a step lies outside what is usual for its operation; most often its unit is wrong.",
    "Correct the number or its unit. Feeds in programs are mm/min or in/min, hardly ever mm/s.",
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
    "A step turns its tool faster than the tool is marked for.",
    "Lower the spindle speed in the stack; a marked maximum is never exceeded.",
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
    "Replace the line by the one the message gives; the reference of the shop's files says what "
    "else the new key can express.",
)

"""All codes of the catalogue."""
