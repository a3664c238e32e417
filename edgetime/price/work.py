"""What a load asks for, item by item: machine, people, hand work, tools.

An item is what an estimator sells: the edge of one profile, a cutout with its edge, a hole,
a radius corner. Everything the machine does has its item; what belongs to none (changing
tools, travel between parts, loading a part) is shared by stated rules.
"""

from __future__ import annotations

import decimal
import math
from collections import defaultdict
from dataclasses import dataclass, fields
from decimal import Decimal
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from edgetime.geometry.measure import bounds
from edgetime.geometry.path import Path
from edgetime.moves import NO_INDEX, MoveKind
from edgetime.price.money import EXACT, decimal_of

if TYPE_CHECKING:
    from edgetime.estimating import Estimate
    from edgetime.passes import Pass
    from edgetime.takeoff.model import Cutout, Part
    from edgetime.tooling.rates import PriceRates

__all__ = [
    "CORNERS",
    "CORNER_RADIUS_MM",
    "HANDLING",
    "HOLES",
    "SETUP",
    "Amounts",
    "Work",
    "collect",
    "merged",
]

HOLES: Final = "holes"
CORNERS: Final = "corners"
HANDLING: Final = "handling"
SETUP: Final = "set-up"

CORNER_RADIUS_MM: Final = 150.0
"""An arc of a worked outer edge of at most this radius is a radius corner, priced each; a wider
one is a curved edge, priced by length, and so is an outline that is nothing but such arcs [mm]."""

IntArray = NDArray[np.int64]
FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Amounts:
    """Quantities that are priced. They add up.

    Attributes
    ----------
    machine_s : Decimal
        Machine cycle [s].
    waiting_s : Decimal
        Attended work while the machine is taken up and stands [s].
    attended_s : Decimal
        Attended work at the load: loading, stops, unloading [s].
    setup_h : Decimal
        Attended work once per load [h].
    energy_kwh, water_m3 : Decimal
        Power and water.
    hand_m : Decimal
        Edge finished by hand [m].
    tools : Decimal
        Share of the tools' prices used up, in the shop's currency.
    """

    machine_s: Decimal = Decimal(0)
    waiting_s: Decimal = Decimal(0)
    attended_s: Decimal = Decimal(0)
    setup_h: Decimal = Decimal(0)
    energy_kwh: Decimal = Decimal(0)
    water_m3: Decimal = Decimal(0)
    hand_m: Decimal = Decimal(0)
    tools: Decimal = Decimal(0)

    def __add__(self, other: Amounts) -> Amounts:
        with decimal.localcontext(EXACT):
            return Amounts(
                **{f.name: getattr(self, f.name) + getattr(other, f.name) for f in fields(self)}
            )


@dataclass(frozen=True, eq=False, kw_only=True)
class Work:
    """The priced quantities of a load.

    Attributes
    ----------
    cells : dict
        ``(part index, item)`` → amounts; part index -1 for what no part bears.
    parts : tuple of (str, str)
        Id and name of each part.
    count : dict
        Item → metres, or number of cutouts, holes and corners.
    """

    cells: dict[tuple[int, str], Amounts]
    parts: tuple[tuple[str, str], ...]
    count: dict[str, Decimal]

    def total(self) -> Amounts:
        """Return the amounts of the whole load."""
        return sum(self.cells.values(), Amounts())

    def by_item(self) -> dict[str, Amounts]:
        """Return the amounts of each item: profiles, cutouts, holes, corners, the rest."""
        out: dict[str, Amounts] = {}
        for (_, item), amounts in self.cells.items():
            out[item] = out.get(item, Amounts()) + amounts
        return dict(sorted(out.items(), key=lambda row: _rank(row[0])))

    def by_part(self) -> dict[int, Amounts]:
        """Return the amounts of each part, -1 last."""
        out = {i: Amounts() for i in range(len(self.parts))}
        for (part, _), amounts in self.cells.items():
            out[part] = out.get(part, Amounts()) + amounts
        return out


def _rank(item: str) -> tuple[int, str]:
    order = ("profile", "cutout", HOLES, CORNERS, HANDLING, SETUP)
    return order.index(item.partition(":")[0]), item


def _cutout_item(cutout: Cutout, finished: frozenset[str]) -> str:
    """Name a cutout by the profile that most of its edge gets."""
    lengths: dict[str, float] = defaultdict(float)
    for edge in cutout.contour.edges:
        if edge.profile in finished:
            lengths[edge.profile] += edge.length_mm
    name = max(sorted(lengths), key=lambda p: lengths[p], default="unfinished")
    return f"cutout:{name}"


def _is_round(path: Path) -> bool:
    """Return whether a path is tight arcs of one direction all round: a disc, an oval."""
    angle = 4.0 * np.arctan(path.bulges)
    turned = np.abs(angle) > 0.0
    if not turned.all() or abs(np.sign(angle).sum()) < len(path):
        return False
    return bool((path.lengths <= CORNER_RADIUS_MM * (1.0 + 1e-6) * np.abs(angle)).all())


def _corners(part: Part, finished: frozenset[str]) -> tuple[int, dict[str, float]]:
    """Return the number of radius corners, and the length along them by profile [mm]."""
    path = part.outline.path
    if _is_round(path):
        return 0, {}
    tight = np.zeros(len(path), dtype=np.bool_)
    angle = 4.0 * np.arctan(np.abs(path.bulges))
    arc = angle > 0.0
    tight[arc] = path.lengths[arc] / angle[arc] <= CORNER_RADIUS_MM
    length: dict[str, float] = {}
    worked = np.zeros(len(path), dtype=np.bool_)
    for edge in part.outline.edges:
        if edge.profile in finished:
            span = slice(edge.first, edge.stop)
            worked[span] = True
            along = float(path.lengths[span][tight[span]].sum())
            length[edge.profile] = length.get(edge.profile, 0.0) + along
    sign = np.where(tight & worked, np.sign(path.bulges), 0.0)
    # A corner begins where the segment before it is none, or turns the other way.
    begins = (sign != 0.0) & (sign != np.roll(sign, 1))
    return int(begins.sum()) or int(sign.any()), length


class _Collector:
    """Takes one estimate apart."""

    def __init__(self, est: Estimate, rates: PriceRates) -> None:
        self.est, self.rates = est, rates
        self.load = est.load
        self.parts = [p.part for p in est.load.parts]
        self.finished = frozenset(
            name
            for name, p in est.load.catalogue.profiles.items()
            if p.family != "none" and p.made_here
        )
        self.cutouts = [[_cutout_item(c, self.finished) for c in p.cutouts] for p in self.parts]
        self.items: list[str] = []
        self.number: dict[str, int] = {}
        self.amounts: dict[tuple[int, str], dict[str, Decimal]] = defaultdict(
            lambda: defaultdict(Decimal)
        )

    def item(self, name: str) -> int:
        if name not in self.number:
            self.number[name] = len(self.items)
            self.items.append(name)
        return self.number[name]

    # Which item a move serves ----------------------------------------------------------

    def _pass_item(self, p: Pass) -> int:
        run = p.run
        if run.contour > 0:
            return self.item(self.cutouts[run.part][run.contour - 1])
        if run.contour == 0:
            return NO_INDEX
        if run.place == "hole":
            return self.item(HOLES)
        # An entry hole lies within the cutout it opens.
        x, y = run.path.points[:, 0].mean(), run.path.points[:, 1].mean()
        for number, cutout in enumerate(self.parts[run.part].cutouts):
            x0, y0, x1, y1 = bounds(cutout.contour.path)
            if x0 <= x <= x1 and y0 <= y <= y1:
                return self.item(self.cutouts[run.part][number])
        return self.item(HOLES)

    def move_items(self) -> IntArray:
        """Return the item of each move, NO_INDEX for none (n,)."""
        plan, moves = self.est.plan, self.est.paths.moves
        of_pass = np.array([self._pass_item(p) for p in plan.passes] or [NO_INDEX])
        outline = np.array([p.run.contour == 0 for p in plan.passes] or [False])
        of_profile = np.array(
            [self.item(f"profile:{name}") for name in plan.profiles] or [NO_INDEX]
        )
        own = moves.pass_index != NO_INDEX
        row = np.where(own, moves.pass_index, 0)
        item = np.where(own, of_pass[row], NO_INDEX)
        along = own & outline[row] & (moves.profile != NO_INDEX)
        item = np.where(along, of_profile[np.where(along, moves.profile, 0)], item)
        angle = 4.0 * np.arctan(np.abs(moves.bulge))
        edge_radius = np.divide(
            moves.treated, angle, out=np.full(len(moves), math.inf), where=angle > 0.0
        )
        on_arc = along & (moves.kind == MoveKind.CUT) & (moves.treated > 0.0)
        # A part that is round all over has no corner: what is cut there is its edge.
        cornered = np.array([not _is_round(p.outline.path) for p in self.parts])
        on_arc &= cornered[np.where(on_arc, moves.part, 0)]
        corner = on_arc & (edge_radius <= CORNER_RADIUS_MM * (1.0 + 1e-6))
        return np.where(corner, self.item(CORNERS), item) if corner.any() else item

    # Machine, tools -------------------------------------------------------------------

    def machine_s(self) -> tuple[FloatArray, FloatArray]:
        """Return the machine's time by part and item, and in the cut by visit, part, item [s].

        What no item owns in a visit (changes, travel) is shared by the own time there. The
        time of a part over its items adds up to the cycle's time of that part.
        """
        est = self.est
        moves, cycle = est.paths.moves, est.cycle
        item = self.move_items()
        known = (item != NO_INDEX) & (moves.part != NO_INDEX)
        shape = (len(cycle.visits), len(self.parts), max(1, len(self.items)))
        at = tuple(a[known] for a in (moves.visit, moves.part, item))
        own = np.zeros(shape)
        np.add.at(own, at, (est.motion.seconds + moves.dwell)[known])
        visit_s = np.array([v.time.total_s for v in cycle.visits])
        in_visit = own.sum(axis=(1, 2))
        scale = np.divide(visit_s, in_visit, out=np.zeros_like(visit_s), where=in_visit > 0.0)
        share = (own * scale[:, None, None]).sum(axis=0)
        part_s = np.array([p.time.total_s for p in cycle.parts])
        by_part = share.sum(axis=1)
        scale = np.divide(part_s, by_part, out=np.zeros_like(part_s), where=by_part > 0.0)
        return share * scale[:, None], own

    def take_machine(self) -> None:
        share, own = self.machine_s()
        for i, part in enumerate(self.est.cycle.parts):
            row = share[i]
            if row.sum() <= 0.0:
                self.add(i, HANDLING, "machine_s", decimal_of(part.time.total_s))
            for k in np.flatnonzero(row > 0.0):
                self.add(i, self.items[k], "machine_s", decimal_of(float(row[k])))
        self.take_tools(own)
        used = self.est.wear.consumables
        total = sum((decimal_of(float(s)) for s in share.flat), Decimal(0))
        for name, amount in (
            ("energy_kwh", used.electricity_kwh),
            ("water_m3", None if used.water_l is None else used.water_l / 1000.0),
        ):
            if amount is None or total == 0:
                continue
            for key in list(self.amounts):
                seconds = self.amounts[key]["machine_s"]
                self.add(*key, name, decimal_of(amount) * seconds / total)

    def take_tools(self, own: FloatArray) -> None:
        """Share out the cost of each tool piece: by part as worn, within it by time."""
        piece_of = [v.piece for v in self.est.cycle.visits]
        for t in self.est.wear.tools:
            if t.cost is None or not t.share:
                continue
            rows = [v for v, piece in enumerate(piece_of) if piece == t.piece]
            seconds = own[rows].sum(axis=0)
            whole = sum((decimal_of(s) for _, s in t.by_part), Decimal(0))
            for part, used in t.by_part:
                cost = t.cost * decimal_of(used) / whole
                total = sum((decimal_of(float(s)) for s in seconds[part]), Decimal(0))
                for k in np.flatnonzero(seconds[part] > 0.0):
                    weight = decimal_of(float(seconds[part][k])) / total
                    self.add(part, self.items[k], "tools", cost * weight)

    # People ---------------------------------------------------------------------------

    def take_attended(self) -> None:
        machine = self.load.machine
        each = decimal_of(machine.load_part_s) + decimal_of(machine.unload_part_s)
        owed = [each] * len(self.parts)
        for stop in self.est.plan.stops:
            parts = stop.parts or tuple(range(len(self.parts)))
            share = decimal_of(stop.seconds) / len(parts)
            for part in parts:
                items = list(dict.fromkeys(self.cutouts[part]))
                if stop.reason == "slug" and items:
                    for name in items:
                        self.add(part, name, "attended_s", share / len(items))
                else:
                    owed[part] += share
        for part, seconds in enumerate(owed):
            self.spread(part, "attended_s", seconds)
        if self.rates.machine_waits:
            for amounts in self.amounts.values():
                amounts["waiting_s"] = amounts["attended_s"]

    def take_setup(self) -> None:
        rule, hours = self.rates.setup_share, self.rates.setup_h
        if rule == "line":
            self.add(-1, SETUP, "setup_h", hours)
            return
        weights = [Decimal(1)] * len(self.parts)
        if rule == "time":
            weights = [decimal_of(p.time.total_s) for p in self.est.cycle.parts]
        elif rule == "length":
            treated: dict[int, float] = defaultdict(float)
            for (part, _), length in self.est.plan.treated_mm.items():
                treated[part] += length
            weights = [decimal_of(treated[i]) for i in range(len(self.parts))]
        if not sum(weights):
            weights = [Decimal(1)] * len(self.parts)
        for part, weight in enumerate(weights):
            self.spread(part, "setup_h", hours * weight / sum(weights))

    def take_hand(self) -> None:
        for h in self.est.paths.hand:
            name = f"profile:{h.profile}"
            if h.contour > 0:
                name = self.cutouts[h.part][h.contour - 1]
            self.add(h.part, name, "hand_m", decimal_of(h.length_mm) / 1000)

    def spread(self, part: int, name: str, amount: Decimal) -> None:
        """Share an amount over a part's items by their machine time."""
        own = {
            item: a["machine_s"]
            for (p, item), a in self.amounts.items()
            if p == part and a["machine_s"] > 0
        }
        whole = sum(own.values(), Decimal(0))
        if not whole:
            self.add(part, HANDLING, name, amount)
        for item, seconds in own.items():
            self.add(part, item, name, amount * seconds / whole)

    def add(self, part: int, item: str, name: str, amount: Decimal) -> None:
        self.amounts[part, item][name] += amount

    def counts(self) -> dict[str, Decimal]:
        metres: dict[str, float] = defaultdict(float)
        number: dict[str, int] = defaultdict(int)
        for part, cutouts in zip(self.parts, self.cutouts, strict=True):
            corners, along = _corners(part, self.finished)
            number[CORNERS] += corners
            number[HOLES] += len(part.holes)
            for name in cutouts:
                number[name] += 1
            for edge in part.outline.edges:
                metres[edge.profile] += edge.length_mm
            for profile, length in along.items():
                metres[profile] -= length
        out = {f"profile:{p}": decimal_of(length) / 1000 for p, length in metres.items()}
        out.update((name, Decimal(n)) for name, n in number.items())
        return out


def collect(est: Estimate, rates: PriceRates) -> Work:
    """Take an estimate apart into the quantities that are priced.

    Parameters
    ----------
    est : Estimate
        A load.
    rates : PriceRates
        Give set-up, and by which rule it is shared.

    Returns
    -------
    Work
        Its amounts add up to the estimate's: machine cycle, attended time, hand work, cost of
        tools, power and water.
    """
    with decimal.localcontext(EXACT):
        collector = _Collector(est, rates)
        collector.take_machine()
        collector.take_attended()
        collector.take_setup()
        collector.take_hand()
        return Work(
            cells={key: Amounts(**a) for key, a in collector.amounts.items() if any(a.values())},
            parts=tuple((p.part_id, p.name) for p in collector.parts),
            count=collector.counts(),
        )


def merged(works: list[Work]) -> Work:
    """Put the work of several loads together; the parts stay apart."""
    cells: dict[tuple[int, str], Amounts] = {}
    parts: list[tuple[str, str]] = []
    count: dict[str, Decimal] = {}
    for work in works:
        for (part, item), amounts in work.cells.items():
            key = (part if part < 0 else part + len(parts), item)
            cells[key] = cells.get(key, Amounts()) + amounts
        parts += work.parts
        for item, number in work.count.items():
            count[item] = count.get(item, Decimal(0)) + number
    return Work(cells=cells, parts=tuple(parts), count=count)
