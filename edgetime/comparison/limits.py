"""Feeds of a set-up that tool or finish do not bear, as the shop's own files say."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from edgetime.comparison import codes
from edgetime.comparison.lives import feed_as_it_is, running_steps
from edgetime.errors import Where
from edgetime.estimating import Estimate
from edgetime.findings import Finding
from edgetime.tooling import Operation
from edgetime.units import speed_text

_SLACK: Final = 1.0 + 1e-9
_SLIGHT: Final = 1.05
"""A finishing step that runs faster by less than this ratio is not worth a word."""


def findings_of_limits(label: str, est: Estimate, base: Estimate) -> Iterator[Finding]:
    """Tell which steps run faster than their tool or their finish allows, or may not allow.

    Parameters
    ----------
    label : str
        Of the set-up, as messages begin.
    est : Estimate
        The load with a set-up.
    base : Estimate
        The load as it is.
    """
    load = est.load
    for step in running_steps(est):
        tool = load.catalogue.tools[step.tool]
        feed = step.feed_mm_per_s * load.feed_override
        runs = f"{label} runs {step.name} at {speed_text(feed)}"
        most = tool.max_feed_mm_per_s
        # The tool meets the feed that the stone's factor is in.
        if most is not None and feed * load.stone.feed_factor > most * _SLACK:
            yield Finding(
                codes.BEYOND_LIMIT,
                f"{runs} in {load.stone.name}; {tool.name} bears "
                f"{speed_text(most / load.stone.feed_factor)}.",
                Where(path=tool.file or None, key="max_feed"),
            )
        finish = step.finish_feed_mm_per_s
        stack = load.stack.file or None
        if finish is not None and feed > finish * _SLACK:
            yield Finding(
                codes.BEYOND_LIMIT,
                f"{runs}; the finish is right up to {speed_text(finish)}.",
                Where(path=stack, key=f"{step.key}.finish_feed"),
            )
        if finish is not None or step.operation not in {Operation.FINE, Operation.POLISH}:
            continue
        own = feed_as_it_is(step, base)
        before = None if own is None else own * base.load.feed_override
        if before is not None and feed > before * _SLIGHT:
            yield Finding(
                codes.FINISH_NOT_KNOWN,
                f"{runs} instead of {speed_text(before)}.",
                Where(path=stack, key=step.key),
            )
