"""A run of a load: what makes it one, and its charge to the mounted pieces."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, bindparam, func, insert, select

from edgetime.errors import LedgerError, Where
from edgetime.ledger.amounts import BY_NAME, MEASURES
from edgetime.ledger.pieces import receive_words, standing
from edgetime.ledger.records import Kind, model_name
from edgetime.ledger.rows import Stamp
from edgetime.ledger.tables import entries, mounts, runs

if TYPE_CHECKING:
    from edgetime.wear import ToolWear, Wear

_LAST_RUN = select(func.max(runs.c.id))
_INSERT_RUN = insert(runs)
_RUN = select(func.max(runs.c.id))
_INSERT_ENTRY, _INSERT_RUN = insert(entries), insert(runs)
_RUN = select(runs.c.id).where(
    runs.c.digest == bindparam("digest"),
    runs.c.load_name == bindparam("load_name"),
    runs.c.run_no == bindparam("run_no"),
)
_MOUNTED = (
    select(mounts.c.piece, entries.c.serial, entries.c.tool, entries.c.profile)
    .join(entries, entries.c.id == mounts.c.piece)
    .order_by(mounts.c.pocket)
)


@dataclass(frozen=True, slots=True, kw_only=True)
class RunKey:
    """What makes a run the same run: estimate, load and number."""

    digest: str
    load_name: str
    run_no: int


def _missing(link: Connection, wanted: Sequence[str]) -> LedgerError:
    taken = set(link.execute(select(mounts.c.pocket)).scalars())
    free = (n for n in range(1, len(taken) + len(wanted) + 1) if n not in taken)
    commands: list[str] = []
    for model in wanted:
        tool, _, profile = model.partition("/")
        same = standing(
            link,
            "p.tool = :tool AND COALESCE(p.profile, '') = :profile",
            tool=tool,
            profile=profile,
        )
        pocket = next(free)
        if not any(row.pocket is None and row.reason is None for row in same):
            commands.append(f"edgetime ledger receive {receive_words(model)}")
        commands.append(f"edgetime ledger mount {model} --pocket {pocket}")
    return LedgerError(
        f"No piece is mounted for: {', '.join(wanted)}.",
        remedy="Enter what is in the rack (the pockets are yours to choose), then post again:"
        + "".join(f"\n    {command}" for command in commands),
    )


def run_rows(
    link: Connection,
    wear: Wear,
    stamp: Stamp,
    factors: Mapping[str, float],
    everywhere: float,
) -> tuple[list[dict[str, Any]], dict[int, Any]]:
    """Return the rows of a run, each charged to the piece mounted for it, and those pieces.

    Parameters
    ----------
    link : Connection
        In a write transaction.
    wear : Wear
        As predicted.
    stamp : Stamp
        When, who, note.
    factors : mapping of str to float
        Actual over predicted, by piece as the load names it [-].
    everywhere : float
        The same for those not in ``factors`` [-].
    """
    where_of: dict[str, Any] = {}
    for row in link.execute(_MOUNTED):
        # Of several alike, the lowest pocket works: that is the one a program calls first.
        where_of.setdefault(model_name(row.tool, row.profile), row)
    wanted = list(dict.fromkeys(tool.piece for tool in wear.tools))
    unknown = [name for name in factors if name not in wanted]
    if unknown:
        raise LedgerError(
            f"The load does not use {', '.join(unknown)}.",
            where=Where(key="--actual"),
            remedy=f"It uses: {', '.join(wanted) or 'no tool'}.",
        )
    if not wanted:
        raise LedgerError(
            "The load uses no tool, so there is nothing to post.",
            remedy="Check the load with 'edgetime estimate'.",
        )
    missing = [name for name in wanted if name not in where_of]
    if missing:
        raise _missing(link, missing)
    rows = [
        stamp.row(
            Kind.USED,
            piece=where_of[tool.piece].piece,
            stone=tool.stone or None,
            governing=tool.governing or None,
            **_tool_amounts(tool, factors.get(tool.piece, everywhere)),
        )
        for tool in wear.tools
    ]
    return rows, {where_of[name].piece: where_of[name] for name in wanted}


def _tool_amounts(tool: ToolWear, factor: float) -> dict[str, Any]:
    shares = {m.by: m for m in MEASURES}
    values: dict[str, float] = {
        "contact_mm": tool.contact_mm,
        "path_mm": tool.path_mm,
        "volume_mm3": tool.volume_mm3,
        "cut_s": tool.cut_s,
        "holes": float(tool.holes),
        "area_mm2": tool.area_mm2,
        **{shares[m.by].share: m.share for m in tool.measures},
    }
    # By G-ratio it is the wheel that is measured, not the stone.
    for m in tool.measures:
        if shares[m.by].used == "wheel_mm3":
            values["wheel_mm3"] = m.used
    row: dict[str, Any] = {
        BY_NAME[name].column: BY_NAME[name].store(value if factor == 1.0 else value * factor)
        for name, value in values.items()
    }
    if tool.thickness_mm:
        row["thickness_nm"] = BY_NAME["thickness_mm"].store(tool.thickness_mm)
    if tool.cost is not None and tool.currency:
        cost = tool.cost if factor == 1.0 else tool.cost * Decimal(repr(factor))
        row |= {"cost_e6": BY_NAME["cost"].store(cost), "currency": tool.currency}
    return row


def new_run(
    link: Connection,
    key: RunKey,
    *,
    actual: bool,
    consumed: Mapping[str, int | None],
) -> dict[str, Any]:
    """Write a run and return its row."""
    row = {
        "id": (link.execute(_LAST_RUN).scalar() or 0) + 1,
        "load_name": key.load_name,
        "run_no": key.run_no,
        "digest": key.digest,
        "actual": int(actual),
        **consumed,
    }
    link.execute(_INSERT_RUN, [row])
    return row


def run_number(link: Connection, key: RunKey) -> int | None:
    """Return the number of a run that stands in the ledger, None when it does not."""
    return link.execute(_RUN, asdict(key)).scalar()
