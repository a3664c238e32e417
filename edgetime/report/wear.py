"""The wear of a load: per tool piece, what else is used up, and what it costs."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Final

from edgetime.report.columns import CLOCK, COUNT, EDGE, TEXT, Column, NumberForm, Sheet, Unit
from edgetime.report.document import Block, Fact, Heading, Line, Table
from edgetime.report.findings import cannot_run_parts, finding_parts, kinds_text
from edgetime.report.quantities import format_thickness
from edgetime.report.text import NONE, figure, percent_number
from edgetime.unit_table import FT_MM, IN_MM, UNITS
from edgetime.units import UnitSystem, format_time

if TYPE_CHECKING:
    from edgetime.estimating import Estimate
    from edgetime.wear import Consumables, Measure, ToolWear, Wear

_MM3_PER_IN3: Final = IN_MM**3
_GAL_PER_L: Final = 1e6 / (231.0 * _MM3_PER_IN3)

# Unit of a measure → factor to the unit a reader thinks in, and its name; metric, imperial.
_SHOWN: Final = {
    "mm": ((1e-3, "m"), (1.0 / FT_MM, "ft")),
    "mm3": ((1e-6, "l"), (1.0 / _MM3_PER_IN3, "in3")),
    "mm2": ((1e-6, "m2"), (1.0 / FT_MM**2, "sq ft")),
    "s": ((1.0 / 60.0, "min"), (1.0 / 60.0, "min")),
    "1": ((1.0, "holes"), (1.0, "holes")),
}
# The bond of a wheel is a matter of cubic centimetres, the stone it removes of litres.
_WHEEL: Final = ((1e-3, "cm3"), (1.0 / _MM3_PER_IN3, "in3"))


def _digits(value: float) -> str:
    """Write a number with three significant digits."""
    return figure(float(f"{value:.3g}"))


def _percent(share: float, _: UnitSystem) -> str:
    return percent_number(share, digits=2)


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


def _money(amount: Decimal, currency: str) -> str:
    return f"{amount:.2f} {currency}"


_STONE: Final = Unit("_mm3", _volume)
_WORDS: Final = Unit("", lambda value, _: str(value))


def _costs(sums: Sequence[tuple[str, Decimal]]) -> tuple[Column[ToolWear], ...]:
    """Return the columns of the cost: a number under its currency, or texts with several."""
    if len(sums) != 1:
        said: Column[ToolWear] = Column(
            heading="Cost",
            unit=_WORDS,
            get=lambda t: None if t.cost is None else _money(t.cost, t.currency),
        )
        return said, Column(key="cost", unit=COUNT)
    ((currency, total),) = sums
    two = NumberForm(1.0, "#,##0.00")
    return (
        Column(key="price", heading=f"Price {currency}", unit=COUNT, form=two, entry=True,
               kept=True),
        Column(key="cost", heading=f"Cost {currency}", unit=COUNT,
               show=lambda value, _: f"{value:.2f}", total=lambda _: total, form=two,
               formula=lambda t: "price * share" if t.price is not None else ""),
    )  # fmt: skip


def wear_sheet(wear: Wear, system: UnitSystem = UnitSystem.METRIC) -> Sheet[ToolWear]:
    """Return the columns of wear, one row per tool piece.

    Parameters
    ----------
    wear : Wear
        Of a load. The screen has a row of totals where all costs are in one currency.
    system : UnitSystem
        Units of the screen: the unit alone heads the volume, for the table is wide.
    """
    sums = wear.cost if len(wear.cost) == 1 else ()
    number = {t.piece: k for k, t in enumerate(wear.tools, 1)}
    return Sheet(
        (
            Column(key="row", unit=COUNT, get=lambda t: number[t.piece]),
            Column(key="tool"),
            Column(key="piece", heading="Tool", total=(lambda _: "Total") if sums else None),
            Column(key="contact_mm", heading="Edge", unit=EDGE),
            Column(key="path_mm", unit=EDGE),
            Column(key="volume_mm3", heading="cm3" if system is UnitSystem.METRIC else "in3", unit=_STONE,
                   total=(lambda rows: sum(t.volume_mm3 for t in rows)) if sums else None),
            Column(key="cut_s", heading="In cut", unit=CLOCK,
                   total=(lambda rows: sum(t.cut_s for t in rows)) if sums else None),
            Column(key="holes", unit=COUNT),
            Column(key="area_mm2", unit=_WORDS),
            Column(key="governing", unit=TEXT),
            Column(heading="Of its life", unit=_WORDS, get=lambda t: (t.measure,),
                   show=lambda m, system: _of_life(m[0], system)),
            Column(key="used", unit=COUNT, get=lambda t: t.measure and t.measure.used),
            Column(key="life", unit=COUNT, get=lambda t: t.measure and t.measure.life),
            Column(key="unit", get=lambda t: t.measure and t.measure.unit),
            Column(key="share", heading="%", unit=COUNT, show=_percent,
                   form=NumberForm(100.0, "0.00")),
            Column(key="radius_loss_mm", unit=EDGE),
            Column(key="price", unit=COUNT),
            *_costs(sums),
            Column(key="currency"),
        )
    )  # fmt: skip


def _consumables(used: Consumables, system: UnitSystem) -> Iterable[Block]:
    if used.pieces:
        yield Fact(
            "Tools used", ", ".join(f"{tool} {_digits(count)}" for tool, count in used.pieces)
        )
    unknown = "not stated by the machine's file"
    water = unknown
    if used.water_l is not None:
        metric = system is UnitSystem.METRIC
        amount = f"{used.water_l:.0f} l" if metric else f"{used.water_l * _GAL_PER_L:.0f} gal"
        water = f"{amount} while tools are in the cut"
    yield Fact("Water", water)
    power = unknown
    if used.electricity_kwh is not None:
        power = (
            f"{used.electricity_kwh:.1f} kWh: spindle in the cut {used.spindle_kwh:.1f}, "
            f"axes, control and pumps {used.base_kwh:.1f}"
        )
    yield Fact("Electricity", power)


def wear_parts(wear: Wear, system: UnitSystem) -> list[Block]:
    """Return the section on wear and its findings."""
    found = finding_parts(wear.findings, system) if wear.findings else []
    return [*wear_tables(wear, system), *found]


def wear_tables(wear: Wear, system: UnitSystem) -> list[Block]:
    """Return the wear by tool piece, and what else is used up."""
    parts: list[Block] = [
        Heading("Wear by tool (edge × passes; stone removed; min:s in the cut)"),
        Table(wear_sheet(wear, system), wear.tools, name="wear"),
    ]
    if len(wear.cost) > 1:
        sums = " and ".join(_money(amount, currency) for currency, amount in wear.cost)
        parts.append(Line(f"Total cost of tools: {sums}; currencies are not added up."))
    parts.append(Heading("Used up"))
    parts += _consumables(wear.consumables, system)
    worst = wear.most_radius_lost
    if worst is not None and worst.radius_loss_mm is not None:
        metric = system is UnitSystem.METRIC
        loss = worst.radius_loss_mm / UNITS["length"]["um" if metric else "in"]
        text = f"{loss:.0f} µm" if metric else f"{loss:.4f} in"
        parts.append(Fact("Radius", f"{worst.piece} loses most: {text}"))
    return parts


def wear_screen(est: Estimate, system: UnitSystem) -> Sequence[Block]:
    """Return the screen of the command ``wear``."""
    load = est.load
    listed = "; edgetime estimate lists them" if est.findings else ""
    return [
        *cannot_run_parts(est.findings, system),
        Line(
            f"{load.stone.title}, {format_thickness(load.nominal_mm, system)} nominal; stack "
            f"{load.stack.name}; machine {load.machine.name}, cycle "
            f"{format_time(est.cycle.total_s)}. "
            f"Findings of the estimate: {kinds_text(est.findings)}{listed}."
        ),
        *wear_parts(est.wear, system),
    ]
