"""Make a load of a take-off: choose machine, stone and stack, place the parts, check them."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping
from typing import Final, TypeVar, Unpack

from edgetime.choices import CUTOUT_METHODS, RUN_ORDERS
from edgetime.errors import NothingToCut, StackMissing, UsageError, Where
from edgetime.findings import Finding
from edgetime.load import codes
from edgetime.load.checks import load_findings
from edgetime.load.layout import apart_findings, lay_parts
from edgetime.load.load import Load, PlacedPart
from edgetime.load.options import Choices, Options
from edgetime.load.place import placed_keep_outs
from edgetime.takeoff.codes import LAYER_UNMATCHED
from edgetime.takeoff.parts import TakeOff
from edgetime.tooling import Catalogue, Stack, Stone
from edgetime.tooling.suggest import suggest

FEED_OVERRIDE_RANGE: Final = (0.01, 5.0)
"""Feed override allowed, 1 % to 500 % [-]: beyond it a percentage was meant."""

THICKNESS_RANGE_MM: Final = (3.0, 300.0)
"""Slab thickness allowed [mm]: from thin sintered sheets to a solid block; beyond it a unit
is wrong."""

DIAMETER_SLACK_MM: Final = 0.5
"""A tool may measure this much more than new, or less than spent, without a finding [mm]: makers
round their diameters, and callipers slip."""

_Record = TypeVar("_Record")
_Word = TypeVar("_Word", bound=str)


def _one_of(name: _Word, allowed: Collection[_Word], what: str, key: str) -> _Word:
    if name not in allowed:
        remedy = suggest(name, sorted(allowed))
        raise UsageError(f"No {what} {name!r}.", where=Where(key=key), remedy=remedy)
    return name


def _choose(records: Mapping[str, _Record], name: str, what: str) -> _Record:
    return records[_one_of(name, records, what, f"--{what}")]


def _check_range(
    value: float, allowed: tuple[float, float], what: str, key: str, unit: str = ""
) -> None:
    low, high = allowed
    if not (math.isfinite(value) and low <= value <= high):
        raise UsageError(
            f"The {what} is {value:g}{unit}; it may be from {low:g}{unit} to {high:g}{unit}.",
            where=Where(key=key),
            remedy=f"Choose the {what} within that range.",
        )


def check_feed_override(factor: float) -> float:
    """Return a feed override.

    Parameters
    ----------
    factor : float
        Multiplies every cutting feed [-].

    Raises
    ------
    UsageError
        It is outside :data:`FEED_OVERRIDE_RANGE`.
    """
    low, high = FEED_OVERRIDE_RANGE
    if not (math.isfinite(factor) and low <= factor <= high):
        raise UsageError(
            f"The feed override is {factor:g}; it may be from {low:g} to {high:g} "
            f"({low:.0%} to {high:.0%}).".replace("%", " %"),
            where=Where(key="--feed-override"),
            remedy="Give a factor such as 0.8 for an override of 80 %.",
        )
    return float(factor)


def stack_serves(stack: Stack, stone: Stone, nominal_mm: float) -> bool:
    """Return whether a stack serves a stone in a nominal thickness.

    Parameters
    ----------
    stack : Stack
        With the stones and thicknesses it serves; an empty tuple serves all.
    stone : Stone
        By name or family.
    nominal_mm : float
        Nominal thickness [mm], within ``NOMINAL_MATCH_MM`` of one served.
    """
    return stack.suits_stone(stone) and stack.suits_thickness(nominal_mm)


def _check_stack(catalogue: Catalogue, stack: Stack, stone: Stone, nominal_mm: float) -> None:
    if stack_serves(stack, stone, nominal_mm):
        return
    stones = ", ".join(stack.stones) or "all stones"
    served = ", ".join(f"{t:g} mm" for t in stack.thicknesses_mm) or "all thicknesses"
    fitting = sorted(
        s.name for s in catalogue.stacks.values() if stack_serves(s, stone, nominal_mm)
    )
    remedy = (
        f"Choose a stack that suits it: {', '.join(fitting)}."
        if fitting
        else "No stack in the catalogue suits it; add one to the shop's stacks folder."
    )
    raise StackMissing(
        f"Stack {stack.name!r} serves {stones} in {served}, not {stone.name} in {nominal_mm:g} mm.",
        where=Where(path=stack.file or None, key="--stack"),
        remedy=remedy,
    )


def _thicknesses(chosen: Options, default_mm: float, spread_mm: float) -> tuple[float, float]:
    """Return the nominal and the actual thickness [mm]."""
    nominal = default_mm if chosen.thickness_mm is None else chosen.thickness_mm
    _check_range(nominal, THICKNESS_RANGE_MM, "thickness", "--thickness", " mm")
    actual = nominal + spread_mm if chosen.actual_mm is None else chosen.actual_mm
    _check_range(actual, THICKNESS_RANGE_MM, "actual thickness", "--actual-thickness", " mm")
    return float(nominal), float(actual)


def _real_diameters(
    catalogue: Catalogue, diameters_mm: Mapping[str, float] | None
) -> dict[str, float]:
    out: dict[str, float] = {}
    for name, value in (diameters_mm or {}).items():
        tool, slash, profile = name.partition("/")
        _one_of(tool, catalogue.tools, "tool", "--diameter")
        if slash and not catalogue.tools[tool].profiled:
            raise UsageError(
                f"{tool} is not ground to a profile; one wheel serves all of them.",
                where=Where(key="--diameter"),
                remedy=f"Write {tool} without a profile.",
            )
        if slash:
            _one_of(profile, catalogue.profiles, "profile", "--diameter")
        # A wheel wears smaller, or is a like one of another size; ten times is a slip.
        new = catalogue.tools[tool].diameter_mm
        range_mm = (0.1 * new, 10.0 * new)
        _check_range(value, range_mm, f"diameter of {name}", "--diameter", " mm")
        out[name] = float(value)
    return out


def _diameter_findings(
    catalogue: Catalogue, diameters_mm: Mapping[str, float]
) -> Iterable[Finding]:
    """Return which real diameters the tools cannot have: larger than new, or past being spent."""
    for name, has in diameters_mm.items():
        tool = catalogue.tools[name.partition("/")[0]]
        spent = tool.diameter_mm - 2.0 * (tool.usable_depth_mm or 0.5 * tool.diameter_mm)
        if spent - DIAMETER_SLACK_MM <= has <= tool.diameter_mm + DIAMETER_SLACK_MM:
            continue
        least = f", and worn out at {spent:.1f} mm" if tool.usable_depth_mm is not None else ""
        yield Finding(
            codes.DIAMETER_UNLIKELY,
            f"{name} is given as {has:.1f} mm; it is {tool.diameter_mm:.1f} mm when new{least}.",
            Where(path=tool.file or None, key="diameter"),
        )


def _measured_findings(catalogue: Catalogue, stack: Stack, chosen: Options) -> Iterable[Finding]:
    """Return which diameters were read from a ledger, of the tools that the stack uses."""
    if chosen.measured is None:
        return
    works = {step.tool for step in stack.steps}
    told = [
        f"{name} {chosen.diameters_mm[name]:.1f} mm ({piece}; "
        f"{catalogue.tools[tool].diameter_mm:.1f} mm when new)"
        for name, piece in chosen.measured.items()
        for tool in (name.partition("/")[0],)
        if tool in works
    ]
    yield Finding(
        codes.DIAMETERS_MEASURED,
        f"Diameters last measured: {', '.join(told)}; the other tools as new."
        if told
        else "The ledger has no diameter other than new of a tool mounted for this load.",
    )


def _unmatched_text(take_off: TakeOff) -> str:
    names = list(
        dict.fromkeys(
            f.where.layer
            for f in take_off.findings
            if f.kind is LAYER_UNMATCHED and f.where.layer is not None
        )
    )
    if not names:
        return ""
    more = f" and {len(names) - 6} more" if len(names) > 6 else ""
    return f" No layer rule matches these layers: {', '.join(names[:6])}{more}."


def _no_part_remedy(take_off: TakeOff) -> str:
    unmatched = [f for f in take_off.findings if f.kind is LAYER_UNMATCHED]
    if not unmatched:
        return (
            "Run edgetime takeoff on them: its findings show which lines are in no part, and why."
        )
    # The outline's own layer, where it is among them, is an error: it comes first.
    return max(unmatched, key=lambda f: f.severity.rank).remedy


def _no_part_options(take_off: TakeOff) -> tuple[str, ...]:
    """Return the options that the findings of all drawings ask for, each once."""
    pairs = [p for f in take_off.findings for p in zip(f.add[::2], f.add[1::2], strict=True)]
    return tuple(word for pair in dict.fromkeys(pairs) for word in pair)


def make_load(
    take_off: TakeOff,
    catalogue: Catalogue,
    options: Options | None = None,
    **choices: Unpack[Choices],
) -> Load:
    """Lay the parts of a take-off on a machine's table.

    Parameters
    ----------
    take_off : TakeOff
        Parts of all drawings.
    catalogue : Catalogue
        Machines, stones, stacks, tools and the shop's defaults.
    options : Options, optional
        What is chosen; everything as the shop has it when omitted.
    **choices : Choices
        Single options by name: ``stack="marble"``.

    Returns
    -------
    Load
        With the findings of this stage.

    Raises
    ------
    UsageError
        A name is unknown, or a number is out of range.
    StackMissing
        The stack does not suit the stone or the thickness.
    NothingToCut
        The take-off holds no part, or none is left.
    """
    chosen = (options or Options()).having(**choices)
    shop = catalogue.shop
    the_machine = _choose(catalogue.machines, chosen.machine or shop.machine, "machine")
    the_stone = _choose(catalogue.stones, chosen.stone or shop.stone, "stone")
    the_stack = _choose(catalogue.stacks, chosen.stack or shop.stack, "stack")
    nominal, actual = _thicknesses(chosen, shop.thickness_mm, the_stone.thickness_spread_mm)
    method = _one_of(
        chosen.cutout_method or shop.cutout_method, CUTOUT_METHODS, "cutout method", "--cutouts"
    )
    order = _one_of(chosen.order or shop.order, RUN_ORDERS, "order", "--order")
    override = check_feed_override(chosen.feed_override)
    diameters = _real_diameters(catalogue, chosen.diameters_mm)
    if not take_off.parts:
        raise NothingToCut(
            "The drawings contain no parts, so there is nothing to "
            "cut." + _unmatched_text(take_off),
            where=Where(path=", ".join(d.path for d in take_off.drawings) or None),
            remedy=_no_part_remedy(take_off),
            add=_no_part_options(take_off),
        )
    _check_stack(catalogue, the_stack, the_stone, nominal)
    laid = lay_parts(
        take_off,
        catalogue,
        the_stack,
        the_machine,
        diameters_mm=diameters,
        place=chosen.place,
        choice=chosen.choice,
    )
    parts = tuple(PlacedPart(part=p, nominal_mm=nominal, actual_mm=actual) for p in laid)
    return Load(
        parts=parts,
        machine=the_machine,
        stack=the_stack,
        stone=the_stone,
        catalogue=catalogue,
        cutout_method=method,
        diameters_mm=diameters,
        feed_override=override,
        order=order,
        findings=(
            *apart_findings(take_off, catalogue, chosen.choice),
            *load_findings(tuple(p.part for p in parts), the_machine),
            *_diameter_findings(catalogue, diameters),
            *_measured_findings(catalogue, the_stack, chosen),
        ),
        keep_outs=(*placed_keep_outs(take_off, chosen.place), *the_machine.keep_outs),
    )
