"""What can be promised of a shift: the lines that lead, and how sure they are."""

from __future__ import annotations

from typing import TYPE_CHECKING

from edgetime.report.areas import area_text, area_unit
from edgetime.report.document import Grid, Heading, Line, Tone
from edgetime.units import UnitSystem, format_time

if TYPE_CHECKING:
    from edgetime.report.document import Block
    from edgetime.shift import Shift
    from edgetime.shift.figures import Mend
    from edgetime.shift.promise import Chance, Promise

_ROWS = 3
"""So many numbers of loads are told on either side of the plan."""


def loads_text(number: int) -> str:
    """Write a number of loads."""
    return f"{number} load{'' if number == 1 else 's'}"


def of_hundred(share: float) -> str:
    """Write a share of the shifts in so many of 100, which no rounding makes all or none.

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
        return "in none of the shifts simulated"
    if chance.shifts == chance.of:
        return f"in all {chance.of} shifts simulated"
    many = of_hundred(chance.share).replace(">", "more than ").replace("<", "fewer than ")
    return f"in {many} of 100 shifts"


def _mean(loads: float) -> str:
    """Write a mean, with as many digits as tell it from a whole number."""
    text = f"{loads:.1f}"
    return text if loads.is_integer() or not text.endswith(".0") else f"{loads:.2f}"


def _headline(promise: Promise) -> str:
    text = f"Plan {loads_text(promise.plan)}"
    if promise.mean is None:
        return f"{text}, if nothing goes wrong; how often that is met was not simulated."
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
    if mend.what == "hours":
        return f"a shift {_minutes(mend.value)} longer (--hours)"
    return {
        "machine": f"cycles {100.0 * mend.value:.0f} % shorter",
        "person": f"attended tasks {100.0 * mend.value:.0f} % shorter",
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


def _near_lines(shift: Shift) -> list[Block]:
    near = shift.near
    if near is None or not near.mends:
        return []
    mends = [_mend(m) for m in near.mends]
    text = f"{', '.join(mends[:-1])}, or {mends[-1]}" if len(mends) > 1 else mends[0]
    return [
        Line(
            f"Load {near.number}, {near.name}, misses the shift by {_minutes(near.misses_s)}. "
            f"It would fit with {text}."
        )
    ]


def _night_lines(shift: Shift, starts_s: float) -> list[Block]:
    f = shift.figures
    if f.runs_on == 0:
        return []
    ends = max(r.ends_s for r in shift.runs if r.runs_on)
    minutes = round((starts_s + ends) / 60.0)
    which = "The last load runs" if f.runs_on == 1 else f"The last {f.runs_on} loads run"
    until = f"until {minutes // 60 % 24:02d}:{minutes % 60:02d}"
    return [
        Line(
            f"{which} on by {'itself' if f.runs_on == 1 else 'themselves'} {until} and "
            f"{'counts' if f.runs_on == 1 else 'count'}; the next shift needs "
            f"{format_time(f.next_shift_s)} to unload."
        )
    ]


def leading_parts(
    shift: Shift, *, machine: str, starts_s: float, system: UnitSystem
) -> list[Block]:
    """Return the first lines of a shift: what can be planned on, and what comes of it.

    Parameters
    ----------
    shift : Shift
        To be shown.
    machine : str
        Its title.
    starts_s : float
        Time of the day the shift begins [s].
    system : UnitSystem
        Units of areas.
    """
    f, unit = shift.figures, area_unit(system)
    good = ""
    if shift.variation is not None:
        area = dict(shift.variation.figures)["area_mm2"].mean
        good = f"; on average {area_text(area, system)} {unit} of good parts"
    return [
        Line(_headline(shift.promise), tone=Tone.STRONG),
        Line(
            f"The plan makes {f.parts} part{'' if f.parts == 1 else 's'}, "
            f"{area_text(f.area_mm2, system)} {unit} in {format_time(f.hours_s)} on {machine}{good}."
        ),
        *_night_lines(shift, starts_s),
        *_near_lines(shift),
    ]


def chance_parts(promise: Promise) -> list[Block]:
    """Return the table of how often each number of loads is made.

    Parameters
    ----------
    promise : Promise
        Of the shift.
    """
    sure = promise.sure
    told = [
        c
        for c in promise.chances
        if abs(c.loads - promise.plan) <= _ROWS or (sure is not None and c.loads == sure.loads)
    ]
    if not told:
        return []
    rows = []
    for c in told:
        low, high = c.interval
        rows.append([c.loads, of_hundred(c.share), of_hundred(low), of_hundred(high)])
    return [
        Heading("How often a shift makes at least this number of loads"),
        Grid([("Loads", ">"), ("Of 100 shifts", ">"), ("From", ">"), ("To", ">")], rows),
        Line(
            "From, to: what the number of shifts simulated leaves open, 90 % confidence.", indent=2
        ),
    ]
