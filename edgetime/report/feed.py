"""The best feeds of a load's tools, and their curves in letters."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Final

from edgetime.report.document import Grid, Heading, Line
from edgetime.report.findings import finding_parts
from edgetime.report.numbers import Numbers, figure_blocks
from edgetime.report.quantities import format_thickness
from edgetime.report.text import NONE, clock, signed_clock
from edgetime.units import UnitSystem

if TYPE_CHECKING:
    from edgetime.economics import FeedPoint, FeedStudy, StepFeed
    from edgetime.price.formulas import Exact
    from edgetime.report.document import Block

FEED_HEADER = (
    "step", "tool", "point", "feed_mm_per_s", "machine_s", "cut_s", "wear", "swap_s", "output_s",
    "cost", "currency", "limited_by", "why_not",
)  # fmt: skip
"""Columns of the CSV form; ``point`` is today, least-cost, most-output, at or curve."""

CURVES_SHOWN = 2
"""Curves are drawn for so many steps; of more, the table alone is told."""

BAR: Final = 24
"""Letters of the longest bar."""

APART: Final = 1.005
"""Feeds of the curve nearer to one another than by this ratio share a row."""

_MM_PER_IN = 25.4

_CAUTION = (
    "Worked out, not tried. Change a feed in small steps, wet, guards closed, every wheel below "
    "its marked maximum speed, within its maker's instructions and your local codes, and look at "
    "the finish before the next load."
)


def _feed(mm_per_s: float, system: UnitSystem) -> str:
    if system is UnitSystem.METRIC:
        return f"{mm_per_s * 0.06:#.3g}".rstrip(".")
    return f"{mm_per_s * 60.0 / _MM_PER_IN:#.3g}".rstrip(".")


def _unit(system: UnitSystem) -> str:
    return "m/min" if system is UnitSystem.METRIC else "in/min"


def feed_csv_rows(study: FeedStudy) -> list[list[object]]:
    """Return the rows of the CSV form.

    Parameters
    ----------
    study : FeedStudy
        The best feeds.
    """
    rows: list[list[object]] = []
    for s in study.steps:
        if s.why_not:
            feed = s.feed_mm_per_s
            rows.append([s.step, s.tool, "today", feed, *[None] * 8, s.why_not])
            continue
        named: list[tuple[str, FeedPoint | None]] = [
            ("today", s.today),
            ("least-cost", s.least_cost),
            ("most-output", s.most_output),
            ("at", s.at),
            *(("curve", p) for p in s.points),
        ]
        for name, p in named:
            if p is None:
                continue
            bound = s.limited_by(p) if name in {"least-cost", "most-output"} else None
            rows.append(
                [
                    s.step, s.tool, name, p.feed_mm_per_s, p.machine_s, p.cut_s, p.wear, p.swap_s,
                    p.output_s, f"{p.cost:.6f}", study.currency,
                    None if bound is None else bound.kind, None,
                ]
            )  # fmt: skip
    return rows


def _summary(study: FeedStudy, system: UnitSystem, numbers: Numbers) -> Block:
    rows: list[list[object]] = []
    for s in study.steps:
        cells: list[object] = [s.step, numbers.signed(_feed(s.feed_mm_per_s, system))]
        if s.least_cost is None or s.most_output is None:
            rows.append([*cells, NONE, "", NONE, NONE, "", NONE])
            continue
        for point, saved in (
            (s.least_cost, None if s.saving is None else numbers.change(-s.saving)),
            (s.most_output, None if s.saving_s is None else signed_clock(-s.saving_s)),
        ):
            bound = s.limited_by(point)
            limit = "" if bound is None else bound.kind.partition("-")[0]
            cells += [numbers.signed(_feed(point.feed_mm_per_s, system)), limit, saved or NONE]
        rows.append(cells)
    return Grid(
        [("Step", "<"), ("Today", ">"), ("Least cost", ">"), (" limit", "<"),
         (f"{study.currency}/load", ">"), ("Most output", ">"), (" limit", "<"),
         ("min/load", ">")],
        rows,
    )  # fmt: skip


def _names(s: StepFeed, point: FeedPoint) -> str:
    named = (
        ("today", s.today),
        ("least cost", s.least_cost),
        ("most output", s.most_output),
        ("asked for", s.at),
    )
    return ", ".join(name for name, p in named if p is point)


def _shown(s: StepFeed, system: UnitSystem) -> list[tuple[FeedPoint, str]]:
    """Return the points of the curve that can be told apart, each with its names."""
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


def _curve(s: StepFeed, study: FeedStudy, system: UnitSystem, numbers: Numbers) -> Block:
    greatest = max(p.cost for p in s.points)
    rows = []
    for p, names in _shown(s, system):
        facts = {f.name: f.value for f in p.figure.inputs}
        hour = facts["machine_rate"] + facts["labour_rate"]
        worn = facts["wear"] * (facts["piece_price"] + hour * facts["tool_swap_s"] / 3600)
        whole = int(BAR * p.cost / greatest + Decimal("0.5")) if greatest else 0
        tools = int(BAR * worn / greatest + Decimal("0.5")) if greatest else 0
        rows.append(
            [
                numbers.signed(_feed(p.feed_mm_per_s, system)), clock(p.output_s),
                numbers.signed(f"{100.0 * p.wear:.2f}"),
                numbers.amount(p.cost), f" {'=' * (whole - tools)}{'#' * tools}", names,
            ]
        )  # fmt: skip
    return Grid(
        [(_unit(system), ">"), (" min:s", ">"), (" life %", ">"), (f" {study.currency}", ">"),
         (" = time  # worn tools", "<"), ("", "<")],
        rows,
    )  # fmt: skip


def feed_screen(
    study: FeedStudy, system: UnitSystem, *, figures: Sequence[Exact] = ()
) -> list[Block]:
    """Return the screen of the command ``feed``.

    Parameters
    ----------
    study : FeedStudy
        The best feeds.
    system : UnitSystem
        Units of feeds.
    figures : sequence of Explained
        To be explained.
    """
    numbers = Numbers(study.locale, study.currency)
    factor = study.steps[0].stone_factor if study.steps else 1.0
    apart = "" if factor == 1.0 else f" {study.stone} runs them at {100.0 * factor:g} %."
    parts: list[Block] = [
        Line(
            f"{study.stone} {format_thickness(study.thickness_mm, system)}; stack {study.stack}; machine "
            f"{study.machine}. Feeds in {_unit(system)}, as they stand in the stack.{apart} "
            "Least cost: machine, power, water and worn tools. Most output: least machine time, "
            "replacing spent tools included. Each step by itself; changes against today."
        ),
        Heading("Best feeds"),
        _summary(study, system, numbers),
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
                # Trials told on the command line have no source but themselves.
                source = f" {relation.source}" if relation.file else ""
                parts.append(
                    Line(
                        f"Tried from {numbers.signed(_feed(relation.low_mm_per_s, system))} to "
                        f"{numbers.signed(_feed(relation.high_mm_per_s, system))} {_unit(system)}, nothing is said "
                        f"beyond; n = {relation.exponent:.4g} ({where}).{source}"
                    )
                )
    else:
        parts.append(Line("edgetime feed --tool NAME shows the curve of one of them."))
    parts += figure_blocks(figures, numbers)
    if study.findings:
        parts += finding_parts(study.findings, system, decimal=numbers.decimal)
    return [*parts, Line(f"\n{_CAUTION}")]
