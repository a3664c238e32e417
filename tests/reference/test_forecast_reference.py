"""Forecasts against textbook examples, tables, general libraries and plain simulation.

Sources stand beside each check. Stevenson: *Operations Management*, 14th ed. Heizer & Render:
*Operations Management*, ch. 12. Snyder & Shen: *Fundamentals of Supply Chain Theory*. Tables
of the normal and Poisson distributions are from memory, and held against scipy.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from scipy import integrate, stats
from support.forecasts import a_forecast, a_job, of_piece

from edgetime.forecast import Demand, Stock, Supply
from edgetime.forecast.inventory import (
    expected_short,
    normal_quantile,
    order_up_to,
    reorder_point,
    spread_over_lead_time,
)
from edgetime.forecast.supply import SCENARIOS
from edgetime.life import Family, LifeDistribution, LifePrior, fit_life

# Formulas ---------------------------------------------------------------------------------


def test_safety_stock_at_three_per_cent_risk() -> None:
    """Stevenson, Example 8, p. 528: mean 50, sd 5 over the lead time, 3 % risk: 9.40, 59.40."""
    z = normal_quantile(0.97)
    assert z == pytest.approx(1.88, abs=0.005)
    assert z * spread_over_lead_time(50.0, 5.0, 1.0) == pytest.approx(9.40, abs=0.01)
    assert reorder_point(50.0, 5.0, 1.0, z=z) == pytest.approx(59.40, abs=0.01)


def test_lead_time_alone_varies() -> None:
    """Heizer & Render type text, ch. 12: 60 a week, 6 weeks, sd 2 weeks, z 1.28: 513.6."""
    assert reorder_point(60.0, 0.0, 6.0, 2.0, z=1.28) == pytest.approx(513.6, abs=1e-9)


def test_demand_alone_varies() -> None:
    """Stevenson's jars: 50 a week, sd 3, 2 weeks, 10 % risk (inputs seen, answer from memory)."""
    assert reorder_point(50.0, 3.0, 2.0, z=1.28) == pytest.approx(105.430580, abs=1e-6)
    exact = reorder_point(50.0, 3.0, 2.0, z=normal_quantile(0.90))
    assert exact == pytest.approx(100.0 + stats.norm.ppf(0.9) * 3.0 * math.sqrt(2.0), rel=1e-12)


def test_order_at_fixed_intervals() -> None:
    """A textbook's exercise: 160 a week, sd 26, P 6, L 5, z 2.06, 500 at hand: 1938, 1438."""
    level = order_up_to(160.0, 26.0, 5.0, 6.0, z=2.06)
    assert level == pytest.approx(1937.64, abs=0.01)
    assert round(level) - 500 == 1438


def test_both_vary() -> None:
    """Formula in Stevenson; d 20, LT 6, sd 3, sd of LT 1, z 1.65: sqrt(54 + 400) worked out."""
    spread = spread_over_lead_time(20.0, 3.0, 6.0, 1.0)
    assert spread == pytest.approx(math.sqrt(454.0), rel=1e-12)
    assert reorder_point(20.0, 3.0, 6.0, 1.0, z=1.65) == pytest.approx(155.157005, abs=1e-6)


@pytest.mark.parametrize(
    ("service", "z", "loss"),
    [
        (0.90, 1.281552, 0.047343),
        (0.95, 1.644854, 0.020893),
        (0.98, 2.053749, 0.007343),
        (0.99, 2.326348, 0.003389),
        (0.999, 3.090232, 0.000277),
    ],
)
def test_normal_tables(service, z, loss) -> None:
    """Standard tables of z and of the unit normal loss, from memory; scipy for both."""
    found = normal_quantile(service)
    assert found == pytest.approx(z, abs=1e-6)
    assert found == pytest.approx(stats.norm.ppf(service), abs=1e-12)
    assert expected_short(1.0, found) == pytest.approx(loss, abs=1e-6)
    by_scipy = integrate.quad(lambda x: (x - found) * stats.norm.pdf(x), found, 40.0)[0]
    assert expected_short(3.0, found) == pytest.approx(3.0 * by_scipy, rel=1e-6)


def test_newsvendor() -> None:
    """Snyder & Shen, Example 4.3, as in stockpyl's docstrings: 0.18, 0.70, 50, 8: 56.6039559."""
    z = normal_quantile(0.70 / (0.70 + 0.18))
    assert reorder_point(50.0, 8.0, 1.0, z=z) == pytest.approx(56.6039559, abs=1e-6)


# Pieces: counting renewals ----------------------------------------------------------------
# With exponential lives the number of pieces that end within a work x is Poisson with mean x;
# one more must be there than end.


@pytest.mark.parametrize(("service", "quantile"), [(0.90, 5), (0.95, 6), (0.99, 8)])
def test_poisson_quantiles(service, quantile) -> None:
    """Poisson tables, mean 3 (from memory, and scipy): pieces needed with exponential lives."""
    assert stats.poisson.ppf(service, 3.0) == quantile
    law = LifeDistribution.known(1.0, 1.0)
    assert Supply(law).needed(Demand.none().plus(3.0, 1.0), service) == quantile + 1


def test_newsvendor_poisson() -> None:
    """Stockpyl's docstring: 0.18, 0.70, Poisson mean 50: 56."""
    law = LifeDistribution.known(1.0, 1.0)
    needed = Supply(law).needed(Demand.none().plus(50.0, 1.0), 0.70 / 0.88)
    assert needed == 56 + 1


def test_exponential_lives_have_no_age() -> None:
    """A used piece with an exponential life is as good as new: one new piece less is needed."""
    law = LifeDistribution.known(1.0, 1.0)
    work = Demand.none().plus(3.0, 1.0)
    for simulated in (0.2, 0.9):
        supply = Supply(law, (simulated,))
        assert not supply.exact
        for pieces in range(8):
            want = stats.poisson.sf(pieces, 3.0)
            bound = 5.0 * math.sqrt(want * (1.0 - want) / SCENARIOS)
            assert supply.short(work, pieces) == pytest.approx(want, abs=bound)


@pytest.mark.parametrize("family", [Family.GAMMA, Family.WEIBULL])
def test_exponential_is_both_families(family) -> None:
    """With a coefficient of variation of 1 gamma and Weibull are the exponential."""
    law = LifeDistribution.known(2.0, 1.0, family=family)
    assert law.shape[0] == pytest.approx(1.0, abs=1e-4)
    supply = Supply(law, simulate=True)
    want = stats.poisson.sf(3, 6.0 / 2.0)
    bound = 5.0 * math.sqrt(want * (1.0 - want) / SCENARIOS)
    assert supply.short(Demand.none().plus(6.0, 1.0), 4) == pytest.approx(want, abs=bound)


# Demand: independent jobs ---------------------------------------------------------------------


def test_work_by_enumeration() -> None:
    """Six jobs, all 64 outcomes written out."""
    jobs = [(0.4, 0.5), (1.1, 0.8), (0.3, 0.2), (2.0, 1.0), (0.7, 0.9), (0.05, 0.35)]
    work = Demand.none()
    for amount, chance in jobs:
        work = work.plus(amount, chance)
    for limit in (2.0, 2.35, 3.3, 4.0, 4.55):
        want = 0.0
        for comes in itertools.product((0, 1), repeat=len(jobs)):
            total = sum(c * a for c, (a, _) in zip(comes, jobs, strict=True))
            chance = math.prod(p if c else 1.0 - p for c, (_, p) in zip(comes, jobs, strict=True))
            want += chance * (total > limit + 1e-9)
        found = work.chances[work.values > limit + 1e-9].sum()
        assert found == pytest.approx(want, abs=1e-12)


def test_many_jobs_are_binomial() -> None:
    """Sixty equal jobs against scipy's binomial, after the values were put together."""
    work = Demand.none()
    for _ in range(60):
        work = work.plus(0.1, 0.3)
    assert work.mean == pytest.approx(stats.binom.mean(60, 0.3) * 0.1, rel=1e-12)
    assert work.variance == pytest.approx(stats.binom.var(60, 0.3) * 0.01, rel=1e-12)
    mean = float(work.values @ work.chances)
    assert mean == pytest.approx(work.mean, rel=1e-12)
    spread = float((work.values - mean) ** 2 @ work.chances)
    assert spread == pytest.approx(work.variance, rel=1e-3)
    # What is asked of it: the chance that gamma lives end before it.
    law = LifeDistribution.known(1.0, 0.35)
    counts = np.arange(61)
    k = 1.0 / 0.35**2
    ended = stats.gamma.cdf(0.1 * counts, 2 * k, scale=1.0 / k)
    want = float(stats.binom.pmf(counts, 60, 0.3) @ ended)
    assert Supply(law).short(work, 2) == pytest.approx(want, abs=1e-5)


# Closed form against simulation -----------------------------------------------------------


@pytest.mark.parametrize("cv", [0.15, 0.35, 0.8])
@pytest.mark.parametrize("pieces", [1, 3, 9])
def test_simulation_agrees_with_closed_form(cv, pieces) -> None:
    """The two ways to the probability of running out, for gamma lives and five jobs."""
    law = LifeDistribution.known(1.0, cv)
    work = Demand.none()
    for amount, chance in [(0.8, 0.7), (1.5, 0.5), (0.4, 1.0), (2.5, 0.4), (3.0, 0.8)]:
        work = work.plus(amount, chance)
    exact, drawn = Supply(law), Supply(law, simulate=True)
    assert exact.exact
    assert not drawn.exact
    want = exact.short(work, pieces)
    bound = 5.0 * math.sqrt(max(want * (1.0 - want), 1e-4) / SCENARIOS)
    assert drawn.short(work, pieces) == pytest.approx(want, abs=bound)


def test_far_pieces_by_the_central_limit() -> None:
    """Two hundred gamma lives, of which the last 136 are not drawn one by one."""
    law = LifeDistribution.known(1.0, 0.5)
    exact, drawn = Supply(law), Supply(law, simulate=True)
    for amount in (190.0, 200.0, 208.0):
        work = Demand.none().plus(amount, 1.0)
        assert drawn.short(work, 200) == pytest.approx(exact.short(work, 200), abs=0.02)


def test_forecast_against_plain_simulation() -> None:
    """A whole pipeline with Weibull lives and a worn piece, simulated anew with other means."""
    jobs = [a_job(7, probability=0.6, quantity=2), a_job(21, probability=0.9), a_job(40)]
    shares = [{"pad": 0.45}, {"pad": 0.8}, {"pad": 0.5}]
    law = LifeDistribution.known(1.1, 0.4, family=Family.WEIBULL)
    stock = {"pad": Stock(new=1, used=(0.6,))}
    found = of_piece(a_forecast(jobs, shares, law=law, stock=stock), "pad")
    assert found.simulated

    rng = np.random.default_rng(20270104)
    n = 200_000
    beta = float(law.shape[0])
    eta = 1.1 / math.gamma(1.0 + 1.0 / beta)
    worn = stats.weibull_min.rvs(beta, scale=eta, size=4 * n, random_state=rng)
    left = worn[worn > 0.6][:n] - 0.6
    n = len(left)
    fresh = stats.weibull_min.rvs(beta, scale=eta, size=(8, n), random_state=rng)
    came = rng.random((3, n)) < np.array([[0.6], [0.9], [1.0]])
    work = np.array([0.9, 0.8, 0.5]) @ came
    lasts = left + np.vstack([np.zeros(n), fresh.cumsum(axis=0)])
    short = (lasts < work).mean(axis=1)
    assert found.short == pytest.approx(short[1], abs=5.0 * math.sqrt(0.25 / SCENARIOS))
    assert short[1 + found.needed] <= 0.05 + 0.01
    assert short[1 + found.needed - 1] > 0.05 - 0.01


# Lives ------------------------------------------------------------------------------------


@pytest.mark.parametrize("family", [Family.GAMMA, Family.WEIBULL])
@pytest.mark.parametrize("rate", [0.0, 0.05, 0.6])
def test_moments_of_a_life(family, rate) -> None:
    """Mean and variance of the earlier of wear-out and breakage, by scipy's quadrature."""
    known = LifeDistribution.known(1.2, 0.4, family=family)
    law = LifeDistribution(
        family=known.family, mean=known.mean, shape=known.shape, weight=known.weight,
        break_count=rate * 10.0, break_exposure=10.0,
    )  # fmt: skip
    shape = float(law.shape[0])
    if family == Family.GAMMA:
        wear = stats.gamma(shape, scale=1.2 / shape)
    else:
        wear = stats.weibull_min(shape, scale=1.2 / math.gamma(1.0 + 1.0 / shape))
    alive = lambda x: wear.sf(x) * math.exp(-rate * x)  # noqa: E731
    mean = integrate.quad(alive, 0.0, 10.0)[0]
    square = integrate.quad(lambda x: 2.0 * x * alive(x), 0.0, 10.0)[0]
    (found_mean,), (found_variance,) = (a.tolist() for a in law.moments)
    assert found_mean == pytest.approx(mean, rel=1e-6)
    assert found_variance == pytest.approx(square - mean**2, rel=1e-5)


def test_spread_of_the_pieces_used_up() -> None:
    """Cox's asymptotic variance against the exact gamma count, P(N >= n) = P(gamma(nk) <= x)."""
    cv, work = 0.35, 200.0
    k = 1.0 / cv**2
    n = np.arange(1, 400)
    tail = stats.gamma.cdf(work, n * k, scale=1.0 / k)
    mean = tail.sum()
    variance = ((2 * n - 1) * tail).sum() - mean**2
    used = of_piece(a_forecast([a_job(7, quantity=400)], {"pad": 0.5}), "pad").total
    assert used.sd_demand == 0.0
    assert used.mean == pytest.approx(mean, rel=0.003)
    assert used.sd_life**2 == pytest.approx(variance, rel=0.02)


def test_spread_of_the_jobs() -> None:
    """Mean and variance of independent jobs, worked out by hand: 2.1, and 0.25·4 + 0.09·0.01."""
    jobs = [a_job(3, probability=0.5, quantity=4), a_job(9, probability=0.1), a_job(30)]
    shares = [{"pad": 0.5}, {"pad": 0.1}, {"pad": 1.09}]
    used = of_piece(a_forecast(jobs, shares), "pad").total
    assert used.mean == pytest.approx(2.1, rel=1e-12)
    assert used.sd_demand**2 == pytest.approx(1.0 + 0.0009, rel=1e-12)


def test_what_is_assumed_without_retirements() -> None:
    """The typical life is the fit's median of the mean, less by what breakage takes."""
    fit = fit_life(())
    mean, _, doubt = fit.typical
    assert 0.9 * fit.mean_life.value < mean < fit.mean_life.value
    # What is assumed of the logarithm of the mean is flat there: 34.13 % of all that lies
    # under the flat range and its two shoulders of Student's t, whose density is scipy's.
    prior = LifePrior()
    shoulder = 0.5 * prior.spread / stats.t.pdf(0.0, prior.degrees)
    inside = 0.3413 * 2.0 * (math.log(prior.reach) + shoulder)
    assert 0.9 * inside < doubt < inside
