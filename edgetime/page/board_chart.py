"""The bars of a shift board: table zones and operator over the clock."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import TYPE_CHECKING, Final

from edgetime.picture.plan import attribute, clean
from edgetime.report.text import time_of_day

if TYPE_CHECKING:
    from edgetime.shift import ShiftPlan
    from edgetime.shift.load_runs import Span
    from edgetime.shift.timetable import TimetableRow

WIDE: Final = 1000.0
LEFT: Final = 80.0
"""Width of the chart, and of the names of its lanes, in its own units."""

_TOP: Final = 24.0
_LEGEND: Final = 26.0
_LANES: Final = 210.0
"""Most height of all lanes: more zones get lower ones."""

_GLYPH: Final = 0.6
"""Width of a letter by its height, on the safe side."""

# Told apart without colour too: outline, dots, solid, hatched one way and the other.
_KINDS: Final = {
    "load": ("Loading", 'fill="#ffffff" stroke="#000000"'),
    "wait": ("Waiting", 'fill="none" stroke="#000000" stroke-dasharray="2 3"'),
    "swap": ("Tool change", 'fill="url(#swap)" stroke="#000000"'),
    "run": ("Cycle", 'fill="#0b4f7d"'),
    "stop": ("Attended stop", 'fill="url(#stop)" stroke="#a61c00"'),
    "unload": ("Measuring, unloading", 'fill="#c9c9c9" stroke="#000000"'),
}

_PATTERNS: Final = (
    '<defs><pattern id="stop" width="6" height="6" patternUnits="userSpaceOnUse">'
    '<rect width="6" height="6" fill="#ffffff"/>'
    '<path d="M-1 7 7 -1" stroke="#a61c00" stroke-width="2"/></pattern>'
    '<pattern id="swap" width="6" height="6" patternUnits="userSpaceOnUse">'
    '<rect width="6" height="6" fill="#ffd98a"/>'
    '<path d="M-1 -1 7 7" stroke="#000000" stroke-width="1"/></pattern></defs>'
)


def _until_s(plan: ShiftPlan) -> float:
    """Return where the chart ends: with the shift, or with what goes on after it [s]."""
    return max([plan.shift.figures.hours_s, *(s.stop_s for r in plan.timetable for s in r.bars)])


def chart_scale(plan: ShiftPlan) -> float:
    """Return how far a second reaches in the chart."""
    return (WIDE - LEFT - 28.0) / _until_s(plan)


def _lane(plan: ShiftPlan) -> float:
    return min(34.0, _LANES / (plan.zones + 1))


def _high(plan: ShiftPlan) -> float:
    return _TOP + _lane(plan) * (plan.zones + 1) + _LEGEND


def chart_high(plan: ShiftPlan) -> float:
    """Return the height of the chart by its width [-]."""
    return _high(plan) / WIDE


def _step(until_s: float) -> float:
    """Return a round distance of the marks on the time axis, at most 13 of them [s]."""
    return next((s for s in (600, 1200, 1800, 3600, 7200) if until_s / s <= 12), 14400)


def _length(span: Span) -> float:
    return span.stop_s - span.start_s


def _label(row: TimetableRow, wide: float) -> str:
    """Return number and name of a load, or as much of it as there is room for."""
    letters = int((wide - 2.0) / (14.0 * _GLYPH))
    full, number = f"{row.number} {row.run.name}", str(row.number)
    if len(full) <= letters:
        return full
    if letters >= len(number) + 5:
        return full[: letters - 1].rstrip() + "…"
    return number if 8.0 * len(number) <= wide else ""


def _rect(x: float, y: float, wide: float, high: float, look: str, told: str) -> str:
    return (
        f'<rect x="{x:.2f}" y="{y:.1f}" width="{wide:.2f}" height="{high:.1f}" {look}>'
        f"<title>{clean(told)}</title></rect>"
    )


def chart_svg(plan: ShiftPlan, day: date | None = None) -> str:
    """Draw a lane for each zone and one for the operator, over the clock.

    Parameters
    ----------
    plan : ShiftPlan
        The shift.
    day : date, optional
        On which the script marks the time; every day when None.

    Returns
    -------
    str
        SVG, with what the script needs to mark the time.
    """
    until, scale, lane, high = _until_s(plan), chart_scale(plan), _lane(plan), _high(plan)
    bottom = high - _LEGEND

    def x(seconds: float) -> float:
        return LEFT + seconds * scale

    def clock(seconds: float) -> str:
        return time_of_day(plan.starts_s + seconds)

    def told(span: Span, what: str) -> str:
        return f"{clock(span.start_s)} to {clock(span.stop_s)}: {what}"

    def background() -> Iterator[str]:
        for b in plan.breaks:
            yield _rect(x(b.after_s), _TOP, b.length_s * scale, bottom - _TOP, 'fill="#e4e4e4"',
                        f"{clock(b.after_s)} to {clock(b.after_s + b.length_s)}: break")  # fmt: skip
        step = _step(until)
        # On the full hour, whenever the shift begins.
        mark = -plan.starts_s % step
        while mark <= until + 1e-6:
            yield (
                f'<path d="M{x(mark):.1f} {_TOP - 4:g}V{bottom:.1f}" stroke="#9a9a9a"/>'
                f'<text x="{x(mark):.1f}" y="{_TOP - 8:g}" text-anchor="middle">{clock(mark)}</text>'
            )
            mark += step
        end = x(plan.shift.figures.hours_s)
        yield f'<path d="M{end:.1f} {_TOP - 4:g}V{bottom:.1f}" stroke="#000" stroke-width="2"/>'

    def lanes() -> Iterator[str]:
        names = [f"Zone {z}" for z in range(1, plan.zones + 1)] if plan.zones > 1 else ["Table"]
        for k, name in enumerate([*names, "Operator"]):
            y = _TOP + k * lane
            yield (
                f'<text x="0" y="{y + 0.5 * lane + 5:.1f}" font-weight="700">{name}</text>'
                f'<path d="M0 {y + lane:.1f}H{WIDE:g}" stroke="#9a9a9a"/>'
            )
        for row in plan.timetable:
            for zone in row.run.on_zones:
                y = _TOP + (zone - 1) * lane + 3.0
                for bar in row.bars:
                    what, look = _KINDS[bar.kind]
                    wide = (bar.stop_s - bar.start_s) * scale
                    text = told(bar, f"load {row.number}, {row.run.name}: {what.lower()}")
                    yield _rect(x(bar.start_s), y, wide, lane - 6.0, look, text)
                # The longest stretch of the cycle bears the number of the load.
                run = max((b for b in row.bars if b.kind == "run"), key=_length, default=None)
                if run is not None:
                    middle = x(0.5 * (run.start_s + run.stop_s))
                    yield (
                        f'<text x="{middle:.1f}" y="{y + 0.5 * lane + 2:.1f}" fill="#ffffff" '
                        f'font-weight="700" text-anchor="middle">'
                        f"{clean(_label(row, _length(run) * scale))}</text>"
                    )
        y = _TOP + plan.zones * lane + 3.0
        for span in plan.operator_needed:
            wide = (span.stop_s - span.start_s) * scale
            yield _rect(x(span.start_s), y, wide, lane - 6.0, 'fill="#000000"',
                        told(span, "operator needed"))  # fmt: skip

    return "".join(
        [
            (
                f'<svg class="chart" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE:g} '
                f'{high:.1f}" role="img" font-family="Arial, Helvetica, sans-serif" '
                f'font-size="14" data-start="{plan.starts_s:.0f}" data-scale="{scale:.8f}" '
                f'data-left="{LEFT:g}" data-until="{until:.0f}" '
                f"data-day={attribute(day.isoformat() if day else '')}>"
                "<title>Table zones and operator over the clock</title>"
            ),
            _PATTERNS,
            *background(),
            *lanes(),
            *_legend(high - 6.0),
            (
                f'<g id="now" display="none"><path d="M0 {_TOP - 6:g}V{bottom:.1f}" stroke="#d00000" '
                'stroke-width="3"/></g></svg>'
            ),
        ]
    )


def _legend(y: float) -> Iterator[str]:
    x = LEFT
    for name, look in (*_KINDS.values(), ("Operator needed", 'fill="#000000"')):
        yield (
            f'<rect x="{x:.1f}" y="{y - 11:.1f}" width="18" height="13" {look}/>'
            f'<text x="{x + 23:.1f}" y="{y:.1f}">{name}</text>'
        )
        x += 40.0 + 7.2 * len(name)
