"""What holds of fits and chances whatever the records."""

from __future__ import annotations

from math import log

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.lives import Lived, piece, tool_wear, wear_of

from edgetime.life import Family, fit_life, fit_likelihood, sample_of, survive

SHARES = st.floats(0.02, 3.0)
RECORDS = st.lists(
    st.builds(Lived, SHARES, st.sampled_from(["worn", "worn", "broken", "lost", None])), max_size=30
)
FEW = settings(max_examples=40, deadline=None)


@FEW
@given(RECORDS, st.floats(0.0, 2.0))
def test_chances_are_chances_and_fall(records: list[Lived], used: float) -> None:
    """Between 0 and 1, certain for no use, never rising with use."""
    fit = fit_life(records)
    further = np.linspace(0.0, 4.0, 60)
    for chance in (fit.outlast_wear(used, further), fit.outlast(used, further)):
        assert chance[0] == pytest.approx(1.0, abs=1e-12)
        assert (chance >= 0.0).all()
        assert (np.diff(chance) <= 1e-12).all()
    assert (fit.outlast(used, further) <= fit.outlast_wear(used, further) + 1e-15).all()


@FEW
@given(RECORDS)
def test_intervals_are_in_order_and_weights_add_up(records: list[Lived]) -> None:
    """Low, value, high; the weights of the nodes make one."""
    fit = fit_life(records)
    assert fit.weight.sum() == pytest.approx(1.0)
    for interval in (fit.mean_life, fit.cv, fit.shape_interval, fit.remaining_interval(0.3)):
        assert 0.0 < interval.low < interval.value < interval.high < float("inf")
    counts = fit.counts
    assert counts.worn + counts.broken + counts.lost + counts.in_service == len(records)


@FEW
@given(RECORDS, st.randoms(use_true_random=False))
def test_the_order_of_records_does_not_matter(records: list[Lived], chance: object) -> None:
    """Shuffled records give the same fit."""
    shuffled = list(records)
    chance.shuffle(shuffled)  # type: ignore[attr-defined]
    one, other = fit_life(records), fit_life(shuffled)
    assert one.family is other.family
    assert one.mean_life.value == pytest.approx(other.mean_life.value, rel=1e-9)
    assert one.mean_life.high == pytest.approx(other.mean_life.high, rel=1e-9)


@FEW
@given(RECORDS, SHARES)
def test_a_piece_that_lasts_never_shortens_the_life(records: list[Lived], share: float) -> None:
    """One more lower bound: the mean life does not fall, and breakage is not likelier.

    To within the step of the grid, which is laid anew for each set of records.
    """
    before, after = fit_life(records), fit_life([*records, Lived(share)])
    assert after.mean_life.value >= before.mean_life.value * 0.99
    assert after.break_rate.value < before.break_rate.value


@FEW
@given(
    st.lists(st.floats(0.1, 10.0), min_size=2, max_size=15, unique=True),
    st.lists(st.floats(0.1, 10.0), max_size=10),
    st.floats(1e-3, 1e6),
    st.sampled_from(list(Family)),
)
def test_the_unit_of_life_does_not_matter(
    worn: list[float], lasted: list[float], unit: float, family: Family
) -> None:
    """Metres or millimetres: the same shape, the scale in the unit, log L less n log unit."""
    # Lives that are all but equal have a likelihood that rises without end in the shape.
    if max(worn) < 1.05 * min(worn):
        return
    one = fit_likelihood(sample_of(worn, lasted), family=family)
    other = fit_likelihood(
        sample_of([unit * w for w in worn], [unit * c for c in lasted]), family=family
    )
    assert one is not None
    assert other is not None
    assert other.shape == pytest.approx(one.shape, rel=1e-3)
    assert other.scale == pytest.approx(unit * one.scale, rel=1e-3)
    assert other.log_likelihood == pytest.approx(
        one.log_likelihood - len(worn) * log(unit), abs=1e-4
    )


@FEW
@given(
    st.lists(st.tuples(st.integers(0, 2), st.floats(0.0, 0.3)), min_size=1, max_size=8),
    st.floats(0.0, 1.5),
)
def test_parts_share_out_the_chance_of_an_end(stays: list[tuple[int, float]], used: float) -> None:
    """The chances of an end on each stay add up to that of an end at all."""
    total = sum(share for _, share in stays)
    wear = wear_of(tool_wear({"length": total}, tuple(stays)))
    found = survive(wear, [piece("A", used)], {})
    (t,) = found.tools
    assert sum(e.chance for e in t.by_part) == pytest.approx(1.0 - t.chance, abs=1e-9)
    assert len(t.by_part) == len(stays)
    assert 0.0 <= found.chance <= found.chance_swapped + 1e-12 <= 1.0 + 1e-11


@FEW
@given(st.floats(0.3, 3.0), st.integers(0, 1000))
def test_many_pieces_of_one_life_decide(mean: float, seed: int) -> None:
    """Sixty pieces worn about one mean: the fit's mean life lies within 20 % of theirs."""
    rng = np.random.default_rng(seed)
    shares = mean * np.exp(0.3 * rng.standard_normal(60))
    fit = fit_life([Lived(float(s), "worn") for s in shares])
    assert abs(log(fit.mean_life.value / float(shares.mean()))) < log(1.2)
