"""How one tool's time came about: each factor, its value, and the file and key it is from.

The rows that carry seconds add up to the tool's total, so nothing is left unsaid.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from edgetime.errors import UsageError, Where
from edgetime.estimating.pipeline import Estimate
from edgetime.moves import MoveKind
from edgetime.passes import Pass
from edgetime.tooling import Operation

__all__ = ["Factor", "explain_tool"]


@dataclass(frozen=True, kw_only=True)
class Factor:
    """One line of an explanation.

    Attributes
    ----------
    name : str
        What it is.
    value : float
        Its value in ``unit``.
    unit : str
        ``mm``, ``mm/s``, ``s``, ``-`` …
    seconds : float or None
        Its share of the tool's total [s]; None for a factor that only explains one.
    file, key, written : str
        The file and dotted key it comes from and the text written there; ``drawing`` for
        what the drawing gives, empty for what is computed.
    note : str
        The formula in words.
    """

    name: str
    value: float
    unit: str
    seconds: float | None = None
    file: str = ""
    key: str = ""
    written: str = ""
    note: str = ""

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "name": self.name,
            "value": self.value,
            "unit": self.unit,
            "seconds": self.seconds,
            "file": self.file,
            "key": self.key,
            "written": self.written,
            "note": self.note,
        }


class _Teller:
    """Collects factors, looking up where each figure is written."""

    def __init__(self, est: Estimate) -> None:
        self.raw = est.load.catalogue.raw
        self.factors: list[Factor] = []

    def from_file(
        self, name: str, value: float, unit: str, file: str, key: str, note: str = ""
    ) -> None:
        self.factors.append(
            Factor(
                name=name,
                value=value,
                unit=unit,
                file=file,
                key=key,
                written=self.raw.get((file, key), ""),
                note=note,
            )
        )

    def computed(self, name: str, value: float, unit: str, note: str = "") -> None:
        self.factors.append(Factor(name=name, value=value, unit=unit, note=note))

    def time(
        self, name: str, seconds: float, note: str = "", file: str = "", key: str = ""
    ) -> None:
        self.factors.append(
            Factor(
                name=name,
                value=seconds,
                unit="s",
                seconds=seconds,
                file=file,
                key=key,
                written=self.raw.get((file, key), "") if file else "",
                note=note,
            )
        )


def explain_tool(est: Estimate, tool: str) -> tuple[Factor, ...]:
    """Return how the time of one tool came about.

    Parameters
    ----------
    est : Estimate
        The load.
    tool : str
        Tool name or piece; every stay of it in the spindle counts.

    Returns
    -------
    tuple of Factor
        Those with ``seconds`` add up to the tool's total.

    Raises
    ------
    UsageError
        The tool does not run in this load.
    """
    visits = est.cycle.visits
    rows = [i for i, v in enumerate(visits) if tool in {v.tool, v.piece}]
    if not rows:
        running = ", ".join(dict.fromkeys(v.piece for v in visits))
        raise UsageError(
            f"No tool {tool!r} runs in this load.",
            where=Where(key="--explain"),
            remedy=f"Name one of: {running}.",
        )
    passes = [p for p in est.plan.passes if p.visit in rows]
    teller = _Teller(est)
    _tell_what(teller, est, rows, passes)
    _tell_steps(teller, est, passes)
    _tell_motion(teller, est, rows)
    _tell_change_and_dwell(teller, est, rows, passes)
    return tuple(teller.factors)


def _tell_what(teller: _Teller, est: Estimate, rows: list[int], passes: list[Pass]) -> None:
    visits = [est.cycle.visits[i] for i in rows]
    tool = est.load.catalogue.tools[visits[0].tool]
    treated = sum(v.treated_mm for v in visits)
    edge = sum(v.edge_mm for v in visits)
    path = sum(v.cut_path_mm for v in visits)
    teller.factors.append(
        Factor(
            name="edge treated, once",
            value=treated,
            unit="mm",
            file=", ".join(d.path for d in est.take_off.drawings),
            key="drawing",
            note=f"{len({id(p.run) for p in passes})} edge runs or holes",
        )
    )
    teller.computed("edge × passes", edge, "mm", f"{len(passes)} passes over these runs")
    teller.computed(
        "tool-centre path in the cut",
        path,
        "mm",
        "parallel curve of the edge at the tool's offset, convex corners rolled",
    )
    real = est.load.diameter_mm(tool.name)
    if real == tool.diameter_mm:
        teller.from_file("tool diameter", real, "mm", tool.file, "diameter")
    else:
        teller.factors.append(
            Factor(name="tool diameter", value=real, unit="mm", key="--diameter", note="as mounted")
        )


def _tell_steps(teller: _Teller, est: Estimate, passes: list[Pass]) -> None:
    load = est.load
    stack = load.stack
    shop = load.catalogue.shop
    steps = {p.step.name: p.step for p in passes}
    for index, step in enumerate(stack.steps):
        if steps.get(step.name) is not step:
            continue
        at = f"step[{index + 1}]"
        mine = [p for p in passes if p.step is step]
        teller.from_file(
            f"feed of step {step.name}", step.feed_mm_per_s, "mm/s", stack.file, f"{at}.feed"
        )
        if step.operation is Operation.ROUGH:
            teller.from_file(
                "stock on sawn edges",
                shop.stock_mm[shop.outer_source],
                "mm",
                shop.file,
                f"stock.{shop.outer_source}",
            )
            teller.from_file(
                "stock per pass", step.engagement_mm, "mm", stack.file, f"{at}.engagement"
            )
        elif step.operation in {Operation.CUT, Operation.CORE, Operation.GAUGE}:
            teller.from_file(
                "depth per pass or peck", step.depth_step_mm, "mm", stack.file, f"{at}.depth_step"
            )
            teller.computed("actual thickness", load.parts[0].actual_mm, "mm")
        counts = sorted({p.count for p in mine})
        teller.computed(
            f"passes per run, step {step.name}",
            float(counts[-1]),
            "-",
            "" if len(counts) == 1 else f"from {counts[0]} to {counts[-1]} by run",
        )
    teller.from_file(
        "stone's feed factor", load.stone.feed_factor, "-", load.stone.file, "feed_factor"
    )
    teller.factors.append(
        Factor(name="feed override", value=load.feed_override, unit="-", key="--feed-override")
    )


def _tell_motion(teller: _Teller, est: Estimate, rows: list[int]) -> None:
    moves = est.paths.moves
    seconds = est.motion.seconds
    of_visit = np.isin(moves.visit, rows)
    changing = _change_mask(est, rows)
    cut = of_visit & (moves.kind == MoveKind.CUT) & ~changing
    base = np.array([p.feed_mm_per_s for p in est.plan.passes] or [1.0])[
        np.maximum(moves.pass_index, 0)
    ]
    plain = float((moves.length[cut] / base[cut]).sum())
    at_feed = float((moves.length[cut] / moves.feed[cut]).sum())
    spent = float(seconds[cut].sum())
    machine = est.load.machine
    teller.time("path ÷ feed", plain, "tool-centre path in the cut over the step's feed")
    teller.time(
        "feed changed on arcs and corners", at_feed - plain, "contact-feed rules of the step"
    )
    teller.time(
        "slowing for corners, arcs and short moves",
        spent - at_feed,
        "acceleration, jerk, corner tolerance and block time of the controller",
        machine.file,
        "axis_acceleration",
    )
    for kind, name in (
        (MoveKind.LEAD, "leads, overruns and overlap"),
        (MoveKind.PLUNGE, "vertical feed moves"),
        (MoveKind.RAPID, "rapids between runs"),
    ):
        mask = of_visit & (moves.kind == kind) & ~changing
        teller.time(name, float(seconds[mask].sum()), f"{moves.length[mask].sum() / 1000:.2f} m")


def _change_mask(est: Estimate, rows: list[int]) -> np.ndarray[Any, np.dtype[np.bool_]]:
    moves = est.paths.moves
    mask = np.zeros(len(moves), dtype=np.bool_)
    for row in rows:
        at = np.flatnonzero(moves.visit == row)
        first, last = est.paths.change_rows[row]
        mask[at[:first]] = True
        mask[at[len(at) - last :]] = True
    return mask


def _tell_change_and_dwell(
    teller: _Teller, est: Estimate, rows: list[int], passes: list[Pass]
) -> None:
    machine = est.load.machine
    moves = est.paths.moves
    changing = _change_mask(est, rows)
    stays = len(rows)
    travel = float(est.motion.seconds[changing].sum())
    change = sum(est.cycle.visits[i].time.change_s for i in rows)
    exchange = stays * machine.exchange_s
    measure = stays * machine.measure_s
    teller.time("travel to and from the rack", travel)
    teller.time("exchange", exchange, f"{stays} ×", machine.file, "exchange")
    teller.time("length measuring", measure, f"{stays} ×", machine.file, "measure")
    teller.time(
        "spindle run-down and run-up",
        change - travel - exchange - measure,
        "speed ÷ run-up rate",
        machine.file,
        "spindle_up",
    )
    waits = float(moves.dwell[np.isin(moves.visit, rows)].sum())
    water = stays * machine.water_on_s
    dwell = sum(est.cycle.visits[i].time.dwell_s for i in rows)
    teller.time("waits at the start of runs", waits, f"{len(passes)} passes")
    teller.time("water on", water, f"{stays} ×", machine.file, "water_on")
    teller.time(
        "probing and dressing",
        dwell - waits - water,
        "probing falls on the first tool; dressing by the tool's interval",
    )
