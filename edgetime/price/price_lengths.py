"""The price of a job without a drawing, from lengths by profile."""

from __future__ import annotations

from decimal import Decimal
from typing import Final

from edgetime.estimating import Estimate, estimate_take_off
from edgetime.load import Options
from edgetime.price.inquiry import Inquiry, read_inquiry
from edgetime.price.price_load import price_loads
from edgetime.price.quote import Quote
from edgetime.price.reference_parts import imagined_take_offs
from edgetime.takeoff.parts import TakeOff
from edgetime.tooling import Catalogue

LENGTHS_ERROR: Final = Decimal("0.26")
LENGTHS_ERROR_WITH_PARTS: Final = Decimal("0.17")
"""How far the net price by lengths may lie from the one by drawing, as a share of the latter,
without and with the number of parts given [-]: the widest difference over the loads the tests
compare, rounded up to whole per cent. It comes on top of the estimate's own error."""


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
        The text cannot be read.
    """
    inquiry = read_inquiry(text, catalogue)
    estimates = [
        estimate_take_off(take_off, catalogue, options)
        for take_off in laid_out(inquiry, catalogue, options.machine)
    ]
    return price_parts(estimates, inquiry), estimates


def laid_out(inquiry: Inquiry, catalogue: Catalogue, machine: str | None) -> tuple[TakeOff, ...]:
    """Return the parts assumed for a job without a drawing, one take-off per table.

    Parameters
    ----------
    inquiry : Inquiry
        What is asked for.
    catalogue : Catalogue
        What it is made with.
    machine : str or None
        Gives the table; the shop's default where None.
    """
    # An unknown machine is refused where every load is made, with the names there are.
    own = catalogue.machines[catalogue.shop.machine]
    return imagined_take_offs(inquiry, catalogue, catalogue.machines.get(machine or "", own))


def price_parts(estimates: list[Estimate], inquiry: Inquiry) -> Quote:
    """Price the parts assumed for a job without a drawing, with its wider error."""
    # Where the number of parts could not be kept, the price is no surer than without it.
    kept = sum(len(est.load.parts) for est in estimates) == inquiry.parts
    error = LENGTHS_ERROR_WITH_PARTS if kept else LENGTHS_ERROR
    return price_loads(estimates, error=error, inquiry=inquiry)
