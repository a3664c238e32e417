"""What machine, people, tools, power and water cost: the formulas every price is made of.

A quote evaluates them over a whole load, an item or a part; the economic feed over one step at
one feed.
"""

from __future__ import annotations

import re
from typing import Final

_ATTENDED: Final = "attended_s + attendance * machine_s"

COST: Final = {
    "machine": "machine_rate * (machine_s + waiting_s) / 3600",
    "power": "electricity * energy_kwh",
    "water": "water_rate * water_m3",
    "labour": f"labour_rate * (({_ATTENDED} + bench_s) / 3600 + setup_h)",
    "hand": "hand_rate * hand_m",
    "tools": "tools",
    "material": "material",
}
"""Kind of cost → formula over the amounts of a load, an item or a part."""

REMAKES: Final = "scrap / (1 - scrap)"
"""Parts to be made again for each good one, where a share ``scrap`` of all is spoiled, the
remade ones among them: the sum of the geometric series."""

MARGIN: Final = {
    "cost": "margin * (cost + overhead)",
    "price": "margin / (1 - margin) * (cost + overhead)",
}
"""Key of ``margin_on`` → formula."""

_OF_A_STEP: Final = {
    "waiting_s": "wear * tool_swap_s",
    "attended_s": "wear * tool_swap_s",
    "tools": "wear * piece_price",
}
"""What a step has of these amounts: its worn tools and the time to replace them."""

REPLACING: Final = (
    f"{_OF_A_STEP['tools']} + (machine_rate + labour_rate) * {_OF_A_STEP['waiting_s']} / 3600"
)
"""What of a step's cost is worn tools and replacing them: the machine waits meanwhile, and
somebody is there."""


def step_cost() -> str:
    """Return the formula of a step's cost: its machine time, power, water and worn tools."""
    labour = f"labour_rate * ({_ATTENDED}) / 3600"
    formula = " + ".join((COST["machine"], COST["power"], COST["water"], labour, COST["tools"]))
    return re.sub(r"\w+", lambda m: _OF_A_STEP.get(m[0], m[0]), formula)


AMOUNTS: Final = {
    "machine_s": ("s", "machine cycle; shown by edgetime estimate --explain TOOL"),
    "waiting_s": ("s", "attended while the machine waits; none with machine_waits = false"),
    "attended_s": ("s", "loading, stops, replacing worn tools, measuring, unloading"),
    "setup_h": ("h", "once per load, shared by setup_share"),
    "bench_s": ("s", "preparation steps in the profiles' files, by length of edge"),
    "energy_kwh": ("kWh", "as in edgetime wear; an item's share by its machine time"),
    "water_m3": ("m3", "as in edgetime wear; an item's share by its machine time"),
    "hand_m": ("m", "edge that no finishing tool reaches"),
    "tools": ("", "as worn, price times share of tool life: figure tools"),
    "material": ("", "used up at the bench, by length of edge"),
}
"""Name of an amount → unit, money without one, and where it comes from."""

_ATTENDED_KEYS: Final = "load_part, unload_part, flip, cup_move, slug, stop"
"""Of the machine's file; measuring and replacing tools are keys of ``[shift]``."""

MACHINE_KEYS: Final = {
    "waiting_s": _ATTENDED_KEYS,
    "attended_s": _ATTENDED_KEYS,
    "energy_kwh": "spindle_power, base_power",
    "water_m3": "water_flow",
}
"""Name of an amount → keys of the machine's file it is calculated with."""
