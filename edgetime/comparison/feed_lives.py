"""Tool life at the feeds of an alternative."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from edgetime.economics import Relation
from edgetime.economics.feed_study import SAME
from edgetime.estimating import Estimate
from edgetime.tooling import Step


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherFeed:
    """A step that runs at another feed than its tool's life holds for.

    Attributes
    ----------
    tool, step : str
        Names.
    feed_mm_per_s : float
        Of the step times the override [mm/s].
    before_mm_per_s : float or None
        The feed the life holds for: of the file, or of the loads as they are; None where
        steps of several feeds use the tool and none of them is this one [mm/s].
    relation : Relation or None
        None where the tool's file states none.
    """

    tool: str
    step: str
    feed_mm_per_s: float
    before_mm_per_s: float | None
    relation: Relation | None

    @property
    def ratio(self) -> float:
        """Feed by the feed before, 1 where that is not known [-]."""
        return self.feed_mm_per_s / self.before_mm_per_s if self.before_mm_per_s else 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class FeedLives:
    """What the feeds of a load in an alternative do to the lives of its tools.

    Attributes
    ----------
    estimate : Estimate
        The load, its wear by the feeds it runs at as far as they were tried.
    converted : tuple of OtherFeed
        Lives that follow the feed.
    untried : tuple of OtherFeed
        No life is known at that feed; the estimate has them as stated.
    uncounted : tuple of OtherFeed
        Nothing says what the feed does to the life; it is taken as stated.
    """

    estimate: Estimate
    converted: tuple[OtherFeed, ...]
    untried: tuple[OtherFeed, ...]
    uncounted: tuple[OtherFeed, ...]


def running_steps(est: Estimate) -> list[Step]:
    """Return the steps that cut something of a load, in running order."""
    return list({p.step.name: p.step for p in est.plan.passes}.values())


def _same(one: float, other: float) -> bool:
    return math.isclose(one, other, rel_tol=SAME)


def feed_as_it_is(step: Step, base: Estimate) -> float | None:
    """Return the stack's feed of the tool in the load as it is [mm/s].

    That of the step of the same name, or of all its steps where they run at one; the step's
    own where the load as it is does without the tool.
    """
    for own in base.load.stack.steps:
        if (own.name, own.tool) == (step.name, step.tool):
            return own.feed_mm_per_s
    feeds = [s.feed_mm_per_s for s in running_steps(base) if s.tool == step.tool]
    feeds = feeds or [s.feed_mm_per_s for s in base.load.stack.steps if s.tool == step.tool]
    if not feeds:
        return step.feed_mm_per_s
    return feeds[0] if all(_same(f, feeds[0]) for f in feeds) else None


def follow_feeds(est: Estimate, base: Estimate) -> FeedLives:
    """Let the lives of a load's tools follow the feeds that it runs them at.

    By ``v T^n = C``, as ``edgetime feed`` has it, step by step: a piece that several steps use
    wears by what each of them cuts at its own feed. A life holds as stated at its
    ``reference_feed``, without it at the feed of the stack of the load as it is.
    """
    converted, untried, uncounted = [], [], []
    factors: dict[str, dict[str, float]] = {}
    for step in running_steps(est):
        tool = est.load.catalogue.tools[step.tool]
        feed = step.feed_mm_per_s * est.load.feed_override
        before = feed_as_it_is(step, base)
        relation = None
        if tool.taylor is not None:
            before = tool.taylor.reference_mm_per_s or before
            relation = Relation.stated(tool.taylor, before or feed, tool.file, est.load.catalogue)
        elif before is not None and any(s.tool == step.tool for s in running_steps(base)):
            before *= base.load.feed_override
        if before is not None and _same(feed, before):
            continue
        other = OtherFeed(
            tool=tool.name, step=step.name, feed_mm_per_s=feed, before_mm_per_s=before,
            relation=relation,
        )  # fmt: skip
        if relation is None:
            uncounted.append(other)
        elif before is None or not relation.holds_at(feed, before):
            untried.append(other)
        else:
            factors[step.name] = relation.wear_factors(feed)
            converted.append(other)
    return FeedLives(
        estimate=replace(est, wear_factors=factors) if factors else est,
        converted=tuple(converted),
        untried=tuple(untried),
        uncounted=tuple(uncounted),
    )
