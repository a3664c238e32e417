"""The chance that the mounted tool pieces finish a load, and where they would end."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from edgetime.errors import UsageError, Where
from edgetime.life.fit import fit_life
from edgetime.life.pieces import Alike, life_used, pieces_on_hand
from edgetime.life.posterior import LifeFit
from edgetime.life.survival import EndAt, Survival, ToolSurvival
from edgetime.life.survival_findings import survival_findings

if TYPE_CHECKING:
    from edgetime.ledger import PieceBalance
    from edgetime.wear import ToolWear, Wear

LEAST_CHANCE: Final = 0.95
"""Chance of finishing below which a piece is warned about, unless asked otherwise."""


def survive(
    wear: Wear,
    balances: Iterable[PieceBalance] | None,
    fits: Mapping[str, LifeFit],
    *,
    least_chance: float = LEAST_CHANCE,
) -> Survival:
    """Calculate the chance that each mounted piece finishes a load, and where it would end.

    A piece that was used for ``u`` and is to be used for ``s`` more finishes with the
    probability that it lasts longer than ``u + s``, given that it lasted ``u``, over all that
    is possible for its tool's life after the records (see :meth:`LifeFit.outlast`). Of
    several measures of life the one with the least chance counts. Of several pieces alike the
    one in the lowest pocket works, as :meth:`Ledger.post` charges it.

    Parameters
    ----------
    wear : Wear
        Of the load.
    balances : iterable of PieceBalance or None
        All pieces in the ledger; None without a ledger.
    fits : mapping
        Fit by tool name; a tool without one gets the catalogue's figure.
    least_chance : float
        Pieces below it are warned about, and swapped where a better one is on hand [-].

    Returns
    -------
    Survival
        In the order of the wear.

    Raises
    ------
    UsageError
        ``least_chance`` is not between 0 and 1.
    """
    if not 0.0 < least_chance < 1.0:
        raise UsageError(
            f"The minimum chance is {least_chance:g}; it must lie between 0 and 1.",
            where=Where(key="--least-chance"),
            remedy=f"Write {least_chance:g}% or {least_chance / 100.0:g}."
            if 1.0 < least_chance < 100.0
            else "Write 95% or 0.95.",
        )
    on_hand = None if balances is None else pieces_on_hand(balances)
    tools: list[ToolSurvival] = []
    for tool_wear in wear.tools:
        if tool_wear.share is None:
            continue
        alike = None if on_hand is None else on_hand.get(tool_wear.piece, Alike([], []))
        fit = fits.get(tool_wear.tool) or fit_life((), tool=tool_wear.tool)
        tools.append(_tool(tool_wear, wear.parts, alike, fit))
    better = {t.piece: t.chance_spare for t in tools if t.chance_spare is not None}
    swap = sorted(
        (t for t in tools if t.chance < least_chance and t.chance < better.get(t.piece, 0.0)),
        key=lambda t: t.chance / better[t.piece],
    )
    changed = {t.piece for t in swap}
    return Survival(
        tools=tuple(tools),
        unknown=tuple(t.piece for t in wear.tools if t.share is None),
        chance=_product(t.chance for t in tools),
        chance_swapped=_product(better[t.piece] if t.piece in changed else t.chance for t in tools),
        swap=tuple(t.piece for t in swap),
        least_chance=least_chance,
        ledger=on_hand is not None,
        findings=tuple(survival_findings(tools, wear, on_hand, least_chance)),
    )


def _product(chances: Iterable[float]) -> float:
    return float(np.prod(list(chances)))


def _hardest(
    wear: ToolWear, piece: PieceBalance | None, fit: LifeFit
) -> tuple[float, str, float, float]:
    """Return chance, measure, life used before and by the load, where wear is most likely."""
    before: dict[str, float] = {}
    gone = otherwise = 0.0
    if piece is not None:
        before = {u.by: u.share for u in piece.used if u.share is not None}
        # Before its first run a piece has use by no measure, only what was entered for all.
        otherwise = 0.0 if before else piece.share or 0.0
        gone = max(0.0, 1.0 - piece.restored)
    # All measures share one distribution, so the least chance is where use bears hardest.
    return min(
        (float(fit.outlast_wear(used, np.array([m.share]))[0]), m.by, used, m.share)
        for m in wear.measures
        for used in (before.get(m.by, otherwise) + gone,)
    )


def _tool(
    wear: ToolWear, parts: tuple[tuple[str, str], ...], alike: Alike | None, fit: LifeFit
) -> ToolSurvival:
    piece = None if alike is None else alike.working
    spare = alike.spare[0] if alike is not None and alike.spare else None
    _, measure, used, share = _hardest(wear, piece, fit)
    steps = np.array([0.0, *(s for _, s in wear.by_part)]).cumsum()
    if steps[-1] > 0.0:
        # The parts' shares are by the measure that wears most in this load alone.
        steps *= share / steps[-1]
    steps = np.append(steps, share)
    lasting = fit.outlast(used, steps)
    by_part = _ends(wear, parts, -np.diff(lasting[:-1]))
    load = np.array([share])
    return ToolSurvival(
        tool=wear.tool,
        piece=wear.piece,
        serial=None if piece is None else piece.serial,
        pocket=None if piece is None else piece.pocket,
        spares=None if alike is None else alike.unused,
        spares_used=None if alike is None else len(alike.spare) - alike.unused,
        spare=None if spare is None else spare.serial,
        measure=measure,
        used=used,
        share=share,
        chance=float(lasting[-1]),
        chance_wear=float(fit.outlast_wear(used, load)[0]),
        chance_breakage=float(fit.outlast_breakage(load)[0]),
        chance_new=float(fit.outlast(0.0, load)[0]),
        chance_spare=None if spare is None else float(fit.outlast(life_used(spare), load)[0]),
        left=fit.remaining_interval(used),
        end=_middle(by_part),
        by_part=by_part,
        fit=fit,
    )


def _ends(wear: ToolWear, parts: tuple[tuple[str, str], ...], chances: Any) -> tuple[EndAt, ...]:
    seen: dict[int, int] = {}
    out = []
    for (part, _), chance in zip(wear.by_part, chances.tolist(), strict=True):
        seen[part] = seen.get(part, 0) + 1
        part_id, name = parts[part] if part >= 0 else ("", "")
        out.append(EndAt(part_id=part_id, name=name, stay=seen[part], chance=max(0.0, chance)))
    return tuple(out)


def _middle(ends: Sequence[EndAt]) -> EndAt | None:
    half, so_far = 0.5 * sum(e.chance for e in ends), 0.0
    for end in ends:
        so_far += end.chance
        if so_far >= half > 0.0:
            return end
    return None
