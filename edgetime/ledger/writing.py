"""Rows for new entries, and the rules they obey. Each runs inside one write transaction."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from decimal import Decimal
from difflib import get_close_matches
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, Row, bindparam, func, insert, select, text

from edgetime.errors import LedgerError, Where
from edgetime.ledger.amounts import ADDED, BY_NAME, MEASURES, time_text
from edgetime.ledger.model import Entry, Kind, model_name
from edgetime.ledger.reading import NOT_REVERSED, entry_of, segments
from edgetime.ledger.tables import ENTRY_COLUMNS, entries, mounts, runs

if TYPE_CHECKING:
    from edgetime.wear import ToolWear, Wear

_BLANK: dict[str, Any] = dict.fromkeys(ENTRY_COLUMNS)
_LONGEST = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Stamp:
    """What every entry bears: when, who, and a note."""

    at: datetime
    who: str
    note: str

    def row(self, kind: Kind, **values: Any) -> dict[str, Any]:
        """Return a row of the given kind; its number is given on writing."""
        return _BLANK | {
            "at": time_text(self.at),
            "kind": kind.value,
            "who": self.who,
            "note": self.note,
            **values,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class RunKey:
    """What makes a run the same run: estimate, load and number."""

    digest: str
    load_name: str
    run_no: int


def clean(value: str, key: str, *, empty: bool = False, longest: int = _LONGEST) -> str:
    """Return a text that every database and export keeps as it is.

    Parameters
    ----------
    value : str
        Any text.
    key : str
        What it is, for the message.
    empty : bool
        Whether it may be empty.
    longest : int
        Most characters.

    Raises
    ------
    LedgerError
        Empty, too long, or not printable.
    """
    tidy = value.strip()
    if tidy.isprintable() and len(tidy) <= longest and (tidy or empty):
        return tidy
    what = "empty" if not tidy else ("too long" if tidy.isprintable() else "not printable")
    raise LedgerError(
        f"The {key} is {what}: {tidy[:40]!r}.",
        where=Where(key=key),
        remedy=f"Give one line of at most {longest} printable characters.",
    )


_LAST_ENTRY = select(func.max(entries.c.id))
_LAST_RUN = select(func.max(runs.c.id))
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
_PIECES = select(entries.c.id, entries.c.serial, entries.c.tool, entries.c.profile).where(
    entries.c.id.in_(bindparam("ids", expanding=True))
)


def add(
    link: Connection,
    rows: Sequence[dict[str, Any]],
    run: Mapping[str, Any] | None = None,
    pieces: Mapping[int, Any] | None = None,
) -> tuple[Entry, ...]:
    """Write rows under the next numbers and return them as entries.

    Parameters
    ----------
    link : Connection
        In a write transaction.
    rows : sequence of dict
        From :meth:`Stamp.row`; their numbers are filled in.
    run : mapping, optional
        The row of the run they belong to.
    pieces : mapping of int to Row, optional
        The pieces' names, where they are known: ``serial``, ``tool``, ``profile``.
    """
    last = link.execute(_LAST_ENTRY).scalar() or 0
    for number, row in enumerate(rows, last + 1):
        row["id"] = number
        row["run"] = None if run is None else run["id"]
        if row["kind"] == Kind.RECEIVED.value:
            row["piece"] = number
    link.execute(_INSERT_ENTRY, list(rows))
    if pieces is None:
        ids = list(dict.fromkeys(row["piece"] for row in rows))
        pieces = {row.id: row for row in link.execute(_PIECES, {"ids": ids})}
    names = {
        piece: {"piece_serial": row.serial, "piece_tool": row.tool, "piece_profile": row.profile}
        for piece, row in pieces.items()
    }
    told = {name: (run or {}).get(name) for name in ("load_name", "run_no", "digest", "actual")}
    return tuple(entry_of(row | told | names[row["piece"]] | {"reversed_by": None}) for row in rows)


def _standing(link: Connection, condition: str, **values: Any) -> Sequence[Row[Any]]:
    return link.execute(
        text(
            "SELECT p.id AS piece, p.serial, p.tool, p.profile, m.pocket, t.reason, "
            "EXISTS (SELECT 1 FROM entries k WHERE k.piece = p.id AND k.kind = 'mounted' "
            f"AND {NOT_REVERSED.format('k')}) AS was_mounted "
            "FROM entries p LEFT JOIN mounts m ON m.piece = p.id "
            "LEFT JOIN entries t ON t.piece = p.id AND t.kind = 'retired' "
            f"AND {NOT_REVERSED.format('t')} "
            f"WHERE p.kind = 'received' AND {NOT_REVERSED.format('p')} AND {condition} "
            "ORDER BY p.id"
        ),
        values,
    ).all()


def find_piece(
    link: Connection, name: str, *, retired: bool = False, model: bool = False
) -> Row[Any]:
    """Return a piece: ``piece, serial, tool, profile, pocket, reason, was_mounted``.

    Parameters
    ----------
    link : Connection
        In a transaction.
    name : str
        Serial.
    retired : bool
        Whether a retired piece is allowed.
    model : bool
        Whether ``name`` may also be a model; the oldest unused piece is taken then.

    Raises
    ------
    LedgerError
        No such piece, or it is retired.
    """
    found = _standing(link, "p.serial = :serial", serial=name)
    if not found and model:
        tool, _, profile = name.partition("/")
        same = _standing(
            link,
            "p.tool = :tool AND COALESCE(p.profile, '') = :profile",
            tool=tool,
            profile=profile,
        )
        free = [row for row in same if row.pocket is None and row.reason is None]
        found = sorted(free, key=lambda row: bool(row.was_mounted))
        if same and not found:
            raise LedgerError(
                f"All {len(same)} pieces of {name} are mounted or retired.",
                where=Where(key=name),
                remedy=f"Receive another: edgetime ledger receive {receive_words(name)}",
            )
    if not found:
        known = list(
            link.execute(select(entries.c.serial).where(entries.c.kind == "received")).scalars()
        )
        close = get_close_matches(name, known, n=3)
        raise LedgerError(
            f"There is no piece {name!r} in the ledger.",
            where=Where(key=name),
            remedy=(f"Did you mean {', '.join(close)}? " if close else "")
            + "'edgetime ledger show --all' lists all pieces.",
        )
    if found[0].reason is not None and not retired:
        raise LedgerError(
            f"{name} is retired ({found[0].reason}).",
            where=Where(key=name),
            remedy="If that was a mistake, reverse the entry that retired it: "
            f"'edgetime ledger history {name}' shows its number.",
        )
    return found[0]


def receive_words(model: str) -> str:
    """Return a model as ``ledger receive`` takes it."""
    tool, sign, profile = model.partition("/")
    return f"{tool} --profile {profile}" if sign else tool


def next_serials(link: Connection, model: str, count: int) -> list[str]:
    """Return serials that were never used, ``tool-001`` onward."""
    stem = model.replace("/", "-") + "-"
    taken = link.execute(
        text(
            "SELECT serial FROM entries WHERE serial IS NOT NULL AND substr(serial, 1, :n) = :stem"
        ),
        {"n": len(stem), "stem": stem},
    ).scalars()
    tails = [t[len(stem) :] for t in taken]
    last = max((int(t) for t in tails if t.isascii() and t.isdigit()), default=0)
    return [f"{stem}{number:03d}" for number in range(last + 1, last + count + 1)]


def check_serials(link: Connection, serials: Sequence[str]) -> None:
    """Refuse serials that are in the ledger, or twice in the list."""
    for at, serial in enumerate(serials):
        if serial in serials[:at] or _standing(link, "p.serial = :serial", serial=serial):
            raise LedgerError(
                f"The serial {serial!r} is taken.",
                where=Where(key="--serial"),
                remedy="Give every piece a serial of its own; a retired piece keeps its serial.",
            )


def _missing(link: Connection, wanted: Sequence[str]) -> LedgerError:
    taken = set(link.execute(select(mounts.c.pocket)).scalars())
    free = (n for n in range(1, len(taken) + len(wanted) + 1) if n not in taken)
    commands: list[str] = []
    for model in wanted:
        tool, _, profile = model.partition("/")
        same = _standing(
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


def undo(link: Connection, ids: Sequence[int], stamp: Stamp) -> list[dict[str, Any]]:
    """Return the counter-entries to entries.

    Raises
    ------
    LedgerError
        No such entry, already reversed, itself a reversal, or other entries rest on it.
    """
    rows: list[dict[str, Any]] = []
    for number in ids:
        row = link.execute(select(entries).where(entries.c.id == number)).mappings().first()
        if row is None:
            last = link.execute(_LAST_ENTRY).scalar() or 0
            raise _refused(number, "there is no such entry", f"The last entry is {last}.")
        by = link.execute(select(entries.c.id).where(entries.c.reverses == number)).scalar()
        if by is not None:
            raise _refused(number, f"it was reversed by entry {by}", "Nothing needs to be done.")
        if row["kind"] == Kind.REVERSED.value:
            raise _refused(number, "it is a reversal itself", "Enter anew what it undid.")
        if row["kind"] == Kind.RECEIVED.value:
            rest = link.execute(
                text(
                    "SELECT COUNT(*) FROM entries e WHERE e.piece = :piece AND e.id <> :piece "
                    f"AND e.kind <> 'reversed' AND {NOT_REVERSED.format('e')}"
                ),
                {"piece": number},
            ).scalar()
            if rest:
                raise _refused(
                    number,
                    f"{rest} other entries of {row['serial']} rest on its receipt",
                    "Reverse those first ('edgetime ledger history' shows them).",
                )
        opposite = {a.column: -row[a.column] for a in ADDED if row[a.column] is not None}
        rows.append(
            stamp.row(
                Kind.REVERSED,
                piece=row["piece"],
                reverses=number,
                stone=row["stone"],
                governing=row["governing"],
                currency=row["currency"] if row["cost_e6"] is not None else None,
                **opposite,
            )
        )
    return rows


def _refused(number: int, why: str, remedy: str) -> LedgerError:
    return LedgerError(
        f"Entry {number} cannot be reversed: {why}.",
        where=Where(key=f"entry {number}"),
        remedy=remedy,
    )


def refuse_negative(link: Connection, pieces: Sequence[int]) -> None:
    """Refuse what would leave a piece with less than nothing used in any of its lives."""
    for row in segments(link, dict.fromkeys(pieces)):
        values = row._mapping  # noqa: SLF001  SQLAlchemy's own name for it
        totals = {a.name: int(values[a.column] or 0) for a in ADDED}
        # What counts towards every measure may be negative as long as the greatest share is not.
        totals["share_any"] += max(totals[m.share] for m in MEASURES)
        short = [name for name, total in totals.items() if total < 0]
        if short:
            serial = link.execute(
                select(entries.c.serial).where(entries.c.id == row.piece)
            ).scalar()
            raise LedgerError(
                f"That would leave {serial} with less than nothing used ({', '.join(short)}).",
                where=Where(key=str(serial)),
                remedy="Reverse the adjustment first, or adjust by less "
                f"('edgetime ledger history {serial}' shows both).",
            )


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
