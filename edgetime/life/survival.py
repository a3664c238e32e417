"""Whether the pieces now mounted finish a load."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final, Protocol

import numpy as np

from edgetime.errors import UsageError, Where
from edgetime.findings import Finding
from edgetime.life import codes
from edgetime.life.fit import fit_life
from edgetime.life.model import Interval, LifeFit, Trust
from edgetime.records import as_json

if TYPE_CHECKING:
    from collections.abc import Sequence

    from edgetime.wear import ToolWear, Wear

LEAST_CHANCE: Final = 0.95
"""Chance of finishing below which a piece is warned about, unless asked otherwise."""


class UsedLike(Protocol):
    """Use of a piece by one measure."""

    @property
    def by(self) -> str:
        """The measure."""

    @property
    def share(self) -> float | None:
        """Share of life used by it."""


class Balance(Protocol):
    """What stands to the account of a piece, as the ledger gives it."""

    @property
    def serial(self) -> str:
        """Its number."""

    @property
    def model(self) -> str:
        """``tool`` or ``tool/profile``, as :attr:`ToolWear.piece`."""

    @property
    def state(self) -> str:
        """``new``, ``mounted`` or another."""

    @property
    def pocket(self) -> int | None:
        """Where it is mounted; None elsewhere."""

    @property
    def used(self) -> Sequence[UsedLike]:
        """Since its life was last restored, by every measure."""

    @property
    def share(self) -> float | None:
        """Greatest share used."""

    @property
    def restored(self) -> float:
        """Life at the last restoring: 1 when new."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EndAt:
    """A part of the load, and the chance that a piece ends on it.

    Attributes
    ----------
    part_id, name : str
        The part.
    stay : int
        Which of the tool's stays on this part, from 1.
    chance : float
        Chance that the piece ends there [-].
    """

    part_id: str
    name: str
    stay: int
    chance: float

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "part_id": self.part_id,
            "name": self.name,
            "stay": self.stay,
            "chance": self.chance,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class ToolSurvival:
    """Whether one piece finishes the load.

    Attributes
    ----------
    tool, piece : str
        As in the wear.
    serial : str or None
        The piece in the ledger; None when a new one is assumed.
    pocket : int or None
        Where it is mounted.
    spares : int or None
        New pieces at hand; None without a ledger.
    measure : str
        The measure by which it ends first.
    used, share : float
        Used before, and by this load [catalogue lives].
    chance : float
        That it finishes [-]; the product of the next two.
    chance_wear, chance_breakage : float
        That it is not worn out; that it does not break [-].
    chance_new : float
        That a new piece in its place would finish [-].
    left : Interval
        Use until its end by wear or breakage: median and 90 % interval [catalogue lives].
    end : EndAt or None
        The part on which it is expected to end if it does not finish: by then half of that
        chance has come true. None when the load does not wear it.
    by_part : tuple of EndAt
        Chance to end on each stay on a part, in running order.
    fit : LifeFit
        Of its tool.
    """

    tool: str
    piece: str
    serial: str | None
    pocket: int | None
    spares: int | None
    measure: str
    used: float
    share: float
    chance: float
    chance_wear: float
    chance_breakage: float
    chance_new: float
    left: Interval
    end: EndAt | None
    by_part: tuple[EndAt, ...]
    fit: LifeFit

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "tool": self.tool,
            "piece": self.piece,
            "serial": self.serial,
            "pocket": self.pocket,
            "assumed_new": self.serial is None,
            "spares": self.spares,
            "measure": self.measure,
            "used_lives": self.used,
            "share_lives": self.share,
            "chance": self.chance,
            "chance_wear": self.chance_wear,
            "chance_breakage": self.chance_breakage,
            "chance_new": self.chance_new,
            "left_lives": self.left.as_dict(),
            "end": None if self.end is None else self.end.as_dict(),
            "by_part": [e.as_dict() for e in self.by_part],
        }


@dataclass(frozen=True, eq=False, kw_only=True)
class Survival:
    """Whether a load is finished without an end of a tool.

    Attributes
    ----------
    tools : tuple of ToolSurvival
        In order of first use; pieces without a stated life are missing.
    unknown : tuple of str
        Those pieces.
    chance : float
        That all finish, each independent of the others [-].
    chance_swapped : float
        The same after every swap of ``swap`` [-].
    swap : tuple of str
        Pieces to swap before cycle start, the one that raises the chance most first; only
        those below ``least_chance``.
    least_chance : float
        Chance asked for [-].
    ledger : bool
        Whether there was a ledger.
    findings : tuple of Finding
        Of this stage only.
    """

    tools: tuple[ToolSurvival, ...]
    unknown: tuple[str, ...]
    chance: float
    chance_swapped: float
    swap: tuple[str, ...]
    least_chance: float
    ledger: bool
    findings: tuple[Finding, ...]

    def as_dict(self) -> dict[str, Any]:
        """Return the ``edgetime.survive/1`` document."""
        fits = {t.tool: t.fit for t in self.tools}
        return {
            "schema": "edgetime.survive/1",
            "ledger": self.ledger,
            "least_chance": self.least_chance,
            "chance": self.chance,
            "chance_swapped": self.chance_swapped,
            "swap": list(self.swap),
            "tools": [t.as_dict() for t in self.tools],
            "unknown": list(self.unknown),
            "fits": [fit.as_dict() for fit in fits.values()],
            "findings": as_json(self.findings),
        }


def survive(
    wear: Wear,
    balances: Iterable[Balance] | None,
    fits: Mapping[str, LifeFit],
    *,
    least_chance: float = LEAST_CHANCE,
) -> Survival:
    """Give the chance that each mounted piece finishes a load, and where it would end.

    A piece that was used for ``u`` and is to be used for ``s`` more finishes with the
    probability that it lasts longer than ``u + s``, given that it lasted ``u``, over all that
    is possible for its tool's life after the records (see :meth:`LifeFit.outlast`). Of
    several measures of life the one with the least chance counts.

    Parameters
    ----------
    wear : Wear
        Of the load.
    balances : iterable of Balance or None
        All pieces in the ledger; None without a ledger.
    fits : mapping
        Fit by tool name; a tool without one gets the catalogue's figure.
    least_chance : float
        Pieces below it are warned about and swapped [-].

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
            f"A least chance of {least_chance:g} asks for nothing; it lies between 0 and 1.",
            where=Where(key="--least-chance"),
            remedy="Write 95% or 0.95.",
        )
    mounted: dict[str, list[Balance]] = {}
    spares: dict[str, int] = {}
    for piece in balances or ():
        if piece.pocket is not None:
            mounted.setdefault(piece.model, []).append(piece)
        elif piece.state == "new":
            spares[piece.model] = spares.get(piece.model, 0) + 1
    tools: list[ToolSurvival] = []
    for tool_wear in wear.tools:
        if tool_wear.share is None:
            continue
        there = mounted.get(tool_wear.piece, [])
        balance = max(there, key=lambda b: b.share or 0.0, default=None)
        fit = fits.get(tool_wear.tool) or fit_life((), tool=tool_wear.tool)
        at_hand = None if balances is None else spares.get(tool_wear.piece, 0)
        tools.append(_tool(tool_wear, wear.parts, balance, fit, at_hand))
    swap = sorted(
        (t for t in tools if t.chance < least_chance and t.chance_new > t.chance),
        key=lambda t: t.chance / t.chance_new,
    )
    changed = {t.piece for t in swap}
    return Survival(
        tools=tuple(tools),
        unknown=tuple(t.piece for t in wear.tools if t.share is None),
        chance=_product(t.chance for t in tools),
        chance_swapped=_product(t.chance_new if t.piece in changed else t.chance for t in tools),
        swap=tuple(t.piece for t in swap),
        least_chance=least_chance,
        ledger=balances is not None,
        findings=tuple(_findings(tools, wear, mounted, least_chance, ledger=balances is not None)),
    )


def _product(chances: Iterable[float]) -> float:
    return float(np.prod(list(chances)))


def _tool(
    wear: ToolWear,
    parts: tuple[tuple[str, str], ...],
    balance: Balance | None,
    fit: LifeFit,
    spares: int | None,
) -> ToolSurvival:
    before: dict[str, float] = {}
    gone = otherwise = 0.0
    if balance is not None:
        before = {u.by: u.share for u in balance.used if u.share is not None}
        # Before its first run a piece has use by no measure, only what was entered for all.
        otherwise = 0.0 if before else balance.share or 0.0
        # A life only partly restored is one of which a part is gone already.
        gone = max(0.0, 1.0 - balance.restored)
    # With one distribution for all measures the least chance is where use bears hardest.
    by_measure = [
        (float(fit.outlast_wear(used, np.array([m.share]))[0]), m.by, used, m.share)
        for m in wear.measures
        for used in (before.get(m.by, otherwise) + gone,)
    ]
    _, measure, used, share = min(by_measure, key=lambda row: row[0])
    steps = np.array([0.0, *(s for _, s in wear.by_part)]).cumsum()
    if steps[-1] > 0.0:
        # The parts' shares are by the measure that wears most in this load alone.
        steps *= share / steps[-1]
    steps = np.append(steps, share)
    lasting = fit.outlast(used, steps)
    chance = float(lasting[-1])
    by_part = _ends(wear, parts, -np.diff(lasting[:-1]))
    return ToolSurvival(
        tool=wear.tool,
        piece=wear.piece,
        serial=None if balance is None else balance.serial,
        pocket=None if balance is None else balance.pocket,
        spares=spares,
        measure=measure,
        used=used,
        share=share,
        chance=chance,
        chance_wear=float(fit.outlast_wear(used, np.array([share]))[0]),
        chance_breakage=float(fit.outlast_breakage(np.array([share]))[0]),
        chance_new=float(fit.outlast(0.0, np.array([share]))[0]),
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


def _percent(chance: float) -> str:
    return f"{100.0 * chance:.0f} %"


def _findings(
    tools: Sequence[ToolSurvival],
    wear: Wear,
    mounted: Mapping[str, Sequence[Balance]],
    least_chance: float,
    *,
    ledger: bool,
) -> Iterable[Finding]:
    for t in tools:
        if t.chance < least_chance:
            place = "" if t.end is None else f", otherwise it is expected to end on {t.end.part_id}"
            new = f" A new one: {_percent(t.chance_new)}." if t.serial is not None else ""
            yield Finding(
                codes.MAY_NOT_LAST,
                f"{t.piece} finishes with {_percent(t.chance)}, asked for are "
                f"{_percent(least_chance)}{place}.{new}",
                Where(part=None if t.end is None else t.end.part_id),
            )
    if not ledger:
        yield Finding(
            codes.NO_LEDGER, "No ledger was found: new pieces and the stated lives are assumed."
        )
    else:
        for t in tools:
            if t.serial is None:
                yield Finding(
                    codes.NOT_MOUNTED,
                    f"No {t.piece} is mounted ({t.spares or 0} new at hand); a new one is assumed.",
                )
            elif len(mounted[t.piece]) > 1:
                others = ", ".join(b.serial for b in mounted[t.piece] if b.serial != t.serial)
                yield Finding(
                    codes.SEVERAL_MOUNTED,
                    f"{t.piece}: {t.serial} is taken, {others} mounted as well.",
                )
    for w in wear.tools:
        if w.share is None:
            yield Finding(codes.LIFE_UNKNOWN, f"{w.piece} has no life stated.")
    yield from _of_fits({t.tool: t.fit for t in tools}, wear)


def _of_fits(fits: Mapping[str, LifeFit], wear: Wear) -> Iterable[Finding]:
    few = [f"{f.tool} {f.counts.worn}" for f in fits.values() if f.trust is not Trust.OWN]
    if few:
        yield Finding(
            codes.FEW_RETIREMENTS,
            f"Pieces worn out so far: {', '.join(few)}. About 10 to 20 of a tool settle its life.",
        )
    source = {w.tool: w.measure for w in wear.tools}
    for tool, fit in fits.items():
        life = fit.mean_life
        if fit.trust is Trust.OWN and not life.low <= 1.0 <= life.high:
            stated = source.get(tool)
            yield Finding(
                codes.CATALOGUE_OFF,
                f"{tool} lasts {life.value:.2f} of the life its file states, on average "
                f"({life.low:.2f} to {life.high:.2f} with 90 %), by {fit.counts.worn} worn out.",
                Where() if stated is None else Where(path=stated.file or None, key=stated.key),
            )
        if fit.counts.ignored:
            yield Finding(
                codes.RECORD_UNUSABLE,
                f"{tool}: {fit.counts.ignored} retired without any use entered.",
            )
