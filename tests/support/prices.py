"""Rates and quotes for the tests of price: round figures, and figures told a second way."""

from __future__ import annotations

import ast
import re
from dataclasses import replace
from decimal import (
    ROUND_CEILING,
    ROUND_HALF_EVEN,
    ROUND_HALF_UP,
    Decimal,
    localcontext,
)

from edgetime.estimating import estimate_take_off
from edgetime.load import Options
from edgetime.takeoff.parts import DrawingTakeOff, TakeOff
from edgetime.tooling import Life, PriceRates
from support.catalogue import TOOLS, a_catalogue, a_cutout, a_part
from support.shapes import circle, rectangle

RATES = PriceRates(
    key="price",
    currency="EUR",
    machine_rate=Decimal(72),
    electricity=Decimal("0.30"),
    water=Decimal(5),
    labour_rate=Decimal(36),
    setup_h=Decimal("0.5"),
    attendance=Decimal("0.1"),
    hand_rate=Decimal(50),
    overhead=Decimal("0.10"),
    margin=Decimal("0.25"),
    minimum=Decimal(10),
)


def priced_tools(currency="EUR", **prices):
    """Return the small catalogue's tools with a price and a life of 100 m each."""
    life = (Life("length", 1e5, key="life[1].length"),)
    return tuple(
        replace(
            t,
            price=Decimal(prices.get(t.name.replace("-", "_"), "100.00")),
            currency=currency,
            life=life,
            file=f"tools/{t.name}.toml",
        )
        for t in TOOLS
    )


def two_parts():
    """Return a take-off: a part with a round cutout and a hole, and a part with a seam."""
    opening = a_cutout(circle(500.0, 500.0, 150.0), "eased")
    first = a_part(
        rectangle(1200.0, 600.0, x=600.0, y=500.0),
        ["eased", "eased", "unfinished", "eased"],
        opening,
        holes=((1000.0, 700.0, 35.0),),
        name="p01",
    )
    second = a_part(
        rectangle(800.0, 600.0, x=1900.0, y=500.0),
        ["half-bullnose", "seam", "unfinished", "unfinished"],
        name="p02",
    )
    drawing = DrawingTakeOff("load.dxf", "mm", 1.0, "", (0.0, 0.0), {}, {}, (first, second), ())
    return TakeOff((drawing,))


def an_estimate(*, tools=None, rates=RATES, take_off=None, machine=None, **options):
    """Return the estimate of the two parts, or others, with rates."""
    catalogue = a_catalogue(
        tools=priced_tools() if tools is None else tools,
        shop={"price": rates, "file": "shop.toml"},
        machine={"water_mm3_per_s": 5e5, "spindle_w": 4e3, "base_w": 5e3, **(machine or {})},
    )
    return estimate_take_off(take_off or two_parts(), catalogue, Options(**options))


def told_of(quote, parts=None) -> str:
    """Return what would be told of a job on the telephone: its lengths and numbers."""
    lengths: dict[str, float] = {}
    counts = {"parts": parts} if parts else {}
    for line in quote.lines:
        kind, _, profile = line.item.partition(":")
        if kind == "profile" and line.quantity:
            lengths[profile] = float(line.quantity)
        elif kind == "cutout":
            name = "plain-cutouts" if profile == "unfinished" else "cutouts"
            counts[name] = counts.get(name, 0) + int(line.quantity)
        elif kind in {"holes", "corners"}:
            counts[kind] = int(line.quantity)
    told = [f"{name}={length!r} m" for name, length in lengths.items()]
    return ", ".join([*told, *(f"{name}={n}" for name, n in counts.items())])


def _rule(rounding):
    def to(x, step):
        return (x / step).quantize(Decimal(1), rounding) * step

    return to


def recomputed(formula: str, facts: dict[str, str]) -> Decimal:
    """Return what a formula gives, by Python's own arithmetic on the facts as told."""
    names = {
        "round_half_up": _rule(ROUND_HALF_UP),
        "round_half_even": _rule(ROUND_HALF_EVEN),
        "round_up": _rule(ROUND_CEILING),
        "max": max,
        "D": Decimal,
        **{name: Decimal(value) for name, value in facts.items()},
    }
    body = re.sub(r"(?<![\w.])(\d+)(?![\w.])", r"D(\1)", formula)
    with localcontext() as context:
        context.prec = 50
        tree = compile(ast.parse(body, mode="eval"), "<formula>", "eval")
        return eval(tree, {"__builtins__": {}}, names)  # noqa: S307  our own formulas
