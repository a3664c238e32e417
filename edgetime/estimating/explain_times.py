"""The terms of one tool's time, each summed on its own from the moves that make it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from edgetime.cycle.between import dressings, tool_changes
from edgetime.cycle.compute_cycle import change_rows
from edgetime.estimating.pipeline import Estimate
from edgetime.explained import Explanation
from edgetime.moves import MoveKind
from edgetime.tooling import Operation

Mask = NDArray[np.bool_]


def _of_passes(est: Estimate, picked: Mask) -> Mask:
    """Return which moves belong to some of the passes, given as a mask over all passes."""
    number = est.paths.moves.pass_index
    # Index -1 finds the False appended for moves that belong to none.
    return np.asarray(np.append(picked, False)[number])


def _down(est: Estimate) -> Mask:
    moves = est.paths.moves
    return np.asarray(moves.end[:, 2] < moves.start[:, 2])


def drilling(est: Estimate) -> Mask:
    """Return which moves drill: downward at the feed of a core bit, to a stop."""
    moves = est.paths.moves
    core = np.array([p.step.operation is Operation.CORE for p in est.plan.passes] or [False])
    bores = _of_passes(est, core) & (moves.kind == MoveKind.PLUNGE)
    return np.asarray(bores & _down(est) & moves.exact_stop)


class _Sums:
    """Way and time of groups of one tool's moves."""

    def __init__(self, made: Explanation, est: Estimate, rows: list[int]) -> None:
        self.made = made
        self.moves = est.paths.moves
        self.seconds = est.motion.seconds
        self.change = change_rows(est.paths)
        self.mine = np.isin(self.moves.visit, rows)
        self.own = self.mine & ~self.change

    def spent(self, mask: Mask) -> float:
        """Return the time of some moves [s]."""
        return float(self.seconds[mask].sum())

    def way(self, mask: Mask) -> float:
        """Return the length of some moves [mm]."""
        return float(self.moves.length[mask].sum())

    def at_feed(self, mask: Mask) -> float:
        """Return the time some moves would take at their feeds throughout [s]."""
        return float((self.moves.length[mask] / self.moves.feed[mask]).sum())

    def over_feed(self, name: str, mask: Mask, feed: str, note: str) -> None:
        """Add a way as a factor, and as a term its time at the feed."""
        if mask.any():
            self.made.add(name, self.way(mask), "mm", f"{int(mask.sum())} moves: {note}")
            self.made.add_time(f"{name} ÷ feed", self.at_feed(mask), f"{name} ÷ {feed}")

    def slowing(self, name: str, mask: Mask, note: str, *, file: str) -> None:
        """Add what moves take longer than at their feeds."""
        if mask.any():
            lost = self.spent(mask) - self.at_feed(mask)
            self.made.add_time(name, lost, note, file=file, key="axis_acceleration")

    def whole(self, name: str, mask: Mask) -> None:
        """Add the time of moves in the air."""
        if mask.any():
            note = f"{int(mask.sum())} moves, {self.way(mask) / 1000.0:.2f} m"
            self.made.add_time(name, self.spent(mask), note)


def add_times(made: Explanation, est: Estimate, rows: list[int]) -> None:
    """Add the terms of the time of some visits; together they are its total.

    Parameters
    ----------
    made : Explanation
        Gets them.
    est : Estimate
        The load.
    rows : list of int
        The visits, from 0.
    """
    sums = _Sums(made, est, rows)
    steps = list(dict.fromkeys(p.step.name for p in est.plan.passes if p.visit in rows))
    for name in steps:
        _add_step(sums, est, name, f", step {name}" if len(steps) > 1 else "")
    _add_slowing(sums, est)
    kind = sums.moves.kind
    flat = (sums.moves.start[:, :2] != sums.moves.end[:, :2]).any(axis=1)
    rapid = sums.own & (kind == MoveKind.RAPID)
    sums.whole("rapids up and down", rapid & ~flat)
    sums.whole("rapids between runs", rapid & flat)
    _add_change(sums, est, rows)
    _add_dwell(sums, est, rows)


def _add_step(sums: _Sums, est: Estimate, name: str, which: str) -> None:
    """Add the ways of one step at their feeds."""
    passes = est.plan.passes
    mine = [p for p in passes if p.step.name == name]
    own = sums.own & _of_passes(est, np.array([p.step.name == name for p in passes]))
    kind, down = sums.moves.kind, _down(est)
    feed = f"feed of step {name}, factors applied"
    cut, lead, plunge = (own & (kind == k) for k in (MoveKind.CUT, MoveKind.LEAD, MoveKind.PLUNGE))
    if cut.any():
        plain = sums.way(cut) / mine[0].feed_mm_per_s
        sums.made.add_time(
            f"path ÷ feed{which}", plain, f"tool-centre path in the cut{which} ÷ {feed}"
        )
        changed = sums.at_feed(cut) - plain
        sums.made.add_time(
            f"feed changed on arcs and corners{which}", changed, "contact-feed rules of the step"
        )
    sums.over_feed(f"leads, overruns and overlap{which}", lead, feed, "leads, overruns and overlap")
    up = f"retract feed of step {name}"
    if mine[0].step.operation is Operation.CORE:
        drills = drilling(est)
        sums.over_feed(
            f"way drilled{which}", plunge & drills, feed,
            "per hole approach height + depth bored + back-off × (pecks per hole - 1)",
        )  # fmt: skip
        sums.over_feed(
            f"way back up{which}", plunge & ~down, up,
            "from the depth of each peck to approach height",
        )  # fmt: skip
        sums.over_feed(
            f"way down again{which}", plunge & down & ~drills, up,
            "from approach height to back-off above the last depth",
        )  # fmt: skip
        return
    sums.over_feed(
        f"way down{which}", plunge & down, f"plunge feed of step {name}, factors applied",
        "from approach height, or from the depth before, to the depth of the pass",
    )  # fmt: skip
    sums.over_feed(f"way up{which}", plunge & ~down, up, "from the depth to approach height")


def _add_slowing(sums: _Sums, est: Estimate) -> None:
    """Add what acceleration, jerk and corners cost over the feeds, by kind of move."""
    kind, file = sums.moves.kind, est.load.machine.file
    limits = "acceleration, jerk, corner tolerance and block time of the controller"
    for which, name, note in (
        (MoveKind.CUT, "slowing for corners, arcs and short moves", limits),
        (MoveKind.LEAD, "starting and stopping on leads", limits),
        (
            MoveKind.PLUNGE,
            "starting and stopping up and down",
            "each stop and start: feed ÷ acceleration + acceleration ÷ jerk of Z, less when short",
        ),
    ):
        sums.slowing(name, sums.own & (kind == which), note, file=file)


def _add_change(sums: _Sums, est: Estimate, rows: list[int]) -> None:
    machine, made = est.load.machine, sums.made
    changes = [tool_changes(est.plan.visits, machine)[v] for v in rows]
    sums.whole("travel to and from the rack", sums.mine & sums.change)
    fetched = sum(1 for c in changes if c.exchange_s or c.measure_s)
    made.add_time(
        "exchange", sum(c.exchange_s for c in changes), f"{fetched} ×",
        file=machine.file, key="exchange",
    )  # fmt: skip
    made.add_time(
        "length measuring", sum(c.measure_s for c in changes), f"{fetched} ×",
        file=machine.file, key="measure",
    )  # fmt: skip
    for name, seconds, note in (
        ("spindle run-down", sum(c.down_s for c in changes), "speed of the tool before"),
        ("spindle run-up", sum(c.up_s for c in changes), "speed of this tool"),
    ):
        made.add_time(
            name, seconds, f"{note} ÷ greatest speed × time to it",
            file=machine.file, key="spindle_up",
        )  # fmt: skip


def _add_dwell(sums: _Sums, est: Estimate, rows: list[int]) -> None:
    load, made = est.load, sums.made
    machine, plan = load.machine, est.plan
    waits = sums.moves.dwell[sums.mine]
    made.add_time(
        "waits at the start of runs", float(waits.sum()), f"{int((waits > 0.0).sum())} arrivals"
    )
    made.add_time(
        "water on", len(rows) * machine.water_on_s, f"{len(rows)} ×",
        file=machine.file, key="water_on",
    )  # fmt: skip
    if 0 in rows:
        made.add_time(
            "probing of thickness", machine.probe_s * len(load.parts),
            f"{len(load.parts)} parts, all in the first visit",
            file=machine.file, key="probe",
        )  # fmt: skip
    tool = load.catalogue.tools[plan.visits[rows[0]].tool]
    if tool.dress_every_mm > 0.0:
        done = dressings(load, plan, sums.moves)
        times = sum(int(n) for n, p in zip(done, plan.passes, strict=True) if p.visit in rows)
        made.add_time(
            "dressing", times * tool.dress_s, f"{times} ×, each time the path passes dress_every",
            file=tool.file, key="dress_time",
        )  # fmt: skip
