"""Every kind of finding that comparing can make."""

from __future__ import annotations

from typing import Final

from edgetime.findings import Code, Severity

SET_PRICE_UNKNOWN: Final = Code(
    "set-price-unknown",
    Severity.WARNING,
    "A tool that must be bought for an alternative has no price: the break-even is unknown.",
    "Add price to the tool's file. purchase= in --with is the price of the set, not what wears "
    "off it.",
)
MACHINE_PRICE_NOT_COUNTED: Final = Code(
    "machine-price-not-counted",
    Severity.NOTE,
    "What another machine costs more to buy is not known, so the break-even is unknown; without "
    "rate= it is compared at the same rate.",
    "Write purchase= for what it costs more, and rate= for its hour, in --with; purchase=0 where "
    "the rate has the purchase in it.",
)
NO_YIELD: Final = Code(
    "yield-unknown",
    Severity.NOTE,
    "A load does not fit into the shop's shift, so loads per shift and days are unknown.",
    "Make the shift longer in [shift], or split the load.",
)

FEED_WEAR_NOT_COUNTED: Final = Code(
    "feed-wear-not-counted",
    Severity.NOTE,
    "An alternative runs tools at other feeds than the loads as they are. Their wear differs; "
    "here they wear by their lives as stated, for their files do not say how life depends on feed.",
    "Run two feeds until a tool is worn out, and put [taylor] in the tool's file: edgetime feed "
    "--trial.",
)
LIFE_BY_FEED: Final = Code(
    "life-by-feed",
    Severity.NOTE,
    "An alternative runs a tool at another feed than its life is stated for. The life is converted here "
    "by [taylor]; edgetime wear and price use it as stated.",
    "No action if that feed is intended. reference_feed in [taylor] says which feed a life holds for.",
)
LIFE_NOT_TRIED: Final = Code(
    "life-not-tried",
    Severity.WARNING,
    "An alternative runs a tool at a feed outside the tested range. Its life there is unknown: "
    "worn tools, cost, saving and break-even are unknown.",
    "Try that feed and widen range in [taylor], or compare at a feed within it.",
)
WEAR_UNKNOWN: Final = Code(
    "set-wear-unknown",
    Severity.WARNING,
    "A tool that only one of two alternatives uses has no price, or no life for this stone: what its "
    "wear costs is unknown, and so are saving and break-even.",
    "Add price and [[life]] to the tool's file.",
)
OTHER_WORK: Final = Code(
    "not-the-same-work",
    Severity.WARNING,
    "One of two alternatives does other work, or leaves work undone: what it costs less is not a saving, "
    "and the break-even is unknown.",
    "Run edgetime estimate with that alternative, and clear its errors first.",
)
SAVING_BY_WEAR: Final = Code(
    "saving-by-wear",
    Severity.NOTE,
    "An alternative runs tools at feeds at which their life is unknown. Given is how much faster than "
    "stated they may wear until a load saves nothing.",
    "Watch the wear of those tools for a month, or run the feed until a tool is worn out.",
)
FREED_HOURS: Final = Code(
    "saving-in-freed-hours",
    Severity.NOTE,
    "An alternative makes no more loads in a shift. Part of its saving, and so of its payback, is "
    "machine and labour hours that are freed; they are money only where other work fills them.",
    "Count on the saving without them, unless there is work for the freed time.",
)
BEYOND_LIMIT: Final = Code(
    "feed-beyond-limit",
    Severity.WARNING,
    "An alternative runs a step faster than the tool can take or the finish allows, as the files of "
    "the shop say: this saving is not achievable.",
    "Compare at a feed within max_feed of the tool and finish_feed of the step.",
)
FINISH_NOT_KNOWN: Final = Code(
    "finish-not-known",
    Severity.NOTE,
    "An alternative runs a fine or polishing step faster, and the finish at that feed is unknown.",
    "Find out on an offcut, and put finish_feed in the step.",
)
