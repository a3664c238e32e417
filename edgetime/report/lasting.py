"""How long tools last, as a document."""

from __future__ import annotations

from typing import TYPE_CHECKING

from edgetime.report.columns import COUNT, Column, Sheet
from edgetime.report.document import Block, Heading, Line, Table
from edgetime.report.survive import BASIS, BASIS_NOTE
from edgetime.report.text import holes
from edgetime.unit_table import FT_MM, IN_MM
from edgetime.units import UnitSystem

if TYPE_CHECKING:
    from edgetime.life import Interval, Lasting, ToolLasting

_METRIC = {"mm": (1e3, "m"), "mm3": (1e3, "cm3"), "s": (60.0, "min"), "mm2": (1e6, "m2")}
_IMPERIAL = _METRIC | {"mm": (FT_MM, "ft"), "mm3": (IN_MM**3, "in3"), "mm2": (FT_MM**2, "ft2")}


def _range(life: Interval, divide: float = 1.0) -> str:
    value, low, high = (f"{x / divide:.3g}" if x / divide < 100.0 else f"{x / divide:.0f}"
                        for x in (life.value, life.low, life.high))  # fmt: skip
    return f"{value} ({low} to {high})"


def amount_range(amount: Interval, unit: str, system: UnitSystem) -> str:
    """Write an amount by which a life is measured, with its 90 % interval in brackets.

    Parameters
    ----------
    amount : Interval
        In ``unit``.
    unit : str
        ``mm``, ``mm3``, ``s``, ``1`` (holes) or ``mm2``.
    system : UnitSystem
        Units of the screen.
    """
    if unit == "1":
        value, low, high = (holes(x).split()[0] for x in (amount.value, amount.low, amount.high))
        return f"{value} ({low} to {high}) holes"
    divide, shown = (_METRIC if system is UnitSystem.METRIC else _IMPERIAL)[unit]
    return f"{_range(amount, divide)} {shown}"


def _amount(t: ToolLasting, system: UnitSystem) -> str:
    return "-" if t.amount is None else amount_range(t.amount, t.unit, system)


def _columns(name: str, get: str) -> tuple[Column[ToolLasting], ...]:
    def column(part: str, key: str) -> Column[ToolLasting]:
        def value(t: ToolLasting) -> float | None:
            interval = getattr(t, get)
            return None if interval is None else float(getattr(interval, part))

        return Column(key=key, get=value)

    return (column("value", name), column("low", f"{name}_low"), column("high", f"{name}_high"))


def lasting_sheet(by: str | None) -> Sheet[ToolLasting]:
    """Return the columns of mean lives.

    Parameters
    ----------
    by : str or None
        What the pieces are divided by.
    """
    return Sheet(
        (
            Column(key="tool", heading="Tool"),
            Column(key="group", heading=(by or "").capitalize()),
            Column(key="worn", heading="Worn", unit=COUNT),
            Column(key="pieces", heading="Of", unit=COUNT),
            Column(heading="Lasts", unit=COUNT, get=lambda t: t, show=_amount),
            Column(heading="Days", unit=COUNT, get=lambda t: t.days,
                   show=lambda value, _: _range(value)),
            Column(heading="Runs", unit=COUNT, get=lambda t: t.runs,
                   show=lambda value, _: f"{value.value:.3g}"),
            *_columns("mean_life", "life"),
            *_columns("amount", "amount"),
            Column(key="unit"),
            *_columns("days", "days"),
            *_columns("runs", "runs"),
            Column(key="life_rests_on", heading="Basis", get=lambda t: t.trust.value,
                   show=lambda value, _: BASIS[value]),
        )
    )  # fmt: skip


def lasting_parts(found: Lasting, ledger: str) -> list[Block]:
    """Return the document of ``survive`` without a drawing.

    Parameters
    ----------
    found : Lasting
        The mean lives.
    ledger : str
        Name of the ledger.
    """
    if not found.tools:
        return [Line(f"No use in the ledger {ledger} yet: nothing is known of lives.")]
    return [
        Heading(f"Mean life of the tools, by the ledger {ledger}"),
        Table(lasting_sheet(found.by), found.tools),
        Line(
            "Lasts: by the limiting measure, 90 % interval in brackets. Days: from the first run "
            "to the last. Days and runs at the rate at which these tools were used. Worn, Of: "
            f"tools worn out, of those used. {BASIS_NOTE}"
        ),
    ]
