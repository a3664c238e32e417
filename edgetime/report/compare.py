"""Alternatives side by side, on the screen and in files."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from edgetime.price.costing import lines_costing
from edgetime.report.columns import AREA, CLOCK, COUNT, EDGE, Column, NumberForm, Sheet, Unit
from edgetime.report.costing import rate_tables, work_tables
from edgetime.report.differ import AREA_GROSS
from edgetime.report.document import Block, Heading, Line, Table, Tone
from edgetime.report.findings import finding_parts
from edgetime.report.numbers import Numbers, figure_blocks
from edgetime.report.quantities import format_thickness
from edgetime.report.side_by_side import side_by_side
from edgetime.report.text import NONE, clock
from edgetime.report.wording import in_units
from edgetime.units import UnitSystem

if TYPE_CHECKING:
    from edgetime.comparison import AlternativeFigures, Comparison
    from edgetime.comparison.alternatives import BreakEven
    from edgetime.price.costing import Costing
    from edgetime.price.formulas import Exact
    from edgetime.tooling.price_rates import PriceRates

_MM2_PER_M2 = 1e6
_MM2_PER_FT2 = 304.8**2
_FT_PER_M = 1 / 0.3048

Show = Callable[[Any, UnitSystem], str]

_UNKNOWN = "unknown"
"""Where a figure there must be is not known; the findings say why."""


def _screen(heading: str, get: Callable[[AlternativeFigures], str]) -> Column[Any]:
    """Declare a figure of an alternative for the screen only."""
    return Column(heading=heading, unit=COUNT, get=get)


def _money(key: str) -> Column[Any]:
    """Declare an amount for files only, to six places."""

    def get(s: Any) -> str | None:
        found = getattr(s, key, None)
        return None if found is None else f"{found:.6f}"

    return Column(key=key, get=get)


def _break_even_columns(
    numbers: Numbers, edge: str, code: str, amount: Callable[[Decimal | None], str]
) -> tuple[Column[Any], ...]:
    """Declare what an alternative costs to buy and when it pays; lengths are in `edge`."""

    def pays(s: AlternativeFigures) -> str:
        if s.break_even is None or s.break_even.pays == "after":
            return "" if s.break_even is None else str(s.break_even.loads)
        return s.break_even.pays.replace("-", " ")

    def metres(s: AlternativeFigures) -> str:
        if s.break_even is None or s.break_even.pays != "after" or s.break_even.metres is None:
            return ""
        scale = 1.0 if edge == "m" else _FT_PER_M
        return numbers.number(Decimal(repr(float(s.break_even.metres) * scale)), 0)

    def days(s: AlternativeFigures) -> str:
        if s.break_even is None or s.break_even.pays != "after":
            return ""
        return NONE if s.break_even.days is None else str(s.break_even.days)

    def of_break_even(key: str, name: str, digits: int | None = None) -> Column[Any]:
        def get(s: Any) -> Any:
            found = getattr(getattr(s, "break_even", None), name, None)
            return found if found is None or digits is None else f"{found:.{digits}f}"

        return Column(key=key, unit=COUNT, get=get)

    return (
        _money("purchase"),
        _money("saving"),
        of_break_even("pays", "pays"),
        of_break_even("break_even_loads", "loads"),
        of_break_even("break_even_m", "metres", 3),
        of_break_even("break_even_days", "days"),
        _screen(f"to buy, {code}", lambda s: "" if s.break_even is None else amount(s.purchase)),
        _screen(
            f"saves per load, {code}",
            lambda s: "" if s.break_even is None else amount(s.saving),
        ),
        _screen("break-even, loads", pays),
        _screen(f"break-even, {edge}", metres),
        _screen("break-even, days", days),
    )


def compare_sheet(comparison: Comparison, system: UnitSystem) -> Sheet[Any]:
    """Declare the figures of an alternative, and why one is refused, for files.

    Money is before overhead and margin.
    """
    metric = system is UnitSystem.METRIC
    code = comparison.currency
    numbers = Numbers(comparison.locale, code)

    def file(key: str, heading: str = "", show: Show | None = None) -> Column[Any]:
        # What is refused has none of the figures, only why.
        return Column(
            key=key, heading=heading, unit=COUNT, get=lambda s: getattr(s, key, None), show=show
        )

    def amount(value: Decimal | None) -> str:
        return _UNKNOWN if value is None else numbers.amount(value)

    def per_length(s: AlternativeFigures) -> str:
        found = s.per_m if metric else s.per_ft
        return (NONE if s.cost is not None else _UNKNOWN) if found is None else amount(found)

    def area(s: AlternativeFigures) -> str:
        if s.area_mm2_per_shift is None:
            return NONE
        per = _MM2_PER_M2 if metric else _MM2_PER_FT2
        return numbers.signed(f"{s.area_mm2_per_shift / per:.1f}")

    def minutes(seconds: float, _: UnitSystem) -> str:
        return clock(seconds)

    edge, hand = ("m", 1000.0) if metric else ("ft", 304.8)
    return Sheet(
        (
            Column(key="with", get=lambda s: s.text),
            file("machine"),
            file("stack"),
            file("feed_override"),
            file("machine_s", "cycle, min:s", minutes),
            file("attended_s", "labour, min:s", minutes),
            file("hand_mm", f"by hand, {edge}", lambda mm, _: numbers.signed(f"{mm / hand:.2f}")),
            file("edge_mm"),
            _money("tools"),
            _money("cost"),
            _money("per_m"),
            Column(key="currency", get=lambda s: None if hasattr(s, "why") else code),
            _screen(f"worn tools, {code}", lambda s: amount(s.tools)),
            _screen(f"cost, {code}", lambda s: amount(s.cost)),
            _screen(f"cost per {edge}, {code}", per_length),
            file("loads_per_shift", "loads per shift"),
            file("area_mm2_per_shift"),
            _screen(f"{'m2' if metric else 'sq ft'} per shift", area),
            *_break_even_columns(numbers, edge, code, amount),
            Column(key="why_not", get=lambda s: getattr(s, "why", None)),
            _screen("errors, warnings", lambda s: f"{s.errors}, {s.warnings}"),
        )
    )


def _about(s: AlternativeFigures) -> str:
    feed = "" if s.feed_override == 1.0 else f", feeds {100.0 * s.feed_override:g} %"
    return f"machine {s.machine}, stack {s.stack}{feed}"


def compare_costing(comparison: Comparison, own: PriceRates) -> Costing:
    """Take the alternatives apart for a surface that calculates."""
    lines = [("", s.text or "as it is", s.quote) for s in comparison.alternatives]
    return lines_costing(lines, own)


def _live_sheet(
    comparison: Comparison, numbers: Numbers, system: UnitSystem
) -> Sheet[AlternativeFigures]:
    """Declare the alternatives for a surface that calculates, one in a row."""
    number = {id(s): n for n, s in enumerate(comparison.alternatives, 1)}
    code, edge_mm = comparison.currency, 1000.0 if system is UnitSystem.METRIC else 304.8
    edge = "m" if system is UnitSystem.METRIC else "ft"
    per_load = f" / {comparison.loads}"

    def cost(kind: str) -> str:
        return f"sum_if(costing.item_number, number, costing.{kind}){per_load}"

    def money(
        key: str, heading: str, get: Callable[[AlternativeFigures], Any], formula: str,
        *, entry: bool = False,
    ) -> Column[AlternativeFigures]:  # fmt: skip
        def of(s: AlternativeFigures) -> Any:
            found = get(s)
            unknown = _UNKNOWN if number[id(s)] == 1 or s.break_even is None else NONE
            return unknown if found is None and key not in {"purchase", "saving"} else found

        return Column(
            key=key, heading=f"{heading}, {code}", unit=COUNT, get=of, form=numbers.form(),
            show=lambda v, _: v if isinstance(v, str) else numbers.amount(v),
            formula=lambda s: formula if isinstance(of(s), Decimal) else "",
            entry=lambda s: entry and s.purchase is not None,
        )  # fmt: skip

    def after(s: AlternativeFigures) -> BreakEven | None:
        pays = s.break_even
        return pays if pays is not None and pays.pays == "after" else None

    return Sheet(
        (
            Column(key="number", heading="#", unit=COUNT, get=lambda s: number[id(s)]),
            Column(heading="Alternative", get=lambda s: s.text or "as it is"),
            Column(heading="Machine", get=lambda s: s.machine),
            Column(heading="Stack", get=lambda s: s.stack),
            Column(key="machine_s", heading="Cycle", unit=CLOCK),
            Column(key="attended_s", heading="Labour", unit=CLOCK),
            Column(key="hand_mm", heading="By hand,", unit=EDGE),
            Column(key="edge_mm", heading="Edge,", unit=EDGE),
            money("tools", "Worn tools", lambda s: s.tools, cost("tools_cost")),
            money("cost", "Cost", lambda s: s.cost, cost("cost")),
            money(
                "per_length", f"Cost per {edge}",
                lambda s: s.per_m if edge == "m" else s.per_ft,
                f"cost / (edge_mm / {edge_mm})",
            ),
            Column(key="loads_per_shift", heading="Loads per shift", unit=COUNT),
            Column(key="area_mm2_per_shift", heading="Per shift,", unit=Unit("", AREA.show, AREA.heading, form=AREA.form)),
            money("purchase", "To buy", lambda s: s.purchase, "", entry=True),
            money("saving", "Saves per load", lambda s: s.saving, "sum_if(alternatives.number, 1, alternatives.cost) - cost"),
            Column(
                heading="Break-even", get=lambda s: s.break_even and s.break_even.pays.replace("-", " "),
            ),
            Column(
                key="break_even", heading="Loads", unit=COUNT,
                get=lambda s: (pays := after(s)) and pays.loads, form=NumberForm(1.0, "0"),
                formula="round_up(purchase / saving, 1) if saving > 0 else 0",
            ),
            Column(
                heading="Days", unit=COUNT, get=lambda s: (pays := after(s)) and pays.days,
                form=NumberForm(1.0, "0"),
                formula="round_up(break_even / loads_per_shift, 1)",
            ),
        )
    )  # fmt: skip


def compare_screen(
    comparison: Comparison,
    system: UnitSystem,
    *,
    figures: Sequence[Exact] = (),
    live: Costing | None = None,
) -> Iterator[Block]:
    """Return the document of the command ``compare``.

    With ``live``, for a surface that calculates, the alternatives are rows that follow from its
    tables.
    """
    numbers = Numbers(comparison.locale, comparison.currency)
    made = comparison.alternatives
    if made[0].errors:
        yield Line(
            "Today's load cannot run as drawn; edgetime estimate shows the errors.",
            tone=Tone.ERROR,
        )
    count = "one load" if comparison.loads == 1 else f"{comparison.loads} loads, on average"
    yield Line(
        f"{comparison.stone} {format_thickness(comparison.thickness_mm, system)}, {count}. Cost: "
        "machine, power, water, labour, hand finishing and worn tools, before overhead and margin."
    )
    yield Heading("Alternatives")
    for k, s in enumerate(made):
        yield Line(f"{k}  {s.text or 'as it is'}: {_about(s)}", indent=2, hang=5)
    for refused in comparison.refused:
        why = in_units(refused.why, system, decimal=numbers.decimal)
        yield Line(f"-  {refused.text}: cannot be made. {why}", indent=2, hang=5)
    yield Line("")
    names = [str(k) for k in range(len(made))]
    if live is None:
        yield from side_by_side(
            compare_sheet(comparison, system), made, names, system, first="Per load"
        )
    else:
        yield Table(_live_sheet(comparison, numbers, system), made, name="alternatives")
        yield from rate_tables(live, numbers)
    if any(s.shift is not None for s in made):
        yield Line(AREA_GROSS)
    bought = [s for s in made if s.pieces]
    if bought:
        yield Heading("To buy: not among the tools of the load as it is")
    for s in bought:
        prices = (
            f"{piece} {NONE if price is None else numbers.amount(price)}"
            for piece, price in s.pieces
        )
        yield Line(f"{s.text}: {', '.join(prices)}", indent=2, hang=4)
    yield from figure_blocks(figures, numbers)
    if live is not None:
        yield from work_tables(live, numbers)
    if comparison.findings:
        yield from finding_parts(comparison.findings, system, decimal=numbers.decimal)
