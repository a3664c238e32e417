"""Every kind of finding that comparing can make."""

from __future__ import annotations

from typing import Final

from edgetime.findings import Code, Severity

SET_PRICE_UNKNOWN: Final = Code(
    "set-price-unknown",
    Severity.WARNING,
    "A tool that must be bought for a set-up states no price: when it pays cannot be told.",
    "Add price to the tool's file. purchase= in --with tells what the set costs, not what wears "
    "off it.",
)
MACHINE_PRICE_NOT_COUNTED: Final = Code(
    "machine-price-not-counted",
    Severity.NOTE,
    "What another machine costs more to buy is not known, so when it pays cannot be told; without "
    "rate= it is compared at the same rate.",
    "Write purchase= for what it costs more, and rate= for its hour, in --with; purchase=0 where "
    "the rate has the purchase in it.",
)
NO_YIELD: Final = Code(
    "yield-unknown",
    Severity.NOTE,
    "A load does not fit into the shop's shift, so there is no yield and no days.",
    "Make the shift longer in [shift], or split the load.",
)

FEED_WEAR_NOT_COUNTED: Final = Code(
    "feed-wear-not-counted",
    Severity.NOTE,
    "A set-up runs tools at other feeds than the loads as they are. Such tools wear otherwise; "
    "here they wear by their lives as stated, for their files do not say how life depends on feed.",
    "Run two feeds until a piece is spent, and put [taylor] in the tool's file: edgetime feed "
    "--trial.",
)
LIFE_BY_FEED: Final = Code(
    "life-by-feed",
    Severity.NOTE,
    "A set-up runs a tool at another feed than its life is stated for. The life is converted here "
    "by [taylor]; edgetime wear and price take it as it stands.",
    "Nothing, where that feed is meant. reference_feed in [taylor] says which feed a life holds for.",
)
LIFE_NOT_TRIED: Final = Code(
    "life-not-tried",
    Severity.WARNING,
    "A set-up runs a tool at a feed outside of those that were tried. No life is claimed there: "
    "worn tools, cost, saving and when it pays are unknown.",
    "Try that feed and widen range in [taylor], or compare at a feed within it.",
)
WEAR_UNKNOWN: Final = Code(
    "set-wear-unknown",
    Severity.WARNING,
    "A tool that only one of two set-ups uses states no price, or no life for this stone: what its "
    "wear costs is unknown, and so are saving and when it pays.",
    "Add price and [[life]] to the tool's file.",
)
OTHER_WORK: Final = Code(
    "not-the-same-work",
    Severity.WARNING,
    "One of two set-ups leaves work undone that the other does: what it costs less is no saving, "
    "and when it pays is unknown.",
    "Run edgetime estimate with that set-up, and mend what it finds first.",
)
SAVING_BY_WEAR: Final = Code(
    "saving-by-wear",
    Severity.NOTE,
    "A set-up runs tools at feeds at which their life is not known. Told is how much faster than "
    "stated they may wear until a load saves nothing.",
    "Watch the wear of those tools for a month, or try the feed until a piece is spent.",
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
    "A set-up runs a step faster than the tool bears or than the finish is right, as the files of "
    "the shop say: what it saves is not to be had.",
    "Compare at a feed within max_feed of the tool and finish_feed of the step.",
)
FINISH_NOT_KNOWN: Final = Code(
    "finish-not-known",
    Severity.NOTE,
    "A set-up runs a fine or polishing step faster, and nothing says that the finish is right then.",
    "Find out on an offcut, and put finish_feed in the step.",
)
