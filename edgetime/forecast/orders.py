"""From pieces missing to what is bought: packs, minimum orders, sets, suppliers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from edgetime.forecast.inventory import order_quantity, set_quantity
from edgetime.forecast.records import OrderLine, SupplierOrder, ToolForecast

if TYPE_CHECKING:
    from edgetime.tooling import Catalogue, Tool


def article(piece: str) -> tuple[str, str | None]:
    """Return the tool and the profile of what is bought: ``tool`` or ``tool/profile``."""
    tool, sign, profile = piece.partition("/")
    return tool, profile if sign else None


def _line(
    piece: str, tool: Tool, quantity: int, needed: int, order_by: date, first: date
) -> OrderLine:
    return OrderLine(
        piece=piece,
        title=tool.title,
        supplier=tool.supplier,
        order_by=order_by,
        late_d=max(0, (first - order_by).days),
        quantity=quantity,
        packs=quantity // tool.pack,
        price=tool.price,
        cost=None if tool.price is None else tool.price * quantity,
        currency=tool.currency,
        set_name=tool.set_name,
        needed=needed,
    )


def _set_members(catalogue: Catalogue, tool: Tool, profile: str | None) -> dict[str, Tool]:
    """Return the articles of a set: its other tools, ground to the same profile if profiled."""
    members = {}
    for other in catalogue.tools.values():
        if other.set_name == tool.set_name and other.profiled == tool.profiled:
            members[f"{other.name}/{profile}" if profile is not None else other.name] = other
    return members


def order_groups(
    tools: Sequence[ToolForecast], catalogue: Catalogue, first: date
) -> tuple[list[ToolForecast], list[OrderLine]]:
    """Turn missing pieces into order lines.

    A tool that is not of a set is ordered in whole packs, at least its minimum. Tools of one
    set are ordered together, as many of each as the member that misses most needs, by the
    earliest of their days; so are members that this pipeline does not use.

    Parameters
    ----------
    tools : sequence of ToolForecast
        With the pieces missing.
    catalogue : Catalogue
        Packs, minimums, sets, prices.
    first : date
        First day of the forecast.

    Returns
    -------
    tools : list of ToolForecast
        With what is ordered of each and what it costs.
    lines : list of OrderLine
        All lines.
    """
    by_piece = {t.piece: t for t in tools}
    lines: dict[str, OrderLine] = {}
    for t in tools:
        if t.order_by is None or t.needed <= 0 or t.piece in lines:
            continue
        tool = catalogue.tools[t.tool]
        if not tool.set_name:
            count = order_quantity(t.needed, pack=tool.pack, minimum=tool.minimum_order)
            lines[t.piece] = _line(t.piece, tool, count, t.needed, t.order_by, first)
            continue
        members = _set_members(catalogue, tool, article(t.piece)[1])
        needed = {piece: by_piece[piece].needed if piece in by_piece else 0 for piece in members}
        count = set_quantity(
            needed.values(),
            packs=[m.pack for m in members.values()],
            minimums=[m.minimum_order for m in members.values()],
        )
        days = [by_piece[p].order_by for p in members if p in by_piece]
        order_by = min(day for day in days if day is not None)
        for piece, member in members.items():
            lines[piece] = _line(piece, member, count, needed[piece], order_by, first)
    with_orders = [
        replace(t, quantity=lines[t.piece].quantity, cost=lines[t.piece].cost)
        if t.piece in lines
        else t
        for t in tools
    ]
    return with_orders, list(lines.values())


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
