"""Prices asked for: by lengths, with something changed, for the whole list."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from decimal import Decimal
from difflib import get_close_matches
from typing import Final, NamedTuple

from edgetime.errors import PlanError, UsageError, Where
from edgetime.estimating import Estimate, Options, estimate_take_off
from edgetime.load.build import stack_serves
from edgetime.places import Place
from edgetime.price.changes import read_changes
from edgetime.price.imagined import imagined_take_offs
from edgetime.price.inquiry import Inquiry, read_inquiry
from edgetime.price.model import Quote
from edgetime.price.quote import price_loads
from edgetime.takeoff.model import Contour, TakeOff
from edgetime.tooling import Catalogue, Stack, Stone
from edgetime.units import parse_quantity

LENGTHS_ERROR: Final = Decimal("0.26")
LENGTHS_ERROR_WITH_PARTS: Final = Decimal("0.17")
"""How far the net price by lengths may lie from the one by drawing, as a share of the latter,
without and with the number of parts given [-]: the widest difference over the loads the tests
compare, rounded up to whole per cent. It comes on top of the estimate's own error."""

_KEYS: Final = ("stone", "stack", "profile", "thickness", "machine", "feed-override")


def price_lengths(
    text: str, catalogue: Catalogue, options: Options
) -> tuple[Quote, list[Estimate]]:
    """Price a job without a drawing.

    Parameters
    ----------
    text : str
        As :func:`edgetime.price.inquiry.read_inquiry` takes it.
    catalogue : Catalogue
        What it is made with.
    options : Options
        Machine, stone, stack, thickness.

    Returns
    -------
    quote : Quote
        With its wider error.
    estimates : list of Estimate
        One per table.

    Raises
    ------
    UsageError
        What was told cannot be read.
    """
    inquiry = read_inquiry(text, catalogue)
    estimates = [
        estimate_take_off(take_off, catalogue, options)
        for take_off in _laid_out(inquiry, catalogue, options.machine)
    ]
    return _price_inquiry(estimates, inquiry), estimates


def _laid_out(inquiry: Inquiry, catalogue: Catalogue, machine: str | None) -> tuple[TakeOff, ...]:
    # An unknown machine is refused where every load is made, with the names there are.
    own = catalogue.machines[catalogue.shop.machine]
    return imagined_take_offs(inquiry, catalogue, catalogue.machines.get(machine or "", own))


def _price_inquiry(estimates: list[Estimate], inquiry: Inquiry) -> Quote:
    # Where the number told could not be kept, the price is no surer than without it.
    kept = sum(len(est.load.parts) for est in estimates) == inquiry.parts
    error = LENGTHS_ERROR_WITH_PARTS if kept else LENGTHS_ERROR
    return price_loads(estimates, error=error, inquiry=inquiry)


def serving_stack(
    catalogue: Catalogue, stone: Stone, thickness_mm: float, preferred: str
) -> Stack | None:
    """Return a stack that serves a stone in a thickness: the preferred one, else by name.

    Parameters
    ----------
    catalogue : Catalogue
        With its stacks.
    stone : Stone
        What is cut.
    thickness_mm : float
        Nominal [mm].
    preferred : str
        Name of the stack to take if it serves.
    """
    names = sorted(catalogue.stacks, key=lambda name: (name != preferred, name))
    stacks = (catalogue.stacks[name] for name in names)
    return next((s for s in stacks if stack_serves(s, stone, thickness_mm)), None)


class WhatIf(NamedTuple):
    """A job with something changed.

    Attributes
    ----------
    what_if : str
        As asked.
    quote : Quote or None
        None where it cannot be made so.
    refused : str or None
        Why not.
    """

    what_if: str
    quote: Quote | None
    refused: str | None = None


def _wrong(what: str, remedy: str) -> UsageError:
    return UsageError(what, where=Where(key="--what-if"), remedy=remedy)


def read_what_if(text: str) -> dict[str, str]:
    """Read ``stone=marble stack=marble profile=ogee``.

    Parameters
    ----------
    text : str
        Keys ``stone``, ``stack``, ``profile`` (all worked outer edges, or ``OLD:NEW``),
        ``thickness``, ``machine`` and ``feed-override`` (a factor; ``feed`` for short), separated by blanks or commas; a
        value may hold blanks and a decimal comma, as ``thickness=1-1/4 in``.

    Raises
    ------
    UsageError
        A key is not known, has no value or stands twice, or there is none.
    """
    return read_changes(text, keys=_KEYS, option="--what-if", can="changed", example="stone=marble")


def _swapped(take_off: TakeOff, change: Mapping[str, str]) -> TakeOff:
    def contour(c: Contour) -> Contour:
        edges = tuple(replace(e, profile=change.get(e.profile, e.profile)) for e in c.edges)
        return replace(c, edges=edges)

    drawings = tuple(
        replace(d, parts=tuple(replace(p, outline=contour(p.outline)) for p in d.parts))
        for d in take_off.drawings
    )
    return TakeOff(drawings)


def _change_of(value: str, take_offs: Iterable[TakeOff], catalogue: Catalogue) -> dict[str, str]:
    old, sign, new = value.rpartition(":")
    worked = {
        e.profile
        for t in take_offs
        for p in t.parts
        for e in p.outline.edges
        if p.outline.place is Place.OUTER and catalogue.profiles[e.profile].finished
    }
    for name, known in ((new, [*catalogue.profiles]), (old, sorted(worked))):
        if (name or sign) and name not in known:
            near = get_close_matches(name, known, n=1)
            hint = f"Did you mean {near[0]}? " if near else ""
            raise _wrong(
                f"There is no profile {name!r} {'in this job' if name == old else 'here'}.",
                f"{hint}Known: {', '.join(known) or 'none'}.",
            )
    return dict.fromkeys([old] if sign else sorted(worked), new)


def _thickness_mm(text: str) -> float:
    """Read a thickness; a bare number is millimetres."""
    try:
        return float(text)
    except ValueError:
        return parse_quantity(text, "length")


def price_what_if(text: str, estimates: list[Estimate], quote: Quote) -> WhatIf:
    """Price a job again with something changed.

    Where the stone or its thickness changes and no stack is named, the load's own is kept if
    it serves, else the first by name that does.

    Parameters
    ----------
    text : str
        As :func:`read_what_if` takes it.
    estimates : list of Estimate
        The job as it is.
    quote : Quote
        Its price.

    Raises
    ------
    UsageError
        A key, or the profile, stone, machine or stack named, is not known.
    """
    change = read_what_if(text)
    load = estimates[0].load
    catalogue = load.catalogue
    options = estimates[0].options
    try:
        thickness = load.nominal_mm
        if "thickness" in change:
            thickness = _thickness_mm(change["thickness"])
        feed = parse_quantity(change.get("feed-override", repr(options.feed_override)), "ratio")
    except ValueError as error:
        raise _wrong(f"{text!r}: {error}", "Write thickness=20mm, feed-override=80%.") from error
    stone = change.get("stone", load.stone.name)
    stack = change.get("stack")
    if stack is None and stone in catalogue.stones:
        serves = serving_stack(catalogue, catalogue.stones[stone], thickness, load.stack.name)
        stack = load.stack.name if serves is None else serves.name
    machine = change.get("machine", load.machine.name)
    take_offs = [est.take_off for est in estimates]
    if quote.inquiry is not None:
        # Imagined parts are laid out for a table; another machine has another.
        take_offs = [*_laid_out(quote.inquiry, catalogue, machine)]
    if "profile" in change:
        swap = _change_of(change["profile"], take_offs, catalogue)
        take_offs = [_swapped(t, swap) for t in take_offs]
    options = replace(
        options,
        stone=stone,
        stack=stack,
        machine=machine,
        thickness_mm=thickness,
        actual_mm=None if "thickness" in change or "stone" in change else options.actual_mm,
        feed_override=feed,
    )
    try:
        made = [estimate_take_off(t, catalogue, options) for t in take_offs]
        if quote.inquiry is not None:
            return WhatIf(what_if=text, quote=_price_inquiry(made, quote.inquiry))
        return WhatIf(what_if=text, quote=price_loads(made))
    except UsageError as error:
        raise _wrong(error.what, error.remedy) from error
    except PlanError as error:
        return WhatIf(what_if=text, quote=None, refused=error.what)
