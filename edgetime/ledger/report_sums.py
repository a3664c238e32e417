"""Adding up the books of a period, entry by entry: see :mod:`edgetime.ledger.report`."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from functools import lru_cache
from itertools import pairwise
from typing import Any, Final

from sqlalchemy import Connection, select

from edgetime.choices import ReportBy
from edgetime.ledger.amounts import BY_NAME, CONSUMED, MEASURES, as_utc, read_time, time_text
from edgetime.ledger.holdings import (
    USE,
    Ended,
    Holdings,
    Life,
    Piece,
    Row,
    greatest_share,
    not_reversed,
)
from edgetime.ledger.records import Kind, Reason, factor_of
from edgetime.ledger.report import ActualRun, EndedLife, Group, LedgerReport, Money, tidy
from edgetime.ledger.tables import entries, runs


@dataclass(slots=True)
class _Purse:
    """Money of one currency, in whole millionths, and nanometres of edge."""

    contact_nm: int = 0
    spent_e6: int = 0
    cost_e6: int = 0
    written_off: Decimal = Decimal(0)
    stock: Decimal = Decimal(0)


_ENDS: Final = frozenset({Kind.RETIRED.value, Kind.REPROFILED.value})
_USED: Final = ("contact_mm", "volume_mm3", "cut_s", "holes", "area_mm2")


@dataclass(slots=True)
class _Sums:
    """A group being added up."""

    runs: dict[int, Row] = field(default_factory=dict)
    pieces: set[int] = field(default_factory=set)
    share_e12: int = 0
    received: int = 0
    retired: int = 0
    used: dict[str, int] = field(default_factory=lambda: dict.fromkeys(_USED, 0))
    stock: int = 0
    unvalued: int = 0
    purses: dict[str, _Purse] = field(default_factory=dict)

    def purse(self, currency: str) -> _Purse:
        return self.purses.setdefault(currency, _Purse())

    def add(self, row: Row) -> None:
        """Add an entry of the period."""
        kind = row["kind"]
        if kind in USE:
            self._use(row)
        elif kind == Kind.RECEIVED.value:
            self.received += 1
        elif kind == Kind.RETIRED.value:
            self.retired += 1
        if row["price_e6"] is not None:
            self.purse(row["currency"]).spent_e6 += int(row["price_e6"])

    def _use(self, row: Row) -> None:
        if row["run"] is not None:
            self.runs[row["run"]] = row
        self.pieces.add(row["piece"])
        self.share_e12 += greatest_share(row) or 0
        for name in _USED:
            self.used[name] += int(row[BY_NAME[name].column] or 0)
        if row["cost_e6"] is not None:
            purse = self.purse(row["currency"])
            purse.cost_e6 += int(row["cost_e6"])
            purse.contact_nm += int(row[BY_NAME["contact_mm"].column] or 0)

    def write_off(self, life: Life) -> None:
        """Add what is left of the money of a life that has ended."""
        if life.written_off is not None and life.currency is not None:
            self.purse(life.currency).written_off += life.written_off

    def hold(self, piece: Piece) -> None:
        """Add a piece of the stock."""
        self.stock += 1
        life = piece.lives[piece.current]
        value = life.value
        if value is None or life.currency is None:
            self.unvalued += 1
        else:
            self.purse(life.currency).stock += value

    def supplies(self) -> dict[str, float | int | None]:
        """Return the water and electricity of its runs."""
        out: dict[str, float | int | None] = {}
        for amount in CONSUMED:
            known = [
                int(r[amount.column]) for r in self.runs.values() if r[amount.column] is not None
            ]
            out[amount.name] = amount.plain(sum(known)) if known else None
        without = sum(any(r[a.column] is None for a in CONSUMED) for r in self.runs.values())
        return out | {"runs_without_supplies": without}

    def group(self, name: str | None, by: ReportBy | None) -> Group:
        """Return the group; ``by`` is None for the total."""
        receipts, stock = by is None or by.has_receipts, by is None or by.has_stock
        supplies: dict[str, Any] = (
            self.supplies()
            if by is None or by.of_runs
            else {**dict.fromkeys(a.name for a in CONSUMED), "runs_without_supplies": None}
        )
        return Group(
            group=name,
            runs=len(self.runs),
            pieces=len(self.pieces),
            lives_used=self.share_e12 / 10**12,
            received=self.received if receipts else None,
            retired=self.retired if stock else None,
            **{n: total / 10 ** BY_NAME[n].digits for n, total in self.used.items()},
            **supplies,
            stock=self.stock if stock else None,
            stock_unvalued=self.unvalued if stock else None,
            money=tuple(
                Money(
                    currency=currency,
                    contact_mm=purse.contact_nm / 10**6,
                    spent=tidy(Decimal(purse.spent_e6).scaleb(-6)) if receipts else None,
                    cost=tidy(Decimal(purse.cost_e6).scaleb(-6)),
                    written_off=tidy(purse.written_off) if stock else None,
                    stock_value=tidy(purse.stock) if stock else None,
                )
                for currency, purse in sorted(self.purses.items())
            ),
        )


def _month(row: Row) -> str:
    return _local_month(row["at"])


@lru_cache(maxsize=1024)
def _local_month(at: str) -> str:
    # The entries of a run have one time.
    return f"{read_time(at).astimezone():%Y-%m}"


def _key(by: ReportBy, row: Row, holdings: Holdings) -> str | None:
    """Return the group that an entry belongs to."""
    match by:
        case ReportBy.MONTH:
            return _month(row)
        case ReportBy.JOB:
            name = row["load_name"]
        case ReportBy.MACHINE if row["kind"] in _ENDS:
            name = holdings.machine_of(row["piece"])
        case ReportBy.MACHINE:
            name = row["run_machine"]
        case ReportBy.TOOL:
            name = holdings.pieces[row["piece"]].model
        case _:
            name = holdings.pieces[row["piece"]].received[by.value]
    return None if name is None else str(name)


def _counts(by: ReportBy, row: Row) -> bool:
    """Return whether an entry says anything of a group."""
    if row["kind"] in USE:
        return True
    if row["kind"] in _ENDS:
        return by.has_stock
    return by.has_receipts and row["kind"] == Kind.RECEIVED.value


def _months(rows: Sequence[Row]) -> list[str]:
    """Return every month from the first entry to the last."""
    if not rows:
        return []
    year, month = map(int, _month(rows[0]).split("-"))
    out = [f"{year:04d}-{month:02d}"]
    while out[-1] < _month(rows[-1]):
        year, month = (year + 1, 1) if month == 12 else (year, month + 1)
        out.append(f"{year:04d}-{month:02d}")
    return out


class _Adding:
    """A report being added up, entry by entry."""

    def __init__(self, by: ReportBy, holdings: Holdings, months: Iterable[str]) -> None:
        self.by, self.holdings = by, holdings
        self.total = _Sums()
        self.groups: dict[str | None, _Sums] = {}
        # A month closes with its stock, whether anything happened in it or not.
        self.open = list(months) if by is ReportBy.MONTH else []

    def of(self, name: str | None) -> _Sums:
        return self.groups.setdefault(name, _Sums())

    def take(self, row: Row, *, counted: bool) -> None:
        while self.open and self.open[0] < _month(row):
            self._close_month()
        sums = [self.total] if counted else []
        if counted and _counts(self.by, row):
            sums.append(self.of(_key(self.by, row, self.holdings)))
        self.holdings.take(row)
        for one in sums:
            one.add(row)
            if row["kind"] in _ENDS:
                one.write_off(self.holdings.ended[-1].life)

    def _close_month(self) -> None:
        sums = self.of(self.open.pop(0))
        for _, piece in self.holdings.stock():
            sums.hold(piece)

    def close(self) -> None:
        while self.open:
            self._close_month()
        for number, piece in self.holdings.stock():
            self.total.hold(piece)
            if self.by is ReportBy.MACHINE:
                self.of(self.holdings.machine_of(number)).hold(piece)
            elif self.by is ReportBy.TOOL:
                self.of(piece.model).hold(piece)
            elif self.by in {ReportBy.SUPPLIER, ReportBy.BATCH}:
                self.of(piece.received[self.by.value]).hold(piece)


def _ended(one: Ended) -> EndedLife:
    """Compare a life that has ended with what was stated of it."""
    received, sums = one.piece.received, one.life.sums
    held = [m for m in MEASURES if sums[BY_NAME[m.share].column] is not None]
    best = max(held, key=lambda m: sums[BY_NAME[m.share].column] or 0, default=None)
    predicted = lasted = None
    if best is not None:
        amount = BY_NAME[best.used]
        used = (sums[amount.column] or 0) / 10**amount.digits
        share = (sums[BY_NAME[best.share].column] or 0) / 10**12
        if used > 0.0 and share > 0.0:
            # Used over its share is the life stated; a reprofiled wheel began with part of it.
            stated = used / share
            predicted = stated * int(one.life.began["restored_e12"]) / 10**12
            lasted = used + stated * int(sums[BY_NAME["share_any"].column] or 0) / 10**12
    known = predicted is not None and best is not None
    return EndedLife(
        serial=received["serial"],
        tool=received["tool"],
        profile=received["profile"],
        supplier=received["supplier"],
        batch=received["batch"],
        ended=Reason(one.end["reason"]),
        at=read_time(one.end["at"]),
        measure=best.by if known and best else None,
        unit=best.unit if known and best else None,
        predicted=predicted,
        lasted=lasted,
    )


def _sum(rows: Iterable[Row], name: str) -> float:
    amount = BY_NAME[name]
    return amount.plain(sum(int(row[amount.column] or 0) for row in rows)) or 0.0


def _predicted(rows: Sequence[Row], same: Sequence[Row] | None, name: str) -> float | None:
    """Return what was predicted for a run entered with its actual use."""
    factors = [factor_of(row["mark"]) for row in rows]
    if all(factors):
        amount = BY_NAME[name]
        parts = zip(rows, factors, strict=True)
        total = sum(float(row[amount.column] or 0) / (factor or 1.0) for row, factor in parts)
        return float(total / 10**amount.digits)
    # Posted by a release before, or a tool that did nothing at all: the factor tells nothing.
    return None if same is None else _sum(same, name)


def _as_posted(rows: Sequence[Row]) -> list[Row]:
    """Return the entries a run was posted with: a charge that was moved later is no part of it.

    They are numbered without a gap from the run's first.
    """
    last = next((a["id"] for a, b in pairwise(rows) if b["id"] != a["id"] + 1), rows[-1]["id"])
    return [row for row in rows if row["id"] <= last]


def _actual(everything: Iterable[Row], counted: Iterable[Row]) -> tuple[ActualRun, ...]:
    """Compare runs entered with their actual use with the same work as predicted."""
    predicted: dict[str, list[Row]] = {}
    by_run: dict[int, list[Row]] = {}
    for row in everything:
        if row["run"] is not None and row["kind"] == Kind.USED.value and row["actual"] == 0:
            by_run.setdefault(row["run"], []).append(row)
    for found in by_run.values():
        for name in ("digest", "work_digest"):
            if found[0][name] is not None:
                predicted.setdefault(found[0][name], _as_posted(found))
    actual: dict[int, list[Row]] = {}
    for row in counted:
        if row["run"] is not None and row["kind"] == Kind.USED.value and row["actual"]:
            actual.setdefault(row["run"], []).append(row)
    out = []
    for rows in actual.values():
        first = rows[0]
        same = predicted.get(first["work_digest"]) or predicted.get(first["digest"])
        out.append(
            ActualRun(
                load=first["load_name"],
                run=first["run_no"],
                machine=first["run_machine"],
                at=read_time(first["at"]),
                contact_mm=_sum(rows, "contact_mm"),
                cut_s=_sum(rows, "cut_s"),
                predicted_contact_mm=_predicted(rows, same, "contact_mm"),
                predicted_cut_s=_predicted(rows, same, "cut_s"),
            )
        )
    return tuple(out)


_QUERY: Final = (
    select(
        entries,
        *(runs.c[n] for n in ("load_name", "run_no", "digest", "work_digest", "actual")),
        runs.c.machine.label("run_machine"),
        *(runs.c[a.column] for a in CONSUMED),
    )
    .outerjoin(runs, runs.c.id == entries.c.run)
    .order_by(entries.c.id)
)


def ledger_report(
    link: Connection, by: ReportBy, *, since: datetime | None, until: datetime | None
) -> LedgerReport:
    """Add up the books of a period.

    What was reversed, and its reversal, count nowhere. Shares and costs are those entered with
    each run, by the lives stated on its day; correcting a tool's file does not change what was
    charged.

    Parameters
    ----------
    link : Connection
        In a transaction.
    by : ReportBy
        What to divide by.
    since, until : datetime or None
        From when on, and up to when, which is not included.
    """
    everything = link.execute(_QUERY).mappings().all()
    first = "" if since is None else time_text(as_utc(since))
    end = "~" if until is None else time_text(as_utc(until))
    standing = not_reversed(everything)
    rows = [row for row in standing if row["at"] < end]
    counted = [row for row in rows if row["at"] >= first]
    adding = _Adding(by, Holdings(standing), _months(counted))
    for row in rows:
        adding.take(row, counted=row["at"] >= first)
    adding.close()
    names = sorted(adding.groups, key=lambda name: (name is None, name or ""))
    return LedgerReport(
        by=by,
        since=since,
        until=until,
        zone=f"{(until or datetime.now().astimezone()).astimezone():%Z}",
        groups=tuple(adding.groups[name].group(name, by) for name in names),
        # Receipts and stock belong to no job, so the total of jobs has none either.
        total=adding.total.group(None, None if by.has_stock else by),
        ended_lives=tuple(_ended(e) for e in adding.holdings.ended if e.end["at"] >= first),
        actual_runs=_actual(everything, counted),
    )
