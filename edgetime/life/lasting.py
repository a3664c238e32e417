"""How long tools last in this shop: in metres or another measure, in days, in runs."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, ClassVar

from edgetime.life.distribution import Interval, Trust
from edgetime.life.fit import fit_life
from edgetime.records import written

if TYPE_CHECKING:
    from edgetime.ledger import Entry, LifeRecord, PieceBalance


@dataclass(frozen=True, slots=True, kw_only=True)
class ToolLasting:
    """Mean life of the pieces of one tool, or of those of one supplier or batch.

    Attributes
    ----------
    tool : str
        Its name.
    group : str or None
        Supplier or batch; None for those without, or for all together.
    pieces, worn : int
        Pieces with any use, and those of them worn out: what the figures rest on.
    life : Interval
        Mean wear-out life: median and 90 % interval [catalogue lives].
    unit : str
        Unit of ``amount``: ``mm``, ``mm3``, ``s``, ``1`` (holes), ``mm2``.
    amount, days, runs : Interval or None
        The same by the limiting measure, in days from the first run to the last, and in
        runs, at the rate at which these pieces were used; None without any run.
    trust : Trust
        Whether it rests on the tool's file or on pieces of the shop's own.
    """

    tool: str
    group: str | None
    pieces: int
    worn: int
    life: Interval = field(metadata=written(key="mean_life"))
    unit: str
    amount: Interval | None
    days: Interval | None = field(metadata=written(key="duration_d"))
    runs: Interval | None
    trust: Trust = field(metadata=written(key="life_rests_on"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Lasting:
    """Mean lives of the tools of a shop.

    Attributes
    ----------
    by : str or None
        What the pieces are divided by: ``supplier``, ``batch`` or nothing.
    tools : tuple of ToolLasting
        By tool and group.
    """

    SCHEMA: ClassVar = "edgetime.tool-lives/1"

    by: str | None
    tools: tuple[ToolLasting, ...]


def lasting(
    records: Iterable[LifeRecord],
    balances: Iterable[PieceBalance],
    history: Iterable[Entry],
    by: str | None = None,
) -> Lasting:
    """Return how long pieces last on average, learnt from those used so far.

    Parameters
    ----------
    records, balances, history : iterable of LifeRecord, of PieceBalance, of Entry
        As the ledger gives them, with shares by today's files.
    by : str, optional
        ``supplier`` or ``batch``: pieces of each are fitted apart.
    """
    groups = {b.serial: None if by is None else getattr(b, by) for b in balances}
    runs: dict[str, set[tuple[str, int | None]]] = {}
    days: dict[str, list[date]] = {}
    for entry in history:
        if entry.kind == "used" and entry.load and entry.serial and entry.reversed_by is None:
            runs.setdefault(entry.serial, set()).add((entry.load, entry.run))
            days.setdefault(entry.serial, []).append(entry.at.date())
    found: dict[tuple[str, str | None], list[LifeRecord]] = {}
    for record in records:
        if record.share:
            found.setdefault((record.tool, groups.get(record.serial)), []).append(record)
    return Lasting(
        by=by,
        tools=tuple(
            _tool(tool, group, found[tool, group], runs, days)
            for tool, group in sorted(found, key=lambda key: (key[0], key[1] or ""))
        ),
    )


def _tool(
    tool: str,
    group: str | None,
    records: Sequence[LifeRecord],
    runs: dict[str, set[tuple[str, int | None]]],
    days: dict[str, list[date]],
) -> ToolLasting:
    fit = fit_life(records, tool=tool)
    # Rates are taken from pieces that were run: a share entered by hand has no metres.
    run = [r for r in records if r.used > 0.0 and r.serial in runs]
    units = [r.unit for r in run]
    unit = max(set(units), key=units.count, default="")
    serials = {r.serial for r in run}
    shares = sum(r.share or 0.0 for r in run)
    same = [r for r in run if r.unit == unit]
    spans = sum((max(days[s]) - min(days[s])).days + 1 for s in serials)

    def scaled(per_life: float, of: float) -> Interval | None:
        if of <= 0.0 or per_life <= 0.0:
            return None
        life = fit.mean_life
        return Interval(*(x * per_life / of for x in (life.value, life.low, life.high)))

    return ToolLasting(
        tool=tool,
        group=group,
        pieces=len({r.serial for r in records}),
        worn=fit.counts.worn,
        life=fit.mean_life,
        unit=unit,
        amount=scaled(sum(r.used for r in same), sum(r.share or 0.0 for r in same)),
        days=scaled(float(spans), shares),
        runs=scaled(float(sum(len(runs[s]) for s in serials)), shares),
        trust=fit.trust,
    )
