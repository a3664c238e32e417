"""Findings on tool life at the feeds of an alternative."""

from __future__ import annotations

import decimal
import math
from collections.abc import Iterable, Iterator, Sequence
from decimal import ROUND_FLOOR, Decimal
from typing import Final

from edgetime.comparison import codes
from edgetime.comparison.feed_lives import FeedLives, OtherFeed
from edgetime.errors import Where
from edgetime.findings import Finding
from edgetime.price.money import EXACT
from edgetime.units import speed_text

_SLIGHT: Final = 0.05
"""Feeds that differ by less are counted, not listed."""

_LISTED: Final = 3


def _name(o: OtherFeed) -> str:
    return o.tool if o.step == o.tool else f"{o.tool} (step {o.step})"


def _apart(other: OtherFeed) -> float:
    return abs(math.log(other.ratio))


def _by_tool(others: Iterable[OtherFeed]) -> list[OtherFeed]:
    """Return one entry per tool, that of the feed that differs most, those first."""
    most: dict[str, OtherFeed] = {}
    for other in others:
        if other.tool not in most or _apart(other) > _apart(most[other.tool]):
            most[other.tool] = other
    return sorted(most.values(), key=_apart, reverse=True)


def _by_step(others: Iterable[OtherFeed]) -> list[OtherFeed]:
    """Return one entry per step and feed, those that differ most first: each has its factor."""
    steps = {(o.tool, o.step, o.feed_mm_per_s): o for o in others}
    return sorted(steps.values(), key=_apart, reverse=True)


def _listed(others: Sequence[OtherFeed], text: list[str]) -> str:
    far = [o for o in others if o.before_mm_per_s is None or _apart(o) >= _SLIGHT]
    shown = max(1, min(_LISTED, len(far)))
    return _some(text, shown)


def _some(texts: Sequence[str], shown: int = _LISTED) -> str:
    rest = len(texts[shown:])
    return ", ".join(texts[:shown]) + (f" and {rest} more" if rest else "")


def _uncounted(label: str, others: Sequence[OtherFeed]) -> Finding:
    def said(o: OtherFeed) -> str:
        if o.before_mm_per_s is None:
            return f"{_name(o)} at {speed_text(o.feed_mm_per_s)} instead of several feeds"
        return f"{_name(o)} at {speed_text(o.feed_mm_per_s)} instead of {speed_text(o.before_mm_per_s)}"

    return Finding(
        codes.FEED_WEAR_NOT_COUNTED,
        f"{label} runs {_listed(others, [said(o) for o in others])}; their lives are taken as "
        "stated.",
        Where(key="--with"),
    )


def _converted(label: str, others: Sequence[OtherFeed], lives: Sequence[FeedLives]) -> Finding:
    governing = {t.tool: t.governing for own in lives for t in own.estimate.wear.tools}

    def said(o: OtherFeed) -> str:
        assert o.relation is not None  # noqa: S101 - converted by it
        factor = o.relation.wear_factor(o.feed_mm_per_s, governing.get(o.tool) or "length")
        return (
            f"{_name(o)} at {speed_text(o.feed_mm_per_s)} ({factor:.3g} times the wear at "
            f"{speed_text(o.relation.reference_mm_per_s)})"
        )

    return Finding(
        codes.LIFE_BY_FEED,
        f"{label} runs {_listed(others, [said(o) for o in others])}.",
        Where(path=(others[0].relation.file or None) if others[0].relation else None, key="taylor"),
    )


def _untried(label: str, other: OtherFeed) -> Finding:
    relation = other.relation
    assert relation is not None  # noqa: S101 - without one a feed is uncounted
    low, high = relation.low_mm_per_s, relation.high_mm_per_s
    text = (
        f"{label} runs {_name(other)} at {speed_text(other.feed_mm_per_s)}; the tested range is "
        f"{speed_text(low, high)}"
    )
    key = "taylor.range"
    at = other.before_mm_per_s
    if at is None:
        key = "taylor.reference_feed"
        text += ", and at which of several feeds its life holds is unknown"
    elif not low <= at <= high:
        text += f", and its life is stated for {speed_text(at)}"
    return Finding(codes.LIFE_NOT_TRIED, f"{text}.", Where(path=relation.file or None, key=key))


def findings_of_lives(label: str, lives: Sequence[FeedLives]) -> Iterator[Finding]:
    """Report which lives follow the feed, which do not, and which are unknown."""
    seen = {(o.tool, o.feed_mm_per_s): o for own in lives for o in own.untried}
    for other in seen.values():
        yield _untried(label, other)
    if converted := _by_step(o for own in lives for o in own.converted):
        yield _converted(label, converted, lives)
    if uncounted := _by_tool(o for own in lives for o in own.uncounted):
        yield _uncounted(label, uncounted)


def wear_that_saves(label: str, lives: Sequence[FeedLives], saving: Decimal) -> Finding | None:
    """Say how much faster than stated the tools of unknown life may wear, if it saves at all.

    The saving falls by the price of the wear: with each time that these tools wear as stated,
    by what they cost per load.
    """
    tools = {o.tool for own in lives for o in own.untried} | {
        o.tool
        for own in lives
        for o in own.uncounted
        if o.before_mm_per_s is None or o.ratio > 1.0 + _SLIGHT
    }
    worn = [
        t.cost for own in lives for t in own.estimate.wear.tools if t.tool in tools and t.cost
    ]  # fmt: skip
    with decimal.localcontext(EXACT):
        per_load = sum(worn, Decimal(0)) / len(lives)
        if saving <= 0 or per_load <= 0:
            return None
        # Down, so that the figure stated still saves.
        times = (1 + saving / per_load).quantize(Decimal("0.1"), ROUND_FLOOR)
    return Finding(
        codes.SAVING_BY_WEAR,
        f"{label} saves as long as {_some(sorted(tools))} wear at most {times} times as fast as stated.",
        Where(key="--with"),
    )
