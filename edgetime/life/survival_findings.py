"""Findings on the chances that the mounted tools finish a load."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from edgetime.errors import Where
from edgetime.findings import Finding
from edgetime.life import codes
from edgetime.life.distribution import Trust

if TYPE_CHECKING:
    from edgetime.life.pieces import Alike
    from edgetime.life.posterior import LifeFit
    from edgetime.life.survival import ToolSurvival
    from edgetime.wear import Wear


def percent(chance: float) -> str:
    """Write a chance so that nothing uncertain reads as certain: 99.97 % is ``>99.9 %``.

    One decimal from 99 % on and below 1 %, where whole per cents would hide what matters.

    Parameters
    ----------
    chance : float
        From 0 to 1 [-].
    """
    number = 100.0 * chance
    if number in {0.0, 100.0}:
        return f"{number:.0f} %"
    if number >= 99.95:
        return ">99.9 %"
    if number < 0.05:
        return "<0.1 %"
    text = f"{number:.1f}" if number < 1.0 or number > 94.0 else f"{number:.0f}"
    return f"{text.removesuffix('.0')} %"


def survival_findings(
    tools: Sequence[ToolSurvival],
    wear: Wear,
    on_hand: Mapping[str, Alike] | None,
    least_chance: float,
) -> Iterable[Finding]:
    """Yield the findings on a load's chances.

    Parameters
    ----------
    tools : sequence of ToolSurvival
        Whether each piece finishes.
    wear : Wear
        Of the load.
    on_hand : mapping or None
        The pieces of each article; None without a ledger.
    least_chance : float
        Chance below which a piece is warned about [-].
    """
    for t in tools:
        if t.chance < least_chance:
            yield _may_not_last(t, least_chance)
    if on_hand is None:
        yield Finding(
            codes.NO_LEDGER,
            "No ledger was found: new tools and the lives in the tools' files are assumed.",
        )
    else:
        yield from _of_the_rack(tools, on_hand)
    for w in wear.tools:
        if w.share is None:
            yield Finding(codes.LIFE_UNKNOWN, f"{w.piece} has no life stated.")
    yield from _of_fits({t.tool: t.fit for t in tools}, wear)


def _may_not_last(t: ToolSurvival, least_chance: float) -> Finding:
    place = "" if t.end is None else f"; otherwise it is expected to end on {t.end.part_id}"
    end = "."
    if t.chance_spare is not None:
        end = f". {t.spare}, on hand: {percent(t.chance_spare)}."
    elif t.serial is not None:
        end = f". A new one, none on hand: {percent(t.chance_new)}."
    return Finding(
        codes.MAY_NOT_LAST,
        f"{t.piece} finishes with a chance of {percent(t.chance)}, below the minimum of "
        f"{percent(least_chance)}{place}{end}",
        Where(part=None if t.end is None else t.end.part_id),
    )


def _of_the_rack(tools: Sequence[ToolSurvival], on_hand: Mapping[str, Alike]) -> Iterable[Finding]:
    for t in tools:
        if t.serial is None:
            used = f", {t.spares_used} part-used" if t.spares_used else ""
            yield Finding(
                codes.NOT_MOUNTED,
                f"No {t.piece} is mounted ({t.spares or 0} new{used} on hand); a new one is "
                "assumed.",
            )
            continue
        others = on_hand[t.piece].mounted[1:]
        if others:
            yield Finding(
                codes.SEVERAL_MOUNTED,
                f"{t.piece}: {t.serial} in pocket {t.pocket} is assumed to work; also mounted: "
                f"{', '.join(f'{b.serial} in pocket {b.pocket}' for b in others)}.",
            )


def _of_fits(fits: Mapping[str, LifeFit], wear: Wear) -> Iterable[Finding]:
    few = [f"{f.tool} {f.counts.worn}" for f in fits.values() if f.trust is not Trust.OWN]
    if few:
        yield Finding(
            codes.FEW_RETIREMENTS,
            f"Tools worn out so far: {', '.join(few)}. 10 to 20 worn-out tools of a kind give "
            "a reliable life.",
        )
    source = {w.tool: w.measure for w in wear.tools}
    for tool, fit in fits.items():
        life = fit.mean_life
        if fit.trust is Trust.OWN and not life.low <= 1.0 <= life.high:
            stated = source.get(tool)
            yield Finding(
                codes.CATALOGUE_OFF,
                f"{tool} lasts {life.value:.2f} times the life in its file on average "
                f"({life.low:.2f} to {life.high:.2f}, 90 % interval), by {fit.counts.worn} "
                "worn-out tools.",
                Where() if stated is None else Where(path=stated.file or None, key=stated.key),
            )
        if fit.counts.ignored:
            yield Finding(
                codes.RECORD_UNUSABLE,
                f"{tool}: {fit.counts.ignored} retired without any use entered.",
            )
