"""Diameters of the pieces that are mounted, read from the ledger for an estimate."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, NamedTuple

from edgetime.cli.options import find_shop_folder
from edgetime.errors import LedgerError, Where

if TYPE_CHECKING:
    from edgetime.tooling import Catalogue


class MeasuredDiameter(NamedTuple):
    """The diameter of a mounted piece: the piece and where it is, and its size [mm]."""

    piece: str
    diameter_mm: float


def diameters_of(
    catalogue: Catalogue, machine: str | None, shop: str | None, ledger: str | None
) -> dict[str, MeasuredDiameter]:
    """Return the diameters of mounted pieces that differ from new, as ``--diameter`` names them.

    Parameters
    ----------
    catalogue : Catalogue
        Says how large a new tool is; pieces of tools that it does not have are left out.
    machine : str or None
        Whose rack; otherwise the shop's default machine.
    shop, ledger : str or None
        As given; a ledger that is not given is that of ``EDGETIME_LEDGER`` or the shop's own.

    Raises
    ------
    LedgerError
        There is no ledger, or it cannot be read.
    """
    from edgetime.ledger import open_ledger  # noqa: PLC0415  brings the database library

    whose = machine or catalogue.shop.machine
    place = ledger or os.environ.get("EDGETIME_LEDGER") or None
    folder = find_shop_folder(shop)
    if place is None and folder is None:
        raise LedgerError(
            "There is no shop folder, so there is no ledger to read diameters from.",
            where=Where(key="--mounted"),
            remedy="Name the shop with --shop FOLDER, or the ledger in EDGETIME_LEDGER; without "
            "--mounted, tools are as new.",
        )
    with open_ledger(place, shop=folder, create=False) as books:
        working = books.working(whose)
    return {
        model: MeasuredDiameter(f"{piece.serial} in pocket {piece.pocket}", piece.diameter_mm)
        for model, piece in working.items()
        if piece.tool in catalogue.tools
        and catalogue.tools[piece.tool].profiled == (piece.profile is not None)
        and piece.profile in {None, *catalogue.profiles}
        and piece.diameter_mm is not None
        and piece.diameter_mm != catalogue.tools[piece.tool].diameter_mm
    }
