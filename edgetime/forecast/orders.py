"""From pieces missing to what is bought: packs, minimum orders, sets, suppliers."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, Final, NamedTuple, TypeVar

from edgetime.forecast.inventory import set_quantity
from edgetime.forecast.records import OrderLine, SupplierOrder, ToolForecast
from edgetime.forecast.run_out import WEEK_D, Horizon, last_order_day

if TYPE_CHECKING:
    from edgetime.life.distribution import Trust
    from edgetime.tooling import Catalogue, Tool


T = TypeVar("T", int, float)


def article(piece: str) -> tuple[str, str | None]:
    """Return the tool and the profile of what is bought: ``tool`` or ``tool/profile``."""
    tool, sign, profile = piece.partition("/")
    return tool, profile if sign else None


def _line(piece: str, tool: Tool, stage: _Stage, first: date, trust: Trust | None) -> OrderLine:
    return OrderLine(
        piece=piece,
        title=tool.title,
        supplier=tool.supplier,
        order_by=stage.order_by,
        late_d=max(0, (first - stage.order_by).days),
        quantity=stage.quantity,
        packs=stage.quantity // tool.pack,
        price=tool.price,
        cost=None if tool.price is None else tool.price * stage.quantity,
        currency=tool.currency,
        set_name=tool.set_name,
        needed=stage.needed.get(piece, 0),
        wanted=stage.wanted,
        trust=trust,
    )


def _set_members(catalogue: Catalogue, tool: Tool, profile: str | None) -> dict[str, Tool]:
    """Return the articles of a set: its other tools, ground to the same profile if profiled."""
    members = {}
    for other in catalogue.tools.values():
        if other.set_name == tool.set_name and other.profiled == tool.profiled:
            members[f"{other.name}/{profile}" if profile is not None else other.name] = other
    return members


LARGE: Final = 10
"""Orders of this many pieces or more are staged: below, a second delivery costs more than it
saves (an assumption)."""


def order_groups(
    tools: Sequence[ToolForecast], catalogue: Catalogue, horizon: Horizon
) -> tuple[list[ToolForecast], list[OrderLine]]:
    """Turn missing pieces into order lines.

    A tool that is not of a set is ordered in whole packs, at least its minimum. Tools of one
    set are ordered together, as many of each as the member that misses most needs, by the
    earliest of their days; so are members that this pipeline does not use. Large orders are
    staged, see :func:`_stages`.

    Parameters
    ----------
    tools : sequence of ToolForecast
        With the pieces missing.
    catalogue : Catalogue
        Packs, minimums, sets, prices.
    horizon : Horizon
        First day, review interval, working days, shelf.

    Returns
    -------
    tools : list of ToolForecast
        With what is ordered of each and what it costs.
    lines : list of OrderLine
        All lines.
    """
    by_piece = {t.piece: t for t in tools}
    lines: dict[str, list[OrderLine]] = {}
    for t in tools:
        if t.needed <= 0 or t.piece in lines:
            continue
        tool = catalogue.tools[t.tool]
        members = {t.piece: tool}
        if tool.set_name:
            members = _set_members(catalogue, tool, article(t.piece)[1])
        own = {piece: by_piece[piece] for piece in members if piece in by_piece}
        for stage in _stages(members, own, horizon):
            for piece, member in members.items():
                trust = own[piece].trust if piece in own else None
                line = _line(piece, member, stage, horizon.first, trust)
                lines.setdefault(piece, []).append(line)
    with_orders = [
        replace(
            t,
            quantity=sum(line.quantity for line in lines[t.piece]),
            cost=_total(lines[t.piece]),
        )
        if t.piece in lines
        else t
        for t in tools
    ]
    return with_orders, [line for own in lines.values() for line in own]


class _Stage(NamedTuple):
    """One order of a set, or of a tool of none: pieces of each, its last day, when it is needed."""

    quantity: int
    order_by: date
    wanted: date
    needed: dict[str, int]


def _stages(
    members: Mapping[str, Tool], own: Mapping[str, ToolForecast], horizon: Horizon
) -> Iterator[_Stage]:
    """Yield the orders that bring what is missing of a set.

    One order, unless it is large or the largest stock is smaller. Then each order covers what is
    used until the next one can arrive: one review interval and one lead time from the day on which
    it is needed. None covers more than the shelf life, or brings more than there is room for when
    it arrives; it waits until there is room for a pack.
    """
    packs, minimums = zip(*((m.pack, m.minimum_order) for m in members.values()), strict=True)
    lot = math.lcm(*packs)
    needed = max(t.needed for t in own.values())
    policy = horizon.policy
    shelf = _least(
        policy.shelf or m.largest_stock or policy.largest_stock for m in members.values()
    )
    keeps_d = _least(m.shelf_life_d or policy.shelf_life_d for m in members.values())
    staged = needed >= LARGE or (shelf is not None and needed > shelf)
    lead_d = max(m.lead_time_d for m in members.values())
    bought = 0
    while bought < needed:
        wanted = {
            piece: next(r.day for r in t.requirements if r.pieces > bought)
            for piece, t in own.items()
            if t.needed > bought
        }
        arrives, room = min(wanted.values()), None
        if shelf is not None:
            arrives, room = _room(own, shelf, lot, bought, arrives, horizon.last)
            if room < lot:
                return
            wanted = {piece: max(day, arrives) for piece, day in wanted.items()}
        covered = date.max
        if staged:
            covered = arrives + timedelta(days=policy.review_d + lead_d)
        if keeps_d is not None:
            covered = min(covered, arrives + timedelta(days=keeps_d))
        target = max(r.pieces for t in own.values() for r in t.requirements if r.day <= covered)
        count = set_quantity([max(target - bought, 1)], packs=packs, minimums=minimums)
        if room is not None:
            count = min(count, room // lot * lot)
        # A rest below the minimum order is bought with this one.
        if 0 < needed - bought - count < max(minimums) and room is None and keeps_d is None:
            count = set_quantity([needed - bought], packs=packs, minimums=minimums)
        order_by = min(last_order_day(day, members[p], horizon) for p, day in wanted.items())
        yield _Stage(
            count,
            order_by,
            min(wanted.values()),
            {piece: min(max(t.needed - bought, 0), count) for piece, t in own.items()},
        )
        bought += count


def _least(limits: Iterable[T | None]) -> T | None:
    return min((limit for limit in limits if limit is not None), default=None)


def _room(
    own: Mapping[str, ToolForecast], shelf: int, lot: int, bought: int, day: date, last: date
) -> tuple[date, int]:
    """Return the first day, from a given one on, on which a lot has room, and how many have then.

    On the last day that is looked at there may be room for less than a lot.
    """
    while True:
        room = min(shelf - math.ceil(_left(t, bought, day) - 1e-6) for t in own.values())
        if room >= lot or day >= last:
            return day, room
        day += timedelta(days=1)


def _left(t: ToolForecast, bought: int, day: date) -> float:
    """Return what is expected to be left of an article before the jobs of a day [pieces]."""
    used = 0.0
    for week in t.weeks:
        passed = (day - week.monday).days / WEEK_D
        used += week.use.mean * min(max(passed, 0.0), 1.0)
    there = t.stock.by(day) + t.stock.used_left / t.mean_life + bought
    return max(0.0, there - used)


def _total(lines: Sequence[OrderLine]) -> Decimal | None:
    costs = [line.cost for line in lines if line.cost is not None]
    return sum(costs, Decimal(0)) if len(costs) == len(lines) else None


def supplier_orders(lines: Sequence[OrderLine]) -> tuple[SupplierOrder, ...]:
    """Gather lines by supplier, the most urgent first.

    Parameters
    ----------
    lines : sequence of OrderLine
        In any order.
    """
    by_supplier: dict[str, list[OrderLine]] = {}
    for line in sorted(lines, key=lambda line: (line.order_by, line.piece)):
        by_supplier.setdefault(line.supplier, []).append(line)
    orders = [
        SupplierOrder(supplier=name, order_by=own[0].order_by, lines=tuple(own))
        for name, own in by_supplier.items()
    ]
    return tuple(sorted(orders, key=lambda order: (order.order_by, order.supplier)))
