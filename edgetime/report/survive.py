"""Whether the mounted tools finish a load, as a document."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from edgetime.report.columns import COUNT, TEXT, Column, Sheet, Unit
from edgetime.report.document import Block, Heading, Line, Table
from edgetime.report.findings import finding_parts, tally
from edgetime.report.quantities import format_thickness
from edgetime.report.text import percent_number
from edgetime.units import UnitSystem, format_time

if TYPE_CHECKING:
    from edgetime.estimating import Estimate
    from edgetime.life import Interval, LifeFit, Survival, ToolSurvival

_MANY = 999.0
_ALL = 100.0
_WIDEST_NAME = 22
BASIS = {
    "catalogue": "file",
    "few": "mixed",
    "own": "own",
    "given": "given",
}
"""What a life rests on, in a word for a narrow column."""

BASIS_NOTE = (
    "Basis: file = the life in the tool's file alone; mixed = with a few of your own worn-out "
    "tools; own = your own tools."
)


def _chance(chance: float) -> str:
    return percent_number(chance, fine=_ALL, uncertain=True)


def _loads(left: Interval) -> str:
    low, high = (f"{int(n)}" if n < _MANY else f">{_MANY:.0f}" for n in (left.low, left.high))
    return low if low == high else f"{low} to {high}"


def _ends_on(t: ToolSurvival) -> str | None:
    if t.end is None or t.chance >= 0.9995:
        return None
    return t.end.part_id if t.end.stay == 1 else f"{t.end.part_id} again"


def _name(piece: str) -> str:
    # A name that must be broken is broken between tool and profile.
    return piece if len(piece) <= _WIDEST_NAME else piece.replace("/", "/ ", 1)


CHANCE = Unit("", lambda value, _: _chance(value))
"""Chances, shown in per cent, never as certain."""

LIVES = Unit("_lives", lambda value, _: percent_number(value, fine=_ALL))
"""Catalogue lives, shown in per cent."""

SurvivalRow = tuple[int, "ToolSurvival", int | None]
"""Number of a row, from 1, the piece, and its rank among the swaps."""


def survival_rows(found: Survival) -> list[SurvivalRow]:
    """Return the pieces with their numbers and ranks, as :func:`survival_sheet` takes them."""
    rank = {piece: number for number, piece in enumerate(found.swap, 1)}
    return [(number, t, rank.get(t.piece)) for number, t in enumerate(found.tools, 1)]


def survival_sheet(chance: float) -> Sheet[SurvivalRow]:
    """Return the columns of the table by piece.

    Parameters
    ----------
    chance : float
        That all pieces finish, for the row of totals [-].
    """
    return Sheet(
        (
            Column(key="row", unit=COUNT, get=lambda r: r[0]),
            Column(key="tool", get=lambda r: r[1].tool),
            Column(key="piece", heading="Tool", get=lambda r: r[1].piece,
                   show=lambda value, _: _name(value), total=lambda _: "All"),
            Column(key="serial", get=lambda r: r[1].serial),
            Column(heading="Serial", get=lambda r: r[1].serial or "new"),
            Column(key="pocket", heading="In", unit=COUNT, get=lambda r: r[1].pocket),
            Column(key="assumed_new", get=lambda r: "yes" if r[1].assumed_new else "no"),
            Column(key="spares", unit=COUNT, get=lambda r: r[1].spares),
            Column(key="measure", get=lambda r: r[1].measure),
            Column(key="used_lives", heading="Used", unit=LIVES, get=lambda r: r[1].used),
            Column(key="share_lives", heading="Load", unit=LIVES, get=lambda r: r[1].share),
            Column(key="chance", heading="Lasts", unit=CHANCE, get=lambda r: r[1].chance,
                   total=lambda _: chance),
            Column(key="chance_wear", unit=CHANCE, get=lambda r: r[1].chance_wear),
            Column(key="chance_breakage", unit=CHANCE, get=lambda r: r[1].chance_breakage),
            Column(key="chance_new", unit=CHANCE, get=lambda r: r[1].chance_new),
            Column(heading="Ends on", unit=TEXT, get=lambda r: _ends_on(r[1])),
            Column(heading="Loads left", unit=COUNT, get=lambda r: r[1].left_loads,
                   show=lambda value, _: _loads(value)),
            Column(key="left_lives", unit=LIVES, get=lambda r: r[1].left.value),
            Column(key="left_low_lives", unit=LIVES, get=lambda r: r[1].left.low),
            Column(key="left_high_lives", unit=LIVES, get=lambda r: r[1].left.high),
            Column(key="end_part", get=lambda r: None if r[1].end is None else r[1].end.part_id),
            Column(key="swap_rank", unit=COUNT, get=lambda r: r[2]),
            Column(key="life_rests_on", heading="Basis", get=lambda r: r[1].trust.value,
                   show=lambda value, _: BASIS[value]),
            Column(key="spares_used", unit=COUNT, get=lambda r: r[1].spares_used),
            Column(key="spare", get=lambda r: r[1].spare),
            Column(key="chance_spare", unit=CHANCE, get=lambda r: r[1].chance_spare),
        )
    )  # fmt: skip


def survival_table(found: Survival) -> Table[SurvivalRow]:
    """Return the table by piece."""
    return Table(survival_sheet(found.chance), survival_rows(found))


def _swap_lines(found: Survival) -> list[Block]:
    least = _chance(found.least_chance)
    by_piece = {t.piece: t for t in found.tools}
    parts: list[Block] = []
    for number, piece in enumerate(found.swap, 1):
        t = by_piece[piece]
        place = "" if t.pocket is None else f" in pocket {t.pocket}"
        parts.append(
            Line(
                f"{number}. {piece}{place}: {t.spare}, on hand, finishes with "
                f"{_chance(t.chance_spare or 0.0)} % instead of {_chance(t.chance)} %.",
                hang=3,
            )
        )
    if parts:
        parts.append(Line(f"After these swaps all finish with {_chance(found.chance_swapped)} %."))
    rest = [t.piece for t in found.low if t.piece not in found.swap]
    if rest:
        parts.append(Line(f"No better tool on hand for: {', '.join(rest)}.", hang=2))
    return parts or [Line(f"No swap needed: every tool finishes with {least} % or more.")]


def _percent_of_life(life: Interval) -> str:
    value, low, high = (f"{100.0 * v:.0f}" for v in (life.value, life.low, life.high))
    return f"{value} ({low} to {high})"


FIT_SHEET: Sheet[LifeFit] = Sheet(
    (
        Column(heading="Tool", get=lambda f: f.tool),
        Column(heading="Worn", unit=COUNT, get=lambda f: f.counts.worn),
        Column(heading="Broken", unit=COUNT, get=lambda f: f.counts.broken),
        Column(heading="Other", unit=COUNT, get=lambda f: f.counts.other),
        Column(heading="Mean life", unit=COUNT, get=lambda f: f.mean_life,
               show=lambda value, _: _percent_of_life(value)),
        Column(heading="Shape", get=lambda f: f"{f.family} {f.shape_interval.value:.1f}"),
        Column(heading="Basis", get=lambda f: BASIS[f.trust.value]),
    )
)  # fmt: skip
"""The life of each tool as learnt; the JSON document has more of it."""


def _fit_parts(fits: Sequence[LifeFit]) -> list[Block]:
    parts: list[Block] = [
        Heading("Mean life of the tools (% of the life in their files, 90 % interval in brackets)")
    ]
    known = [fit for fit in fits if fit.counts.exposure > 0.0]
    if known:
        parts.append(Table(FIT_SHEET, known))
    fresh = [fit for fit in fits if fit.counts.exposure <= 0.0]
    if fresh:
        who = "all" if not known else ", ".join(fit.tool for fit in fresh)
        parts.append(
            Line(
                f"No use in the ledger yet ({who}): {_percent_of_life(fresh[0].mean_life)}, "
                "assumed of the lives in the files."
            )
        )
    return parts


def chance_parts(found: Survival) -> list[Block]:
    """Return the table of the pieces, and which to swap before cycle start."""
    return [
        Heading("Chance to finish, in %"),
        survival_table(found),
        Line(
            "In: pocket. Used, Load: % of the life in the tool's file. Lasts: chance that the "
            "tool finishes the load. Ends on: the part where it is "
            "expected to end otherwise. Loads left: whole loads like this one, 90 % interval. "
            f"{BASIS_NOTE}"
        ),
        Heading("Swap before cycle start"),
        *_swap_lines(found),
    ]


def survive_screen(
    est: Estimate, found: Survival, ledger: str | None, system: UnitSystem
) -> Sequence[Block]:
    """Return the document of the command ``survive``."""
    load = est.load
    books = f"ledger {ledger}" if ledger is not None else "no ledger: new tools assumed"
    parts: list[Block] = [
        Line(
            f"{load.stone.title}, {format_thickness(load.nominal_mm, system)} nominal; stack {load.stack.name}; "
            f"machine {load.machine.name}, cycle {format_time(est.cycle.total_s)}; {books}. "
            f"Findings of the estimate: {tally(est.findings)} (edgetime estimate shows them)."
        ),
        *chance_parts(found),
        *_fit_parts(found.fits),
    ]
    if found.findings:
        parts += finding_parts(found.findings, system)
    return parts
