"""The trade's own figure for a table of kitchen tops: common practice, no source.

About 85 sq ft of tops in 30 mm with a fast-metal stack (roughing at 100 in/min, second and
third metal at 350, polishing passes at 70): the whole cycle takes about 1 h 48 min, the first
polishing pad starts after about an hour, each of three pads takes about 16 min. The stack
that the figure is told for has no cutting-out step, so the cutouts lie on the table precut.
Nothing in the catalogue is tuned to these figures; the gaps are in docs/explanation/accuracy.md.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from support.kitchens import area_sq_ft, polished_mm, write_kitchen

from edgetime import Estimate, estimate

INCH_PER_MIN = 25.4 / 60.0
WITHIN = 0.20


@pytest.fixture(scope="module")
def kitchen(tmp_path_factory: pytest.TempPathFactory) -> Estimate:
    """Estimate the kitchen once."""
    path: Path = write_kitchen(tmp_path_factory.mktemp("trade") / "kitchen.dxf")
    return estimate(
        [path],
        machine="large",
        stone="granite",
        stack="fast-metal",
        thickness_mm=30.0,
        cutout_method="precut",
    )


def test_kitchen_is_the_one_the_figure_is_told_for(kitchen: Estimate) -> None:
    """Area, lengths and feeds are those of the trade's figure, and nothing is left out."""
    assert area_sq_ft() == pytest.approx(85.0, rel=0.01)
    assert kitchen.cycle.hand_mm == 0.0
    assert not [f for f in kitchen.findings if f.severity.value != "note"]
    treated = sum(
        length for (_, profile), length in kitchen.plan.treated_mm.items() if profile != "seam"
    )
    assert treated == pytest.approx(polished_mm(), rel=1e-6)
    feeds = {s.name: s.feed_mm_per_s / INCH_PER_MIN for s in kitchen.load.stack.steps}
    assert feeds["drum-75"] == pytest.approx(100.0)
    assert feeds["metal-2"] == pytest.approx(350.0)
    assert feeds["metal-3"] == pytest.approx(350.0)
    assert [feeds[f"polish-{n}"] for n in (1, 2, 3)] == pytest.approx([70.0] * 3)


def test_whole_cycle(kitchen: Estimate) -> None:
    """About 1 h 48 min."""
    assert kitchen.cycle.total_s == pytest.approx(108.0 * 60.0, rel=WITHIN)


def test_first_pad_starts_after_about_an_hour(kitchen: Estimate) -> None:
    """The first polishing pad starts after about an hour."""
    first = next(v for v in kitchen.cycle.visits if v.operation == "polish")
    assert first.starts_s == pytest.approx(3600.0, rel=WITHIN)


def test_each_pad_takes_about_16_minutes(kitchen: Estimate) -> None:
    """Three pads, about 16 min each."""
    pads = [v.time.total_s for v in kitchen.cycle.visits if v.operation == "polish"]
    assert len(pads) == 3
    assert pads == pytest.approx([960.0] * 3, rel=WITHIN)
