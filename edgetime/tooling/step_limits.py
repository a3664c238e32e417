"""What a step may ask of its tool: speeds, feeds, and how high an edge may be."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from edgetime.errors import Where
from edgetime.findings import Finding
from edgetime.tooling.codes import FEED_ABOVE_TOOL, FEED_UNUSUAL
from edgetime.tooling.profiles import Profile, Section
from edgetime.tooling.stacks import NOMINAL_MATCH_MM, Operation, Step
from edgetime.tooling.tools import Tool
from edgetime.units import speed_text

RPM: Final = 30.0 / math.pi
"""Revolutions per minute in one radian per second."""

_SLACK: Final = 1e-9
"""A limit may be exceeded by rounding [-]."""

_M_PER_MIN: Final = 1000.0 / 60.0

COVERS_EDGE: Final = frozenset(
    {Operation.ROUGH, Operation.SEAM, Operation.PROFILE, Operation.FINE, Operation.POLISH}
)
"""Operations whose tool works the whole height of the edge at once."""


@dataclass(frozen=True, slots=True)
class FeedRange:
    """Feeds that are usual for an operation.

    Attributes
    ----------
    least_mm_per_s, most_mm_per_s : float
        Feed of the tool centre; vertical for a core bit [mm/s].
    source : str
        Where the range comes from.
    """

    least_mm_per_s: float
    most_mm_per_s: float
    source: str


_WIDE: Final = "Assumption: three times and more beyond what shops state on either side."

USUAL_FEEDS: Final[dict[Operation, FeedRange]] = {
    Operation.CORE: FeedRange(0.005 * _M_PER_MIN, 0.6 * _M_PER_MIN, _WIDE),
    Operation.CUT: FeedRange(0.03 * _M_PER_MIN, 6.0 * _M_PER_MIN, _WIDE),
    Operation.ROUGH: FeedRange(0.1 * _M_PER_MIN, 15.0 * _M_PER_MIN, _WIDE),
    Operation.SEAM: FeedRange(0.1 * _M_PER_MIN, 15.0 * _M_PER_MIN, _WIDE),
    Operation.GAUGE: FeedRange(0.1 * _M_PER_MIN, 15.0 * _M_PER_MIN, _WIDE),
    Operation.PROFILE: FeedRange(0.1 * _M_PER_MIN, 20.0 * _M_PER_MIN, _WIDE),
    Operation.FINE: FeedRange(0.1 * _M_PER_MIN, 20.0 * _M_PER_MIN, _WIDE),
    Operation.POLISH: FeedRange(0.1 * _M_PER_MIN, 20.0 * _M_PER_MIN, _WIDE),
}
"""Usual feeds by operation. A feed written in mm/s instead of mm/min, 60 times too fast, falls
outside for every feed of the shipped stacks."""


@dataclass(frozen=True, slots=True)
class Overspeed:
    """A speed above a limit.

    Attributes
    ----------
    what : str
        ``rim``, ``marked`` or ``spindle``.
    has, most : float
        For the rim [mm/s], else [rad/s].
    """

    what: str
    has: float
    most: float


def overspeeds(step: Step, tool: Tool, rim_mm: float, spindle: float) -> Iterator[Overspeed]:
    """Return the speed limits a step exceeds.

    Parameters
    ----------
    step : Step
        Asks for a spindle speed.
    tool : Tool
        Marked with a greatest spindle speed and a greatest speed of its rim, ``π D n``.
    rim_mm : float
        Real radius of the rim [mm].
    spindle : float
        Greatest speed of the machine's spindle [rad/s].
    """
    omega = step.rotation_rad_per_s
    for what, has, most in (
        ("rim", omega * rim_mm, tool.max_peripheral_mm_per_s),
        ("marked", omega, tool.max_rotation_rad_per_s),
        ("spindle", omega, spindle),
    ):
        if most is not None and has > most * (1.0 + _SLACK):
            yield Overspeed(what, has, most)


def section_near(profile: Profile, nominal_mm: float) -> Section | None:
    """Return the section of a profile nearest to a thickness, None if none is near."""
    near = min(profile.sections, key=lambda t: abs(t - nominal_mm), default=None)
    if near is None or abs(near - nominal_mm) > NOMINAL_MATCH_MM:
        return None
    return profile.sections[near]


def profile_depth_mm(tool: Tool, section: Section | None) -> float:
    """Return how far a wheel's rim reaches beyond where it meets the edge plane [mm].

    A wheel ground to a profile is wider at its rim by the greatest depth of the profile.
    """
    if not tool.profiled or section is None:
        return 0.0
    return max(u for u, _ in section.points_mm)


def feed_findings(step: Step, tool: Tool, file: str) -> Iterator[Finding]:
    """Return what is doubtful about the feeds of a step."""
    usual = USUAL_FEEDS[step.operation]
    feed = step.feed_mm_per_s
    where = Where(path=file or None, key=f"{step.key}.feed")
    if not usual.least_mm_per_s <= feed <= usual.most_mm_per_s:
        yield Finding(
            FEED_UNUSUAL,
            f"Step {step.name} feeds {tool.name} at {speed_text(feed)} "
            f"({feed:.4g} mm/s); "
            f"{speed_text(usual.least_mm_per_s, usual.most_mm_per_s)} is usual for {step.operation}.",
            where,
        )
    for most, name in (
        (tool.max_feed_mm_per_s, f"max_feed of {tool.name}"),
        (step.finish_feed_mm_per_s, "finish_feed of the step"),
    ):
        if most is not None and feed > most * (1.0 + _SLACK):
            yield Finding(
                FEED_ABOVE_TOOL,
                f"Step {step.name} feeds {tool.name} at {speed_text(feed)}; {name} is "
                f"{speed_text(most)}.",
                where,
            )
