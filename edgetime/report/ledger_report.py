"""The report of the ledger: use and money by group, predicted beside used."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, time, timedelta
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from edgetime.choices import ReportBy
from edgetime.ledger.records import Left
from edgetime.ledger.report import ActualRun, EndedLife, Group, LedgerReport, Money
from edgetime.report.columns import (
    AREA,
    COUNT,
    EDGE,
    HOURS,
    TEXT,
    VOLUME,
    Column,
    NumberForm,
    Sheet,
    Unit,
)
from edgetime.report.document import Block, Heading, Line, Table
from edgetime.report.ledger import left_text
from edgetime.unit_table import FT_MM
from edgetime.units import UnitSystem

if TYPE_CHECKING:
    from decimal import Decimal


_M_PER_FT: Final = FT_MM / 1e3

_HEADS: Final = {
    ReportBy.MONTH: "Month",
    ReportBy.JOB: "Job",
    ReportBy.MACHINE: "Machine",
    ReportBy.TOOL: "Tool",
    ReportBy.SUPPLIER: "Supplier",
    ReportBy.BATCH: "Batch",
}
_NAMELESS: Final = {ReportBy.JOB: "no job", ReportBy.MACHINE: "no machine"}
_ALL: Final = "All"


def _money(value: Decimal, _: UnitSystem) -> str:
    return f"{value:.2f}"


def _per_length(value: Decimal, system: UnitSystem) -> str:
    shown = float(value) * (1.0 if system is UnitSystem.METRIC else _M_PER_FT)
    return f"{shown:.2f}" if abs(shown) >= 1.0 else f"{shown:.4f}"


_MONEY: Final = Unit("", _money, form=lambda _: NumberForm(1.0, "0.00"))
_PER_LENGTH: Final = Unit(
    "_per_m",
    _per_length,
    lambda s: "per m" if s is UnitSystem.METRIC else "per ft",
    form=lambda s: NumberForm(1.0 if s is UnitSystem.METRIC else _M_PER_FT, "0.0000"),
)
_AMOUNT: Final = Unit("", lambda value, _: f"{value:.0f}" if value >= 100.0 else f"{value:.3g}")
_SHARE: Final = Unit("", lambda value, _: f"{100.0 * value:.0f} %")
_LIVES: Final = Unit("", lambda value, _: f"{value:.2f}")


class GroupRow(NamedTuple):
    """A group and its money in one currency; the group's own figures are in its first row."""

    group: Group
    money: Money | None
    first: bool = True
    total: bool = False


def rows_of(groups: Sequence[Group], *, total: bool = False) -> list[GroupRow]:
    """Return a row for each group and currency.

    Parameters
    ----------
    groups : sequence of Group
        In order.
    total : bool
        Whether they are of all together.
    """
    return [
        GroupRow(group, money, number == 0, total)
        for group in groups
        for number, money in enumerate(group.money or (None,))
    ]


def _of(name: str) -> Any:
    """Get a figure of the group, once for each."""
    return lambda row: getattr(row.group, name) if row.first else None


def _paid(name: str) -> Any:
    return lambda row: None if row.money is None else getattr(row.money, name)


def report_sheet(by: ReportBy, *, use: bool = True, money: bool = True) -> Sheet[GroupRow]:
    """Return the columns of the groups.

    Parameters
    ----------
    by : ReportBy
        What they are.
    use, money : bool
        Whether the screen shows what was used, and what it cost.
    """

    def head(shown: bool, text: str) -> str:  # noqa: FBT001  one of the two above
        return text if shown else ""

    def name(row: GroupRow) -> str:
        return _ALL if row.total else row.group.group or _NAMELESS.get(by, "not stated")

    stock = money and by.has_stock
    return Sheet(
        (
            Column(heading=_HEADS[by], get=name),
            Column(key="group", get=lambda row: row.group.group),
            Column(key="runs", heading=head(use, "Runs"), unit=COUNT, get=_of("runs")),
            Column(key="pieces", heading=head(use, "Qty"), unit=COUNT, get=_of("pieces")),
            Column(key="lives_used", heading=head(use, "Lives"), unit=_LIVES,
                   get=_of("lives_used")),
            Column(key="received", unit=COUNT, get=_of("received"),
                   heading=head(use and by.has_receipts, "New")),
            Column(key="retired", unit=COUNT, get=_of("retired"),
                   heading=head(use and by.has_stock, "Retired")),
            Column(key="contact_mm", heading=head(use, "Edge"), unit=EDGE, get=_of("contact_mm")),
            Column(key="volume_mm3", unit=VOLUME, get=_of("volume_mm3")),
            Column(key="cut_s", heading=head(use, "Cut"), unit=HOURS, get=_of("cut_s")),
            Column(key="holes", unit=_AMOUNT, get=_of("holes")),
            Column(key="area_mm2", unit=AREA, get=_of("area_mm2")),
            Column(key="water_l", heading=head(use and by.of_runs, "Water l"), unit=_AMOUNT,
                   get=_of("water_l")),
            Column(key="electricity_kwh", heading=head(use and by.of_runs, "kWh"), unit=_AMOUNT,
                   get=_of("electricity_kwh")),
            Column(key="currency", heading=head(money, "Money"), get=_paid("currency")),
            Column(key="spent", unit=_MONEY, get=_paid("spent"),
                   heading=head(money and by.has_receipts, "Spent")),
            Column(key="cost", heading=head(money, "Cost"), unit=_MONEY, get=_paid("cost")),
            Column(key="written_off", heading=head(stock, "Unused"), unit=_MONEY,
                   get=_paid("written_off")),
            Column(key="charged_mm", unit=EDGE, get=_paid("contact_mm")),
            Column(key="cost_per_m", heading=head(money, "Cost"), unit=_PER_LENGTH,
                   get=_paid("cost_per_m")),
            Column(key="paid_per_m", heading=head(stock, "Paid"), unit=_PER_LENGTH,
                   get=_paid("paid_per_m")),
            Column(key="stock", heading=head(use and by.has_stock, "Stock"), unit=COUNT, get=_of("stock")),
            Column(key="stock_unvalued", unit=COUNT, get=_of("stock_unvalued")),
            Column(key="stock_value", heading=head(stock, "Value"), unit=_MONEY,
                   get=_paid("stock_value")),
        )
    )  # fmt: skip


def _life(name: str) -> Any:
    def get(row: EndedLife) -> Left | None:
        amount = getattr(row, name)
        return None if amount is None or row.unit is None else Left(amount, row.unit)

    return get


ENDED: Final[Sheet[EndedLife]] = Sheet(
    (
        Column(key="serial", heading="Serial"),
        Column(heading="Tool", get=lambda e: e.model),
        Column(key="at", heading="On", get=lambda e: e.at,
               show=lambda value, _: f"{value.astimezone():%Y-%m-%d}"),
        Column(key="ended", heading="Ended", get=lambda e: e.ended.value),
        Column(heading="Stated", unit=COUNT, get=_life("predicted"), show=left_text),
        Column(heading="Lasted", unit=COUNT, get=_life("lasted"), show=left_text),
        Column(key="lasted_over_predicted", heading="of stated", unit=_SHARE),
    )
)  # fmt: skip
"""Lives as stated and as they were."""

ACTUAL: Final[Sheet[ActualRun]] = Sheet(
    (
        Column(key="load", heading="Load"),
        Column(key="run", heading="Run", unit=COUNT),
        Column(key="at", heading="On", get=lambda r: r.at,
               show=lambda value, _: f"{value.astimezone():%Y-%m-%d}"),
        Column(key="machine", heading="Machine", unit=TEXT),
        Column(key="predicted_cut_s", heading="Predicted", unit=HOURS),
        Column(key="cut_s", heading="Actual", unit=HOURS),
        Column(key="actual_over_predicted", heading="of predicted", unit=_SHARE),
    )
)  # fmt: skip
"""Runs as predicted and as they were."""


def _period(found: LedgerReport) -> str:
    first = "" if found.since is None else f" from {_day(found.since)}"
    # A day that is named is part of the period up to its last moment.
    last = None if found.until is None else found.until - timedelta(microseconds=1)
    end = "" if last is None else f" to {_day(last)}"
    return f"{first}{end}" or ", all of it"


def _day(at: datetime) -> str:
    at = at.astimezone()
    whole = at.time() in {time.min, time.max}
    return f"{at:%Y-%m-%d}" if whole else f"{at:%Y-%m-%d %H:%M}"


def _notes(found: LedgerReport) -> list[str]:
    total, by = found.total, found.by
    notes = [
        (
            "Edge: in contact with tools, added up over tools; the finished edge of a job is not in "
            "the ledger. Lives: shares of life used, added up. Cost: the price paid times the share "
            "of life, as charged with each run; currencies are never added."
        )
    ]
    if by.has_stock:
        end = "each month" if by is ReportBy.MONTH else "the period"
        notes.append(
            "Unused: paid for lives that ended, less what was charged from them; paid per metre is "
            f"cost and unused. Stock, Value: number of tools, and price paid times life left, at the end of {end}."
        )
    if total.stock_unvalued and by.has_stock:
        notes.append(
            f"Without a price or a stated life, in no value: {total.stock_unvalued} tools."
        )
    if not by.of_runs:
        notes.append(
            "Water and electricity are entered for whole runs: see --by month, job or machine."
        )
    elif total.runs_without_supplies:
        notes.append(
            f"Entered without water or electricity: {total.runs_without_supplies} of "
            f"{total.runs} runs."
        )
    return notes


def report_parts(found: LedgerReport, ledger: str) -> list[Block]:
    """Return the document of ``ledger report``.

    Parameters
    ----------
    found : LedgerReport
        The figures.
    ledger : str
        Name of the ledger.
    """
    title = f"Report of {ledger}{_period(found)} (days and months in {found.zone})."
    if not found.groups:
        return [Line(title), Line("No entries in that period.")]
    all_rows = [*rows_of(found.groups), *rows_of([found.total], total=True)]
    use = [row for row in all_rows if row.first]
    paid = [row for row in all_rows if row.money is not None]
    parts: list[Block] = [
        Line(title),
        Heading("Use"),
        Table(report_sheet(found.by, money=False), use, name="Use"),
    ]
    if paid:
        sheet = report_sheet(found.by, use=False)
        parts += [Heading("Money"), Table(sheet, paid, name="Money")]
    parts += [Line("\n" + " ".join(_notes(found)))]
    if found.ended_lives:
        parts += [
            Heading("Lives, stated and lasted"),
            Table(ENDED, found.ended_lives, name="Lives"),
            Line(
                "Stated: by the tool's file when its runs were entered. Fitted lives are not kept "
                "in the ledger; 'edgetime survive' calculates them."
            ),
        ]
    if found.actual_runs:
        parts += [
            Heading("Runs, predicted and actual: time in the cut"),
            Table(ACTUAL, found.actual_runs, name="Runs"),
            Line(
                "Predicted: of a run of the same work that was posted without --actual; without "
                "one the ledger does not hold it."
            ),
        ]
    return parts
