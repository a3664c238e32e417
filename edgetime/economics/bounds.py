"""What limits the feed of a step: data, tool, machine, finish."""

from __future__ import annotations

from edgetime.economics.feed_study import Bound, Relation
from edgetime.load import Load
from edgetime.tooling import Operation, Step


def unknown_finish(step: Step) -> bool:
    """Return whether nothing says up to which feed the finish of a step is right."""
    finishing = step.operation in {Operation.FINE, Operation.POLISH}
    return finishing and step.finish_feed_mm_per_s is None


def bounds_of_data(relation: Relation) -> tuple[Bound, ...]:
    """Return the ends of the tested range, the lower one first."""
    key = relation.key.replace("exponent", "range")
    low, high = relation.low_mm_per_s, relation.high_mm_per_s
    return (
        Bound("data-low", low, relation.file, key, "lowest feed tested"),
        Bound("data-high", high, relation.file, key, "highest feed tested"),
    )


def limits_of_step(load: Load, step: Step) -> tuple[Bound, ...]:
    """Return the greatest feeds that tool, machine and finish allow a step, as far as stated.

    The tool and the axes meet the feed that the stone's factor is in; the bounds are feeds of
    the stack, without it.
    """
    machine, stack = load.machine, load.stack
    tool = load.catalogue.tools[step.tool]
    factor = load.stone.feed_factor
    out = []
    if tool.max_feed_mm_per_s is not None:
        note = "greatest feed the tool can take, by the stone's feed factor"
        out.append(Bound("tool", tool.max_feed_mm_per_s / factor, tool.file, "max_feed", note))
    axes = machine.axis_speed_mm_per_s
    axis = axes[2] if step.operation is Operation.CORE else max(axes[:2])
    note = "greatest speed of the axes while feeding, by the stone's feed factor"
    out.append(Bound("machine", axis / factor, machine.file, "axis_speed", note))
    if step.finish_feed_mm_per_s is not None:
        key = f"{step.key}.finish_feed"
        note = "greatest feed at which the finish is right"
        out.append(Bound("finish", step.finish_feed_mm_per_s, stack.file, key, note))
    return tuple(out)


def bounds_of(
    load: Load, step: Step, relation: Relation, today_mm_per_s: float
) -> tuple[Bound, ...]:
    """Return all bounds of a step's feed; the lower end of the data first.

    Parameters
    ----------
    load : Load
        The load.
    step : Step
        Of its stack.
    relation : Relation
        With the feeds it was found between.
    today_mm_per_s : float
        The step's feed times the override: the limit of a fine or polishing step that states
        none [mm/s].
    """
    out = (*bounds_of_data(relation), *limits_of_step(load, step))
    if unknown_finish(step):
        note = "no finish_feed is stated: not faster than today"
        out += (Bound("finish", today_mm_per_s, load.stack.file, f"{step.key}.feed", note),)
    return out
