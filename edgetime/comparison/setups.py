"""Set-ups as they are written: ``stack=fast-metal``, ``machine=large,feed-override=110%``."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final

from edgetime.amounts import separator_fault
from edgetime.errors import UnitInvalid, UsageError, Where
from edgetime.estimating import Estimate, estimate_take_off
from edgetime.price.changes import read_changes
from edgetime.tooling import Catalogue
from edgetime.units import parse_quantity

_KEYS: Final = ("stack", "machine", "feed-override", "rate", "purchase")
_MONEY: Final = re.compile(r"(\d+(?:\.\d+)?)\s*([A-Z]{3})?(?:/h)?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Setup:
    """What is changed against the loads as they are; None for what is not.

    Attributes
    ----------
    text : str
        As written.
    stack, machine : str or None
        Names.
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
    stack: str | None = None
    machine: str | None = None
    feed_override: float | None = None
    rate: Decimal | None = None
    purchase: Decimal | None = None
    currency: str = ""


def _wrong(what: str, remedy: str) -> UsageError:
    return UsageError(what, where=Where(key="--with"), remedy=remedy)


def _amount(key: str, value: str, text: str) -> tuple[Decimal, str]:
    match = _MONEY.fullmatch(value)
    fault = separator_fault(value) if match is None else None
    if fault is not None:
        raise _wrong(f"{key} is no amount of money: {fault[0]}.", fault[1])
    if match is None:
        raise _wrong(
            f"{value!r} in {text!r} is no amount of money.",
            f"Write {key}=1200 or {key}=1200.00EUR.",
        )
    return Decimal(match[1]), match[2] or ""


def read_setup(text: str) -> Setup:
    """Read a set-up.

    Parameters
    ----------
    text : str
        Keys ``stack``, ``machine``, ``feed-override``, ``rate`` and ``purchase``, separated by
        commas.

    Raises
    ------
    UsageError
        A key is not known, has no value or stands twice, or there is none.
    """
    found = read_changes(
        text,
        keys=_KEYS,
        option="--with",
        can="compared",
        example="stack=NAME",
    )
    feed = None
    if "feed-override" in found:
        try:
            feed = parse_quantity(found["feed-override"], "ratio")
        except UnitInvalid as error:
            raise _wrong(f"{text!r}: {error.what}", "Write feed-override=110%.") from error
    amounts = {k: _amount(k, found[k], text) for k in ("rate", "purchase") if k in found}
    currencies = {code for _, code in amounts.values() if code}
    if len(currencies) > 1:
        raise _wrong(f"Two currencies in {text!r}.", "Write all money in the shop's currency.")
    return Setup(
        text=text,
        stack=found.get("stack"),
        machine=found.get("machine"),
        feed_override=feed,
        rate=amounts["rate"][0] if "rate" in amounts else None,
        purchase=amounts["purchase"][0] if "purchase" in amounts else None,
        currency=next(iter(currencies), ""),
    )


def _catalogue_with(catalogue: Catalogue, setup: Setup) -> Catalogue:
    if setup.rate is None:
        return catalogue
    shop = catalogue.shop
    price = replace(shop.price, machine_rate=setup.rate, machine_hour=None)
    raw = {**catalogue.raw, (shop.file, "price.machine_rate"): f"--with {setup.text}"}
    return replace(catalogue, shop=replace(shop, price=price), raw=raw)


def estimates_with(estimates: Sequence[Estimate], setup: Setup) -> list[Estimate]:
    """Return the same loads with a set-up.

    Parameters
    ----------
    estimates : sequence of Estimate
        The loads as they are.
    setup : Setup
        What is changed.

    Raises
    ------
    UsageError
        A stack or machine of that name there is not, or the override is out of range.
    PlanError
        The stack does not serve the stone, or the machine cannot run it.
    """
    out = []
    for est in estimates:
        load, options = est.load, est.options
        changed = replace(
            options,
            stack=setup.stack or load.stack.name,
            machine=setup.machine or load.machine.name,
            stone=load.stone.name,
            feed_override=options.feed_override
            if setup.feed_override is None
            else setup.feed_override,
        )
        try:
            out.append(
                estimate_take_off(est.take_off, _catalogue_with(load.catalogue, setup), changed)
            )
        except UsageError as error:
            raise _wrong(f"{setup.text!r}: {error.what}", error.remedy) from error
    return out
