"""Taylor's relation and its two optima against published figures.

They are figures of metal cutting and check the algebra only; no stone tool has them.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from edgetime.economics.taylor import (
    feed_of_life,
    fit_relation,
    least_cost_life,
    life_at,
)


def test_halved_speed_lasts_four_times_as_long() -> None:
    """Two trials, 60 m/min for 81 min and 90 m/min for 36 min: n = 0.5, a gain of 300 %.

    Examination item, interviewmania.com/discussion/90080 (seen).
    """
    n, c = fit_relation([(60.0, 81.0), (90.0, 36.0)])
    assert n == pytest.approx(0.5, abs=1e-12)
    gain = life_at(45.0, exponent=n, constant=c) / life_at(90.0, exponent=n, constant=c) - 1.0
    assert 100.0 * gain == pytest.approx(300.0, abs=1e-9)


def test_life_at_a_speed() -> None:
    """C = 300, n = 0.25, V = 200 m/min: T = 5.06 min, as a tooling page prints it (seen)."""
    assert life_at(200.0, exponent=0.25, constant=300.0) == pytest.approx(5.06, abs=0.005)


def test_exponent_of_two_trials() -> None:
    """(160 m/min, 5 min) and (100, 41): n = 0.223, C = 229.

    Groover, Fundamentals of Modern Manufacturing, tool life example (from memory).
    """
    n, c = fit_relation([(160.0, 5.0), (100.0, 41.0)])
    assert n == pytest.approx(0.223, abs=0.0005)
    assert c == pytest.approx(229.0, abs=0.5)


def test_both_optima_of_the_textbook() -> None:
    """N = 0.125, C = 70, change 2 min, edge $3, $0.50/min: 50 m/min for 14, 42 m/min for 56 min.

    Groover, Fundamentals of Modern Manufacturing, machining economics (from memory; the book
    rounds the speeds to whole m/min).
    """
    n, c = 0.125, 70.0
    output = least_cost_life(n, 2.0, 0.0, 0.5)  # of a free edge: of most output
    cost = least_cost_life(n, 2.0, 3.0, 0.5)
    assert output == pytest.approx(14.0)
    assert cost == pytest.approx(56.0)
    assert round(feed_of_life(output, exponent=n, constant=c)) == 50
    assert round(feed_of_life(cost, exponent=n, constant=c)) == 42


CASES = [
    # n, C, T_t [min], C_t, C_o [per min]
    pytest.param(0.13, 80.0, 3.0, 3.33, 0.667, id="steel-tool"),
    pytest.param(0.125, 70.0, 2.0, 3.0, 0.50, id="textbook"),
]


@pytest.mark.parametrize(("n", "c", "swap", "edge", "rate"), CASES)
def test_optima_are_the_lowest_of_the_whole_cost(n, c, swap, edge, rate) -> None:
    """The closed forms lie where time and cost, written out and searched, are lowest.

    Inputs of the first case: a textbook's end-of-chapter problem (seen, its result was not);
    of the second as above. Cost of a piece: handling, cutting, changing, edges; 1 of path.
    """

    def cutting(v: float) -> float:
        return 157.0796 / v

    def cost(v: float) -> float:
        share = cutting(v) / (c / v) ** (1.0 / n)
        return rate * 5.0 + rate * cutting(v) + rate * swap * share + edge * share

    def minutes(v: float) -> float:
        return 5.0 + cutting(v) + swap * cutting(v) / (c / v) ** (1.0 / n)

    for function, life in (
        (cost, least_cost_life(n, swap, edge, rate)),
        (minutes, least_cost_life(n, swap, 0.0, rate)),
    ):
        found = minimize_scalar(function, bounds=(0.2 * c, 1.5 * c), method="bounded",
                                options={"xatol": 1e-9})  # fmt: skip
        feed = feed_of_life(life, exponent=n, constant=c)
        assert feed == pytest.approx(found.x, rel=1e-5)
        grid = np.linspace(0.2 * c, 1.5 * c, 20_001)
        assert function(feed) <= min(map(function, grid)) * (1.0 + 1e-12)


def test_least_cost_of_the_steel_tool() -> None:
    """N = 0.13, C = 80, change 3 min, edge $3.33, $0.667/min: T of 53.5 min, 47.7 m/min.

    Inputs of a textbook's end-of-chapter problem (seen); the result is worked out by hand:
    (1/0.13 - 1) x (3 + 3.33/0.667) = 6.6923 x 7.9925 = 53.488; 80 / 53.488^0.13 = 47.689.
    """
    life = least_cost_life(0.13, 3.0, 3.33, 0.667)
    assert life == pytest.approx(53.488, abs=5e-4)
    assert feed_of_life(life, exponent=0.13, constant=80.0) == pytest.approx(47.689, abs=5e-4)


def test_many_trials_are_fitted_as_a_line_of_logarithms() -> None:
    """Scattered trials give the exponent of a least-squares line by numpy."""
    rng = np.random.default_rng(5)
    feeds = rng.uniform(10.0, 80.0, 12)
    lives = (300.0 / feeds) ** (1.0 / 0.4) * rng.lognormal(0.0, 0.1, 12)
    n, c = fit_relation(list(zip(feeds.tolist(), lives.tolist(), strict=True)))
    slope, intercept = np.polyfit(np.log(feeds), np.log(lives), 1)
    assert n == pytest.approx(-1.0 / slope, rel=1e-10)
    assert math.log(c) == pytest.approx(-intercept / slope, rel=1e-10)
