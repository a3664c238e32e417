"""A job that is told and not drawn meets the table, its zones and the catalogue as a drawn one."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.shifts import rules

from edgetime.errors import PlanError, Where
from edgetime.shift import Job, undrawn_load
from edgetime.tooling import load_catalogue

CATALOGUE = load_catalogue()
MACHINE = replace(CATALOGUE.machines["medium"], table_mm=(3600.0, 2000.0))
FT2 = 304.8**2


def _told(area_mm2, by, **more):
    job = Job(name="kitchen", cycle_s=3600.0, area_mm2=area_mm2, parts=4, **more)
    return undrawn_load(job, MACHINE, CATALOGUE, by)


def test_a_job_of_more_area_than_the_table_is_refused() -> None:
    """200 sq ft on a table of 3.6 x 2 m, 77.5 sq ft: at the place of its area, at least 3 loads."""
    place = Where(path="jobs.csv", line=7, key="area")
    with pytest.raises(
        PlanError, match=r"200 sq ft\) of parts; the table of medium has 7\.20 m²"
    ) as told:
        _told(200 * FT2, rules(), places={"area": place})
    assert told.value.where == place
    assert "at least 3 loads" in told.value.remedy


@given(
    st.floats(0.01, 40.0),
    st.integers(1, 8),
    st.none() | st.floats(500.0, 4000.0),
)
def test_zones_of_a_told_job(area_m2, zones, length_mm) -> None:
    """It takes the zones its area needs, a finding from two on; never more than there are."""
    by = rules(zones=zones, zone_length_mm=length_mm)
    zone_m2 = (length_mm or 3600.0 / zones) * 2000.0 / 1e6
    if area_m2 > zones * zone_m2 * (1 + 1e-6):
        with pytest.raises(PlanError, match="of parts"):
            _told(area_m2 * 1e6, by)
    elif area_m2 < zones * zone_m2 * (1 - 1e-6):
        load, findings = _told(area_m2 * 1e6, by)
        assert (load.zones - 1) * zone_m2 <= area_m2 * (1 + 1e-6)
        assert area_m2 <= load.zones * zone_m2 * (1 + 1e-6)
        assert [f.code for f in findings] == ["load-larger-than-zone"] * (load.zones > 1)


def test_a_full_table_is_not_refused() -> None:
    """As much as the table has, to rounding."""
    load, findings = _told(math.nextafter(7.2e6, 8e6), rules())
    assert load.zones == 1
    assert findings == ()
