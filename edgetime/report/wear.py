"""The wear of a load: per tool piece, what is used up beside the tools, and what it costs."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING

from edgetime.report.document import Grid, Heading, Line
from edgetime.report.findings import cannot_run_parts, finding_parts, kinds_text
from edgetime.report.quantities import format_thickness
from edgetime.report.text import NONE, clock, figure, length_column, length_header
from edgetime.units import UnitSystem, format_time

if TYPE_CHECKING:
    from edgetime.estimating import Estimate
    from edgetime.report.document import Block
    from edgetime.wear import Consumables, Measure, Wear

WEAR_HEADER = (
    "row",
    "tool",
    "piece",
    "contact_mm",
    "path_mm",
    "volume_mm3",
    "cut_s",
    "holes",
    "area_mm2",
    "governing",
    "used",
    "life",
    "unit",
    "share",
    "radius_loss_mm",
    "price",
    "cost",
    "currency",
)
"""Columns of the CSV form, one row per tool piece."""

_MM3_PER_IN3 = 25.4**3
_MM2_PER_FT2 = 304.8**2
_GAL_PER_L = 1e6 / (231.0 * _MM3_PER_IN3)

# Unit of a measure → factor to the unit a reader thinks in, and its name; metric, imperial.
_SHOWN = {
    "mm": ((1e-3, "m"), (1.0 / 304.8, "ft")),
    "mm3": ((1e-6, "l"), (1.0 / _MM3_PER_IN3, "in3")),
    "mm2": ((1e-6, "m2"), (1.0 / _MM2_PER_FT2, "sq ft")),
    "s": ((1.0 / 60.0, "min"), (1.0 / 60.0, "min")),
    "1": ((1.0, "holes"), (1.0, "holes")),
}
# The bond of a wheel is a matter of cubic centimetres, the stone it removes of litres.
_WHEEL = ((1e-3, "cm3"), (1.0 / _MM3_PER_IN3, "in3"))


def wear_csv_rows(wear: Wear) -> list[list[object]]:
    """Return the rows of the CSV form.

    Parameters
    ----------
    wear : Wear
        Of a load.

    Returns
    -------
    list of list
        As :data:`WEAR_HEADER`; used, life and unit are those of the governing measure.
    """
    rows: list[list[object]] = []
    for number, t in enumerate(wear.tools, 1):
        m = t.measure
        rows.append(
            [
                number,
                t.tool,
                t.piece,
                t.contact_mm,
                t.path_mm,
                t.volume_mm3,
                t.cut_s,
                t.holes,
                t.area_mm2,
                t.governing,
                *((m.used, m.life, m.unit) if m is not None else (None, None, None)),
                t.share,
                t.radius_loss_mm,
                t.price,
                t.cost,
                t.currency,
            ]
        )
    return rows


def _digits(value: float) -> str:
    """Write a number with three digits that count."""
    return figure(float(f"{value:.3g}"))


def _percent(share: float | None) -> str:
    if share is None:
        return NONE
    percent = 100.0 * share
    if 0.0 < percent < 0.005:
        return "<0.01"
    return f"{percent:.2f}" if percent < 10.0 else f"{percent:.1f}"


def _volume(volume_mm3: float, system: UnitSystem) -> str:
    volume = 1e-3 * volume_mm3 if system is UnitSystem.METRIC else volume_mm3 / _MM3_PER_IN3
    if volume <= 0.0:
        return NONE
    return f"{volume:.0f}" if volume >= 0.5 else "<1"


def _of_life(m: Measure | None, system: UnitSystem) -> str:
    if m is None:
        return "life not stated"
    units = _WHEEL if m.by == "g-ratio" else _SHOWN[m.unit]
    factor, name = units[system is UnitSystem.IMPERIAL]
    wheel = " of wheel" if m.by == "g-ratio" else ""
    return f"{_digits(factor * m.used)} of {_digits(factor * m.life)} {name}{wheel}"


def _money(amount: Decimal | None, currency: str) -> str:
    return NONE if amount is None else f"{amount:.2f} {currency}"


def _table(wear: Wear, system: UnitSystem) -> Block:
    metric = system is UnitSystem.METRIC
    rows = [
        [
            t.piece,
            length_column(t.contact_mm, system),
            _volume(t.volume_mm3, system),
            clock(t.cut_s),
            _of_life(t.measure, system),
            _percent(t.share),
            _money(t.cost, t.currency),
        ]
        for t in wear.tools
    ]
    totals = wear.cost
    total = None
    if len(totals) == 1:
        stone = sum(t.volume_mm3 for t in wear.tools)
        total = [
            "Total", "", _volume(stone, system), clock(sum(t.cut_s for t in wear.tools)),
            "", "", _money(totals[0][1], totals[0][0]),
        ]  # fmt: skip
    return Grid(
        [
            ("Tool", "<"),
            (f"Edge {length_header(system)}", ">"),
            ("cm3" if metric else "in3", ">"),
            ("In cut", ">"),
            ("Of its life", ">"),
            ("%", ">"),
            ("Cost", ">"),
        ],
        rows,
        total=total,
    )


def _consumable_lines(used: Consumables, system: UnitSystem) -> Iterable[Block]:
    if used.pieces:
        pieces = ", ".join(f"{tool} {_digits(count)}" for tool, count in used.pieces)
        yield Line(f"Pieces       {pieces}", hang=13)
    if used.water_l is None:
        water = "not stated by the machine's file"
    elif system is UnitSystem.METRIC:
        water = f"{used.water_l:.0f} l while tools are in the cut"
    else:
        water = f"{used.water_l * _GAL_PER_L:.0f} gal while tools are in the cut"
    yield Line(f"Water        {water}", hang=13)
    power = "not stated by the machine's file"
    if used.electricity_kwh is not None:
        power = (
            f"{used.electricity_kwh:.1f} kWh: spindle in the cut {used.spindle_kwh:.1f}, "
            f"axes, control and pumps {used.base_kwh:.1f}"
        )
    yield Line(f"Electricity  {power}", hang=13)


def wear_parts(wear: Wear, system: UnitSystem) -> list[Block]:
    """Return the section on wear.

    Parameters
    ----------
    wear : Wear
        Of a load.
    system : UnitSystem
        Units of the table.
    """
    parts: list[Block] = [
        Heading("Wear per tool piece (edge counted once per pass; time in the cut in min:s)"),
        _table(wear, system),
    ]
    if len(wear.cost) > 1:
        sums = " and ".join(_money(amount, currency) for currency, amount in wear.cost)
        parts.append(Line(f"Total cost of tools: {sums}; currencies are not added up."))
    losses: dict[str, float] = {}
    for t in wear.tools:
        if t.radius_loss_mm:
            losses[t.piece] = t.radius_loss_mm
    parts.append(Heading("Used up"))
    parts += _consumable_lines(wear.consumables, system)
    if losses:
        worst = max(losses, key=lambda piece: losses[piece])
        text = f"{1e3 * losses[worst]:.0f} um" if system is UnitSystem.METRIC else ""
        text = text or f"{losses[worst] / 25.4:.4f} in"
        parts.append(Line(f"Radius       {worst} loses most of its radius: {text}", hang=13))
    if wear.findings:
        parts += finding_parts(wear.findings, system)
    return parts


def wear_screen(est: Estimate, system: UnitSystem) -> Sequence[Block]:
    """Return the screen of the command ``wear``.

    Parameters
    ----------
    est : Estimate
        The load.
    system : UnitSystem
        Units of the table.
    """
    load = est.load
    told = "; edgetime estimate shows them" if est.findings else ""
    return [
        *cannot_run_parts(est.findings, system),
        Line(
            f"{load.stone.title}, {format_thickness(load.nominal_mm, system)} nominal; stack {load.stack.name}; "
            f"machine {load.machine.name}, cycle {format_time(est.cycle.total_s)}. "
            f"Findings of the estimate: {kinds_text(est.findings)}{told}."
        ),
        *wear_parts(est.wear, system),
    ]
