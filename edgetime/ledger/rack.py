"""Lists of pieces: what a delivery brings, and what is or shall be in a machine's rack."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any, ClassVar

from sqlalchemy import Connection

from edgetime.errors import EdgetimeError, LedgerError, Where
from edgetime.ledger.days import held
from edgetime.ledger.pieces import find_piece
from edgetime.ledger.records import PieceBalance, State, model_name
from edgetime.records import HIDDEN


@dataclass(frozen=True, slots=True, kw_only=True)
class Delivery:
    """New pieces of one tool.

    Attributes
    ----------
    tool, profile : str
        The tool's name, and the profile a profiled wheel is ground to.
    count : int
        How many; they are given serials ``tool-001`` onward.
    serials : sequence of str or None
        The shop's own serials, instead of ``count``.
    diameter_mm : float or None
        Diameter [mm].
    price : Decimal or None
        Of one piece, in ``currency``.
    currency : str or None
        ISO 4217 code.
    supplier, batch : str or None
        Who delivered them, and the batch they are of.
    order : str or None
        Number of the order they are of; price and supplier are the order's where not given.
    where : Where
        Where it is written, for messages.
    """

    tool: str
    profile: str | None = None
    count: int = 1
    serials: Sequence[str] | None = None
    diameter_mm: float | None = None
    price: Decimal | None = None
    currency: str | None = None
    supplier: str | None = None
    batch: str | None = None
    order: str | None = None
    where: Where = field(default_factory=Where, metadata=HIDDEN)


@dataclass(frozen=True, slots=True, kw_only=True)
class RackPocket:
    """A pocket of a rack and what is, or shall be, in it; neither serial nor tool for nothing.

    Attributes
    ----------
    pocket : int
        From 1.
    serial : str or None
        The piece; None for the oldest of ``tool`` that was not yet used.
    tool : str or None
        ``tool`` or ``tool/profile``.
    remaining : float or None
        Life left [-].
    where : Where
        Where it is written, for messages.
    """

    pocket: int
    serial: str | None = None
    tool: str | None = None
    remaining: float | None = None
    where: Where = field(default_factory=Where, metadata=HIDDEN)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rack:
    """What is in the rack of a machine.

    Attributes
    ----------
    ledger : str
        The books.
    machine : str or None
        None where no machine is stated.
    pockets : tuple of RackPocket
        By number; empty ones too where the number of pockets is known.
    """

    SCHEMA: ClassVar[str] = "edgetime.rack/1"

    ledger: str
    machine: str | None
    pockets: tuple[RackPocket, ...]


def rack_of(
    balances: Sequence[PieceBalance], ledger: str, machine: str | None, count: int = 0
) -> Rack:
    """Return what is in a rack.

    Parameters
    ----------
    balances : sequence of PieceBalance
        Of the ledger.
    ledger : str
        Its name.
    machine : str or None
        Whose rack; None for pieces on any machine. Pieces whose machine was not stated may be in
        any.
    count : int
        How many pockets the rack has, at least.
    """
    inside = [
        RackPocket(pocket=b.pocket or 0, serial=b.serial, tool=b.model, remaining=b.remaining)
        for b in balances
        if b.state is State.MOUNTED and (machine is None or b.machine in {machine, None})
    ]
    taken = {p.pocket for p in inside}
    free = [RackPocket(pocket=n) for n in range(1, count + 1) if n not in taken]
    return Rack(
        ledger=ledger,
        machine=machine,
        pockets=tuple(sorted([*inside, *free], key=lambda p: p.pocket)),
    )


@contextmanager
def naming(where: Where) -> Iterator[None]:
    """Let a refusal name the line of a file that it is about."""
    try:
        yield
    except EdgetimeError as error:
        if where.path is not None:
            error.where = replace(where, key=error.where.key)
        raise


def check_pocket(pocket: int) -> None:
    """Refuse a pocket that no rack has."""
    if not 1 <= pocket <= 9999:
        raise LedgerError(
            f"The pocket is {pocket}; pockets count from 1.",
            where=Where(key="--pocket"),
            remedy="Give the number that the machine's rack shows.",
        )


def planned(plan: Sequence[RackPocket]) -> list[RackPocket]:
    """Return the rows of a plan in the order in which they are entered.

    Pieces that are named come first, so that "the oldest of a tool" never takes one of them;
    pockets that are to be empty come last, when what leaves them for another has left.

    Raises
    ------
    LedgerError
        A pocket or a piece is there twice.
    """
    for number, row in enumerate(plan):
        with naming(row.where):
            check_pocket(row.pocket)
            before = plan[:number]
            if any(row.pocket == other.pocket for other in before):
                raise _twice(f"Pocket {row.pocket}", "pocket")
            if row.serial and any(row.serial == other.serial for other in before):
                raise _twice(f"Tool {row.serial}", "serial")
    return sorted(plan, key=lambda row: 0 if row.serial else 1 if row.tool else 2)


def _twice(what: str, key: str) -> LedgerError:
    return LedgerError(
        f"{what} is in the plan twice.",
        where=Where(key=key),
        remedy="Leave out one of the lines.",
    )


def piece_of(link: Connection, row: RackPocket, machine: str | None) -> Any:
    """Return the piece that a row of a plan wants in its pocket, None for one that is there.

    Raises
    ------
    LedgerError
        There is no such piece, or it is of another tool than the plan says.
    """
    if row.serial is None:
        inside = [n.serial for n in held(link, machine) if n.pocket == row.pocket]
        for serial in inside:
            there = find_piece(link, serial)
            if model_name(there.tool, there.profile) == row.tool:
                return None
        return find_piece(link, row.tool or "", model=True)
    found = find_piece(link, row.serial)
    model = model_name(found.tool, found.profile)
    if row.tool not in {None, model}:
        raise LedgerError(
            f"{row.serial} is {model}, not {row.tool}.",
            where=Where(key="tool"),
            remedy="Correct the serial or the tool, or leave the tool out.",
        )
    same = found.pocket == row.pocket and machine in {found.machine, None}
    return None if same else found
