"""Sensitivity: effects that can be worked out on paper, and one that is estimated again."""

from __future__ import annotations

from dataclasses import replace

import pytest
from support.catalogue import STEPS, a_catalogue
from support.estimates import two_tops

from edgetime.estimating import sensitivity
from edgetime.tooling import Operation


def effects():
    """Return the estimate of two tops and all its effects by assumption."""
    est = two_tops()
    found = sensitivity(est, count=99)
    assert len(found) > 10
    return est, {e.assumption: e for e in found}


def test_standing_times_by_hand():
    """Probing 3 s for 2 parts, water 1 s and 15 s of change for each stay, factor by factor.

    Five stays: core bit, finger bit, drum, wheel and pad; no seam, and nothing to gauge.
    """
    _, by = effects()
    stays = 5
    probe, water = by["probing a part's thickness"], by["wait for the water"]
    assert (probe.low_delta_s, probe.high_delta_s) == pytest.approx((-0.5 * 6.0, 6.0))
    assert (water.low_delta_s, water.high_delta_s) == pytest.approx((-stays, 2.0 * stays))
    change = by["exchanging and measuring a tool"]
    assert change.low_delta_s == pytest.approx(-0.4 * 15.0 * stays)
    assert change.high_delta_s == pytest.approx(0.6 * 15.0 * stays)
    # All tools at 300 rad/s and 100 rad/s²: 3 s up each, 3 s down each but the last.
    spin = 3.0 * (2 * stays - 1)
    run_up = by["spindle run-up"]
    assert (run_up.low_delta_s, run_up.high_delta_s) == pytest.approx((spin, -0.5 * spin))


def test_feed_is_estimated_again():
    """The polishing feed at 0.8: as the load with that feed in its stack, to the last digit."""
    est, by = effects()
    slower = a_catalogue(
        steps=[
            replace(s, feed_mm_per_s=0.8 * s.feed_mm_per_s) if s.operation is Operation.POLISH else s
            for s in STEPS
        ]
    )  # fmt: skip
    other = two_tops(catalogue=slower)
    effect = by["polishing feed"]
    assert effect.low_factor == 0.8
    assert effect.low_delta_s == pytest.approx(other.cycle.total_s - est.cycle.total_s, abs=1e-9)
    assert effect.low_delta_s > 0.0 > effect.high_delta_s


def test_the_greatest_swing_comes_first_and_the_list_ends_where_asked():
    """By falling swing; what moves nothing is not there."""
    est, by = effects()
    five = sensitivity(est)
    assert len(five) == 5
    swings = [e.swing_s for e in by.values()]
    assert swings == sorted(swings, reverse=True)
    assert [e.assumption for e in five] == list(by)[:5]
    assert min(swings) > 0.0
    # Exact stops have no corner tolerance, and this catalogue's machine no jerk limit.
    assert {"corner tolerance", "jerk of the axes"}.isdisjoint(by)
