"""Every kind of finding that the economic feed can make."""

from __future__ import annotations

from typing import Final

from edgetime.findings import note, warning

NO_TAYLOR: Final = note(
    "feed-relation-missing",
    "The tool's file has no tool-life equation: the best feed is unknown.",
    "Wear out one tool at each of two feeds, and put [taylor] in the tool's file.",
)
COST_UNKNOWN: Final = warning(
    "feed-cost-unknown",
    "The tool has no price, or no life for this stone: the feed of least cost is unknown.",
    "Add price and [[life]] to the tool's file.",
)
SHARED_PIECE: Final = note(
    "feed-of-shared-piece",
    "Several steps of different feeds wear the same tool, so its wear at one of them is not known.",
    "Test the steps one by one, in separate stacks.",
)
OUTSIDE_DATA: Final = warning(
    "feed-outside-data",
    "Today's feed is outside the tested range: its cost is unknown.",
    "Include today's feed in the trial and widen range in [taylor], or use a feed within it.",
)
LIFE_OUTSIDE_DATA: Final = warning(
    "life-outside-data",
    "The tool's life is stated for the step's feed, which is outside the tested range, so the "
    "life within the range is unknown.",
    "Write the feed the life was found at as reference_feed in [taylor], or widen range by a "
    "trial.",
)
AT_DATA_END: Final = note(
    "best-feed-at-data-end",
    "The best feed is at an end of the tested range; a better one may lie beyond.",
    "Test a feed beyond that end before you rely on it, and widen range in [taylor].",
)
NO_ROOM: Final = warning(
    "no-feed-allowed",
    "No feed of the tested range is allowed by tool, machine and finish.",
    "Try lower feeds, or correct max_feed or finish_feed.",
)
FINISH_NOT_STATED: Final = note(
    "finish-feed-missing",
    "A fine or polishing step has no finish_feed, the highest feed with the right finish; it is "
    "not run faster than today.",
    "Find that feed on an offcut, and put finish_feed in the step.",
)
OTHER_REFERENCE: Final = note(
    "life-at-other-feed",
    "The tool's life is stated for another feed than the step's. It is converted here; "
    "edgetime wear uses it as stated.",
    "State the life at the feed the step runs at, and leave out reference_feed.",
)
