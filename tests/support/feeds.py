"""Loads whose tools wear by their feed, for the tests of comparison and economics.

The catalogue is the small one of ``support.catalogue``; all figures are invented and round.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from edgetime.estimating import estimate_take_off
from edgetime.load import Options
from edgetime.tooling import Taylor
from support.catalogue import STEPS, a_catalogue
from support.prices import RATES, priced_tools, two_parts
from support.shifts import rules

TAYLOR = Taylor(exponent=0.4, reference_mm_per_s=None, range_mm_per_s=(10.0, 90.0))
SWAP_S = 180.0


def feed_tools(*names, taylor=TAYLOR, price="100.00", life_mm=2e4, **changes):
    """Return priced tools; those named state how their life depends on the feed."""
    return tuple(
        replace(
            t,
            taylor=taylor,
            price=Decimal(price),
            life=(replace(t.life[0], value=life_mm),),
            **changes,
        )
        if t.name in names
        else t
        for t in priced_tools()
    )


def feed_estimate(
    *, tools=None, steps=STEPS, rates=RATES, machine=None, take_off=None, swap_s=SWAP_S, **options
):
    """Return the estimate of two parts in a shop with rates and a shift."""
    catalogue = a_catalogue(
        tools=feed_tools("wheel") if tools is None else tools,
        steps=steps,
        shop={"price": rates, "file": "shop.toml", "shift": rules(tool_swap_s=swap_s)},
        machine={"water_mm3_per_s": 5e5, "spindle_w": 4e3, "base_w": 5e3, **(machine or {})},
    )
    return estimate_take_off(take_off or two_parts(), catalogue, Options(**options))


def with_stack(est, name, *, steps):
    """Return the estimate in a catalogue that has a second stack."""
    catalogue = est.load.catalogue
    stack = replace(est.load.stack, name=name, steps=tuple(steps))
    more = replace(catalogue, stacks={**catalogue.stacks, name: stack})
    return estimate_take_off(est.take_off, more, est.options)


def changed(steps, tool, **changes):
    """Return steps, those of one tool changed."""
    return tuple(replace(s, **changes) if s.tool == tool else s for s in steps)
