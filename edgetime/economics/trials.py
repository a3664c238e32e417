"""Trials on the command line: the life of a tool at a feed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from edgetime.durations import parse_duration
from edgetime.economics.feed_study import Relation
from edgetime.economics.taylor import fit_relation, life_at
from edgetime.errors import UnitInvalid, UsageError, Where
from edgetime.units import parse_quantity

_KEY = "--trial"


@dataclass(frozen=True, slots=True)
class Trial:
    """A tool run at one feed until worn out.

    Attributes
    ----------
    feed_mm_per_s : float
        Of the step times the override, without the stone's factor [mm/s].
    by : str
        ``length`` (edge in contact, each pass counted) or ``time`` (in the cut).
    life : float
        [mm] or [s].
    """

    feed_mm_per_s: float
    by: str
    life: float


def read_trial(text: str) -> Trial:
    """Read ``1.5 m/min=3000 m`` or ``60 in/min=25 h``.

    Parameters
    ----------
    text : str
        Feed, and edge made or time in the cut.

    Raises
    ------
    UsageError
        No such figures.
    """
    feed, _, life = text.partition("=")
    remedy = "Write --trial '1.5 m/min=3000 m', or '60 in/min=25 h' for cutting time."
    where = Where(key=_KEY)
    value = 0.0
    by = "length"
    try:
        speed = parse_quantity(feed.strip(), "speed")
        try:
            value = parse_quantity(life.strip(), "length")
        except UnitInvalid:
            by, value = "time", parse_duration(life.strip())
    except UnitInvalid as error:
        raise UsageError(
            f"{text!r} is not a trial: {error.what}", where=where, remedy=remedy
        ) from error
    if speed <= 0.0 or value <= 0.0:
        raise UsageError(f"{text!r}: both must be above zero.", where=where, remedy=remedy)
    return Trial(speed, by, value)


def relation_of_trials(trials: Sequence[Trial]) -> Relation:
    """Return the relation that trials show; it holds between the feeds tried.

    Parameters
    ----------
    trials : sequence of Trial
        At two feeds at least, all by the same measure.

    Raises
    ------
    UsageError
        Length and time are mixed, or the trials make no relation.
    """
    by = trials[0].by
    if any(t.by != by for t in trials):
        raise UsageError(
            "Some trials give the pass length, others the cutting time.",
            where=Where(key=_KEY),
            remedy="Give all of them in one measure.",
        )
    feeds = [t.feed_mm_per_s for t in trials]
    # Edge made in the time T at the feed v is v T.
    lives = [t.life / t.feed_mm_per_s if by == "length" else t.life for t in trials]
    exponent, constant = fit_relation(list(zip(feeds, lives, strict=True)))
    reference = min(feeds)
    life = life_at(reference, exponent=exponent, constant=constant)
    return Relation(
        exponent=exponent,
        reference_mm_per_s=reference,
        low_mm_per_s=reference,
        high_mm_per_s=max(feeds),
        life=(by, life * reference if by == "length" else life),
        file="",
        key=_KEY,
        source="trials given on the command line",
    )
