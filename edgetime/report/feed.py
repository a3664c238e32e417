"""The best feeds of a load's tools, and their curves in letters."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Final, NamedTuple

from edgetime.report.columns import COUNT, Column, Sheet
from edgetime.report.document import Block, Heading, Line, Table
from edgetime.report.findings import finding_parts
from edgetime.report.numbers import Numbers, figure_blocks
from edgetime.report.quantities import format_thickness
from edgetime.report.text import clock, signed_clock
from edgetime.unit_table import IN_MM
from edgetime.units import UnitSystem

if TYPE_CHECKING:
    from edgetime.economics import FeedPoint, FeedStudy, StepFeed
    from edgetime.price.formulas import Exact

CURVES_SHOWN = 2
"""Curves are drawn for at most this many steps; for more, the table alone is shown."""

BAR: Final = 24
"""Letters of the longest bar."""

APART: Final = 1.005
"""Feeds of the curve nearer to one another than by this ratio share a row."""

_CAUTION = (
    "Calculated, not tested. Change a feed in small steps, wet, guards closed, every wheel below "
    "its marked maximum speed, within its maker's instructions and your local codes, and look at "
    "the finish before the next load."
)


def _feed(mm_per_s: float, system: UnitSystem) -> str:
    if system is UnitSystem.METRIC:
        return f"{mm_per_s * 0.06:#.3g}".rstrip(".")
    return f"{mm_per_s * 60.0 / IN_MM:#.3g}".rstrip(".")


def _unit(system: UnitSystem) -> str:
    return "m/min" if system is UnitSystem.METRIC else "in/min"


class FeedRow(NamedTuple):
    """A step at one feed, as files list it.

    Attributes
    ----------
    of : StepFeed
        The step.
    point : str
        ``today``, ``least-cost``, ``most-output``, ``at`` or ``curve``.
    made : FeedPoint or None
        None for a step without a best feed.
    """

    of: StepFeed
    point: str
    made: FeedPoint | None


def feed_rows(study: FeedStudy) -> list[FeedRow]:
    """Return the rows of the CSV form."""
    rows: list[FeedRow] = []
    for s in study.steps:
        if s.why_not:
            rows.append(FeedRow(s, "today", None))
            continue
        named = (*s.named, *(("curve", p) for p in s.points))
        rows += [FeedRow(s, name, p) for name, p in named]
    return rows


def feed_sheet(study: FeedStudy) -> Sheet[FeedRow]:
    """Declare the CSV form of the best feeds."""

    def of_point(key: str) -> Column[FeedRow]:
        return Column(
            key=key, unit=COUNT, get=lambda r: None if r.made is None else getattr(r.made, key)
        )

    return Sheet(
        (
            Column(key="step", get=lambda r: r.of.step),
            Column(key="tool", get=lambda r: r.of.tool),
            Column(key="point"),
            Column(key="feed_mm_per_s", unit=COUNT, get=lambda r: (r.made or r.of).feed_mm_per_s),
            *map(of_point, ("machine_s", "cut_s", "wear", "swap_s", "output_s")),
            Column(key="cost", get=lambda r: None if r.made is None else f"{r.made.cost:.6f}"),
            Column(key="currency", get=lambda r: None if r.made is None else study.currency),
            of_point("limited_by"),
            Column(key="why_not", get=lambda r: r.of.why_not),
        )
    )


def _summary(study: FeedStudy, system: UnitSystem, numbers: Numbers) -> Sheet[StepFeed]:
    def feed(heading: str, get: Callable[[StepFeed], float | None]) -> Column[StepFeed]:
        return Column(
            heading=heading,
            unit=COUNT,
            get=get,
            show=lambda value, _: numbers.signed(_feed(value, system)),
        )

    def best(heading: str, get: Callable[[StepFeed], FeedPoint | None]) -> list[Column[StepFeed]]:
        def limit(s: StepFeed) -> str:
            point = get(s)
            return "" if point is None else (point.limited_by or "").partition("-")[0]

        return [
            feed(heading, lambda s: None if (p := get(s)) is None else p.feed_mm_per_s),
            Column(heading="Limit", get=limit),
        ]

    return Sheet(
        (
            Column(heading="Step", get=lambda s: s.step),
            feed("Today", lambda s: s.feed_mm_per_s),
            *best("Least cost", lambda s: s.least_cost),
            Column(
                heading=f"{study.currency}/load",
                unit=COUNT,
                get=lambda s: s.saving,
                show=lambda saving, _: numbers.change(-saving),
            ),
            *best("Most output", lambda s: s.most_output),
            Column(
                heading="min/load",
                unit=COUNT,
                get=lambda s: s.saving_s,
                show=lambda saving, _: signed_clock(-saving),
            ),
        )
    )


def _names(s: StepFeed, point: FeedPoint) -> str:
    said = {"at": "asked for"}
    return ", ".join(said.get(n, n.replace("-", " ")) for n, p in s.named if p is point)


def _shown(s: StepFeed, system: UnitSystem) -> list[tuple[FeedPoint, str]]:
    """Return the points of the curve that can be distinguished, each with its names."""
    out: list[tuple[FeedPoint, str]] = []
    for p in s.points:
        name = _names(s, p)
        if out:
            last, known = out[-1]
            alike = _feed(p.feed_mm_per_s, system) == _feed(last.feed_mm_per_s, system)
            near = p.feed_mm_per_s < APART * last.feed_mm_per_s
            if alike or (near and not (name and known)):
                # A feed that has a name stands for one that has none.
                names = ", ".join(n for n in (known, name) if n)
                out[-1] = (p if name and not known else last, names)
                continue
        out.append((p, name))
    return out


def _bar(point: FeedPoint, greatest: Decimal) -> str:
    """Draw a cost in letters: its time, then its worn tools."""
    if not greatest:
        return ""
    whole, tools = (
        int(BAR * part / greatest + Decimal("0.5")) for part in (point.cost, point.worn_cost)
    )
    return f" {'=' * (whole - tools)}{'#' * tools}"


def _curve(s: StepFeed, study: FeedStudy, system: UnitSystem, numbers: Numbers) -> Block:
    greatest = max(p.cost for p in s.points)
    sheet: Sheet[tuple[FeedPoint, str]] = Sheet(
        (
            Column(
                heading=_unit(system),
                unit=COUNT,
                get=lambda row: numbers.signed(_feed(row[0].feed_mm_per_s, system)),
            ),
            Column(heading=" min:s", unit=COUNT, get=lambda row: clock(row[0].output_s)),
            Column(
                heading=" life %",
                unit=COUNT,
                get=lambda row: numbers.signed(f"{100.0 * row[0].wear:.2f}"),
            ),
            numbers.column("", f" {study.currency}", lambda row: row[0].cost),
            Column(heading=" = time  # worn tools", get=lambda row: _bar(row[0], greatest)),
            Column(heading=" ", get=lambda row: row[1]),
        )
    )
    return Table(sheet, _shown(s, system), name=f"{s.step} by feed")


def feed_screen(
    study: FeedStudy, system: UnitSystem, *, figures: Sequence[Exact] = ()
) -> list[Block]:
    """Return the screen of the command ``feed``."""
    numbers = Numbers(study.locale, study.currency)
    factor = study.steps[0].stone_factor if study.steps else 1.0
    apart = "" if factor == 1.0 else f" {study.stone} runs them at {100.0 * factor:g} %."
    parts: list[Block] = [
        Line(
            f"{study.stone} {format_thickness(study.thickness_mm, system)}; stack {study.stack}; "
            f"machine {study.machine}. Feeds in {_unit(system)}, as programmed in the "
            f"stack.{apart} Least cost: machine, power, water and worn tools. Most output: least "
            "machine time, replacing worn tools included. Each step by itself; differences from "
            "today."
        ),
        Heading("Best feeds"),
        Table(_summary(study, system, numbers), study.steps, name="feeds"),
    ]
    known = [s for s in study.steps if s.least_cost is not None]
    if len(known) <= CURVES_SHOWN:
        for s in known:
            parts += [
                Heading(f"{s.step}: cost per load by feed"),
                _curve(s, study, system, numbers),
            ]
            relation = s.relation
            if relation is not None:
                where = ", ".join(bit for bit in (relation.file, relation.key) if bit)
                # Trials on the command line have no source but themselves.
                source = f" {relation.source}" if relation.file else ""
                parts.append(
                    Line(
                        f"Tested from {numbers.signed(_feed(relation.low_mm_per_s, system))} to "
                        f"{numbers.signed(_feed(relation.high_mm_per_s, system))} "
                        f"{_unit(system)}; unknown outside it; n = {relation.exponent:.4g} "
                        f"({where}).{source}"
                    )
                )
    else:
        parts.append(Line("edgetime feed --tool NAME shows the curve of one of them."))
    parts += figure_blocks(figures, numbers)
    if study.findings:
        parts += finding_parts(study.findings, system, decimal=numbers.decimal)
    return [*parts, Line(f"\n{_CAUTION}")]
