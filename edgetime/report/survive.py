"""Whether the mounted tools finish a load: the screen and the rows."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from edgetime.report.document import Grid, Heading, Line
from edgetime.report.findings import finding_parts, tally
from edgetime.report.quantities import format_thickness
from edgetime.report.text import NONE
from edgetime.units import UnitSystem, format_time

if TYPE_CHECKING:
    from edgetime.estimating import Estimate
    from edgetime.life import Interval, LifeFit, Survival, ToolSurvival
    from edgetime.report.document import Block

SURVIVE_HEADER = (
    "row",
    "tool",
    "piece",
    "serial",
    "pocket",
    "assumed_new",
    "spares",
    "measure",
    "used_lives",
    "share_lives",
    "chance",
    "chance_wear",
    "chance_breakage",
    "chance_new",
    "left_lives",
    "left_low_lives",
    "left_high_lives",
    "end_part",
    "swap_rank",
)
"""Columns of the CSV form, one row per tool piece."""

_MANY = 1000.0
_TRUST = {
    "catalogue": "its file",
    "few": "its file and your few",
    "own": "your own pieces",
}


def survive_rows(found: Survival) -> list[list[object]]:
    """Return the rows of the CSV form.

    Parameters
    ----------
    found : Survival
        Of a load.

    Returns
    -------
    list of list
        As :data:`SURVIVE_HEADER`.
    """
    rank = {piece: number for number, piece in enumerate(found.swap, 1)}
    return [
        [
            number,
            t.tool,
            t.piece,
            t.serial,
            t.pocket,
            "yes" if t.serial is None else "no",
            t.spares,
            t.measure,
            t.used,
            t.share,
            t.chance,
            t.chance_wear,
            t.chance_breakage,
            t.chance_new,
            t.left.value,
            t.left.low,
            t.left.high,
            None if t.end is None else t.end.part_id,
            rank.get(t.piece),
        ]
        for number, t in enumerate(found.tools, 1)
    ]


def _chance(chance: float) -> str:
    percent = 100.0 * chance
    if percent >= 99.95:
        return ">99.9"
    return f"{percent:.1f}" if percent >= 0.05 else "<0.1"


def _share(share: float) -> str:
    percent = 100.0 * share
    if percent <= 0.0:
        return "0"
    if percent < 0.05:
        return "<0.1"
    return f"{percent:.1f}" if percent < 100.0 else f"{percent:.0f}"


def _loads(left: Interval, share: float) -> str:
    if share <= 0.0:
        return NONE
    low, high = (
        f"{int(n)}" if n < _MANY else f">{_MANY:.0f}" for n in (left.low / share, left.high / share)
    )
    return low if low == high else f"{low} to {high}"


def _ends_on(t: ToolSurvival) -> str:
    if t.end is None or t.chance >= 0.9995:
        return NONE
    return t.end.part_id if t.end.stay == 1 else f"{t.end.part_id} again"


def _tool_table(found: Survival) -> Block:
    return Grid(
        [
            ("Tool", "<"),
            ("Serial", "<"),
            ("Pocket", ">"),
            ("Used %", ">"),
            ("Load %", ">"),
            ("Lasts %", ">"),
            ("Ends on", "<"),
            ("Loads left", ">"),
        ],
        [
            [
                t.piece,
                t.serial or "new",
                t.pocket,
                _share(t.used),
                _share(t.share),
                _chance(t.chance),
                _ends_on(t),
                _loads(t.left, t.share),
            ]
            for t in found.tools
        ],
        total=["All of them", "", "", "", "", _chance(found.chance), "", ""],
    )


def _swap_lines(found: Survival) -> list[Block]:
    least = _chance(found.least_chance)
    if not found.swap:
        low = [t.piece for t in found.tools if t.chance < found.least_chance]
        if low:
            return [Line(f"No swap helps: {', '.join(low)} would not last longer if new.")]
        return [Line(f"Nothing to swap: every tool finishes with {least} % or more.")]
    by_piece = {t.piece: t for t in found.tools}
    parts: list[Block] = []
    for number, piece in enumerate(found.swap, 1):
        t = by_piece[piece]
        place = "" if t.pocket is None else f" in pocket {t.pocket}"
        stock = "" if t.spares is None else f"; new at hand: {t.spares}"
        parts.append(
            Line(
                f"{number}. {piece}{place}: a new one finishes with {_chance(t.chance_new)} % "
                f"instead of {_chance(t.chance)} %{stock}.",
                hang=3,
            )
        )
    done = _chance(found.chance_swapped)
    return [*parts, Line(f"With these swapped all of them finish with {done} %.")]


def _percent_of_life(life: Interval) -> str:
    value, low, high = (f"{100.0 * v:.0f}" for v in (life.value, life.low, life.high))
    return f"{value} ({low} to {high})"


def _fit_row(fit: LifeFit) -> list[object]:
    counts = fit.counts
    return [
        fit.tool,
        counts.worn,
        counts.broken,
        counts.in_service + counts.lost,
        _percent_of_life(fit.mean_life),
        f"{fit.family} {fit.shape_interval.value:.1f}",
        _TRUST[str(fit.trust)],
    ]


def _fit_parts(fits: Sequence[LifeFit]) -> list[Block]:
    parts: list[Block] = [
        Heading("How long the tools last (% of what their files state, 90 % in brackets)")
    ]
    known = [fit for fit in fits if fit.counts.exposure > 0.0]
    if known:
        parts.append(
            Grid(
                [
                    ("Tool", "<"),
                    ("Worn", ">"),
                    ("Broken", ">"),
                    ("Other", ">"),
                    ("Mean life", ">"),
                    ("Shape", "<"),
                    ("Rests on", "<"),
                ],
                [_fit_row(fit) for fit in known],
            )
        )
    fresh = [fit for fit in fits if fit.counts.exposure <= 0.0]
    if fresh:
        who = "all" if not known else ", ".join(fit.tool for fit in fresh)
        parts.append(
            Line(
                f"Nothing used yet by the ledger ({who}): {_percent_of_life(fresh[0].mean_life)}, "
                "which is what the files' figures are taken to be worth."
            )
        )
    return parts


def survive_screen(
    est: Estimate, found: Survival, ledger: str | None, system: UnitSystem
) -> Sequence[Block]:
    """Return the screen of the command ``survive``.

    Parameters
    ----------
    est : Estimate
        The load.
    found : Survival
        Its answer.
    ledger : str or None
        Name of the ledger.
    system : UnitSystem
        Units of the thickness and of findings.
    """
    load = est.load
    books = f"ledger {ledger}" if ledger is not None else "no ledger: new pieces assumed"
    parts: list[Block] = [
        Line(
            f"{load.stone.title}, {format_thickness(load.nominal_mm, system)} nominal; stack {load.stack.name}; "
            f"machine {load.machine.name}, cycle {format_time(est.cycle.total_s)}; {books}. "
            f"Findings of the estimate: {tally(est.findings)} (edgetime estimate shows them)."
        ),
        Heading("Will it last? (Used and Load in % of the life its file states)"),
        _tool_table(found),
        Line(
            "Lasts: the chance that it finishes. Ends on: the part where it is expected to end "
            "if it does not. Loads left: whole loads like this one, with 90 % between these."
        ),
        Heading("What to swap first"),
        *_swap_lines(found),
        *_fit_parts(list({t.tool: t.fit for t in found.tools}.values())),
    ]
    if found.findings:
        parts += finding_parts(found.findings, system)
    return parts
