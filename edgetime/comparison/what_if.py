"""The price of a job with something changed."""

from __future__ import annotations

from typing import NamedTuple

from edgetime.comparison.changes import Change, estimates_with, read_change
from edgetime.errors import PlanError
from edgetime.estimating import Estimate
from edgetime.price import Quote, price_loads
from edgetime.price.price_lengths import laid_out, price_parts


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


def without_purchase(text: str, what: str) -> Change:
    """Read a change; refuse what must be bought, which only a break-even depends on."""
    change = read_change(text, "--what-if")
    if change.purchase is not None:
        raise change.wrong(
            f"{what} does not depend on what is bought.",
            "Leave out purchase=; edgetime compare --with finds the break-even.",
        )
    return change


def price_what_if(text: str, estimates: list[Estimate], quote: Quote) -> WhatIf:
    """Price a job again with something changed.

    Parameters
    ----------
    text : str
        As :func:`edgetime.comparison.changes.read_change` takes it, without ``purchase``.
    estimates : list of Estimate
        The job as it is.
    quote : Quote
        Its price.

    Raises
    ------
    UsageError
        A key, or the profile, stone, machine or stack named, is not known.
    """
    change = without_purchase(text, "A price")
    change.check_currency(quote.currency)
    parts = None
    if quote.inquiry is not None:
        # Assumed parts are laid out for a table; another machine has another.
        load = estimates[0].load
        parts = laid_out(quote.inquiry, load.catalogue, change.machine or load.machine.name)
    try:
        made = estimates_with(estimates, change, parts)
        if quote.inquiry is not None:
            return WhatIf(text, price_parts(made, quote.inquiry))
        return WhatIf(text, price_loads(made))
    except PlanError as error:
        return WhatIf(text, None, error.what)
