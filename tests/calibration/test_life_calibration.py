"""The stated chances and intervals of tool life come true as often as they say."""

from __future__ import annotations

import re

import life_simulation as sim
import numpy as np
import pytest

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def outcomes() -> dict[tuple[float, int], sim.Outcome]:
    """Fit 1000 tools for each catalogue and number of retirements."""
    return sim.main_outcomes()


@pytest.fixture(scope="module")
def services() -> dict[tuple[float, int], tuple[float, ...]]:
    """Order for 1000 tools for each catalogue and number of retirements."""
    return sim.service_outcomes()


@pytest.mark.parametrize("factor", sim.FACTORS)
@pytest.mark.parametrize("n", sim.RETIREMENTS)
def test_intervals_cover_what_they_say(outcomes, factor: float, n: int) -> None:
    """Of the next piece, of what is left, of the mean; also when the catalogue is wrong.

    With a catalogue twice too long and no retirement the mean may fall to 80 %.
    """
    o = outcomes[factor, n]
    assert o.new.size >= 500
    low = 0.80 if (factor, n) == (2.0, 0) else 0.85
    for covered in (o.new, o.left, o.mean):
        assert low <= covered.mean() <= 0.97


@pytest.mark.parametrize("factor", sim.FACTORS)
@pytest.mark.parametrize("n", [5, 20])
def test_orders_last_as_often_as_asked(services, factor: float, n: int) -> None:
    """Within 3 points of the service level, from 5 retirements on, whatever the catalogue."""
    for asked, lasted in zip(sim.SERVICES, services[factor, n], strict=True):
        assert abs(lasted - asked) <= 0.03


@pytest.mark.parametrize("factor", sim.FACTORS)
def test_stated_chances_come_true_after_20_ends(outcomes, factor: float) -> None:
    """In each band of stated chances the share that finishes is the one stated.

    Held to 3.5 standard errors of a count, so that one band in 2000 would fail by chance.
    """
    o = outcomes[factor, 20]
    for low, high in zip(sim.BINS[:-1], sim.BINS[1:], strict=True):
        inside = (o.chance >= low) & (o.chance < high)
        count = int(inside.sum())
        if count < 50:
            continue
        stated = float(o.chance[inside].mean())
        error = np.sqrt(stated * (1.0 - stated) / count)
        # A wrong catalogue leaves a trace after 20 pieces, of a few hundredths at most.
        trace = 0.0 if factor == 1.0 else 0.03
        assert abs(float(o.finished[inside].mean()) - stated) <= 3.5 * error + trace


def test_chances_are_worth_stating(outcomes) -> None:
    """After five ends the Brier score beats a constant by a tenth, whatever the catalogue."""
    for (_, n), o in outcomes.items():
        if n >= 5:
            assert o.brier < 0.9 * o.brier_constant


def test_ends_make_up_for_a_wrong_catalogue(outcomes) -> None:
    """After 20 ends the score is that of the right catalogue, to 0.005."""
    for factor in (2.0, 0.5):
        assert abs(outcomes[factor, 20].brier - outcomes[1.0, 20].brier) < 0.005


def test_the_page_shows_todays_service(services) -> None:
    """The table of service levels is what the simulation gives, to 0.3 %."""
    page = sim.PAGE.read_text(encoding="utf-8")
    for row in sim.service_rows(services):
        shown = re.search(
            rf"^\| {row[0]} \| {row[1]} \| ([\d.]+) \| ([\d.]+) \|$", page, re.MULTILINE
        )
        assert shown is not None, row
        assert [float(x) for x in shown.groups()] == pytest.approx(
            [float(x) for x in row[2:]], abs=0.3
        )


def test_the_page_shows_todays_coverage(outcomes) -> None:
    """The table of the page is what the simulation gives, to 0.3 %: libraries round apart."""
    page = sim.PAGE.read_text(encoding="utf-8")
    for row in sim.main_rows(outcomes):
        shown = re.search(
            rf"^\| {row[0]} \| {row[1]} \| ((?:.+ \| ){{4}}.+) \|$", page, re.MULTILINE
        )
        assert shown is not None, row
        figures = [float(x) for x in shown[1].split(" | ")]
        assert figures[:3] == pytest.approx([float(x) for x in row[2:5]], abs=0.3)
        assert figures[3:] == pytest.approx([float(x) for x in row[5:]], abs=0.003)
