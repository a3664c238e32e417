"""The cycle as bars: which tool runs when, and what its time is made of."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from edgetime.picture.plan import attribute, clean
from edgetime.report.text import clock

if TYPE_CHECKING:
    from edgetime.estimating import Estimate

WIDE: Final = 1000.0
ROW: Final = 22.0
NAME: Final = 190.0
"""Width of a picture, height of a row, width of the names, in its own units."""

OUTLINE: Final = ' stroke="currentColor" stroke-opacity="0.5" stroke-width="0.6"'
"""Around every bar: orange and sky blue are pale on white, dark grey is dark on black."""

TERMS: Final = (
    ("change_s", "change", "#4d4d4d"),
    ("cut_s", "cut", "#0072B2"),
    ("lead_s", "lead", "#56B4E9"),
    ("plunge_s", "plunge", "#CC79A7"),
    ("rapid_s", "rapid", "#E69F00"),
    ("dwell_s", "dwell", "#009E73"),
)
"""Term, its name and its colour; docs/explanation/look.md has the reasons."""


def _step(total_s: float) -> float:
    """Return a round distance of the marks on the time axis, at most ten of them [s]."""
    return next((s for s in (60, 120, 300, 600, 900, 1800, 3600, 7200) if total_s / s <= 10), 14400)


def timeline_svg(est: Estimate) -> str:
    """Draw one bar a visit, where it is in the cycle, divided by what the time is made of.

    Returns
    -------
    str
        SVG; each visit is a group with ``data-visit`` and ``data-start-s``.
    """
    total = max(est.cycle.total_s, 1.0)
    scale = (WIDE - NAME - 10.0) / total
    visits = est.cycle.visits
    high = ROW * (len(visits) + 2)
    rows = [
        (
            f'<svg class="timeline" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE:g} {high:g}" '
            'role="img" font-family="system-ui, Helvetica, Arial, sans-serif" font-size="12" '
            'fill="currentColor"><title>Timeline of the cycle by tool</title>'
        )
    ]
    step, mark = _step(total), 0.0
    while mark <= total:
        x = NAME + mark * scale
        rows.append(
            f'<path d="M{x:.1f} {ROW:g}V{high - ROW:g}" stroke="currentColor" '
            f'stroke-opacity="0.2"/><text x="{x:.1f}" y="{0.7 * ROW:g}" text-anchor="middle">'
            f"{mark / 60:.0f} min</text>"
        )
        mark += step
    for k, visit in enumerate(visits):
        rows += _bar(est, k, visit.starts_s, scale)
    for stop in est.plan.stops:
        at = visits[stop.before_visit].starts_s if stop.before_visit < len(visits) else total
        x = NAME + at * scale
        told = f"Attended stop: {stop.reason}, {clock(stop.seconds)} min"
        rows.append(
            f'<path d="M{x:.1f} {ROW:g}V{high - ROW:g}" stroke="#A61C00" stroke-width="2" '
            f'stroke-dasharray="4 3"><title>{clean(told)}</title></path>'
        )
    rows += [*_legend(high - 0.3 * ROW), "</svg>"]
    return "".join(rows)


def _bar(est: Estimate, k: int, start_s: float, scale: float) -> Iterator[str]:
    visit = est.cycle.visits[k]
    y = ROW * (k + 1)
    name = f"{k + 1} {visit.piece}"
    told = f"{name}, {visit.operation}: {clock(visit.time.total_s)} min from {clock(start_s)}"
    yield (
        f'<g class="bar" data-visit="{k + 1}" data-start-s="{start_s:.3f}" '
        f"data-tool={attribute(visit.piece)}><title>{clean(told)}</title>"
        f'<rect x="0" y="{y:g}" width="{WIDE:g}" height="{ROW:g}" fill-opacity="0"/>'
        f'<text x="{NAME - 6:g}" y="{y + 0.7 * ROW:.1f}" text-anchor="end">{clean(name)}</text>'
    )
    x = NAME + start_s * scale
    for term, _, colour in TERMS:
        wide = getattr(visit.time, term) * scale
        if wide > 0.0:
            yield (
                f'<rect x="{x:.2f}" y="{y + 3:g}" width="{wide:.2f}" height="{ROW - 6:g}" '
                f'fill="{colour}"{OUTLINE}/>'
            )
        x += wide
    yield "</g>"


def _legend(y: float) -> Iterator[str]:
    x = NAME
    for _, name, colour in TERMS:
        yield (
            f'<rect x="{x:g}" y="{y - 10:g}" width="14" height="12" fill="{colour}"{OUTLINE}/>'
            f'<text x="{x + 18:g}" y="{y:g}">{name}</text>'
        )
        x += 90.0
