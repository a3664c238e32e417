"""Feeds of an alternative that tool or finish do not allow, as the shop's own files say."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from edgetime.comparison import codes
from edgetime.comparison.feed_lives import feed_as_it_is, running_steps
from edgetime.economics.bounds import limits_of_step, unknown_finish
from edgetime.economics.feed_study import SAME
from edgetime.errors import Where
from edgetime.estimating import Estimate
from edgetime.findings import Finding
from edgetime.units import speed_text

_SLIGHT: Final = 1.05
"""A finishing step that runs faster by less than this ratio is not worth a finding."""


def findings_of_limits(label: str, est: Estimate, base: Estimate) -> Iterator[Finding]:
    """Find which steps run faster than their tool or their finish allows, or may not allow."""
    load = est.load
    for step in running_steps(est):
        feed = step.feed_mm_per_s * load.feed_override
        runs = f"{label} runs {step.name} at {speed_text(feed)}"
        for bound in limits_of_step(load, step):
            most = bound.feed_mm_per_s
            if bound.kind == "machine" or feed <= most * (1.0 + SAME):
                continue
            why = f"; the finish is right up to {speed_text(most)}."
            if bound.kind == "tool":
                why = f" in {load.stone.name}; {step.tool} can take {speed_text(most)}."
            where = Where(path=bound.file or None, key=bound.key)
            yield Finding(codes.BEYOND_LIMIT, f"{runs}{why}", where)
        if not unknown_finish(step):
            continue
        own = feed_as_it_is(step, base)
        before = None if own is None else own * base.load.feed_override
        if before is not None and feed > before * _SLIGHT:
            yield Finding(
                codes.FINISH_NOT_KNOWN,
                f"{runs} instead of {speed_text(before)}.",
                Where(path=load.stack.file or None, key=step.key),
            )
