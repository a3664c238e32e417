"""What is changed in an alternative: ``stack=fast-metal``, ``machine=large,feed-override=110%``.

One grammar, one set of keys and one way to apply them, for ``price --what-if`` and
``compare --with`` alike.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any, Final

from edgetime.amounts import separator_fault
from edgetime.errors import UnitInvalid, UsageError, Where
from edgetime.estimating import Estimate, estimate_take_off
from edgetime.estimating.advice.redraw import edit_parts, profile_changed
from edgetime.places import Place
from edgetime.price.listing import serving_stack
from edgetime.takeoff.parts import TakeOff
from edgetime.tooling import Catalogue
from edgetime.tooling.suggest import suggest
from edgetime.units import parse_quantity

KEYS: Final = (
    "stone", "stack", "profile", "thickness", "machine", "feed-override", "rate", "purchase",
)  # fmt: skip

_SHORT: Final = {"feed": "feed-override"}
"""Short for a key."""

_CHANGE: Final = re.compile(r"(?:^|[\s,]+)(?=[^\s,=]+\s*=)")
"""Where a change begins: only before a key, for a value may hold blanks and a comma."""

_MONEY: Final = re.compile(r"(\d+(?:\.\d+)?)\s*([A-Z]{3})?(?:/h)?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """What is changed against the loads as they are; None for what is not.

    Attributes
    ----------
    text, option : str
        As written, and with which option, for messages.
    stack, machine, stone : str or None
        Names.
    profile : str or None
        For all worked outer edges, or ``OLD:NEW``.
    thickness_mm : float or None
        Nominal [mm].
    feed_override : float or None
        Factor on all cutting feeds [-].
    rate : Decimal or None
        Of the machine, per hour.
    purchase : Decimal or None
        What must be bought for it, instead of its further tools.
    currency : str
        As written with an amount, ``""`` for none.
    """

    text: str
    option: str = "--with"
    stack: str | None = None
    machine: str | None = None
    stone: str | None = None
    profile: str | None = None
    thickness_mm: float | None = None
    feed_override: float | None = None
    rate: Decimal | None = None
    purchase: Decimal | None = None
    currency: str = ""

    @property
    def other_product(self) -> bool:
        """Whether what is sold is another thing: stone, thickness or profile."""
        return any(x is not None for x in (self.stone, self.profile, self.thickness_mm))

    def wrong(self, what: str, remedy: str) -> UsageError:
        """Return the refusal of this change."""
        return UsageError(f"{self.text!r}: {what}", where=Where(key=self.option), remedy=remedy)

    def check_currency(self, currency: str) -> None:
        """Refuse an amount in another currency than the shop's."""
        if self.currency and self.currency != currency:
            raise self.wrong(
                f"{self.currency} is not the shop's currency, {currency}.",
                f"Write the amount in {currency}.",
            )


def _bits(change: Change) -> dict[str, str]:
    """Return the values of the keys of a change, as written."""
    found: dict[str, str] = {}
    for bit in filter(None, (b.strip(" ,") for b in _CHANGE.split(change.text))):
        key, _, value = (b.strip() for b in bit.partition("="))
        key = _SHORT.get(key, key)
        if key not in KEYS:
            raise change.wrong(f"{key!r} cannot be changed.", suggest(key, KEYS))
        if not value or key in found:
            what = f"{key} is given twice." if key in found else f"{key} has no value."
            raise change.wrong(what, f"Write {key}=VALUE once.")
        found[key] = value
    if not found:
        raise change.wrong("Nothing is changed.", "Write at least one change: stack=NAME.")
    return found


def _thickness(text: str) -> float:
    """Read a thickness; a bare number is millimetres."""
    try:
        return float(text)
    except ValueError:
        return parse_quantity(text, "length")


def _amount(change: Change, key: str, value: str) -> tuple[Decimal, str]:
    match = _MONEY.fullmatch(value)
    if match is not None:
        return Decimal(match[1]), match[2] or ""
    fault = separator_fault(value)
    if fault is not None:
        raise change.wrong(f"{key} is not an amount of money: {fault[0]}.", fault[1])
    raise change.wrong(
        f"{value!r} is not an amount of money.", f"Write {key}=1200 or {key}=1200.00EUR."
    )


def read_change(text: str, option: str = "--with") -> Change:
    """Read a change.

    Parameters
    ----------
    text : str
        ``KEY=VALUE``, separated by commas or blanks, each of :data:`KEYS` at most once; ``feed``
        is short for ``feed-override``. A value may hold blanks and a decimal comma, as
        ``thickness=1-1/4 in``.
    option : str
        Where it was typed, for messages.

    Raises
    ------
    UsageError
        A key is not known, has no value or is given twice, there is none, or a value cannot be
        read.
    """
    change = Change(text=text, option=option)
    found = _bits(change)
    made: dict[str, Any] = {k: found.get(k) for k in ("stack", "machine", "stone", "profile")}
    try:
        if "thickness" in found:
            made["thickness_mm"] = _thickness(found["thickness"])
        if "feed-override" in found:
            made["feed_override"] = parse_quantity(found["feed-override"], "ratio")
    except UnitInvalid as error:
        raise change.wrong(error.what, "Write thickness=20mm, feed-override=110%.") from error
    amounts = {k: _amount(change, k, found[k]) for k in ("rate", "purchase") if k in found}
    currencies = {code for _, code in amounts.values() if code}
    if len(currencies) > 1:
        raise change.wrong("Two currencies.", "Write all money in the shop's currency.")
    made |= {key: amount for key, (amount, _) in amounts.items()}
    return replace(change, **made, currency=next(iter(currencies), ""))


def _catalogue_with(catalogue: Catalogue, change: Change) -> Catalogue:
    if change.rate is None:
        return catalogue
    shop = catalogue.shop
    price = replace(shop.price, machine_rate=change.rate, machine_hour=None)
    key = shop.file, "price.machine_rate"
    raw = {**catalogue.raw, key: f"{change.option} {change.text}"}
    return replace(catalogue, shop=replace(shop, price=price), raw=raw)


def _profiles(change: Change, take_offs: Iterable[TakeOff], catalogue: Catalogue) -> dict[str, str]:
    """Return the profiles to replace, each with the new one."""
    old, sign, new = (change.profile or "").rpartition(":")
    worked = {
        e.profile
        for t in take_offs
        for p in t.parts
        for e in p.outline.edges
        if p.outline.place is Place.OUTER and catalogue.profiles[e.profile].finished
    }
    for name, known in ((new, [*catalogue.profiles]), (old, sorted(worked))):
        if (name or sign) and name not in known:
            place = "in this job" if name == old else "here"
            raise change.wrong(f"There is no profile {name!r} {place}.", suggest(name, known))
    return dict.fromkeys([old] if sign else sorted(worked), new)


def estimates_with(
    estimates: Sequence[Estimate], change: Change, take_offs: Sequence[TakeOff] | None = None
) -> list[Estimate]:
    """Return the same loads with a change.

    Where no stack is named, the load's own is kept if it suits, else the first by name that does.

    Parameters
    ----------
    estimates : sequence of Estimate
        The loads as they are.
    change : Change
        What is changed.
    take_offs : sequence of TakeOff, optional
        What lies on the tables, where that is not what lay there.

    Raises
    ------
    UsageError
        There is no stone, stack, profile or machine of that name, or the override is out of
        range.
    PlanError
        The stack does not suit the stone, or the machine cannot run it.
    """
    load, options = estimates[0].load, estimates[0].options
    catalogue = load.catalogue
    drawn = [est.take_off for est in estimates] if take_offs is None else take_offs
    if change.profile is not None:
        swap = _profiles(change, drawn, catalogue)
        edited = (edit_parts(t, lambda p: profile_changed(p, swap, cutouts=False)) for t in drawn)
        drawn = [t for t in edited if t is not None]
    stone = change.stone or load.stone.name
    thickness = change.thickness_mm or load.nominal_mm
    stack = change.stack
    if stack is None and stone in catalogue.stones:
        serves = serving_stack(catalogue, catalogue.stones[stone], thickness, load.stack.name)
        stack = load.stack.name if serves is None else serves.name
    feed = options.feed_override if change.feed_override is None else change.feed_override
    same_slab = change.stone is None and change.thickness_mm is None
    options = replace(
        options,
        stone=stone,
        stack=stack,
        machine=change.machine or load.machine.name,
        thickness_mm=thickness,
        actual_mm=options.actual_mm if same_slab else None,
        feed_override=feed,
    )
    try:
        return [estimate_take_off(t, _catalogue_with(catalogue, change), options) for t in drawn]
    except UsageError as error:
        raise change.wrong(error.what, error.remedy) from error
