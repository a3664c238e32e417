"""What a price follows from, as tables that a spreadsheet calculates again."""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from edgetime.report.columns import COUNT, Cell, Column, NumberForm, Sheet, Unit
from edgetime.report.document import Heading, Line, Table
from edgetime.report.numbers import Numbers

if TYPE_CHECKING:
    from edgetime.price.costing import Costing, CostRow, RateRow, ToolRow, TotalRow
    from edgetime.report.document import Block

PAGE: Final = "Rates"
"""The sheet with all that a person changes, and the total that follows."""

_LABELS: Final = {
    "machine_rate": "Machine",
    "labour_rate": "Labour",
    "hand_rate": "Hand finishing",
    "electricity": "Electricity",
    "water_rate": "Water",
    "attendance": "Attendance, share of the cycle",
    "scrap": "Scrap",
    "overhead_rate": "Overhead",
    "margin": "Margin",
    "least": "Minimum charge",
    "step": "Round to",
    "tax_rate": "Tax",
    "setup": "Setup of a load",
}
_AMOUNTS: Final = {
    "machine_s": "Machine",
    "waiting_s": "Machine waits",
    "attended_s": "Attended",
    "bench_s": "Bench",
    "setup_h": "Setup, h",
    "energy_kwh": "Energy, kWh",
    "water_m3": "Water, m3",
    "hand_m": "Hand finishing, m",
    "tools": "Tools",
    "material": "Material",
}
_TIME: Final = NumberForm(1.0 / 86400.0, "[h]:mm:ss")
_SHARE: Final = NumberForm(1.0, "0.00%")
_FINE: Final = NumberForm(1.0, "0.0000")
_WORD: Final = re.compile(r"[a-z]\w*(?:\.\w+)?")

HOW: Final = (
    "Change a framed cell on the sheets Rates and Items: costs, overhead, margin, rounding, tax "
    "and total follow. A changed quantity scales the time and the wear of its item, tool changes "
    "and loading included; for other work, calculate the price anew. Sentences on this sheet and "
    "sheets without formulas keep the figures of the calculation."
)
"""What a person must know of a workbook that can be calculated again."""

HOW_OF_LINES: Final = (
    "Change a framed cell on the sheet Rates: costs and the figures made of them follow. Sentences on "
    "this sheet and sheets without formulas keep the figures of the calculation."
)
"""The same, where nothing is sold by a quantity."""


def _plain(value: Any, _: Any) -> str:
    return f"{value}"


def _value(numbers: Numbers) -> Any:
    """Return how to get the value of a rate: a share in per cent, else as it is written."""
    share: Column[Any] = Column(heading=" ", show=_plain, form=_SHARE)

    def get(row: RateRow) -> Cell:
        if row.unit == "-":
            return Cell(share, row.value)
        exact = row.value.normalize()
        places = max(numbers.digits, min(-int(exact.as_tuple().exponent), 4))
        own: Column[Any] = Column(heading=" ", show=_plain, form=numbers.form(max(places, 0)))
        return Cell(own, row.value)

    return get


def _label(name: str) -> str:
    plain = re.sub(r"_\d+$", "", name)
    return _LABELS.get(plain, plain.replace("_", " ").capitalize())


def _rates(numbers: Numbers) -> Sheet[RateRow]:
    return Sheet(
        (
            Column(
                heading="Rate",
                get=lambda r: _label(r.name),
            ),
            Column(
                key="value",
                heading="Value",
                unit=COUNT,
                get=_value(numbers),
                entry=lambda r: not r.formula,
                named=lambda r: r.name,
                formula=lambda r: r.formula,
            ),
            Column(heading="Unit", get=lambda r: "" if r.unit == "-" else r.unit),
            Column(heading="Meaning", get=lambda r: r.note),
            Column(heading="From", get=lambda r: r.source),
        )
    )


def _totals(numbers: Numbers) -> Sheet[TotalRow]:
    return Sheet(
        (
            Column(heading="Total of the job", get=lambda r: r.title),
            Column(
                key="value",
                heading=numbers.currency,
                unit=COUNT,
                named=lambda r: r.name,
                formula=lambda r: r.formula,
                form=numbers.form(),
            ),
        )
    )


def _tools(table: Costing, numbers: Numbers) -> Sheet[ToolRow]:
    number = {row.piece: n for n, row in enumerate(table.tools, 1)}
    form = numbers.form()
    return Sheet(
        (
            Column(heading="Tool", get=lambda r: r.piece),
            Column(
                key="price",
                heading=f"Price, {numbers.currency}",
                unit=COUNT,
                form=form,
                entry=True,
                named=lambda r: f"price_{number[r.piece]}",
            ),
            Column(
                key="share",
                heading="Life used",
                unit=COUNT,
                form=_SHARE,
                formula=lambda r: f"sum(wear.share_{number[r.piece]})",
            ),
            Column(
                key="cost",
                heading=f"Cost, {numbers.currency}",
                unit=COUNT,
                form=form,
                formula="price * share",
                total=(lambda rows: sum((r.cost for r in rows), Decimal(0)))
                if table.scaled
                else None,
            ),
            Column(heading="From", get=lambda r: r.source),
        )
    )


_WHOSE: Final[tuple[Column[CostRow], ...]] = (
    Column(heading="Part", get=lambda r: r.part_id or "-"),
    Column(heading="Item", get=lambda r: r.item),
)
_KEYS: Final[tuple[Column[CostRow], ...]] = (
    Column(key="part_number", heading="Part #", unit=COUNT),
    Column(key="item_number", heading="Item #", unit=COUNT),
)


def _keys(table: Costing) -> tuple[Column[CostRow], ...]:
    """Return the numbers by which rows are found: lines have one, for they are of no part."""
    return _KEYS if table.scaled else _KEYS[1:]


def _wear(table: Costing) -> Sheet[CostRow]:
    def life(piece: str, number: int) -> Column[CostRow]:
        def formula(row: CostRow) -> str:
            share = row.lives.get(piece)
            return f"{float(share)!r} * scale" if share and table.scaled else ""

        return Column(
            key=f"share_{number}",
            heading=piece.replace("/", "/ ", 1),
            unit=COUNT,
            get=lambda r: r.lives.get(piece),
            form=_SHARE,
            formula=formula,
        )

    lives = [life(row.piece, n) for n, row in enumerate(table.tools, 1)]
    return Sheet((*_WHOSE, *lives))


def _work(table: Costing) -> Sheet[CostRow]:
    number = {row.piece: n for n, row in enumerate(table.tools, 1)}
    setup = next((r.value for r in table.rates if r.name == "setup"), Decimal(0))

    def amount(name: str) -> Column[CostRow]:
        def formula(row: CostRow) -> str:
            value = getattr(row.amounts, name)
            if not value:
                return ""
            if name == "tools":
                terms = [f"price_{number[p]} * share_{number[p]}" for p in row.lives if p in number]
                return " + ".join(terms)
            if name == "setup_h":
                # Set-up is for the load, however much of an item it holds.
                return f"{float(value / setup)!r} * setup" if setup else ""
            return f"{float(value)!r} * scale" if table.scaled else ""

        seconds = name.endswith("_s")
        return Column(
            key=name,
            heading=_AMOUNTS[name],
            unit=Unit("", _plain),
            get=lambda r: getattr(r.amounts, name) or None,
            form=_TIME if seconds else _FINE,
            formula=formula,
        )

    scale: Column[CostRow] = Column(
        key="scale",
        heading="Times",
        unit=COUNT,
        get=lambda _: 1.0,
        form=NumberForm(1.0, "0.000"),
        formula="sum_if(items.number, item_number, items.scale)",
    )
    own = (scale,) if table.scaled else ()
    return Sheet((*_WHOSE, *_keys(table), *own, *map(amount, table.used)))


def _costs(table: Costing, numbers: Numbers) -> Sheet[CostRow]:
    absent = set(_AMOUNTS) - set(table.used)

    def cost(name: str, formula: str) -> Column[CostRow]:
        def own(row: CostRow) -> str:
            # An amount that nothing has is not a column.
            return _WORD.sub(
                lambda m: "0" if m[0] in absent else row.renamed.get(m[0], m[0]), formula
            )

        return Column(
            key=name,
            heading=name.removesuffix("_cost").capitalize(),
            unit=COUNT,
            get=lambda r: r.costs[name],
            form=numbers.form(numbers.digits + 2),
            formula=own,
            total=(lambda rows: sum((r.costs[name] for r in rows), Decimal(0)))
            if table.scaled
            else None,
        )

    return Sheet((*_WHOSE, *_keys(table), *(cost(*pair) for pair in table.formulas.items())))


def rate_tables(table: Costing, numbers: Numbers) -> Iterator[Block]:
    """Yield what a person may change, under the total that follows."""
    yield Heading("Rates to change, and the total that follows")
    yield Line(HOW if table.scaled else HOW_OF_LINES)
    if table.totals:
        yield Table(_totals(numbers), table.totals, name="totals", page=PAGE)
    yield Table(
        _rates(numbers),
        table.rates,
        name="rates",
        page=PAGE,
        title="Rates (framed cells can be changed)",
    )
    if table.tools:
        yield Table(
            _tools(table, numbers), table.tools, name="tools", page=PAGE, title="Prices of tools"
        )


def work_tables(table: Costing, numbers: Numbers) -> Iterator[Block]:
    """Yield what a quote's items, parts and costs follow from: amounts, wear and costs."""
    yield Heading("Work and cost by part and item")
    yield Table(_work(table), table.rows, name="work", beside=("wear",) if table.tools else ())
    if table.tools:
        yield Table(_wear(table), table.rows, name="wear", beside=("work",))
    yield Table(_costs(table, numbers), table.rows, name="costing", beside=("work",))
