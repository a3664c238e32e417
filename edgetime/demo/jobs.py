"""The invented jobs to come: a pipeline and a list for one shift of the demo's shop.

Names, days, lengths and probabilities are made up for this demo. The days are fixed, so that
equal calls make equal files: look at it from its first day, ``--from 2027-01-04``.
"""

from __future__ import annotations

PIPELINE_NAME = "pipeline.csv"
"""Name of the file in the demo's folder."""

WAITING_NAME = "waiting.csv"
"""Name of the list for one shift in the demo's folder."""

_WAITING = """\
# Invented jobs that wait for a shift; the days are fixed: edgetime shift --fit --day 2027-01-18.
# A job that is not drawn yet states cycle, area and parts instead.
name,drawing,quantity,due,ready,cycle,area,parts
Cafe by the lake,cafe-counters.dxf,2,2027-01-18,,,,
Cafe washroom,cafe-washroom.dxf,3,2027-01-19,,,,
Boathouse kitchen,,1,2027-01-18,1 h,80 min,5.5 m2,4
Villa staircase,,1,2027-02-15,,95 min,6 m2,9
"""

_JOBS = """\
# Invented jobs to come; the days are fixed: edgetime forecast --from 2027-01-04.
# drawing, or metres of edge by profile for what is not drawn yet; probability that it comes.
date,name,drawing,metres,stone,thickness,quantity,probability
2027-01-18,Cafe by the lake,cafe-counters.dxf,,granite,30 mm,1,100 %
2027-01-18,Cafe washroom,cafe-washroom.dxf,,granite,30 mm,1,100 %
2027-01-25,Terrace flats,,eased=38; flat-polish=6; seam=2.4,quartz,20 mm,6,90 %
2027-02-08,Boathouse kitchen,,half-bullnose=9; eased=14,granite,30 mm,1,70 %
2027-02-15,Ferry office,,eased=25; bevel=8,quartz,20 mm,2,60 %
2027-03-01,Harbour hotel,cafe-washroom.dxf,,granite,30 mm,12,40 %
2027-03-15,Villa staircase,,ogee=22; half-bullnose=30,marble,30 mm,1,50 %
"""


def demo_pipeline() -> str:
    """Return the text of the demo's pipeline; equal at every call."""
    return _JOBS


def demo_waiting() -> str:
    """Return the text of the demo's list for one shift; equal at every call."""
    return _WAITING
