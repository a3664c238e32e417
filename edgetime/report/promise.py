"""What can be promised of a shift: the first lines, and how sure they are."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from edgetime.report.areas import area_text, area_unit
from edgetime.report.columns import COUNT, Column, Sheet
from edgetime.report.document import Block, Heading, Line, Table, Tone
from edgetime.report.text import time_of_day
from edgetime.units import UnitSystem, format_time

if TYPE_CHECKING:
    from edgetime.shift import Shift, ShiftPlan
    from edgetime.shift.near import Mend
    from edgetime.shift.promise import Chance, Promise


def loads_text(number: int) -> str:
    """Write a number of loads."""
    return f"{number} load{'' if number == 1 else 's'}"


def of_hundred(share: float) -> str:
    """Write a share of the shifts as a number of 100, which no rounding makes all or none.

    Parameters
    ----------
    share : float
        From 0 to 1 [-].

    Returns
    -------
    str
        ``46``, ``>99``, ``<1``, ``100`` for all, ``0`` for none.
    """
    if 0.0 < share < 0.005:
        return "<1"
    if 0.995 <= share < 1.0:
        return ">99"
    return f"{100.0 * share:.0f}"


def _met(chance: Chance | None) -> str:
    if chance is None or chance.shifts == 0:
        return "in none of the simulated shifts"
    if chance.shifts == chance.of:
        return f"in all {chance.of} simulated shifts"
    many = of_hundred(chance.share).replace(">", "more than ").replace("<", "fewer than ")
    return f"in {many} of 100 shifts"


def _mean(loads: float) -> str:
    """Write a mean, with as many digits as distinguish it from a whole number."""
    text = f"{loads:.1f}"
    return text if loads.is_integer() or not text.endswith(".0") else f"{loads:.2f}"


def _headline(promise: Promise) -> str:
    text = f"Plan {loads_text(promise.plan)}"
    if promise.mean is None:
        return f"{text}, without disturbances; how often that is met was not simulated."
    text += f": met {_met(promise.met)}; on average {_mean(promise.mean)}"
    sure = promise.sure
    if sure is None:
        level = of_hundred(promise.service_level)
        return f"{text}; no number of loads is met in {level} of 100."
    if sure.loads == promise.plan:
        return f"{text}."
    verb = "is" if sure.loads == 1 else "are"
    return f"{text}; {loads_text(sure.loads)} {verb} met {_met(sure)}."


def _mend(mend: Mend) -> str:
    if mend.longer_s is not None:
        return f"a shift {_minutes(mend.longer_s)} longer (--hours)"
    if mend.less is not None:
        what = {"machine": "cycles", "person": "attended tasks"}[mend.what]
        return f"{what} {100.0 * mend.less:.0f} % shorter"
    return {
        "zones": "one more zone of the same length (--zones, --zone-length)",
        "last-load": "letting it run on after the shift (--last-load runs-on)",
    }[mend.what]


def _minutes(seconds: float) -> str:
    """Write what is missing, never less than it is."""
    whole = -int(-seconds // 60.0)
    if seconds < 600.0:
        return format_time(seconds)
    hours, minutes = divmod(whole, 60)
    return f"{hours} h {minutes:02d} min" if hours else f"{minutes} min"


def _near_lines(shift: Shift) -> Iterator[Block]:
    near = shift.near
    if near is None or not near.mends:
        return
    mends = [_mend(m) for m in near.mends]
    text = f"{', '.join(mends[:-1])}, or {mends[-1]}" if len(mends) > 1 else mends[0]
    yield Line(
        f"Load {near.number}, {near.name}, misses the shift by {_minutes(near.misses_s)}. "
        f"It would fit with {text}."
    )


def _night_lines(plan: ShiftPlan) -> Iterator[Block]:
    f, until = plan.shift.figures, plan.shift.run_on_until_s
    if until is None:
        return
    which = "The last load runs" if f.runs_on == 1 else f"The last {f.runs_on} loads run"
    yield Line(
        f"{which} on by {'itself' if f.runs_on == 1 else 'themselves'} until "
        f"{time_of_day(plan.starts_s + until)} and {'counts' if f.runs_on == 1 else 'count'}; "
        f"the next shift needs {format_time(f.next_shift_s)} to unload."
    )


def leading_blocks(plan: ShiftPlan, system: UnitSystem) -> Iterator[Block]:
    """Yield the first lines of a shift: what can be planned on, and what comes of it."""
    shift, f, unit = plan.shift, plan.shift.figures, area_unit(system)
    good = ""
    if shift.variation is not None:
        area = dict(shift.variation.figures)["area_mm2"].mean
        good = f"; on average {area_text(area, system)} {unit} of good parts"
    yield Line(_headline(shift.promise), tone=Tone.STRONG)
    yield Line(
        f"The plan makes {f.parts} part{'' if f.parts == 1 else 's'}, "
        f"{area_text(f.area_mm2, system)} {unit} in {format_time(f.hours_s)} on "
        f"{plan.machine.title}{good}."
    )
    yield from _night_lines(plan)
    yield from _near_lines(shift)


def _of_hundred(value: float, _: UnitSystem) -> str:
    return of_hundred(value)


CHANCES: Final[Sheet[Chance]] = Sheet(
    (
        Column(key="loads", heading="Loads", unit=COUNT),
        Column(key="share", heading="Of 100 shifts", unit=COUNT, show=_of_hundred),
        Column(key="low", heading="From", unit=COUNT, show=_of_hundred),
        Column(key="high", heading="To", unit=COUNT, show=_of_hundred),
    )
)
"""How often each number of loads is made."""


def chance_blocks(promise: Promise) -> Iterator[Block]:
    """Yield the section on how often each number of loads is made."""
    if promise.near:
        yield Heading("How often a shift makes at least this number of loads")
        yield Table(CHANCES, promise.near, name="chances")
        yield Line("From, To: 90 % confidence interval of the simulation.", indent=2)
