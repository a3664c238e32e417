"""Which tools are in the rack, and the order of the loads with the fewest swaps.

A load needs its tools in the rack; the rack has C pockets. With the order of the loads
given, keeping the tools that are needed soonest is optimal (Tang and Denardo, Operations
Research 36 (1988) 767-777). Counted here in its equivalent form: between two uses a tool
keeps its pocket if one is free throughout, the uses that come first having the first claim;
each kept pocket saves one swap (Cherniavskii and Goldengorin, arXiv 2205.06042, who prove
that both reach the same count). This form grows with the order from its front, so that a
search over orders can count as it goes.
"""

from __future__ import annotations

import time
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field
from typing import Final, NamedTuple

from edgetime.errors import InputError, UsageError, Where
from edgetime.records import HIDDEN, figure

EXACT_LOADS: Final = 10
"""Up to this many different loads the best order is sought to the end."""


class PocketRow(NamedTuple):
    """A load in a pocket plan.

    Attributes
    ----------
    plan : PocketPlan
        The plan.
    number : int
        Its place in the order, from 1.
    listed : int
        Its place as given, from 1.
    name : str
        Of the load.
    inserted : tuple of str or None
        Tools put in before it; None where its tools are not known.
    """

    plan: PocketPlan
    number: int
    listed: int
    name: str
    inserted: tuple[str, ...] | None


@dataclass(frozen=True, kw_only=True)
class PocketPlan:
    """An order of loads and the swaps it costs.

    Attributes
    ----------
    names : tuple of str
        Names of the loads as given.
    needs : tuple of frozenset of str
        Tools of each load as given; none for a load that is not drawn.
    order : tuple of int
        Indices of the loads as given.
    swaps : int
        Tools put in after the rack was filled once.
    as_given : int
        Swaps in the order given.
    bound : int
        No order has fewer swaps than this.
    inserted : tuple of tuple of str
        Tools put in before each load, in the order of ``order``; the first filling of the
        rack excluded.
    pockets : int
        Of the rack.
    """

    names: tuple[str, ...]
    needs: tuple[frozenset[str], ...] = field(metadata=HIDDEN)
    order: tuple[int, ...]
    swaps: int
    as_given: int
    bound: int
    inserted: tuple[tuple[str, ...], ...]
    pockets: int

    @property
    @figure
    def optimal(self) -> bool:
        """Whether no order can be better."""
        return self.swaps == self.bound

    @property
    def rows(self) -> tuple[PocketRow, ...]:
        """Each load, in the order found."""
        return tuple(
            PocketRow(self, n, i + 1, self.names[i], put if self.needs[i] else None)
            for n, (i, put) in enumerate(zip(self.order, self.inserted, strict=True), 1)
        )


class _Rack:
    """Counts insertions as loads are appended to an order; can be copied cheaply."""

    __slots__ = ("count", "free", "last", "pockets")

    def __init__(self, pockets: int) -> None:
        self.pockets = pockets
        self.count = 0
        self.free: list[int] = []
        self.last: dict[str, int] = {}

    @property
    def swaps(self) -> int:
        """Tools put in after the rack was filled once."""
        return max(0, self.count - self.pockets)

    def copy(self) -> _Rack:
        out = _Rack(self.pockets)
        out.count, out.free, out.last = self.count, self.free.copy(), self.last.copy()
        return out

    def append(self, need: Collection[str]) -> list[str]:
        """Append a load; return the tools to be put in for it."""
        at = len(self.free)
        put: list[str] = []
        # Of the tools used again here, those used last before claim first: their wait is
        # part of every longer one.
        for piece in sorted(need, key=lambda p: (-self.last.get(p, -1), p)):
            since = self.last.get(piece)
            if since is not None and all(self.free[k] > 0 for k in range(since + 1, at)):
                for k in range(since + 1, at):
                    self.free[k] -= 1
            else:
                put.append(piece)
            self.last[piece] = at
        self.free.append(self.pockets - len(need))
        self.count += len(put)
        return put


def _needs(needs: Iterable[Sequence[str]], pockets: int) -> list[tuple[str, ...]]:
    # What the rack cannot hold at all is put in by hand during the cycle: it claims no pocket.
    return [tuple(dict.fromkeys(need))[:pockets] for need in needs]


def inserted(needs: Sequence[Sequence[str]], pockets: int) -> list[tuple[str, ...]]:
    """Return the tools put into the rack before each load, the order being given.

    Returns
    -------
    list of tuple of str
        One entry per load. The rack is filled once before the first load; that is not
        counted.
    """
    rack = _Rack(pockets)
    room = pockets
    out: list[tuple[str, ...]] = []
    for need in _needs(needs, pockets):
        put = rack.append(need)
        # Free pockets are filled before the shift, by the tools that come first.
        filled, put = put[:room], put[room:]
        room -= len(filled)
        out.append(tuple(put))
    return out


def swaps_of_order(needs: Sequence[Collection[str]], pockets: int) -> int:
    """Return the fewest swaps with the order given.

    Parameters
    ----------
    needs : sequence of collection of str
        Tools of each load, none with more than ``pockets``.
    pockets : int
        Of the rack.
    """
    rack = _Rack(pockets)
    for need in needs:
        rack.append(need)
    return rack.swaps


def _between(one: frozenset[str], other: frozenset[str], pockets: int) -> int:
    """Return the swaps that going from one load to another takes at least."""
    return max(0, len(one | other) - pockets)


def _spanning_tree(needs: Sequence[frozenset[str]], pockets: int) -> int:
    """Return the weight of the lightest tree over the loads, swaps between two as weights."""
    out = 0
    left = {i: _between(needs[0], needs[i], pockets) for i in range(1, len(needs))}
    while left:
        near = min(left, key=lambda i: (left[i], i))
        out += left.pop(near)
        left = {i: min(d, _between(needs[near], needs[i], pockets)) for i, d in left.items()}
    return out


def _lower_bound(needs: Sequence[frozenset[str]], pockets: int) -> int:
    """Return a number of swaps that no order can beat.

    Every tool is put in once, C of them before the first load. And going from one load to
    the next costs at least what both need beyond C; an order is a tree over the loads.
    """
    distinct = len(frozenset().union(*needs))
    return max(0, distinct - pockets, _spanning_tree(needs, pockets))


def _greedy(needs: Sequence[frozenset[str]], pockets: int, first: int) -> list[int]:
    """Return an order that goes on with the load that shares most with the one before."""
    order, left = [first], set(range(len(needs))) - {first}
    while left:
        here = needs[order[-1]]
        near = min(
            left, key=lambda i: (_between(here, needs[i], pockets), -len(here & needs[i]), i)
        )
        order.append(near)
        left.remove(near)
    return order


def _improve(
    needs: Sequence[frozenset[str]], pockets: int, order: list[int], bound: int, until: float
) -> tuple[int, list[int]]:
    """Move single loads and reverse stretches for as long as that saves swaps."""

    def cost(o: list[int]) -> int:
        return swaps_of_order([needs[i] for i in o], pockets)

    best = cost(order)
    better = True
    while better and best > bound:
        better = False
        for i in range(len(order)):
            for j in range(len(order)):
                if i == j:
                    continue
                if time.monotonic() > until:
                    return best, order
                rest = order[:i] + order[i + 1 :]
                tries = [[*rest[:j], order[i], *rest[j:]]]
                if i < j:
                    tries.append(order[:i] + order[i : j + 1][::-1] + order[j + 1 :])
                for trial in tries:
                    value = cost(trial)
                    if value < best:
                        best, order, better = value, trial, True
    return best, order


def _searched(
    needs: Sequence[frozenset[str]],
    pockets: int,
    best: int,
    order: list[int],
    bound: int,
    until: float,
) -> tuple[int, list[int], bool]:
    """Search orders depth first, cutting off what cannot beat the best known.

    Returns
    -------
    best, order, complete : int, list of int, bool
        The last is False when the time was up first.
    """
    complete = True

    def extend(rack: _Rack, begun: list[int], left: set[int]) -> None:
        nonlocal best, order, complete
        if best <= bound or not complete:
            return
        if time.monotonic() > until:
            complete = False
            return
        if not left:
            best, order = rack.swaps, begun
            return
        options = []
        for i in left:
            # An order and its reverse cost the same: only one of them is looked at.
            if len(left) == 1 and begun and i < begun[0]:
                continue
            trial = rack.copy()
            trial.append(needs[i])
            rest = [needs[k] for k in sorted(left - {i})]
            unseen = len(frozenset().union(*rest) - trial.last.keys())
            steps = _spanning_tree([needs[i], *rest], pockets)
            # Lower bounds: the steps still to come, and the tools that were never in.
            floor = max(trial.count + unseen - pockets, trial.swaps + steps)
            if floor < best:
                options.append((floor, i, trial))
        for floor, i, trial in sorted(options, key=lambda o: (o[0], o[1])):
            if floor < best:
                extend(trial, [*begun, i], left - {i})

    extend(_Rack(pockets), [], set(range(len(needs))))
    return best, order, complete


def plan_pockets(
    needs: Sequence[Collection[str]],
    pockets: int,
    *,
    names: Sequence[str] = (),
    time_limit_s: float = 10.0,
) -> PocketPlan:
    """Find the order of loads with the fewest tool swaps.

    Loads whose tools another load needs as well cost nothing beside it and go there. Of the
    rest, up to :data:`EXACT_LOADS` are ordered by branch and bound; more by a greedy start
    from each load, improved by moving loads and reversing stretches.

    Parameters
    ----------
    needs : sequence of collection of str
        Tools of each load.
    pockets : int
        Of the rack.
    names : sequence of str
        Of the loads; ``load 1`` and so on when omitted.
    time_limit_s : float
        The search ends then with the best found and a bound [s].

    Returns
    -------
    PocketPlan
        ``optimal`` says whether no order can be better.

    Raises
    ------
    UsageError
        The rack has no pocket.
    InputError
        A load alone needs more tools than the rack holds.

    Notes
    -----
    Swaps of an order equal those of its reverse, and tools put in for a load are lower
    bounded by what was put in so far plus what was never in (Tang and Denardo 1988; Laporte,
    Salazar-González and Semet, IIE Transactions 36 (2004) 37-45).
    """
    if pockets < 1:
        raise UsageError(
            f"The rack has {pockets} pockets; it needs at least 1.",
            where=Where(key="--pockets"),
            remedy="Give the number of tools the rack holds, such as --pockets 20.",
        )
    sets = [frozenset(need) for need in needs]
    titles = tuple(names) or tuple(f"load {n}" for n in range(1, len(sets) + 1))
    for name, need in zip(titles, sets, strict=True):
        if len(need) > pockets:
            raise InputError(
                f"{name} needs {len(need)} tools; the rack has {pockets} pockets.",
                where=Where(key="pockets"),
                remedy="Use a longer rack, or a stack with fewer tools: no order helps here.",
            )
    until = time.monotonic() + time_limit_s
    hosts, guests = _merge(sets)
    chosen = [sets[i] for i in hosts]
    bound = _lower_bound(chosen, pockets)
    best, order = _start(chosen, pockets, bound, until)
    if best > bound and len(chosen) <= EXACT_LOADS:
        best, order, complete = _searched(chosen, pockets, best, order, bound, until)
        if complete:
            bound = best
    full = [i for k in order for i in (hosts[k], *guests[hosts[k]])]
    given = swaps_of_order(sets, pockets)
    if given <= best:
        # No reason to change what is as good.
        full, best = list(range(len(sets))), given
    return PocketPlan(
        names=titles,
        needs=tuple(sets),
        order=tuple(full),
        swaps=best,
        as_given=given,
        bound=bound,
        inserted=tuple(inserted([sorted(sets[i]) for i in full], pockets)),
        pockets=pockets,
    )


def _merge(sets: Sequence[frozenset[str]]) -> tuple[list[int], dict[int, list[int]]]:
    """Return loads that no other covers, and for each those that it covers."""
    hosts: list[int] = []
    guests: dict[int, list[int]] = {}
    for i in sorted(range(len(sets)), key=lambda k: (-len(sets[k]), k)):
        host = next((h for h in hosts if sets[i] <= sets[h]), None)
        if host is None:
            hosts.append(i)
            guests[i] = []
        else:
            guests[host].append(i)
    return hosts, guests


def _start(
    needs: Sequence[frozenset[str]], pockets: int, bound: int, until: float
) -> tuple[int, list[int]]:
    best, order = swaps_of_order(needs, pockets), list(range(len(needs)))
    for first in range(len(needs)):
        if best <= bound or time.monotonic() > until:
            break
        value, found = _improve(needs, pockets, _greedy(needs, pockets, first), bound, until)
        if value < best:
            best, order = value, found
    return best, order
