"""The motion model against the trajectory planner of a real, general motion controller.

Tools and habits of the reference: ``tests/support/controller/bench.py``. The short part runs wherever
its Debian package is; the whole comparison takes minutes and is asked for with ``--long``.
"""

from __future__ import annotations

import pytest
from support.controller.bench import run, why_not
from support.controller.loads import jobs_of, write_bench, write_small_load
from support.controller.programs import (
    ACCELERATION,
    SHORT,
    SPEED,
    chopped_programs,
    limits_of,
    programs,
)
from support.kitchens import write_kitchen

from edgetime import estimate
from edgetime.demo import write_demo
from edgetime.motion import compute_motion

pytestmark = [
    pytest.mark.controller,
    pytest.mark.skipif(why_not() != "", reason=why_not()),
]
AXES = (SPEED,) * 3, (ACCELERATION,) * 3

LOADS = 0.003
BLENDS = 0.01
CHOPPED = 0.05
"""How far our times may be from the controller's."""


def compared(jobs, quicker):
    """Run programs on both sides; print and return each difference as a share."""
    timed = run(jobs, *AXES, k=quicker)
    out = {}
    for job in jobs:
        theirs, ours = timed[job.name].seconds, compute_motion(job.moves, limits_of(job)).total_s
        out[job.name] = ours / theirs - 1.0
        print(f"{job.name:44s} {theirs:9.3f} {ours:9.3f} s {100 * out[job.name]:+6.2f} %")
    return out


def check_programs(jobs):
    """Blends within 1 %, everything else within 0.3 %."""
    off = compared(jobs, 10.0)
    for job in jobs:
        within = BLENDS if job.tolerance_mm > 0.0 else LOADS
        assert abs(off[job.name]) <= within, (job.name, off[job.name])


def check_load(est, k):
    """Hold the whole load, and each stay of a tool, to 0.3 % of the time in motion."""
    work = jobs_of(est)
    machine = est.load.machine
    timed = run(
        [job for job, _ in work],
        machine.axis_speed_mm_per_s,
        machine.axis_acceleration_mm_per_s2,
        k=k,
        limit_s=800.0,
    )
    both = [
        (job.name, timed[job.name].by_move.sum(), est.motion.seconds[rows].sum())
        for job, rows in work
    ]
    both.append(("all", sum(b[1] for b in both), sum(b[2] for b in both)))
    for name, theirs, ours in both:
        print(f"{name:28s} {theirs:9.2f} {ours:9.2f} s {100 * (ours / theirs - 1):+6.2f} %")
        assert ours == pytest.approx(theirs, rel=LOADS), name


@pytest.mark.slow
@pytest.mark.timeout(300)
def test_ten_programs():
    """Straights, corners, arcs, blends and a chopped curve."""
    check_programs([job for job in programs() if job.name in SHORT])


@pytest.mark.slow
@pytest.mark.timeout(300)
def test_a_small_load(tmp_path):
    """One part with a cutout and a hole, on a machine with the controller's keys in its file."""
    drawing = write_small_load(tmp_path / "part.dxf")
    shop = write_bench(tmp_path / "shop")
    check_load(estimate([drawing], shop=shop, machine="bench", cutout_method="precut"), 20.0)


@pytest.mark.long
@pytest.mark.timeout(600)
def test_all_programs():
    """The 29 programs."""
    check_programs(programs())


@pytest.mark.long
@pytest.mark.timeout(600)
@pytest.mark.parametrize("job", chopped_programs(), ids=lambda job: job.name)
def test_chopped_curves(job):
    """Chords so short that look-ahead bounds the speed, in real time: within 5 %."""
    off = compared([job], 1.0)[job.name]
    assert abs(off) <= CHOPPED, off


@pytest.mark.long
@pytest.mark.timeout(1200)
def test_the_demo(tmp_path):
    """The demo's load, seven parts."""
    write_demo(tmp_path)
    drawings = sorted(tmp_path.glob("*.dxf"))
    write_bench(tmp_path)
    check_load(estimate(drawings, shop=tmp_path, machine="bench"), 20.0)


@pytest.mark.long
@pytest.mark.timeout(1200)
def test_the_trade_kitchen(tmp_path):
    """The kitchen of the trade check, with fast metals."""
    drawing = write_kitchen(tmp_path / "kitchen.dxf")
    shop = write_bench(tmp_path / "shop", size="large")
    check_load(
        estimate([drawing], shop=shop, machine="bench", stack="fast-metal", cutout_method="precut"),
        20.0,
    )
