"""Every kind of finding that comparing can make."""

from __future__ import annotations

from typing import Final

from edgetime.findings import note, warning

SET_PRICE_UNKNOWN: Final = warning(
    "set-price-unknown",
    "A tool that must be bought for an alternative has no price: the break-even is unknown.",
    "Add price to the tool's file. purchase= in --with is the price of the set, not what wears "
    "off it.",
)
MACHINE_PRICE_NOT_COUNTED: Final = note(
    "machine-price-not-counted",
    "The purchase price of another machine is not known, so the break-even is unknown; without "
    "rate= the same rate is used.",
    "Write purchase= for its price above today's machine and rate= for its hourly rate in --with; "
    "purchase=0 if the rate includes it.",
)
NO_YIELD: Final = note(
    "yield-unknown",
    "A load does not fit into the shop's shift, so loads per shift and days are unknown.",
    "Make the shift longer in [shift], or split the load.",
)

FEED_WEAR_NOT_COUNTED: Final = note(
    "feed-wear-not-counted",
    "An alternative runs tools at other feeds than today. Their wear at that feed is not known: "
    "the stated lives are used, because their files have no [taylor].",
    "Wear out one tool at each of two feeds, and put [taylor] in the tool's file: edgetime feed "
    "--trial.",
)
LIFE_BY_FEED: Final = note(
    "life-by-feed",
    "An alternative runs a tool at another feed than its life is stated for. The life is "
    "converted here "
    "by [taylor]; edgetime wear and price use it as stated.",
    "No action if intended. reference_feed in [taylor] is the feed a life is stated for.",
)
LIFE_NOT_TRIED: Final = warning(
    "life-not-tried",
    "An alternative runs a tool at a feed outside the tested range. Its life there is unknown: "
    "worn tools, cost, saving and break-even are unknown.",
    "Try that feed and widen range in [taylor], or compare at a feed within it.",
)
WEAR_UNKNOWN: Final = warning(
    "set-wear-unknown",
    "A tool that only one of two alternatives uses has no price, or no life for this stone: its "
    "wear cost, the saving and the break-even are unknown.",
    "Add price and [[life]] to the tool's file.",
)
OTHER_WORK: Final = warning(
    "not-the-same-work",
    "One of two alternatives does other work, or leaves work undone: the lower cost is not a "
    "saving, and the break-even is unknown.",
    "Run edgetime estimate with that alternative, and clear its errors first.",
)
SAVING_BY_WEAR: Final = note(
    "saving-by-wear",
    "An alternative runs tools at feeds at which their life is unknown. The note gives the "
    "break-even wear relative to the stated life.",
    "Watch the wear of those tools for a month, or run the feed until a tool is worn out.",
)
FREED_HOURS: Final = note(
    "saving-in-freed-hours",
    "An alternative makes no more loads in a shift. Part of its saving, and so of its payback, is "
    "machine and labour hours that are freed; they are money only where other work fills them.",
    "Use the saving without them, unless there is work for the freed time.",
)
BEYOND_LIMIT: Final = warning(
    "feed-beyond-limit",
    "An alternative runs a step faster than the shop's files allow for the tool or the finish: "
    "the saving is not achievable.",
    "Compare at a feed within max_feed of the tool and finish_feed of the step.",
)
FINISH_NOT_KNOWN: Final = note(
    "finish-not-known",
    "An alternative runs a fine or polishing step faster, and the finish at that feed is unknown.",
    "Find that feed on an offcut, and put finish_feed in the step.",
)
