"""Shares of life from what pieces did and from the lives that are stated today.

The ledger keeps what happened: metres, volumes, minutes, holes, areas, in which stone. A share of a
life is an opinion on that, and it changes whenever a life in the shop's files is corrected. So
shares are calculated when the ledger is read. Those that were entered with a run are what was
stated on its day; they count where the files no longer know the tool or the stone, and where a
run was entered without measures.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from typing import TYPE_CHECKING, Any, Final

from sqlalchemy import Connection, bindparam, text

from edgetime.ledger.amounts import ADDED, BY_NAME, MEASURES

if TYPE_CHECKING:
    from edgetime.tooling import Catalogue
    from edgetime.wear import Measure

Stated = Callable[[str, str, float, Mapping[str, float]], "tuple[Measure, ...] | None"]
"""Tool, stone, nominal thickness [mm] and use by measure → the lives held against it; None where
the tool or the stone is not known."""

_USED: Final = {
    "length": "contact_mm",
    "volume": "volume_mm3",
    "g-ratio": "volume_mm3",
    "time": "cut_s",
    "holes": "holes",
    "area": "area_mm2",
}

_QUERY: Final = (
    "SELECT e.piece, e.life, p.tool, COALESCE(u.stone, e.stone) AS stone, "
    "COALESCE(u.thickness_nm, e.thickness_nm) AS thickness_nm, "
    + ", ".join(f"SUM(e.{a.column}) AS {a.column}" for a in ADDED)
    + " FROM entries e JOIN entries p ON p.id = e.piece "
    "LEFT JOIN entries u ON u.id = e.reverses {where} "
    "GROUP BY e.piece, e.life, p.tool, COALESCE(u.stone, e.stone), "
    "COALESCE(u.thickness_nm, e.thickness_nm)"
)
_COLUMNS: Final = (*(BY_NAME[m.share].column for m in MEASURES), BY_NAME["wheel_mm3"].column)


def stated_by(catalogue: Catalogue) -> Stated:
    """Return what a shop's files state today.

    Parameters
    ----------
    catalogue : Catalogue
        Tools with their lives, and stones.
    """
    from edgetime.wear.life import lives_for, measure  # noqa: PLC0415  brings numpy

    def held(
        tool_name: str, stone_name: str, thickness_mm: float, used: Mapping[str, float]
    ) -> tuple[Measure, ...] | None:
        tool, stone = catalogue.tools.get(tool_name), catalogue.stones.get(stone_name)
        if tool is None or stone is None:
            return None
        return tuple(
            measure(tool, life, stone, used) for life in lives_for(tool, stone, thickness_mm)
        )

    return held


def shares(
    link: Connection, stated: Stated, pieces: Collection[int] | None = None
) -> dict[int, dict[int, dict[str, int | None]]]:
    """Return shares of life by piece and by the entry that began the life.

    Parameters
    ----------
    link : Connection
        In a transaction.
    stated : callable
        What is stated today.
    pieces : collection of int, optional
        Numbers of receipts; otherwise all.

    Returns
    -------
    dict
        Piece → beginning of the life → column of the database → whole number, as stored.
    """
    query = text(_QUERY.format(where="" if pieces is None else "WHERE e.piece IN :pieces"))
    values: dict[str, Any] = {}
    if pieces is not None:
        query = query.bindparams(bindparam("pieces", expanding=True))
        values["pieces"] = list(pieces)
    found: dict[int, dict[int, dict[str, int | None]]] = {}
    for row in link.execute(query, values).mappings():
        sums = found.setdefault(row["piece"], {}).setdefault(row["life"], {})
        add_shares(sums, _group(row, stated))
    return found


def add_shares(into: dict[str, int | None], more: Mapping[str, int | None]) -> None:
    """Add columns to others, None counting as nothing unless both are."""
    for name, value in more.items():
        if value is not None or name not in into:
            into[name] = value if into.get(name) is None else (into[name] or 0) + (value or 0)


def _group(row: Mapping[Any, Any], stated: Stated) -> dict[str, int | None]:
    """Return the shares of what a piece did in one life, stone and thickness."""
    as_posted = {name: None if row[name] is None else int(row[name]) for name in _COLUMNS}
    used = {
        by: int(row[BY_NAME[name].column] or 0) / 10 ** BY_NAME[name].digits
        for by, name in _USED.items()
    }
    if row["stone"] is None:
        return as_posted
    thickness_mm = (row["thickness_nm"] or 0) / 10 ** BY_NAME["thickness_mm"].digits
    held = stated(row["tool"], row["stone"], thickness_mm, used)
    if held is None:
        return as_posted
    by_measure = {one.by: one for one in held}
    out: dict[str, int | None] = {}
    for kind in MEASURES:
        share, column = BY_NAME[kind.share], BY_NAME[kind.share].column
        if as_posted[column] and not used[kind.by]:
            # Entered without the measure: what was stated on its day is all there is.
            out[column] = as_posted[column]
        else:
            one = by_measure.get(kind.by)
            out[column] = None if one is None else share.store(one.share)
    wheel = by_measure.get("g-ratio")
    column = BY_NAME["wheel_mm3"].column
    out[column] = as_posted[column] if wheel is None else BY_NAME["wheel_mm3"].store(wheel.used)
    return out
