"""What the reader of a quote must know beside its figures."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from edgetime.errors import Where
from edgetime.estimating import Estimate
from edgetime.findings import Finding
from edgetime.price import codes
from edgetime.price.formulas import Exact
from edgetime.price.inquiry import Inquiry
from edgetime.price.money import rounded
from edgetime.price.rates import Rates


def price_findings(
    estimates: Sequence[Estimate],
    rates: Rates,
    figures: Mapping[str, Exact],
    inquiry: Inquiry | None = None,
) -> tuple[Finding, ...]:
    """Say what is assumed, and what is not in the price."""
    found: dict[tuple[str, str], Finding] = {}

    def add(kind: str, what: str, finding: Finding) -> None:
        found.setdefault((kind, what), finding)

    shop = rates.file or None
    if not rates.own.stated:
        add("price", "", Finding(
            codes.PRICE_ASSUMED,
            f"No [price] table: {rates.own.machine_rate} {rates.currency}/h for the machine, "
            f"{rates.own.labour_rate} {rates.currency}/h for labour and others are assumed.",
            Where(path=shop, key="price"),
        ))  # fmt: skip
    for est in estimates:
        for t in est.wear.tools:
            if t.cost is None:
                missing = "price" if t.price is None else "life for this stone and thickness"
                file = est.load.catalogue.tools[t.tool].file
                add("tool", t.tool, Finding(
                    codes.TOOL_COST_UNKNOWN,
                    f"{t.tool} states no {missing}; its wear is not in the price.",
                    Where(path=file or None, key="price" if t.price is None else "life"),
                ))  # fmt: skip
        used, machine = est.wear.consumables, est.load.machine
        if used.electricity_kwh is None or used.water_l is None:
            add("consumption", machine.name, Finding(
                codes.CONSUMPTION_NOT_PRICED,
                f"Machine {machine.name} does not state all of its power and water.",
                Where(path=machine.file or None),
            ))  # fmt: skip
        for profile, length in est.plan.elsewhere_mm.items():
            add("elsewhere", profile, Finding(
                codes.ELSEWHERE_NOT_PRICED,
                f"{length / 1000:.3f} m of {profile} are made elsewhere.",
            ))  # fmt: skip
        for placed in est.load.parts:
            part = placed.part
            if part.recesses:
                length = sum(r.length_mm for r in part.recesses)
                add("recess", part.part_id, Finding(
                    codes.RECESS_NOT_PRICED,
                    f"{length / 1000:.3f} m of recesses in part {part.part_id}.",
                    Where(path=part.drawing, part=part.part_id, layer=part.recesses[0].layer),
                ))  # fmt: skip
    if figures["minimum"].value:
        price = figures["price"].value
        add("minimum", "", Finding(
            codes.MINIMUM_CHARGED,
            f"The job costs {rounded(price, rates.unit)} {rates.currency} net; the minimum "
            f"is {rates.own.minimum} {rates.currency}.",
            Where(path=shop, key="price.minimum"),
        ))  # fmt: skip
    if len(estimates) > 1:
        add("loads", "", Finding(
            codes.SEVERAL_LOADS,
            f"Needs {len(estimates)} table loads on machine {estimates[0].load.machine.name}.",
        ))  # fmt: skip
    parts = sum(len(est.load.parts) for est in estimates)
    if inquiry is not None and inquiry.parts not in {None, parts}:
        add("parts", "", Finding(
            codes.PARTS_OVERRULED,
            f"parts={inquiry.parts} was requested, but these lengths need {parts} parts on the "
            f"table of machine {estimates[0].load.machine.name}.",
        ))  # fmt: skip
    return tuple(found.values())
