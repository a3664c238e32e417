"""Advice about what the wheels do not reach, and about parts that lie too near."""

from __future__ import annotations

import pytest
from support.takeoffs import Builder

from edgetime.estimating import advise
from edgetime.estimating.pipeline import estimate_take_off
from edgetime.load import Options
from edgetime.takeoff import take_off
from edgetime.tooling import load_catalogue


@pytest.fixture(scope="module")
def catalogue():
    """Return the shipped catalogue."""
    return load_catalogue()


def advice(catalogue, builder, **options):
    """Return the advice on a drawing, by kind."""
    parts = take_off([builder.drawing()], catalogue.layers, profiles=tuple(catalogue.profiles))
    found: dict[str, list[str]] = {}
    for each in advise(estimate_take_off(parts, catalogue, Options(**options))):
        found.setdefault(each.kind, []).append(each.what)
    return found


def test_slot_is_to_be_wider_not_rounder(catalogue):
    """No corner radius helps a 760 × 70 mm cutout: 82 mm of width do, or wheels of 68 mm."""
    drawing = Builder().rectangle("EASED", 100, 100, 1500, 620)
    drawing.rectangle("SINK", 400, 300, 760, 70)
    found = advice(catalogue, drawing, cutout_method="precut")
    assert "inside-radius" not in found
    (wider,) = found["wider-opening"]
    assert "at least 82.0 mm wide (70.0 mm now" in wider
    (smaller,) = found["smaller-wheel"]
    assert "wheels and pads of 68 mm diameter" in smaller


def test_corners_of_a_wide_opening_are_to_be_rounder(catalogue):
    """The sharp corners of a 760 × 400 mm cutout are asked to be round, nothing to be wider."""
    drawing = Builder().rectangle("EASED", 100, 100, 1500, 620)
    drawing.rectangle("SINK", 400, 200, 760, 400)
    found = advice(catalogue, drawing, cutout_method="precut")
    assert "wider-opening" not in found
    (rounder,) = found["inside-radius"]
    assert "its 4 tight inside corners with a radius of at least 41.0 mm" in rounder


def test_parts_too_near_are_to_be_moved_apart(catalogue):
    """Two parts 60 mm apart: wheels of 80 mm cut into the neighbour."""
    drawing = Builder().rectangle("EASED", 100, 100, 800, 600)
    drawing.rectangle("EASED", 960, 100, 800, 600)
    found = advice(catalogue, drawing)
    assert any("needs 45.0 mm" in what for what in found["spacing"])
