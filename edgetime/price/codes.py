"""Every kind of finding that pricing can make."""

from __future__ import annotations

from typing import Final

from edgetime.findings import Code, Severity

PRICE_ASSUMED: Final = Code(
    "price-assumed",
    Severity.NOTE,
    "shop.toml has no [price]: assumed rates are used.",
    "Add [price] to shop.toml; edgetime init writes one with every key.",
)
TOOL_COST_UNKNOWN: Final = Code(
    "tool-cost-unknown",
    Severity.WARNING,
    "A tool has no price, or no life for this stone: its wear is not in the price.",
    "Add price and [[life]] to the tool's file.",
)
CONSUMPTION_NOT_PRICED: Final = Code(
    "consumption-not-priced",
    Severity.NOTE,
    "The machine's file does not state its power or its water flow: they are not in the price.",
    "Add spindle_power, base_power and water_flow to the machine's file.",
)
ELSEWHERE_NOT_PRICED: Final = Code(
    "elsewhere-not-priced",
    Severity.WARNING,
    "Edges made elsewhere are listed and not priced.",
    "Add what the other machine costs.",
)
RECESS_NOT_PRICED: Final = Code(
    "recess-not-priced",
    Severity.WARNING,
    "Recesses and grooves are listed and not priced.",
    "Add what they cost.",
)
MINIMUM_CHARGED: Final = Code(
    "minimum-charged",
    Severity.NOTE,
    "The price of the job is below the shop's minimum; the minimum is charged.",
    "Nothing; minimum in [price] of shop.toml sets it.",
)
SEVERAL_LOADS: Final = Code(
    "several-loads",
    Severity.NOTE,
    "The lengths need more than one table load; each load has its own setup.",
    "No action if intended; otherwise choose a larger machine.",
)

PARTS_OVERRULED: Final = Code(
    "parts-overruled",
    Severity.NOTE,
    "The lengths, cutouts, holes and corners need more parts than given: no part is longer than "
    "fits the table.",
    "Correct the number of parts, or choose a larger machine.",
)
