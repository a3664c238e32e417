"""Every kind of sensitivity: the catalogue changed as it says, and the load estimated again."""

from __future__ import annotations

from dataclasses import replace

import pytest
from support.advised_tops import KITCHENS

from edgetime.demo import demo_drawings
from edgetime.estimating import estimate_take_off, read_take_off, sensitivity
from edgetime.load import Options
from edgetime.tooling import Operation, load_catalogue


def bar(folder):
    """Write an invented load and return its path."""
    return KITCHENS["bar"].write(folder / "tops.dxf")


def counters(folder):
    """Write a drawing of the demo, with seams, and return its path."""
    path = folder / "cafe-counters.dxf"
    path.write_text(demo_drawings()[path.name], encoding="utf-8")
    return path


def machine(catalogue, factor, *names):
    """Return a catalogue with some figures of its machine, single or by axis, times a factor."""
    medium = catalogue.machines["medium"]
    changes = {}
    for name in names:
        value = getattr(medium, name)
        changes[name] = (
            tuple(v * factor for v in value) if isinstance(value, tuple) else value * factor
        )
    return replace(catalogue, machines=catalogue.machines | {"medium": replace(medium, **changes)})


def steps(catalogue, factor, names, *operations):
    """Return a catalogue with some figures of its stack's steps times a factor."""
    stack = catalogue.stacks["standard"]
    changed = tuple(
        replace(s, **{name: getattr(s, name) * factor for name in names})
        if s.operation in operations
        else s
        for s in stack.steps
    )
    return replace(catalogue, stacks=catalogue.stacks | {"standard": replace(stack, steps=changed)})


def stock(catalogue, factor):
    """Return a catalogue with other stock on all sawn and cut edges."""
    shop = catalogue.shop
    left = {source: factor * amount for source, amount in shop.stock_mm.items()}
    return replace(catalogue, shop=replace(shop, stock_mm=left))


def spread(catalogue, factor):
    """Return a catalogue with another spread of the stone's thickness."""
    granite = catalogue.stones["granite"]
    other = replace(granite, thickness_spread_mm=factor * granite.thickness_spread_mm)
    return replace(catalogue, stones=catalogue.stones | {"granite": other})


FEED = ("feed_mm_per_s", "edge_feed_cap_mm_per_s")
LEADS = ("lead_mm", "overrun_mm", "overlap_mm")

CHANGES = {
    "acceleration of the axes": lambda c, f: machine(
        c, f, "axis_acceleration_mm_per_s2", "path_acceleration_mm_per_s2",
        "centripetal_mm_per_s2"),
    "jerk of the axes": lambda c, f: machine(c, f, "axis_jerk_mm_per_s3"),
    "corner tolerance": lambda c, f: machine(c, f, "corner_tolerance_mm"),
    "exchanging and measuring a tool": lambda c, f: machine(c, f, "exchange_s", "measure_s"),
    "spindle run-up": lambda c, f: machine(c, 1.0 / f, "spindle_up_s"),
    "traverse speed": lambda c, f: machine(c, f, "rapid_mm_per_s"),
    "probing a part's thickness": lambda c, f: machine(c, f, "probe_s"),
    "wait for the water": lambda c, f: machine(c, f, "water_on_s"),
    "coring feed": lambda c, f: steps(c, f, FEED, Operation.CORE),
    "finger-bit feed": lambda c, f: steps(c, f, FEED, Operation.CUT),
    "roughing feed": lambda c, f: steps(c, f, FEED, Operation.ROUGH),
    "metal profile feeds": lambda c, f: steps(c, f, FEED, Operation.PROFILE),
    "seam and gauging feed": lambda c, f: steps(c, f, FEED, Operation.SEAM, Operation.GAUGE),
    "fine feed": lambda c, f: steps(c, f, FEED, Operation.FINE),
    "polishing feed": lambda c, f: steps(c, f, FEED, Operation.POLISH),
    "depth per step of coring and cutting": lambda c, f: steps(
        c, f, ("depth_step_mm",), Operation.CORE, Operation.CUT),
    "vertical feeds": lambda c, f: steps(
        c, f, ("plunge_mm_per_s", "retract_mm_per_s"), *Operation),
    "leads, overruns and overlap": lambda c, f: steps(c, f, LEADS, *Operation),
    "stock left by saw and waterjet": stock,
    "actual thickness over nominal": spread,
}  # fmt: skip


@pytest.mark.slow
@pytest.mark.parametrize(("write", "count"), [(bar, 19), (counters, 20)])
def test_both_ends_are_second_estimates(tmp_path, write, count):
    """Either end of every range, in the catalogue: the total moves by what was said."""
    catalogue = load_catalogue()
    parts = read_take_off([write(tmp_path)], catalogue)
    est = estimate_take_off(parts, catalogue, Options())
    effects = sensitivity(est, count=99)
    assert len(effects) == count
    for effect in effects:
        change = CHANGES[effect.assumption]
        for factor, said in (
            (effect.low_factor, effect.low_delta_s),
            (effect.high_factor, effect.high_delta_s),
        ):
            other = estimate_take_off(parts, change(catalogue, factor), Options())
            moved = other.cycle.total_s - est.cycle.total_s
            assert moved == pytest.approx(said, abs=1e-6), (effect.assumption, factor)
