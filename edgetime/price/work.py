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

from edgetime.geometry.path import Path
from edgetime.labour import KINDS
from edgetime.moves import NO_INDEX, MoveKind
from edgetime.price.money import EXACT, decimal_of, shared

if TYPE_CHECKING:
    from edgetime.estimating import Estimate
    from edgetime.passes import Pass
    from edgetime.takeoff.parts import Cutout, Part
    from edgetime.tooling import PriceRates

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
        Attended work while the machine is occupied and waits [s].
    attended_s : Decimal
        Attended work at the load: loading, stops, replacing worn tools, measuring, unloading
        [s].
    setup_h : Decimal
        Attended work once per load [h].
    bench_s : Decimal
        Work on edges at the bench, before the load comes to the machine [s].
    energy_kwh, water_m3 : Decimal
        Power and water.
    hand_m : Decimal
        Edge finished by hand [m].
    tools : Decimal
        Share of the tools' prices used up, in the shop's currency.
    material : Decimal
        Used up at the bench, in the shop's currency.
    """

    machine_s: Decimal = Decimal(0)
    waiting_s: Decimal = Decimal(0)
    attended_s: Decimal = Decimal(0)
    setup_h: Decimal = Decimal(0)
    bench_s: Decimal = Decimal(0)
    energy_kwh: Decimal = Decimal(0)
    water_m3: Decimal = Decimal(0)
    hand_m: Decimal = Decimal(0)
    tools: Decimal = Decimal(0)
    material: Decimal = Decimal(0)

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
    worn : dict
        ``(part index, item)`` → tool piece → share of its life that is used up there [-].
    """

    cells: dict[tuple[int, str], Amounts]
    parts: tuple[tuple[str, str], ...]
    count: dict[str, Decimal]
    worn: dict[tuple[int, str], dict[str, Decimal]]

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
    order = ("profile", "preparation", "cutout", HOLES, CORNERS, HANDLING, SETUP)
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
        self.worn: dict[tuple[int, str], dict[str, Decimal]] = defaultdict(dict)

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

        What no item owns in a visit (changes, travel) is shared by the own time there.
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
        return (own * scale[:, None, None]).sum(axis=0), own

    def take_machine(self) -> None:
        cycle = self.est.cycle
        seconds, own = self.machine_s()
        part_s = shared(
            decimal_of(cycle.total_s), [decimal_of(p.time.total_s) for p in cycle.parts]
        )
        for part, whole in enumerate(part_s):
            row = seconds[part]
            served = np.flatnonzero(row > 0.0)
            if not len(served):
                self.add(part, HANDLING, "machine_s", whole)
                continue
            shares = shared(whole, [decimal_of(float(s)) for s in row[served]])
            for k, share in zip(served, shares, strict=True):
                self.add(part, self.items[k], "machine_s", share)
        self.take_tools(own)
        used = self.est.wear.consumables
        keys = [key for key, amounts in self.amounts.items() if amounts["machine_s"] > 0]
        weights = [self.amounts[key]["machine_s"] for key in keys]
        for name, amount in (
            ("energy_kwh", used.electricity_kwh),
            ("water_m3", None if used.water_l is None else used.water_l / 1000.0),
        ):
            if amount is not None and keys:
                for key, share in zip(keys, shared(decimal_of(amount), weights), strict=True):
                    self.add(*key, name, share)

    def take_tools(self, own: FloatArray) -> None:
        """Share out each tool piece, and replacing it: by part as worn, within it by time."""
        swap_s = decimal_of(self.load.catalogue.shop.shift.tool_swap_s)
        piece_of = [v.piece for v in self.est.cycle.visits]
        for t in self.est.wear.tools:
            if not t.share:
                continue
            rows = [v for v, piece in enumerate(piece_of) if piece == t.piece]
            seconds = own[rows].sum(axis=0)
            weights: dict[tuple[int, str], Decimal] = defaultdict(Decimal)
            for part, used in t.by_part:
                row = seconds[part]
                if not row.any():
                    weights[part, HANDLING] += decimal_of(used)
                for k in np.flatnonzero(row > 0.0):
                    within = decimal_of(float(row[k] / row.sum()))
                    weights[part, self.items[k]] += decimal_of(used) * within
            lives = shared(decimal_of(t.share), list(weights.values()))
            for key, share in zip(weights, lives, strict=True):
                self.worn[key][t.piece] = share
            replacing = decimal_of(t.share) * swap_s
            for name, amount in (
                ("tools", t.cost or Decimal(0)),
                ("attended_s", replacing),
                ("waiting_s", replacing),
            ):
                shares = shared(amount, list(weights.values()))
                for key, share in zip(weights, shares, strict=True):
                    self.add(*key, name, share)

    # People ---------------------------------------------------------------------------

    def take_labour(self) -> None:
        """Share out what people do: each task over the places it is done at."""
        for task in self.est.labour.tasks:
            if task.kind in {"set-up", "attend", "swap"}:
                # Set-up is shared by a rule of its own; attending is a share of each item's
                # machine time; replacing tools goes with their wear.
                continue
            waits = KINDS[task.kind].waits == "always" or self.rates.machine_waits
            places = task.places or tuple((part, 0) for part in range(len(self.parts)))
            shares = shared(decimal_of(task.seconds), [Decimal(1)] * len(places))
            for (part, contour), share in zip(places, shares, strict=True):
                names = ["attended_s", "waiting_s"] if waits else ["attended_s"]
                for name in names:
                    if contour > 0:
                        self.add(part, self.cutouts[part][contour - 1], name, share)
                    else:
                        self.spread(part, name, share)
        for p in self.est.labour.preparation:
            item = f"preparation:{p.profile}"
            self.add(p.part, item, "bench_s", decimal_of(p.seconds))
            self.add(p.part, item, "material", p.material)

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
        for part, share in enumerate(shared(hours, weights)):
            self.spread(part, "setup_h", share)

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
        if not own:
            self.add(part, HANDLING, name, amount)
            return
        for item, share in zip(own, shared(amount, list(own.values())), strict=True):
            self.add(part, item, name, share)

    def add(self, part: int, item: str, name: str, amount: Decimal) -> None:
        self.amounts[part, item][name] += amount

    def counts(self) -> dict[str, Decimal]:
        metres: dict[str, float] = defaultdict(float)
        number: dict[str, int] = defaultdict(int)
        # Only holes that are bored are sold; the rest are findings.
        number[HOLES] = len(
            {
                (p.run.part, p.run.path.points.tobytes())
                for p in self.est.plan.passes
                if p.run.place == "hole"
            }
        )
        for part, cutouts in zip(self.parts, self.cutouts, strict=True):
            corners, along = _corners(part, self.finished)
            number[CORNERS] += corners
            for name in cutouts:
                number[name] += 1
            for edge in part.outline.edges:
                metres[edge.profile] += edge.length_mm
            for profile, length in along.items():
                metres[profile] -= length
        out = {f"profile:{p}": decimal_of(length) / 1000 for p, length in metres.items()}
        prepared: dict[str, dict[int, float]] = defaultdict(dict)
        for step in self.est.labour.preparation:
            prepared[step.profile][step.part] = step.length_mm
        for profile, lengths in prepared.items():
            out[f"preparation:{profile}"] = decimal_of(sum(lengths.values())) / 1000
        out.update((name, Decimal(n)) for name, n in number.items())
        return out


def collect(est: Estimate, rates: PriceRates) -> Work:
    """Take an estimate apart into the quantities that are priced.

    Returns
    -------
    Work
        Its amounts add up to the estimate's: machine cycle, attended time, hand work, cost of
        tools, power and water.
    """
    with decimal.localcontext(EXACT):
        collector = _Collector(est, rates)
        collector.take_machine()
        collector.take_labour()
        collector.take_setup()
        collector.take_hand()
        return Work(
            cells={key: Amounts(**a) for key, a in collector.amounts.items() if any(a.values())},
            parts=tuple((p.part_id, p.name) for p in collector.parts),
            count=collector.counts(),
            worn=dict(collector.worn),
        )


def merged(works: list[Work]) -> Work:
    """Put the work of several loads together; the parts stay apart."""
    cells: dict[tuple[int, str], Amounts] = {}
    worn: dict[tuple[int, str], dict[str, Decimal]] = {}
    parts: list[tuple[str, str]] = []
    count: dict[str, Decimal] = {}
    for work in works:
        # Parts of several loads stay apart, so that no two have a key in common.
        first = len(parts)
        worn |= {(part + first, item): lives for (part, item), lives in work.worn.items()}
        for (part, item), amounts in work.cells.items():
            key = (part if part < 0 else part + len(parts), item)
            cells[key] = cells.get(key, Amounts()) + amounts
        parts += work.parts
        for item, number in work.count.items():
            count[item] = count.get(item, Decimal(0)) + number
    return Work(cells=cells, parts=tuple(parts), count=count, worn=worn)
