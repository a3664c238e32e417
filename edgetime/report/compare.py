"""Set-ups side by side on the screen."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING

from edgetime.report.differ import AREA_GROSS
from edgetime.report.document import Grid, Heading, Line, Tone
from edgetime.report.findings import finding_parts
from edgetime.report.numbers import Numbers, figure_blocks
from edgetime.report.quantities import format_thickness
from edgetime.report.text import NONE, clock
from edgetime.report.wording import in_units
from edgetime.units import UnitSystem

if TYPE_CHECKING:
    from edgetime.comparison import Comparison, SetupFigures
    from edgetime.price.formulas import Exact
    from edgetime.report.document import Block

COMPARE_HEADER = (
    "with", "machine", "stack", "feed_override", "machine_s", "attended_s", "hand_mm", "edge_mm",
    "tools", "cost", "per_m", "currency", "loads_per_shift", "area_mm2_per_shift", "purchase",
    "saving", "pays", "break_even_loads", "break_even_m", "break_even_days", "why_not",
)  # fmt: skip
"""Columns of the CSV form, one row per set-up; money is before overhead and margin."""

_MM2_PER_M2 = 1e6
_MM2_PER_FT2 = 304.8**2
_FT_PER_M = 1 / 0.3048
_FOOT = Decimal("0.3048")


_UNKNOWN = "unknown"
"""Where a figure there must be is not known; the findings say why."""


def _money(amount: Decimal | None) -> str | None:
    return None if amount is None else f"{amount:.6f}"


def compare_csv_rows(comparison: Comparison) -> list[list[object]]:
    """Return the rows of the CSV form.

    Parameters
    ----------
    comparison : Comparison
        The set-ups.
    """
    rows: list[list[object]] = []
    for s in comparison.setups:
        pays = s.break_even
        rows.append(
            [
                s.text, s.machine, s.stack, s.feed_override, s.machine_s, s.attended_s, s.hand_mm,
                s.edge_mm, _money(s.tools), _money(s.cost), _money(s.per_m), comparison.currency,
                None if s.shift is None else s.shift.loads,
                None if s.shift is None else s.shift.area_mm2,
                _money(s.purchase), _money(s.saving),
                None if pays is None else pays.pays,
                None if pays is None else pays.loads,
                None if pays is None or pays.metres is None else f"{pays.metres:.3f}",
                None if pays is None else pays.days,
                None,
            ]
        )  # fmt: skip
    empty = [None] * (len(COMPARE_HEADER) - 2)
    rows += [[text, *empty, why] for text, why in comparison.refused]
    return rows


def _pays(s: SetupFigures) -> str:
    if s.break_even is None:
        return ""
    if s.break_even.pays == "after":
        return str(s.break_even.loads)
    return s.break_even.pays.replace("-", " ")


def _rows(
    comparison: Comparison, system: UnitSystem, numbers: Numbers
) -> list[tuple[str, Callable[[SetupFigures], str]]]:
    metric = system is UnitSystem.METRIC
    code = comparison.currency

    def money(amount: Decimal | None) -> str:
        return _UNKNOWN if amount is None else numbers.amount(amount)

    def per_length(s: SetupFigures) -> str:
        if s.per_m is None:
            return _UNKNOWN if s.cost is None else NONE
        return numbers.amount(s.per_m if metric else s.per_m * _FOOT)

    def area(s: SetupFigures) -> str:
        if s.shift is None:
            return NONE
        per = _MM2_PER_M2 if metric else _MM2_PER_FT2
        return numbers.signed(f"{s.shift.area_mm2 / per:.1f}")

    def metres(s: SetupFigures) -> str:
        if s.break_even is None or s.break_even.pays != "after" or s.break_even.metres is None:
            return ""
        scale = 1.0 if metric else _FT_PER_M
        return numbers.number(Decimal(repr(float(s.break_even.metres) * scale)), 0)

    def days(s: SetupFigures) -> str:
        if s.break_even is None or s.break_even.pays != "after":
            return ""
        return NONE if s.break_even.days is None else str(s.break_even.days)

    hand = 1000.0 if metric else 304.8
    return [
        ("cycle, min:s", lambda s: clock(s.machine_s)),
        ("labour, min:s", lambda s: clock(s.attended_s)),
        (f"by hand, {'m' if metric else 'ft'}", lambda s: numbers.signed(f"{s.hand_mm / hand:.2f}")),
        (f"worn tools, {code}", lambda s: money(s.tools)),
        (f"cost, {code}", lambda s: money(s.cost)),
        (f"cost per {'m' if metric else 'ft'}, {code}", per_length),
        ("loads per shift", lambda s: NONE if s.shift is None else str(s.shift.loads)),
        (f"{'m2' if metric else 'sq ft'} per shift", area),
        (
            f"to be bought, {code}",
            lambda s: "" if s.break_even is None else money(s.purchase),
        ),
        (
            f"saves per load, {code}",
            lambda s: "" if s.break_even is None else money(s.saving),
        ),
        ("pays after loads", _pays),
        (f"pays after {'m' if metric else 'ft'}", metres),
        ("pays after days", days),
        ("errors, warnings", lambda s: f"{s.errors}, {s.warnings}"),
    ]  # fmt: skip


def compare_screen(
    comparison: Comparison, system: UnitSystem, *, figures: Sequence[Exact] = ()
) -> list[Block]:
    """Return the screen of the command ``compare``.

    Parameters
    ----------
    comparison : Comparison
        The set-ups.
    system : UnitSystem
        Units of lengths and areas.
    figures : sequence of Explained
        To be explained.
    """
    numbers = Numbers(comparison.locale, comparison.currency)
    first, *others = comparison.setups
    count = "one load" if comparison.loads == 1 else f"{comparison.loads} loads, on average"
    spoiled = [
        Line(
            "As it is, this cannot run as drawn; edgetime estimate shows the errors.",
            tone=Tone.ERROR,
        )
    ]
    parts: list[Block] = [
        *(spoiled if first.errors else ()),
        Line(
            f"{comparison.stone} {format_thickness(comparison.thickness_mm, system)}, {count}. Cost: machine, power, "
            "water, people, hand work and worn tools, before overhead and margin."
        ),
        Heading("Set-ups"),
        Line(f"0  as it is: {_about(first)}", indent=2, hang=5),
    ]
    parts += [
        Line(f"{k}  {s.text}: {_about(s)}", indent=2, hang=5) for k, s in enumerate(others, 1)
    ]
    parts += [
        Line(
            f"-  {text}: cannot be made. {in_units(why, system, decimal=numbers.decimal)}",
            indent=2,
            hang=5,
        )
        for text, why in comparison.refused
    ]
    columns = [("Per load", "<"), *((str(k), ">") for k in range(len(comparison.setups)))]
    rows = [
        [name, *(f"  {write(s)}" for s in comparison.setups)]
        for name, write in _rows(comparison, system, numbers)
    ]
    parts += [Line(""), Grid(columns, rows)]
    parts += [Line(AREA_GROSS)] if any(s.shift is not None for s in comparison.setups) else []
    bought = [s for s in others if s.pieces]
    if bought:
        parts.append(Heading("To be bought: not in the set as it is"))
        parts += [
            Line(
                f"{s.text}: "
                + ", ".join(
                    f"{piece} {NONE if price is None else numbers.amount(price)}"
                    for piece, price in s.pieces
                ),
                indent=2,
                hang=4,
            )
            for s in bought
        ]
    parts += figure_blocks(figures, numbers)
    if comparison.findings:
        parts += finding_parts(comparison.findings, system, decimal=numbers.decimal)
    return parts


def _about(s: SetupFigures) -> str:
    feed = "" if s.feed_override == 1.0 else f", feeds {100.0 * s.feed_override:g} %"
    return f"machine {s.machine}, stack {s.stack}{feed}"
