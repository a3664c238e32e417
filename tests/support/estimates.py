"""Estimates of hand-made parts on the small catalogue, for the tests of what is asked of them."""

from __future__ import annotations

from edgetime.estimating.pipeline import Estimate, estimate_take_off
from edgetime.load import Options
from edgetime.takeoff.parts import TakeOff
from support.catalogue import a_catalogue, a_cutout, a_drawing, a_part, a_rectangle
from support.shapes import rectangle


def an_estimate(*parts, catalogue=None, **options) -> Estimate:
    """Return the estimate of parts as one drawing."""
    take_off = TakeOff((a_drawing(*parts),))
    return estimate_take_off(take_off, catalogue or a_catalogue(), Options(**options))


def two_tops(**options) -> Estimate:
    """Return the estimate of two eased rectangles, the first with a sink and a tap hole."""
    sink = a_cutout(rectangle(500.0, 300.0, x=700.0, y=650.0, radius=60.0), "eased")
    first = a_part(
        rectangle(1000.0, 600.0, x=500.0, y=500.0), "eased", sink,
        holes=[(1350.0, 900.0, 35.0)], name="p01",
    )  # fmt: skip
    second = a_rectangle("eased", x=2000.0, y=500.0, name="p02")
    return an_estimate(first, second, **options)
