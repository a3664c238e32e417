"""Taylor's relation of tool life and feed, and the life of least cost.

``v T^n = C``: v the feed (in turning, the cutting speed), T the time in the cut until a piece
is spent. F. W. Taylor, On the Art of Cutting Metals, Transactions of the ASME 28, 1907; the
optimum is the textbooks', such as Groover, Fundamentals of Modern Manufacturing, chapter
on machining economics. Any consistent units will do.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from edgetime.errors import UsageError, Where


def life_at(feed: float, *, exponent: float, constant: float) -> float:
    """Return how long a piece lasts in the cut at a feed, ``T = (C / v)^(1/n)``."""
    return float((constant / feed) ** (1.0 / exponent))


def feed_of_life(life: float, *, exponent: float, constant: float) -> float:
    """Return the feed at which a piece lasts so long in the cut, ``v = C / T^n``."""
    return float(constant / life**exponent)


def least_cost_life(exponent: float, swap: float, piece_cost: float, rate: float) -> float:
    """Return the life at which what is made costs least, ``T = (1/n - 1) (T_t + C_t / C_o)``.

    Parameters
    ----------
    exponent : float
        n [-].
    swap : float
        T_t, the time lost when a spent piece is replaced.
    piece_cost : float
        C_t, what a piece costs beside that time.
    rate : float
        C_o, what a unit of the machine's time costs.
    """
    return (1.0 / exponent - 1.0) * (swap + piece_cost / rate)


def fit_relation(trials: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """Return n and C of a relation from trials.

    Two trials give ``n = ln(v2/v1) / ln(T1/T2)``; more are fitted by least squares of the
    logarithm of the life over that of the feed.

    Parameters
    ----------
    trials : sequence of (feed, life)
        Life as time in the cut; two at least, at different feeds.

    Raises
    ------
    UsageError
        Too few trials, or a life that does not fall as the feed rises.
    """
    where = Where(key="--trial")
    if len({feed for feed, _ in trials}) < 2:
        raise UsageError(
            "The tool-life equation needs trials at two different feeds at least.",
            where=where,
            remedy="Write --trial '1.5 m/min=3000 m' --trial '3 m/min=1200 m'.",
        )
    x = [math.log(feed) for feed, _ in trials]
    y = [math.log(life) for _, life in trials]
    mean_x, mean_y = math.fsum(x) / len(x), math.fsum(y) / len(y)
    slope = math.fsum((a - mean_x) * (b - mean_y) for a, b in zip(x, y, strict=True))
    slope /= math.fsum((a - mean_x) ** 2 for a in x)
    if slope >= -1.0:
        raise UsageError(
            "In these trials a tool makes no less edge at a higher feed, so no feed is too high.",
            where=where,
            remedy="Test feeds further apart, each until the tool is worn out.",
        )
    # ln T = (ln C - ln v) / n through the mean of the points.
    exponent = -1.0 / slope
    return exponent, math.exp(mean_x + exponent * mean_y)
