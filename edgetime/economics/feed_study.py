"""The best feeds of a load's tools, and the curves they are the lowest points of."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from typing import ClassVar, Final

from edgetime.errors import UsageError, Where
from edgetime.findings import Finding
from edgetime.price.formulas import Exact
from edgetime.price.money import EXACT
from edgetime.records import HIDDEN, figure
from edgetime.tooling import Catalogue
from edgetime.tooling.tools import Taylor

LIFE_MEASURES: Final = ("length", "volume", "g-ratio", "time", "holes", "area")
"""What a life may be stated by."""

SAME: Final = 1e-9
"""Feeds that differ by less, as a ratio, are one feed written in two units."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Relation:
    """How the life of a step's tool depends on the feed, ``v T^n = C``.

    Attributes
    ----------
    exponent : float
        n [-].
    reference_mm_per_s : float
        Feed the life holds for [mm/s].
    low_mm_per_s, high_mm_per_s : float
        Feeds it was found between [mm/s].
    life : (str, float) or None
        ``length`` [mm of edge] or ``time`` [s in the cut] and its value, where trials say it;
        None for the lives of the tool's file.
    file, key : str
        Where it is stated; ``--trial`` as key for trials.
    source : str
        Where the figures come from, as the tool's file says.
    """

    exponent: float
    reference_mm_per_s: float
    low_mm_per_s: float
    high_mm_per_s: float
    life: tuple[str, float] | None = field(metadata=HIDDEN)
    file: str
    key: str
    source: str

    def holds_at(self, *feeds_mm_per_s: float) -> bool:
        """Return whether feeds are within the tested range; no life is claimed beyond."""
        low, high = self.low_mm_per_s * (1.0 - SAME), self.high_mm_per_s * (1.0 + SAME)
        return all(low <= feed <= high for feed in feeds_mm_per_s)

    @classmethod
    def stated(cls, own: Taylor, at_mm_per_s: float, file: str, catalogue: Catalogue) -> Relation:
        """Return the relation that a tool's file states.

        Parameters
        ----------
        own : Taylor
            Its table ``[taylor]``.
        at_mm_per_s : float
            Feed the tool's lives hold for [mm/s].
        file : str
            Of the tool.
        catalogue : Catalogue
            Says where the figures are from.
        """
        key = "taylor.exponent"
        return cls(
            exponent=own.exponent,
            reference_mm_per_s=at_mm_per_s,
            low_mm_per_s=own.low_mm_per_s,
            high_mm_per_s=own.high_mm_per_s,
            life=None,
            file=file,
            key=key,
            source=catalogue.source_of(file, key),
        )

    def wear_factor(self, feed_mm_per_s: float, by: str) -> float:
        """Return by what a share of a life changes against the reference feed [-].

        The time a piece lasts falls by ``(v / v0)^(1/n)``; edge, volume, area and holes made
        in that time by ``(v / v0)^(1/n - 1)``, for they grow with the feed.
        """
        power = 1.0 / self.exponent - (0.0 if by == "time" else 1.0)
        return float((feed_mm_per_s / self.reference_mm_per_s) ** power)

    def wear_factors(self, feed_mm_per_s: float) -> dict[str, float]:
        """Return the factor of every measure of life, as :func:`edgetime.compute_wear` takes them."""
        return {by: self.wear_factor(feed_mm_per_s, by) for by in LIFE_MEASURES}


@dataclass(frozen=True, slots=True)
class Bound:
    """What limits the feed of a step.

    Attributes
    ----------
    kind : str
        ``data-low``, ``data-high``, ``tool``, ``machine`` or ``finish``.
    feed_mm_per_s : float
        [mm/s].
    file, key : str
        Where it is.
    note : str
        Why.
    """

    kind: str
    feed_mm_per_s: float
    file: str
    key: str
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class FeedPoint:
    """A step at one feed.

    Attributes
    ----------
    feed_mm_per_s : float
        Of the step times the override; the stone's factor is not in it [mm/s].
    machine_s : float
        All time of the tool in the load: in the cut, leads, travel, changes [s].
    cut_s : float
        In the cut [s].
    wear : float
        Lives used up in the load, over all pieces of the step [-].
    swap_s : float
        Machine time lost to replacing worn tools, per load [s].
    cost : Decimal
        Machine, power, water and worn pieces of the step, per load.
    worn_cost : Decimal
        What of it is worn tools and replacing them.
    limited_by : str or None
        The kind of :class:`Bound` this feed is at; None for a feed between the bounds.
    explained : Explained
        How the cost is calculated.
    """

    feed_mm_per_s: float
    machine_s: float
    cut_s: float
    wear: float
    swap_s: float
    cost: Decimal
    worn_cost: Decimal
    limited_by: str | None
    explained: Exact = field(metadata=HIDDEN)

    @property
    @figure
    def output_s(self) -> float:
        """Machine time of the step per load, replacing worn tools included [s]."""
        return self.machine_s + self.swap_s


@dataclass(frozen=True, eq=False, kw_only=True)
class StepFeed:
    """The best feeds of one step.

    Attributes
    ----------
    tool, step : str
        Names.
    feed_mm_per_s : float
        Today's: of the step times the override [mm/s].
    stone_factor : float
        The machine runs the feed times this [-].
    relation : Relation or None
        None when nothing is known of it.
    bounds : tuple of Bound
        All of them.
    least_cost, most_output : FeedPoint or None
        The best feeds; None with the reason in ``why_not``.
    today : FeedPoint or None
        None where it lies outside the data.
    at : FeedPoint or None
        A feed asked for.
    points : tuple of FeedPoint
        The curve, by rising feed.
    textbook_mm_per_s : float or None
        Feed of least cost by the closed form, which knows no acceleration and no bounds; None
        where it lies outside the data [mm/s].
    why_not : str or None
        Why there is no best feed.
    """

    tool: str
    step: str
    feed_mm_per_s: float
    stone_factor: float
    relation: Relation | None = None
    bounds: tuple[Bound, ...] = ()
    least_cost: FeedPoint | None = None
    most_output: FeedPoint | None = None
    today: FeedPoint | None = None
    at: FeedPoint | None = None
    points: tuple[FeedPoint, ...] = ()
    textbook_mm_per_s: float | None = None
    why_not: str | None = None

    @property
    def named(self) -> tuple[tuple[str, FeedPoint], ...]:
        """The points that have a name: today's, the best and the one asked for."""
        points = (self.today, self.least_cost, self.most_output, self.at)
        named = zip(("today", "least-cost", "most-output", "at"), points, strict=True)
        return tuple((name, point) for name, point in named if point is not None)

    @property
    @figure
    def saving(self) -> Decimal | None:
        """What the feed of least cost saves per load against today's."""
        if self.today is None or self.least_cost is None:
            return None
        return EXACT.subtract(self.today.cost, self.least_cost.cost)

    @property
    @figure
    def saving_s(self) -> float | None:
        """Machine time per load that the feed of most output saves against today's [s]."""
        if self.today is None or self.most_output is None:
            return None
        return self.today.output_s - self.most_output.output_s


@dataclass(frozen=True, eq=False, kw_only=True)
class FeedStudy:
    """The best feeds of a load.

    Attributes
    ----------
    currency, locale : str
        Of its money, and whose way of writing numbers tables use.
    machine, stack, stone : str
        Names.
    thickness_mm : float
        Nominal [mm].
    steps : tuple of StepFeed
        In running order.
    findings : tuple of Finding
        Of this stage only.
    """

    SCHEMA: ClassVar[str] = "edgetime.feed/1"

    currency: str
    locale: str = field(metadata=HIDDEN)
    machine: str
    stack: str
    stone: str
    thickness_mm: float
    steps: tuple[StepFeed, ...]
    findings: tuple[Finding, ...]

    def explain(self, name: str) -> tuple[Exact, ...]:
        """Return how the costs of a step at its feeds are calculated; of all steps for ``all``.

        Parameters
        ----------
        name : str
            Name of a step or tool.

        Raises
        ------
        UsageError
            No such step has a best feed.
        """
        known = [s for s in self.steps if s.least_cost is not None]
        chosen = [s for s in known if name in {"all", s.step, s.tool}]
        if not chosen:
            names = ", ".join(s.step for s in known) or "none"
            raise UsageError(
                f"There is no step {name!r} with a best feed.",
                where=Where(key="--explain"),
                remedy=f"Name all, or one of: {names}.",
            )
        return tuple(point.explained for s in chosen for _, point in s.named)
