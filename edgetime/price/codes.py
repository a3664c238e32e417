"""Every kind of finding that pricing can make."""

from __future__ import annotations

from typing import Final

from edgetime.findings import note, warning

PRICE_ASSUMED: Final = note(
    "price-assumed",
    "shop.toml has no [price]: assumed rates are used.",
    "Add [price] to shop.toml; edgetime init writes one with every key.",
)
TOOL_COST_UNKNOWN: Final = warning(
    "tool-cost-unknown",
    "A tool has no price, or no life for this stone: its wear is not in the price.",
    "Add price and [[life]] to the tool's file.",
)
CONSUMPTION_NOT_PRICED: Final = note(
    "consumption-not-priced",
    "The machine's file does not state its power or its water flow: they are not in the price.",
    "Add spindle_power, base_power and water_flow to the machine's file.",
)
ELSEWHERE_NOT_PRICED: Final = warning(
    "elsewhere-not-priced",
    "Edges made elsewhere are listed and not priced.",
    "Add what the other machine costs.",
)
RECESS_NOT_PRICED: Final = warning(
    "recess-not-priced",
    "Recesses and grooves are listed and not priced.",
    "Add what they cost.",
)
MINIMUM_CHARGED: Final = note(
    "minimum-charged",
    "The price of the job is below the shop's minimum; the minimum is charged.",
    "Nothing; minimum in [price] of shop.toml sets it.",
)
SEVERAL_LOADS: Final = note(
    "several-loads",
    "The lengths need more than one table load; each load has its own setup.",
    "No action if intended; otherwise choose a larger machine.",
)

PARTS_OVERRULED: Final = note(
    "parts-overruled",
    "The lengths, cutouts, holes and corners need more parts than given: no part is longer than "
    "fits the table.",
    "Correct the number of parts, or choose a larger machine.",
)
