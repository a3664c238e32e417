"""What a fit takes from records, and what it says of itself."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats
from support.lives import Lived

from edgetime.life import Family, LifePrior, Trust, fit_life, fit_lives
from edgetime.records import as_json


def lives(seed: int, n: int, *, mean: float = 1.0, shape: float = 3.0) -> list[Lived]:
    """Draw worn-out lives, Weibull."""
    rng = np.random.default_rng(seed)
    return [Lived(float(mean / 0.893 * x), "worn") for x in rng.weibull(shape, n)]


def test_without_records_the_prior_stands() -> None:
    """Median and 90 % of the mean are those of a flat range with shoulders of Student's t.

    By hand: the flat range is 2 ln 3 wide at a height of 1; a shoulder holds 0.5 times half
    the reciprocal of the density of t with 4 degrees at 0, which is 0.375.
    """
    shoulder = 0.5 * 0.5 / 0.375
    beyond = 0.05 * (2.0 * np.log(3.0) + 2.0 * shoulder) / (2.0 * shoulder)
    limit = np.log(3.0) + 0.5 * stats.t.isf(beyond, 4.0)
    fit = fit_life(())
    assert fit.trust is Trust.CATALOGUE
    assert fit.mean_life.value == pytest.approx(1.0, abs=1e-6)
    assert fit.mean_life.high == pytest.approx(np.exp(limit), rel=1e-2)
    assert fit.mean_life.low == pytest.approx(np.exp(-limit), rel=1e-2)
    assert fit.cv.value == pytest.approx(0.35, rel=1e-3)
    assert fit.cv.high == pytest.approx(0.35 * np.exp(0.5 * 1.6449), rel=1e-2)
    assert fit.break_rate.value == pytest.approx(0.1)
    assert fit.likeliest == ()


@pytest.mark.parametrize("factor", [0.5, 1.0, 2.0])
def test_a_file_wrong_by_two_neither_hides_nor_pulls(factor: float) -> None:
    """Within a factor of three the file's figure is not preferred: ten pieces say the same.

    Fits of the same lives, counted in lives of a file that is right, twice too long, or half
    as long, differ by that factor alone, to the grid's 1 %.
    """
    assert fit_life(()).mean_life.low < factor < fit_life(()).mean_life.high
    pieces = [x.share for x in lives(21, 10)]
    right = fit_life([Lived(x, "worn") for x in pieces]).mean_life
    wrong = fit_life([Lived(x * factor, "worn") for x in pieces]).mean_life
    for a, b in zip(
        (right.value, right.low, right.high), (wrong.value, wrong.low, wrong.high), strict=True
    ):
        assert b / factor == pytest.approx(a, rel=1e-2)


def test_every_end_is_counted_for_what_it_shows() -> None:
    """Worn, broken, lost and good are told apart; exposure is the use of all."""
    fit = fit_life(
        [
            Lived(0.9, "worn"),
            Lived(1.2, "worn"),
            Lived(0.3, "broken"),
            Lived(0.4, "lost"),
            Lived(0.5),
            Lived(0.0),
            Lived(None),
        ]
    )
    c = fit.counts
    assert (c.worn, c.broken, c.lost, c.in_service, c.ignored) == (2, 1, 1, 1, 0)
    assert c.exposure == pytest.approx(3.3)
    assert fit.break_rate.value == pytest.approx((0.5 + 1) / (5 + 3.3))
    assert fit.trust is Trust.FEW


@pytest.mark.parametrize("share", [0.0, None, -0.2, float("nan"), float("inf")])
def test_a_retirement_without_use_is_left_out(share: float | None) -> None:
    """No life can be read from it, and it changes nothing but the count."""
    with_it = fit_life([*lives(1, 6), Lived(share, "worn")])
    without = fit_life(lives(1, 6))
    assert with_it.counts.ignored == 1
    assert with_it.mean_life == without.mean_life
    assert with_it.break_rate == without.break_rate


def test_pieces_still_good_lengthen_the_life() -> None:
    """Lower bounds count: without them the mean would come out too short."""
    worn = [Lived(x, "worn") for x in (0.4, 0.5, 0.6)]
    alone = fit_life(worn)
    beside = fit_life([*worn, *[Lived(0.9)] * 4])
    assert beside.mean_life.value > 1.2 * alone.mean_life.value


def test_broken_and_lost_bound_wear_alike() -> None:
    """How a piece was lost to sight does not matter for wear; only breaking is a breakage."""
    broken = fit_life([*lives(2, 5), Lived(0.7, "broken")])
    lost = fit_life([*lives(2, 5), Lived(0.7, "lost")])
    good = fit_life([*lives(2, 5), Lived(0.7)])
    assert broken.mean_life == lost.mean_life == good.mean_life
    assert broken.break_rate.value > lost.break_rate.value == good.break_rate.value


def test_trust_needs_number_and_narrowness() -> None:
    """Four alike do not do, nor many that scatter; thirty of a usual spread do."""
    assert fit_life([Lived(1.0 + 0.01 * i, "worn") for i in range(4)]).trust is Trust.FEW
    wild = [Lived(x, "worn") for x in (0.05, 0.1, 0.4, 1.0, 3.0, 6.0)]
    assert fit_life(wild).trust is Trust.FEW
    assert fit_life(lives(3, 30)).trust is Trust.OWN


def test_own_lives_outweigh_a_wrong_catalogue() -> None:
    """Thirty pieces of 0.3 catalogue lives: the interval holds 0.3 and leaves 1 out."""
    fit = fit_life(lives(4, 30, mean=0.3))
    assert fit.mean_life.low < 0.3 < fit.mean_life.high < 0.4


def test_gamma_only_when_the_data_say_so() -> None:
    """Exponential-like lives with a heavy tail stay Weibull below 20, and may turn gamma above.

    Weibull lives of shape 3 are skewed to the left, which gamma never is.
    """
    rng = np.random.default_rng(5)
    skewed = [Lived(float(x), "worn") for x in rng.gamma(12.0, 1.0 / 12.0, 300)]
    few = fit_life(skewed[:19])
    assert few.family is Family.WEIBULL
    assert [m.family for m in few.likeliest] == [Family.WEIBULL]
    many = fit_life(skewed)
    assert many.family is Family.GAMMA
    weibull, gamma = many.likeliest
    assert gamma.aic < weibull.aic - 2.0
    assert many.shape_interval.low < 12.0 < many.shape_interval.high
    assert fit_life(lives(6, 300)).family is Family.WEIBULL


def test_many_records_do_not_outrun_the_grid() -> None:
    """With 2000 lives the interval has the width that theory gives: 2 × 1.645 × cv ÷ sqrt(n)."""
    fit = fit_life(lives(7, 2000))
    cv = 0.363
    width = np.log(fit.mean_life.high / fit.mean_life.low)
    assert width == pytest.approx(2 * 1.645 * cv / np.sqrt(2000), rel=0.1)


def test_prior_can_be_stated() -> None:
    """A narrow prior holds against three pieces; the default gives way."""
    pieces = [Lived(0.3, "worn"), Lived(0.35, "worn"), Lived(0.25, "worn")]
    stubborn = fit_life(pieces, LifePrior(reach=1.0, spread=0.02, degrees=50.0))
    assert stubborn.mean_life.value > 0.8
    assert fit_life(pieces).mean_life.value < 0.45


def test_tools_are_fitted_apart() -> None:
    """Records of one tool leave the others alone."""
    pad = lives(8, 6)
    drum = [Lived(x.share, x.ended, "drum") for x in lives(9, 7, mean=0.5)]
    fits = fit_lives([*pad, *drum])
    assert set(fits) == {"pad", "drum"}
    assert fits["pad"].tool == "pad"
    assert fits["pad"].mean_life == fit_life(pad).mean_life
    assert fits["drum"].counts.worn == 7


def test_json_form_has_what_the_screen_shows() -> None:
    """Intervals in order, retirements by kind, and the maximum-likelihood fits."""
    document = as_json(fit_life(lives(10, 25), tool="pad"))
    for key in ("mean_life", "shape", "cv", "break_rate_per_life"):
        assert document[key]["low"] < document[key]["value"] < document[key]["high"]
    assert document["retirements"]["worn"] == 25
    assert [m["family"] for m in document["maximum_likelihood"]] == ["weibull", "gamma"]
