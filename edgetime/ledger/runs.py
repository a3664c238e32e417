"""A run of a load: what makes it one, and its charge to the mounted pieces."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from sqlalchemy import Connection, Row, func, insert, select, text

from edgetime.errors import LedgerError, Where
from edgetime.ledger.amounts import (
    ADDED,
    BY_NAME,
    CONSUMED,
    MEASURES,
    local_text,
    read_time,
    time_text,
)
from edgetime.ledger.days import MOUNTED_NOW, MOUNTED_ON, PAID_FOR
from edgetime.ledger.pieces import receive_words, standing
from edgetime.ledger.queries import NOT_REVERSED
from edgetime.ledger.records import Kind, model_name
from edgetime.ledger.rows import Stamp, marked
from edgetime.ledger.tables import entries, mounts, runs

if TYPE_CHECKING:
    from edgetime.wear import ToolWear, Wear

_LAST_RUN = select(func.max(runs.c.id))
_INSERT_RUN = insert(runs)

# A machine that was not stated, as in ledgers of before, may be any.
_RUN = text(
    "SELECT x.* FROM runs x WHERE x.load_name = :load_name AND x.run_no = :run_no "
    "AND (x.machine = CAST(:machine AS TEXT) OR x.machine IS NULL OR CAST(:machine AS TEXT) IS NULL) "
    "AND EXISTS (SELECT 1 FROM entries e WHERE e.run = x.id "
    "AND NOT EXISTS (SELECT 1 FROM entries y WHERE y.reverses = e.id)) "
    "ORDER BY x.id"
)
_MOUNTED_NOW, _MOUNTED_ON = text(MOUNTED_NOW), text(MOUNTED_ON)
_USE_OF_RUN = (
    "SELECT p.tool, p.profile, e.stone, e.thickness_nm, {sums} FROM entries e "
    f"JOIN entries p ON p.id = e.piece WHERE e.run = :run AND {NOT_REVERSED.format('e')} "
    "GROUP BY p.tool, p.profile, e.stone, e.thickness_nm"
)
_STANDING = text(
    f"SELECT COUNT(*) FROM entries e WHERE e.run = :run AND e.kind = 'used' "
    f"AND {NOT_REVERSED.format('e')}"
)
_COMPARED: Final = {
    "contact_mm": "edge in mm",
    "path_mm": "path in mm",
    "volume_mm3": "stone removed in mm3",
    "cut_s": "seconds in the cut",
    "holes": "holes",
    "area_mm2": "sawn area in mm2",
}
_SAME: Final = 1e-6
"""Figures of two estimates that differ by a smaller part of them are the same: a drawing that
was saved anew adds up in another order."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RunKey:
    """What makes a run the same run: machine, load and number.

    Attributes
    ----------
    machine : str or None
        None for a machine that was not stated, which may be any.
    load_name : str
        The load, as people call it.
    run_no : int
        From 1.
    """

    machine: str | None
    load_name: str
    run_no: int

    @property
    def values(self) -> dict[str, Any]:
        """The key as parameters of a query."""
        return {"machine": self.machine, "load_name": self.load_name, "run_no": self.run_no}


@dataclass(frozen=True, slots=True, kw_only=True)
class Charge:
    """What a run charges to one piece.

    Attributes
    ----------
    model : str
        The piece as the load names it.
    columns : dict
        Of the row.
    factor : float or None
        Actual over predicted use, where the run is entered with its actual use [-].
    """

    model: str
    columns: dict[str, Any]
    factor: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Charges:
    """What a run charges, and what it consumed beside its tools."""

    each: tuple[Charge, ...]
    consumed: dict[str, int | None]
    actual: bool

    @property
    def models(self) -> list[str]:
        """The pieces that the load asks for, each once."""
        return list(dict.fromkeys(charge.model for charge in self.each))


def charges(wear: Wear, actual: float | Mapping[str, float] | None) -> Charges:
    """Return what a run charges to its pieces.

    Parameters
    ----------
    wear : Wear
        As predicted.
    actual : float, mapping of str to float, or None
        Actual over predicted, of all or by piece as the load names it [-].

    Raises
    ------
    LedgerError
        A factor is out of range or of a piece that the load does not use, or it uses none.
    """
    everywhere = float(actual) if isinstance(actual, int | float) else 1.0
    factors = dict(actual) if isinstance(actual, Mapping) else {}
    for factor in (everywhere, *factors.values()):
        if not 0.0 <= factor <= 1000.0:
            raise LedgerError(
                f"The actual use is {factor} times the predicted; 0 to 1000 is allowed.",
                where=Where(key="--actual"),
                remedy="Give actual over predicted, such as 0.5 for half.",
            )
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
    return Charges(
        each=tuple(
            Charge(
                model=tool.piece,
                factor=None if actual is None else factors.get(tool.piece, everywhere),
                columns={
                    "stone": tool.stone or None,
                    "governing": tool.governing or None,
                    **_tool_amounts(tool, factors.get(tool.piece, everywhere)),
                },
            )
            for tool in wear.tools
        ),
        consumed={
            a.column: a.store(None if value is None else float(value) * everywhere)
            for a in CONSUMED
            for value in (getattr(wear.consumables, a.name),)
        },
        actual=actual is not None,
    )


def posted_run(link: Connection, key: RunKey) -> Row[Any] | None:
    """Return the run that is in the books under a key and was not reversed.

    Raises
    ------
    LedgerError
        There are several: the machine has to be stated.
    """
    found = link.execute(_RUN, key.values).all()
    if len(found) > 1:
        raise several(found, key)
    return found[0] if found else None


def several(found: Sequence[Row[Any]], key: RunKey) -> LedgerError:
    """Return the refusal to choose between runs of one load and number."""
    machines = ", ".join(sorted({str(row.machine or "not stated") for row in found}))
    return LedgerError(
        f"There are several runs {key.run_no} of {key.load_name!r}, on machines: {machines}.",
        where=Where(key="--machine"),
        remedy="Name the machine.",
    )


def same_run(
    link: Connection, run: Row[Any], asked: Charges, digest: str, work_digest: str | None
) -> bool:
    """Return whether a run that is to be posted is the one posted before.

    It is where both are as predicted for the same estimate or the same work, by whatever release,
    and none of its entries was reversed by itself; otherwise where all that is charged is the
    same.
    """
    if bool(run.actual) != asked.actual:
        return False
    same = digest == run.digest or (work_digest is not None and work_digest == run.work_digest)
    # Moving a run to another piece adds an entry for each that it reverses; reversing one entry of
    # a run does not, and its use is then missing from the books.
    whole = link.execute(_STANDING, {"run": run.id}).scalar_one() >= len(asked.each)
    return (same and whole and not asked.actual) or not any(differences(link, run, asked))


def differences(link: Connection, run: Row[Any], asked: Charges) -> Iterator[str]:
    """Yield where a posted run and one that is to be posted under its name differ."""
    sums = ", ".join(f"SUM(e.{BY_NAME[n].column}) AS {BY_NAME[n].column}" for n in _COMPARED)
    before: dict[tuple[Any, ...], dict[str, float]] = {}
    for row in link.execute(text(_USE_OF_RUN.format(sums=sums)), {"run": run.id}).mappings():
        of = (model_name(row["tool"], row["profile"]), row["stone"], row["thickness_nm"])
        before[of] = _figures(row)
    now: dict[tuple[Any, ...], dict[str, float]] = {}
    for charge in asked.each:
        values = charge.columns
        of = (charge.model, values.get("stone"), values.get("thickness_nm"))
        so_far = now.setdefault(of, dict.fromkeys(_COMPARED, 0.0))
        for name, value in _figures(values).items():
            so_far[name] += value
    for of in dict.fromkeys([*before, *now]):
        old, new = before.get(of), now.get(of)
        if old is None or new is None:
            yield f"{of[0]} in {of[1] or 'stone'} {'is not charged' if old is None else 'is no longer used'}"
            continue
        for name in _COMPARED:
            if abs(new[name] - old[name]) > _SAME * max(abs(new[name]), abs(old[name]), 1e-3):
                yield f"{of[0]} {_COMPARED[name]}, was {old[name]:.6g}, now {new[name]:.6g}"
                break


def _figures(row: Mapping[Any, Any]) -> dict[str, float]:
    return {
        name: int(row.get(BY_NAME[name].column) or 0) / 10 ** BY_NAME[name].digits
        for name in _COMPARED
    }


def refuse_other(link: Connection, run: Row[Any], key: RunKey, asked: Charges) -> LedgerError:
    """Return the refusal to post a run under the name of another, saying what differs."""
    told = list(differences(link, run, asked))
    at = link.execute(select(func.min(entries.c.at)).where(entries.c.run == run.id)).scalar()
    last = link.execute(
        select(func.max(runs.c.run_no)).where(runs.c.load_name == key.load_name)
    ).scalar()
    more = f" and {len(told) - 4} more" if len(told) > 4 else ""
    what = "; ".join(told[:4]) + more if told else "the factors of actual use"
    return LedgerError(
        f"{key.load_name}, run {key.run_no}, was already posted, for "
        f"{local_text(read_time(at))}, with other figures: {what}.",
        where=Where(key="--run"),
        remedy=f"If the load ran once more, add --run {int(last or 0) + 1}. If these figures "
        "are the right ones for that run, add --replace: it reverses the old and posts "
        "the new.",
    )


def _missing(
    link: Connection, wanted: Sequence[str], machine: str | None, stamp: Stamp
) -> LedgerError:
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
        on = f" --machine {machine}" if machine else ""
        commands.append(f"edgetime ledger mount {model} --pocket {pocket}{on}")
    if stamp.late:
        return LedgerError(
            f"No tool was mounted at {local_text(stamp.at)} for: {', '.join(wanted)}.",
            where=Where(key="--at"),
            remedy="Enter the mounts with the time at which they were made (ledger mount ... "
            "--at), then post again; 'edgetime ledger history' shows when tools were mounted.",
        )
    return LedgerError(
        f"No tool is mounted for: {', '.join(wanted)}.",
        remedy="Enter what is in the rack (the pockets are yours to choose), then post again:"
        + "".join(f"\n    {command}" for command in commands),
    )


def run_rows(
    link: Connection, asked: Charges, stamp: Stamp, machine: str | None
) -> tuple[list[dict[str, Any]], dict[int, Any]]:
    """Return the rows of a run, each charged to the piece mounted for it, and those pieces.

    Parameters
    ----------
    link : Connection
        In a write transaction.
    asked : Charges
        What to charge.
    stamp : Stamp
        When, who, note.
    machine : str or None
        Whose rack is charged; None for any.
    """
    where_of: dict[str, Any] = {}
    values = {"machine": machine} | ({"at": time_text(stamp.at)} if stamp.late else {})
    mounted = link.execute(_MOUNTED_ON if stamp.late else _MOUNTED_NOW, values)
    for row in mounted:
        # Of several alike, the lowest pocket works: that is the one a program calls first.
        where_of.setdefault(model_name(row.tool, row.profile), row)
    missing = [name for name in asked.models if name not in where_of]
    if missing:
        raise _missing(link, missing, machine, stamp)
    pieces = {where_of[name].piece: where_of[name] for name in asked.models}
    rows = []
    for charge in asked.each:
        piece = where_of[charge.model]
        cost = _cost(charge.columns, piece.price_e6, piece.currency)
        rows.append(
            stamp.row(
                Kind.USED,
                piece=piece.piece,
                life=piece.life,
                mark=marked(anyway=stamp.anyway, factor=charge.factor),
                **(charge.columns | cost),
            )
        )
    return rows, pieces


def charged_to(link: Connection, run: int, piece: int) -> Sequence[Mapping[Any, Any]]:
    """Return the rows that charge a run to a piece and were not reversed."""
    return (
        link.execute(
            text(
                "SELECT e.* FROM entries e WHERE e.run = :run AND e.piece = :piece "
                f"AND {NOT_REVERSED.format('e')} ORDER BY e.id"
            ),
            {"run": run, "piece": piece},
        )
        .mappings()
        .all()
    )


def moved_rows(
    link: Connection, charged: Sequence[Mapping[Any, Any]], piece: int, stamp: Stamp
) -> list[dict[str, Any]]:
    """Return rows that charge to another piece what was charged to one, on the same day."""
    rows = []
    kept = ("stone", "governing", "thickness_nm", "mark", *(a.column for a in ADDED))
    for row in charged:
        right = link.execute(text(PAID_FOR), {"at": row["at"], "piece": piece}).one()
        columns = {name: row[name] for name in kept} | {"currency": row["currency"]}
        cost = _cost(columns, right.price_e6, right.currency)
        values = columns | cost | {"at": row["at"], "life": right.life}
        rows.append(stamp.row(Kind.USED, piece=piece, **values))
    return rows


def _cost(columns: dict[str, Any], price_e6: int | None, currency: str | None) -> dict[str, Any]:
    """Return cost and currency of a use: the price paid times the share of life."""
    used = [columns.get(BY_NAME[m.share].column) for m in MEASURES]
    shares = [share for share in used if share is not None]
    if price_e6 is None or not shares:
        return {}
    cost = Decimal(int(price_e6)) * Decimal(max(shares)).scaleb(-12)
    return {"cost_e6": int(cost.to_integral_value()), "currency": currency}


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
    link: Connection, key: RunKey, asked: Charges, *, digest: str, work_digest: str | None
) -> dict[str, Any]:
    """Write a run and return its row."""
    row = {
        "id": (link.execute(_LAST_RUN).scalar() or 0) + 1,
        **key.values,
        "digest": digest,
        "work_digest": work_digest,
        "actual": int(asked.actual),
        **asked.consumed,
    }
    link.execute(_INSERT_RUN, [row])
    return row
