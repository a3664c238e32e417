"""What happens to a piece: measure, dress, reprofile, retire, adjust."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

from edgetime.cli.ask import argument, ask, choose, switch
from edgetime.cli.blocks import takes
from edgetime.cli.ledger.options import (
    ENTERED_NOW,
    EntryOptions,
    PieceArgument,
    PriceOption,
    SizeOption,
    read_price,
)
from edgetime.cli.options import factor_option, length_option
from edgetime.cli.output import Result


class Ended(StrEnum):
    """Why a piece is taken out of service."""

    WORN = "worn"
    BROKEN = "broken"
    LOST = "lost"


@takes(entry=EntryOptions)
def measure_command(
    piece: PieceArgument,
    diameter: Annotated[str, argument("DIAMETER", "79.4 (millimetres), 3.1in.")],
    entry: EntryOptions = ENTERED_NOW,
) -> Result:
    r"""Enter a measured diameter.

    \b
    Examples:
      edgetime ledger measure A7 79.4

    Exit codes: 0 done; 2 wrong use; 5 the ledger is unchanged.
    """
    size = length_option(diameter, "DIAMETER")
    assert size is not None  # noqa: S101  a text is given
    return entry.enter(lambda books, stamp: books.measure(piece, diameter_mm=size, **stamp))


@takes(entry=EntryOptions)
def dress_command(
    piece: PieceArgument,
    diameter: SizeOption = None,
    entry: EntryOptions = ENTERED_NOW,
) -> Result:
    r"""Enter a dressing, with the diameter after it if measured.

    \b
    Examples:
      edgetime ledger dress A7
      edgetime ledger dress A7 --diameter 79.1

    Exit codes: 0 done; 2 wrong use; 5 the ledger is unchanged.
    """
    size = length_option(diameter, "--diameter")
    return entry.enter(lambda books, stamp: books.dress(piece, diameter_mm=size, **stamp))


@takes(entry=EntryOptions)
def reprofile_command(
    piece: PieceArgument,
    diameter: SizeOption = None,
    life: Annotated[str, ask("SHARE", "Life it begins with, e.g. 90%.")] = "100%",
    early: Annotated[  # noqa: FBT002
        bool, switch("--early", "The wheel was not yet worn out.")
    ] = False,
    price: PriceOption = None,
    entry: EntryOptions = ENTERED_NOW,
) -> Result:
    r"""Enter a reprofiling: the wheel's life begins again.

    \b
    Examples:
      edgetime ledger reprofile A7 --diameter 78.4 --price 45.00EUR

    Exit codes: 0 done; 2 wrong use; 5 the ledger is unchanged.
    """
    paid, currency = read_price(price)
    size = length_option(diameter, "--diameter")
    begins = factor_option(life, "--life")
    return entry.enter(
        lambda books, stamp: books.reprofile(
            piece,
            diameter_mm=size,
            life=begins,
            reason="early" if early else "worn",
            price=paid,
            currency=currency,
            **stamp,
        )
    )


@takes(entry=EntryOptions)
def retire_command(
    piece: PieceArgument,
    reason: Annotated[Ended, choose("Why it is retired.")],
    entry: EntryOptions = ENTERED_NOW,
) -> Result:
    r"""Take a piece out of service: worn, broken or lost.

    The reason matters: tool life is estimated from the pieces that wore out.

    \b
    Examples:
      edgetime ledger retire polish-1-001 --reason worn
      edgetime ledger retire A7 --reason broken --note "chipped at a seam"

    Exit codes: 0 done; 2 wrong use; 5 the ledger is unchanged.
    """
    return entry.enter(lambda books, stamp: books.retire(piece, reason=reason.value, **stamp))


@takes(entry=EntryOptions)
def adjust_command(
    piece: PieceArgument,
    share: Annotated[str, ask("SHARE", "Share of life to add: 50%, or --share=-10%.")],
    entry: EntryOptions = ENTERED_NOW,
) -> Result:
    r"""Correct the share of life used, by the difference.

    \b
    Examples:
      edgetime ledger adjust A7 --share 50% --note "came half used"
      edgetime ledger adjust A7 --share=-10% --note "looks better"

    Exit codes: 0 done; 2 wrong use; 5 the ledger is unchanged.
    """
    text = share.strip()
    size = factor_option(text.removeprefix("-"), "--share")
    value = -size if text.startswith("-") else size
    return entry.enter(lambda books, stamp: books.adjust(piece, share=value, **stamp))
