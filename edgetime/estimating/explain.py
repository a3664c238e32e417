"""How one tool's time came about: each factor, its value, and the file and key it is from.

The rows that carry seconds add up to the tool's total. Each is summed on its own from the
moves and the machine's file, none is what the others leave.
"""

from __future__ import annotations

from collections.abc import Sequence

from edgetime.errors import UsageError, Where
from edgetime.estimating.explain_times import add_times, drilling
from edgetime.estimating.pipeline import Estimate
from edgetime.explained import Explained, Explanation
from edgetime.passes import Pass
from edgetime.passes.strokes import BREAKTHROUGH_MM
from edgetime.places import Place
from edgetime.tooling import Operation, Step
from edgetime.tooling.declare import Entry, keys_of
from edgetime.toolpath.core import BACK_OFF_MM

_MOST_DEPTHS = 6
"""A note lists this many depths."""


def rows_of_tool(est: Estimate, tool: str, option: str) -> list[int]:
    """Return the visits of a tool or piece in the cycle, by number from 0.

    Parameters
    ----------
    est : Estimate
        The load.
    tool : str
        Tool name or piece.
    option : str
        Names it, for the error.

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
            where=Where(key=option),
            remedy=f"Name one of: {running}.",
        )
    return rows


def explain_tool(est: Estimate, tool: str) -> tuple[Explained[float], ...]:
    """Return how the time of one tool came about.

    Parameters
    ----------
    est : Estimate
        The load.
    tool : str
        Tool name or piece; every stay of it in the spindle counts.

    Returns
    -------
    tuple of Explained
        Those with ``seconds`` add up to the tool's total.

    Raises
    ------
    UsageError
        The tool does not run in this load.
    """
    rows = rows_of_tool(est, tool, "--explain")
    passes = [p for p in est.plan.passes if p.visit in rows]
    made = Explanation(est.load.catalogue.raw)
    _add_what(made, est, rows, passes)
    _add_steps(made, est, passes)
    add_times(made, est, rows)
    return tuple(made.values)


def _read(
    made: Explanation,
    name: str,
    record: Step | Entry,
    field: str,
    note: str = "",
    *,
    file: str = "",
) -> None:
    """Add a figure of a shop's file: value and unit as the record declares them, and its key."""
    key = keys_of(type(record))[field]
    unit = key.kind.suffix.removeprefix("_").replace("_per_", "/") or "-"
    place, at = (f"{record.key}.", file) if isinstance(record, Step) else ("", record.file)
    made.add(name, getattr(record, field), unit, note, file=at, key=f"{place}{key.name}")


def _add_what(made: Explanation, est: Estimate, rows: list[int], passes: list[Pass]) -> None:
    visits = [est.cycle.visits[i] for i in rows]
    tool = est.load.catalogue.tools[visits[0].tool]
    runs = len({id(p.run) for p in passes})
    made.add(
        "edge treated, once",
        sum(v.treated_mm for v in visits),
        "mm",
        "1 edge run or hole" if runs == 1 else f"{runs} edge runs or holes",
        file=", ".join(d.path for d in est.take_off.drawings),
        key="drawing",
    )
    made.add(
        "edge × passes",
        sum(v.edge_mm for v in visits),
        "mm",
        f"{len(passes)} passes in all, each over one run",
    )
    if any(p.step.operation is not Operation.CORE for p in passes):
        made.add(
            "tool-centre path in the cut",
            sum(v.cut_path_mm for v in visits),
            "mm",
            "parallel curve of the edge at the tool's offset, convex corners rolled",
        )
    real = est.plan.diameter_mm(passes[0])
    if real == tool.diameter_mm:
        _read(made, "tool diameter", tool, "diameter_mm")
    else:
        made.add("tool diameter", real, "mm", "as mounted", key="--diameter")


def _add_steps(made: Explanation, est: Estimate, passes: list[Pass]) -> None:
    load = est.load
    file = load.stack.file
    running = {p.step.name for p in passes}
    for step in load.stack.steps:
        name = step.name
        if name not in running:
            continue
        mine = [p for p in passes if p.step.name == name]
        _read(made, f"feed of step {name}", step, "feed_mm_per_s", file=file)
        if step.operation is not Operation.CORE:
            _read(made, f"plunge feed of step {name}", step, "plunge_mm_per_s", file=file)
        _read(made, f"retract feed of step {name}", step, "retract_mm_per_s", file=file)
        if step.operation is Operation.CORE:
            _add_bore(made, est, step, mine)
        elif step.operation in {Operation.CUT, Operation.GAUGE}:
            _add_depths(made, est, step, mine)
        elif step.operation is Operation.ROUGH:
            _add_stock(made, est, step, mine)
        if step.operation is not Operation.CORE:
            counts = sorted({p.count for p in mine})
            made.add(
                f"passes per run, step {name}",
                float(counts[-1]),
                "-",
                "" if len(counts) == 1 else f"from {counts[0]} to {counts[-1]} by run",
            )
    note = "on feeds in the stone and plunge feeds, not on retract feeds"
    _read(made, "stone's feed factor", load.stone, "feed_factor", note)
    note = "as the stone's feed factor"
    made.add("feed override", load.feed_override, "-", note, key="--feed-override")


def _add_thickness(made: Explanation, est: Estimate, passes: Sequence[Pass]) -> float:
    """Add the thickness and what a bit runs below it; return their sum [mm]."""
    thickness = max(est.load.parts[p.run.part].actual_mm for p in passes)
    made.add("actual thickness", thickness, "mm")
    below = max(-p.bottom_z_mm for p in passes) - thickness
    if below > 0.0:
        note = "the bit runs this far below the slab" if below == BREAKTHROUGH_MM else ""
        made.add("breakthrough", below, "mm", note)
    return thickness + max(below, 0.0)


def _add_bore(made: Explanation, est: Estimate, step: Step, passes: Sequence[Pass]) -> None:
    depth = _add_thickness(made, est, passes)
    made.add("depth bored", depth, "mm", "actual thickness + breakthrough")
    _read(made, "depth per peck", step, "depth_step_mm", file=est.load.stack.file)
    rows = est.paths.moves
    holes = {id(p): k for k, p in enumerate(est.plan.passes)}
    mine = [holes[id(p)] for p in passes]
    pecks = max(int(((rows.pass_index == k) & drilling(est)).sum()) for k in mine)
    made.add("pecks per hole", float(pecks), "-", "depth bored ÷ depth per peck, rounded up")
    _read(made, "approach height", est.load.machine, "approach_z_mm", "drilling begins here")
    made.add(
        "back-off", BACK_OFF_MM, "mm", "between pecks the bit stops short of the last depth by this"
    )
    made.add("holes bored", float(len(passes)), "-")


def _add_depths(made: Explanation, est: Estimate, step: Step, passes: Sequence[Pass]) -> None:
    depth = _add_thickness(made, est, passes)
    if step.operation is Operation.CUT:
        made.add("depth cut", depth, "mm", "actual thickness + breakthrough")
    _read(made, "depth per step", step, "depth_step_mm", file=est.load.stack.file)
    depths = sorted({-p.bottom_z_mm for p in passes})
    listed = ", ".join(f"{d:g} mm" for d in depths[:_MOST_DEPTHS])
    more = " …" if len(depths) > _MOST_DEPTHS else ""
    made.add("depth steps", float(len(depths)), "-", f"down to {listed}{more}")


def _add_stock(made: Explanation, est: Estimate, step: Step, passes: Sequence[Pass]) -> None:
    load = est.load
    shop = load.catalogue.shop
    places = {p.run.place for p in passes}

    def stock(name: str, source: str) -> None:
        made.add(name, shop.stock_mm[source], "mm", file=shop.file, key=f"stock.{source}")

    if Place.OUTER in places:
        stock("stock on outer edges", shop.outer_source)
    if Place.CUTOUT in places:
        methods = {
            load.parts[p.run.part].part.cutouts[p.run.contour - 1].method or load.cutout_method
            for p in passes
            if p.run.contour > 0
        }
        if "precut" in methods:
            stock("stock in precut openings", shop.precut_source)
        for other in load.stack.steps:
            if "milled" in methods and other.operation is Operation.CUT:
                name = f"stock left by step {other.name}"
                _read(made, name, other, "stock_left_mm", file=load.stack.file)
    _read(made, "stock per pass", step, "engagement_mm", file=load.stack.file)
