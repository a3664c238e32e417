"""What may not count as a change, whatever the drawing; and sums that always agree."""

from __future__ import annotations

import cmath
import random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from support.takeoffs import QUARTER, RULES, Builder

from edgetime.comparison.revisions import compare_revisions
from edgetime.takeoff import take_off

FEW = settings(max_examples=8, deadline=None, suppress_health_check=list(HealthCheck))
LAYERS = ("EASED", "BULLNOSE", "WALL", "SEAM")


def a_load(chance: random.Random, parts: int) -> list[Builder]:
    """Return tops of random sizes, corners, profiles and openings, each as a builder."""
    out = []
    for k in range(parts):
        b = Builder()
        w, d, r = chance.randint(500, 2500), chance.randint(400, 700), chance.choice([0, 0, 60])
        x, y = 3000.0 * k, 0.0
        corners = [(x + r, y), (x + w, y), (x + w, y + d), (x, y + d)]
        ends = [*corners[1:], (x, y + r)]
        for a, c in zip(corners, ends, strict=True):
            b.line(chance.choice(LAYERS), a, c)
        if r:
            b.arc("EASED", (x, y + r), (x + r, y), QUARTER)
        if chance.random() < 0.6:
            b.rectangle(chance.choice(["CUTOUT", "SINK"]), x + 90, y + 90, chance.randint(90, 200),
                        chance.randint(90, 200))  # fmt: skip
        for n in range(chance.randint(0, 2)):
            b.circle("TAP", x + 330 + 60 * n, y + chance.randint(100, 300), 35)
        out.append(b)
    return out


def joined(builders, chance=None) -> Builder:
    """Return all curves in one drawing; with a chance in random order and direction."""
    out = Builder()
    for b in builders:
        out.curves += b.curves
    if chance is not None:
        chance.shuffle(out.curves)
        for c in out.curves:
            if chance.random() < 0.5:
                c.points, c.bulges = c.points[::-1], [-v for v in c.bulges[::-1]]
    for k, c in enumerate(out.curves):
        c.handle = f"{0x100 + k:X}"
    return out


def taken(builder, **units):
    return take_off([builder.drawing(**units)], RULES)


def lengths(take):
    (drawing,) = take.drawings
    return drawing.lengths_by_profile_mm


@FEW
@given(
    st.randoms(use_true_random=False), st.integers(1, 4), st.floats(-180.0, 180.0),
    st.floats(-9e3, 9e3), st.floats(-9e3, 9e3), st.booleans(),
)  # fmt: skip
def test_drawn_anew_is_no_change(chance, parts, degrees, dx, dy, inches):
    """Turned and shifted as a whole, in inches, in another order and direction: all the same."""
    old = a_load(chance, parts)
    before = taken(joined(old))
    turn = cmath.rect(1.0, degrees / 180.0 * cmath.pi)
    scale = 25.4 if inches else 1.0
    for b in old:
        for c in b.curves:
            z = [(turn * complex(x, y) + complex(dx, dy)) / scale for x, y in c.points]
            c.points = [(w.real, w.imag) for w in z]
    units = {"units": "in", "mm_per_unit": 25.4} if inches else {}
    revision = compare_revisions(taken(joined(old, chance), **units), before)
    assert {str(p.status) for p in revision.parts} == {"same"}
    assert not revision.changed


@FEW
@given(st.randoms(use_true_random=False), st.integers(2, 4))
def test_each_part_turned_by_itself_is_a_move(chance, parts):
    """No part changes, whatever its angle; those that moved are at most all."""
    builders = a_load(chance, parts)
    before = taken(joined(builders))
    for k, b in enumerate(builders):
        turn = cmath.rect(1.0, chance.uniform(-3.1, 3.1))
        for c in b.curves:
            z = [turn * complex(x - 3000.0 * k, y) + 6000.0 * k for x, y in c.points]
            c.points = [(w.real, w.imag) for w in z]
    revision = compare_revisions(taken(joined(builders, chance)), before)
    assert {str(p.status) for p in revision.parts} <= {"same", "moved"}


@FEW
@given(st.randoms(use_true_random=False), st.integers(1, 3), st.integers(1, 3))
def test_lengths_differ_as_the_take_offs_do(chance, before, after):
    """By profile, and the listed edges account for the whole difference."""
    old, new = taken(joined(a_load(chance, before))), taken(joined(a_load(chance, after)))
    revision = compare_revisions(new, old)
    for profile in revision.profiles:
        want = lengths(new).get(profile.profile, 0.0) - lengths(old).get(profile.profile, 0.0)
        assert profile.change_mm == pytest.approx(want, abs=1e-9)
        told = 0.0
        for part in revision.parts:
            for edge in part.edges:
                told += edge.length_mm or 0.0 if edge.profile == profile.profile else 0.0
                told -= edge.old_length_mm or 0.0 if edge.old_profile == profile.profile else 0.0
            for whole, sign in ((part.new, 1.0), (part.old, -1.0)):
                if whole is not None and str(part.status) in {"added", "removed"}:
                    told += sign * sum(
                        e.length_mm for e in whole.all_edges if e.profile == profile.profile
                    )
        assert told == pytest.approx(profile.change_mm, abs=0.5)


@FEW
@given(st.randoms(use_true_random=False), st.integers(1, 3), st.integers(1, 3))
def test_backwards_it_is_the_opposite(chance, before, after):
    """What was added has gone the other way round, and differences change their sign."""
    old, new = taken(joined(a_load(chance, before))), taken(joined(a_load(chance, after)))
    there, back = compare_revisions(new, old), compare_revisions(old, new)
    assert there.counts["added"] == back.counts["removed"]
    assert there.counts["changed"] == back.counts["changed"]
    assert {p.profile: p.change_mm for p in there.profiles} == pytest.approx(
        {p.profile: -p.change_mm for p in back.profiles}
    )
