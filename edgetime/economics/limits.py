"""What limits the feed of a step: data, tool, machine, finish."""

from __future__ import annotations

from edgetime.economics.model import Bound, Relation
from edgetime.estimating import Estimate
from edgetime.tooling import Operation, Step, Tool


def bounds_of(
    est: Estimate, step: Step, tool: Tool, relation: Relation, today_mm_per_s: float
) -> tuple[Bound, ...]:
    """Return all bounds of a step's feed; the lower end of the data first.

    Parameters
    ----------
    est : Estimate
        The load.
    step : Step
        Of its stack.
    tool : Tool
        The step's.
    relation : Relation
        With the feeds it was found between.
    today_mm_per_s : float
        The step's feed times the override: the cap of a fine or polishing step that states
        none [mm/s].
    """
    load = est.load
    machine, stack = load.machine, load.stack
    factor = load.stone.feed_factor
    of_range = relation.key.replace("exponent", "range")
    out = [
        Bound(
            kind="data-low",
            feed_mm_per_s=relation.low_mm_per_s,
            file=relation.file,
            key=of_range,
            note="lowest feed tried",
        ),
        Bound(
            kind="data-high",
            feed_mm_per_s=relation.high_mm_per_s,
            file=relation.file,
            key=of_range,
            note="highest feed tried",
        ),
    ]
    if tool.max_feed_mm_per_s is not None:
        out.append(
            Bound(
                kind="tool",
                feed_mm_per_s=tool.max_feed_mm_per_s / factor,
                file=tool.file,
                key="max_feed",
                note="greatest feed the tool bears, by the stone's feed factor",
            )
        )
    axes = machine.axis_speed_mm_per_s
    axis = axes[2] if step.operation is Operation.CORE else max(axes[:2])
    out.append(
        Bound(
            kind="machine",
            feed_mm_per_s=axis / factor,
            file=machine.file,
            key="axis_speed",
            note="greatest speed of the axes while feeding, by the stone's feed factor",
        )
    )
    if step.finish_feed_mm_per_s is not None:
        out.append(
            Bound(
                kind="finish",
                feed_mm_per_s=step.finish_feed_mm_per_s,
                file=stack.file,
                key=f"{step.key}.finish_feed",
                note="greatest feed at which the finish is right",
            )
        )
    elif step.operation in {Operation.FINE, Operation.POLISH}:
        out.append(
            Bound(
                kind="finish",
                feed_mm_per_s=today_mm_per_s,
                file=stack.file,
                key=f"{step.key}.feed",
                note="no finish_feed is stated: not faster than today",
            )
        )
    return tuple(out)
