"""Advice on the tooling: the stack, smaller wheels, cutouts cut before, pockets."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Final

from edgetime.errors import Where
from edgetime.estimating.advice.drawing import WORTH_HAND_MM, finishing_reach_mm
from edgetime.estimating.advice.proposal import Change, Proposal, Setup
from edgetime.estimating.advice.redraw import edit_parts
from edgetime.estimating.by_hand import by_hand
from edgetime.estimating.pipeline import Estimate
from edgetime.load.make_load import stack_serves
from edgetime.places import Place
from edgetime.takeoff import Part
from edgetime.tooling import Catalogue, Operation, Tool
from edgetime.tooling.shop_files import SHIPPED
from edgetime.toolpath.reach import InsideCorners

SMALLEST_WHEEL_MM: Final = 10.0
"""Smaller radii are not tried [mm]: a wheel below 20 mm has no room for its hub."""

WHEELS_TRIED: Final = 3
"""How many radii are tried, the smallest first."""

FASTER: Final = 1.25
"""A tool that another stack feeds so much faster may have to be one of another kind [-]: metal
feeds are trimmed by a quarter, see the ranges of the sensitivity."""

FINISH: Final = frozenset(
    {Operation.ROUGH, Operation.SEAM, Operation.GAUGE, Operation.PROFILE, Operation.POLISH}
)
"""What another stack must do to an edge as well. A fine wheel between metal and pads may go."""


def setup_proposals(est: Estimate) -> Iterator[Proposal]:
    """Return what to change in the tooling, to be tried."""
    yield from _smaller_wheel(est)
    yield from _precut_cutouts(est)
    yield from _other_stack(est)
    yield from _pockets(est)


def _is_own(file: str) -> bool:
    """Return whether a file is the shop's, not one that comes with the program."""
    return not file.startswith(f"{SHIPPED}/")


def _has_shop(catalogue: Catalogue) -> bool:
    """Return whether the catalogue has a shop folder over it."""
    kinds: tuple[Mapping[str, object], ...] = (
        catalogue.stacks, catalogue.tools, catalogue.machines, catalogue.profiles, catalogue.stones,
    )  # fmt: skip
    files = [getattr(record, "file", "") for kind in kinds for record in kind.values()]
    return any(map(_is_own, [catalogue.shop.file, *files]))


# Smaller wheels ---------------------------------------------------------------------


def _radii_mm(est: Estimate, largest: float) -> list[float]:
    """Return the radii that hand work asks for: of tight corners, and half of narrow places."""
    found: set[float] = set()
    for (part, contour), hand in by_hand(est, largest).items():
        path = est.load.parts[part].part.contours()[contour].path
        found |= {r for r in InsideCorners(path).radius.tolist() if 0.0 < r < largest}
        if hand.narrow_mm:
            found.add(0.5 * hand.width_mm)
    # Down to a hundredth; widths are measured to a few ten-thousandths.
    return sorted({math.floor(100.0 * r + 0.1) / 100.0 for r in found if r >= SMALLEST_WHEEL_MM})


def _mounted(diameters: Mapping[str, float]) -> Change:
    """Return the change that has tools of other diameters."""

    def change(setup: Setup) -> Setup:
        tools = {
            name: replace(tool, diameter_mm=diameters[name]) if name in diameters else tool
            for name, tool in setup.catalogue.tools.items()
        }
        # One size for all pieces of a tool.
        left = {
            piece: size
            for piece, size in setup.options.diameters_mm.items()
            if piece.partition("/")[0] not in diameters
        }
        return replace(
            setup,
            catalogue=replace(setup.catalogue, tools=tools),
            options=replace(setup.options, diameters_mm=left),
        )

    return change


def _owned(est: Estimate, wanted: Mapping[str, float]) -> str:
    """Say which tools of the shop are that small, and that the rest must be bought."""
    tools = est.load.catalogue.tools
    kinds = dict.fromkeys(tools[name].kind for name in wanted)
    most = max(wanted.values())
    like = {
        kind: [t.name for t in tools.values() if t.kind is kind and t.diameter_mm <= most + 1e-6]
        for kind in kinds
    }
    have = [name for names in like.values() for name in names]
    lacking = [str(kind) for kind, names in like.items() if not names]
    said = f" The catalogue has {', '.join(have)}." if have else ""
    if lacking:
        said += f" To buy: {' and '.join(lacking)} of that size."
    return said


def _smaller_wheel(est: Estimate) -> Iterator[Proposal]:
    """Try wheels that fit the load's own inside radii and narrow openings."""
    if est.cycle.hand_mm < WORTH_HAND_MM:
        return
    known = est.load.catalogue.tools
    names = dict.fromkeys(p.step.tool for p in est.plan.passes if p.step.operation.finishing)
    tools: list[Tool] = [known[name] for name in names]
    largest = finishing_reach_mm(est)
    for radius in _radii_mm(est, largest)[:WHEELS_TRIED]:
        smaller = {
            t.name: round(2.0 * (radius - t.clearance_mm), 2)
            for t in tools
            if finishing_reach_mm(est, t.name) > radius
        }
        if not smaller or any(d <= known[name].shaft_mm for name, d in smaller.items()):
            continue
        said = (
            f"Finish with wheels and pads of {min(smaller.values()):g} mm diameter in place of "
            f"{', '.join(smaller)}: they enter corners and openings that admit a radius of "
            f"{radius:g} mm.{_owned(est, smaller)}"
        )
        yield Proposal(
            kind="smaller-wheel",
            change=_mounted(smaller),
            say=said,
            where=Where(path=est.load.stack.file or None),
        )


# Cutouts ----------------------------------------------------------------------------


def _precut(part: Part) -> Part:
    return replace(part, cutouts=tuple(replace(c, method="precut") for c in part.cutouts))


def _precut_change(setup: Setup) -> Setup | None:
    parts = edit_parts(setup.take_off, _precut)
    options = replace(setup.options, cutout_method="precut")
    return None if parts is None else replace(setup, take_off=parts, options=options)


def _precut_cutouts(est: Estimate) -> Iterator[Proposal]:
    milled = {
        p.run.part
        for p in est.plan.passes
        if p.step.operation is Operation.CUT and p.run.place is Place.CUTOUT
    }
    if not milled:
        return
    names = ", ".join(est.load.parts[i].part.part_id for i in sorted(milled))
    shop = est.load.catalogue.shop
    left = shop.stock_mm.get(shop.precut_source, 0.0)
    said = (
        f"Have the cutouts of {names} cut before loading ({shop.precut_source}, {left:g} mm of "
        "stock left; that machine's own time is not counted here)."
    )
    yield Proposal(
        kind="precut-cutouts",
        change=_precut_change,
        say=said,
        where=Where(path=shop.file or None, key="cutout_method"),
    )


# Stacks -----------------------------------------------------------------------------


def _done(est: Estimate) -> set[tuple[int, str, Operation]]:
    """Return what is done to which profile of which part, as far as another stack must."""
    names = est.plan.profiles
    return {
        (p.run.part, names[tag], p.step.operation)
        for p in est.plan.passes
        if p.step.operation in FINISH
        for tag in set(p.run.path.tags.tolist())
    }


def _feeds(est: Estimate) -> dict[str, float]:
    """Return the greatest feed of each tool [mm/s]."""
    feeds: dict[str, float] = {}
    for p in est.plan.passes:
        feeds[p.step.tool] = max(feeds.get(p.step.tool, 0.0), p.feed_mm_per_s)
    return feeds


def _ownership(est: Estimate, other: Estimate) -> str:
    """Report whether the shop has a stack, and which tools it needs beyond today's."""
    catalogue = est.load.catalogue
    said = ""
    if _has_shop(catalogue) and not _is_own(other.load.stack.file):
        said = (
            " It is shipped with edgetime and not in the shop folder: its feeds and speeds are "
            "assumptions."
        )
    today, then = _feeds(est), _feeds(other)
    more = [tool for tool in then if tool not in today]
    bought = [tool for tool in more if not _is_own(catalogue.tools[tool].file)]
    mounted = [tool for tool in more if tool not in bought]
    faster = [tool for tool in then if tool in today and then[tool] > FASTER * today[tool]]
    if bought:
        said += f" Tools to buy, not in the shop folder: {', '.join(bought)}."
    if mounted:
        said += f" Tools to mount in addition to today's: {', '.join(mounted)}."
    if faster:
        said += (
            f" It feeds {', '.join(faster)} more than {FASTER:g} times as fast; buy tools made "
            "for that if yours are not."
        )
    return said


def _other_stack(est: Estimate) -> Iterator[Proposal]:
    done = _done(est)
    for stack in est.load.catalogue.stacks.values():
        name = stack.name
        if name == est.load.stack.name or not stack_serves(
            stack, est.load.stone, est.load.nominal_mm
        ):
            continue

        def change(setup: Setup, name: str = name) -> Setup:
            return replace(setup, options=replace(setup.options, stack=name))

        def say(other: Estimate) -> str | None:
            if done - _done(other):
                return None
            stack = other.load.stack
            return (
                f"Run the stack {stack.name} ({stack.title}) instead of {est.load.stack.name}."
                f"{_ownership(est, other)}"
            )

        yield Proposal(
            kind="other-stack", change=change, say=say, where=Where(path=stack.file or None)
        )


# Pockets ----------------------------------------------------------------------------


def _pockets(est: Estimate) -> Iterator[Proposal]:
    """Say what tools that do not fit the rack cost."""
    machine = est.load.machine
    stops = sum(stop.reason == "pocket" for stop in est.plan.stops)
    if not stops:
        return
    pieces = len({v.piece for v in est.plan.visits})

    def change(setup: Setup) -> Setup:
        machines = dict(setup.catalogue.machines)
        machines[machine.name] = replace(
            machines[machine.name], pockets=max(pieces, machines[machine.name].pockets)
        )
        return replace(setup, catalogue=replace(setup.catalogue, machines=machines))

    said = (
        f"The load needs {pieces} tools and {machine.name} has {machine.pockets} pockets: {stops} "
        f"{'are' if stops > 1 else 'is'} swapped by hand while the program waits. A rack of "
        f"{pieces} pockets saves these stops; so do fewer profiles in one load."
    )
    yield Proposal(
        kind="pockets",
        change=change,
        say=said,
        where=Where(path=machine.file or None, key="pockets"),
    )
