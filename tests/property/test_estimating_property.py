"""Of any load: explanations and the order of work add up to the time of each tool."""

from __future__ import annotations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from test_passes_property import loads

from edgetime.errors import NothingToCut
from edgetime.estimating import explain_tool
from edgetime.estimating.pipeline import Estimate, estimate_load
from edgetime.load import Options
from edgetime.takeoff.parts import TakeOff

SOME = settings(max_examples=25, deadline=None)


@st.composite
def estimates(draw) -> Estimate:
    """Return the estimate of a load with any profiles, cutouts, holes and order."""
    load = draw(loads())
    try:
        return estimate_load(TakeOff(()), load, Options())
    except NothingToCut:
        assume(False)
        raise


@given(estimates())
@SOME
def test_the_terms_of_an_explanation_are_the_time_of_its_tool(est):
    """For each tool and each piece of the load, whatever it does."""
    names = {name for v in est.cycle.visits for name in (v.tool, v.piece)}
    for name in names:
        terms = [f.seconds for f in explain_tool(est, name) if f.seconds is not None]
        own = sum(v.time.total_s for v in est.cycle.visits if name in {v.tool, v.piece})
        assert sum(terms) == pytest.approx(own, abs=1e-6)
        assert min(terms) > -1e-9


@given(estimates())
@SOME
def test_the_order_of_work_is_the_cycle(est):
    """No gap, no overlap, no pass twice; each stay's rows as long as the stay."""
    now = 0.0
    for row in est.order:
        assert row.starts_s == pytest.approx(now, abs=1e-6)
        assert row.total_s >= row.travel_s >= 0.0
        now = row.ends_s
    assert now == pytest.approx(est.cycle.total_s, abs=1e-6)
    for number, visit in enumerate(est.cycle.visits, 1):
        own = [row for row in est.order if row.visit == number]
        assert sum(row.total_s for row in own) == pytest.approx(visit.time.total_s, abs=1e-6)
        assert sum(row.edge_mm for row in own) == pytest.approx(visit.edge_mm, abs=1e-6)
        runs = [row for row in own if row.kind == "pass"]
        assert 0 < len(runs) <= visit.passes
