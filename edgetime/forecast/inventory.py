"""Reorder point, safety stock and order quantity: the formulas of the textbooks.

Demand per day is independent from day to day and sums to about a normal distribution over
the lead time. Sources: Stevenson, *Operations Management*, 14th ed., ch. 13 (fixed-interval
and reorder-point models); Heizer & Render, *Operations Management*, ch. 12.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from edgetime.errors import UsageError, Where


def check_service(service: float) -> float:
    """Return a service level, or refuse it.

    Parameters
    ----------
    service : float
        Probability that the stock lasts until the delivery [-].

    Raises
    ------
    UsageError
        Not from 0.5 up to, but not, 1.
    """
    if not 0.5 <= service < 1.0:
        raise UsageError(
            f"The service level is {100.0 * service:g} %; it may be from 50 % to 99.99 %.",
            where=Where(key="--service"),
            remedy="Give it in per cent, such as --service 95: higher for tools that stop the shop.",
        )
    return service


def normal_quantile(service: float) -> float:
    """Return z, below which a standard normal variable stays with a probability [-].

    Parameters
    ----------
    service : float
        The probability, above 0 and below 1.
    """
    from scipy.special import ndtri  # noqa: PLC0415  scipy serves this command alone

    return float(ndtri(service))


def expected_short(sd: float, z: float) -> float:
    """Return how many pieces are short on average per lead time, ``σ L(z)``.

    ``L(z) = φ(z) - z (1 - Φ(z))`` is the unit normal loss (Snyder & Shen, *Fundamentals of
    Supply Chain Theory*, app. C; from memory).

    Parameters
    ----------
    sd : float
        Standard deviation of the demand over the lead time [pieces].
    z : float
        Safety factor [-].
    """
    from scipy.special import ndtr  # noqa: PLC0415  as above

    density = math.exp(-0.5 * z * z) / math.sqrt(math.tau)
    return sd * (density - z * float(ndtr(-z)))


def spread_over_lead_time(
    mean_per_day: float,
    sd_per_day: float,
    lead_time_d: float,
    lead_time_sd_d: float = 0.0,
    *,
    doubt: float = 0.0,
) -> float:
    """Return the standard deviation of the demand over the lead time.

    ``sqrt(LT s_d² + d² s_LT² + (c d LT)²)``: the first two terms as in Stevenson ch. 13; the
    third is zero unless the mean itself is in doubt, which does not even out over the days.

    Parameters
    ----------
    mean_per_day, sd_per_day : float
        Demand, mean ``d`` and standard deviation ``s_d`` [pieces/d].
    lead_time_d, lead_time_sd_d : float
        Lead time, mean ``LT`` and standard deviation ``s_LT`` [d].
    doubt : float
        Relative standard deviation ``c`` of the mean demand [-].

    Returns
    -------
    float
        [pieces].
    """
    return math.hypot(
        math.sqrt(lead_time_d) * sd_per_day,
        mean_per_day * lead_time_sd_d,
        doubt * mean_per_day * lead_time_d,
    )


def reorder_point(
    mean_per_day: float,
    sd_per_day: float,
    lead_time_d: float,
    lead_time_sd_d: float = 0.0,
    *,
    z: float,
    doubt: float = 0.0,
) -> float:
    """Return the stock at which an order is due.

    ``d LT + z σ`` with σ of :func:`spread_over_lead_time`: what is used until the delivery, and safety stock.

    Parameters
    ----------
    mean_per_day, sd_per_day, lead_time_d, lead_time_sd_d, doubt : float
        As :func:`spread_over_lead_time`.
    z : float
        Of the service level, :func:`normal_quantile` [-].

    Returns
    -------
    float
        [pieces].
    """
    spread = spread_over_lead_time(
        mean_per_day, sd_per_day, lead_time_d, lead_time_sd_d, doubt=doubt
    )
    return mean_per_day * lead_time_d + z * spread


def order_up_to(
    mean_per_day: float,
    sd_per_day: float,
    lead_time_d: float,
    review_d: float,
    *,
    z: float,
    doubt: float = 0.0,
) -> float:
    """Return the stock to fill up to where orders are placed at fixed intervals.

    ``d (P + LT) + z s_d sqrt(P + LT)``, Stevenson ch. 13, fixed-order-interval model.

    Parameters
    ----------
    mean_per_day, sd_per_day, lead_time_d, doubt : float
        As :func:`spread_over_lead_time`.
    review_d : float
        Interval of the orders ``P`` [d].
    z : float
        Of the service level [-].

    Returns
    -------
    float
        [pieces].
    """
    return reorder_point(mean_per_day, sd_per_day, lead_time_d + review_d, z=z, doubt=doubt)


def order_quantity(needed: int, *, pack: int = 1, minimum: int = 1) -> int:
    """Return the fewest pieces that can be bought and are enough.

    Parameters
    ----------
    needed : int
        Pieces missing; nothing is bought for 0.
    pack : int
        Pieces in a pack; only whole packs are sold.
    minimum : int
        Fewest pieces of an order.
    """
    return 0 if needed <= 0 else math.ceil(max(needed, minimum) / pack) * pack


def set_quantity(needed: Iterable[int], *, packs: Iterable[int], minimums: Iterable[int]) -> int:
    """Return how many sets to buy: as many pieces of each member, in whole packs of all.

    Parameters
    ----------
    needed : iterable of int
        Pieces missing of each member.
    packs, minimums : iterable of int
        Of each member, as in :func:`order_quantity`.
    """
    return order_quantity(
        max(needed, default=0), pack=math.lcm(*packs), minimum=max(minimums, default=1)
    )
