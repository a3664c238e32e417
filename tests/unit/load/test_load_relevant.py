"""Findings of the take-off beside a load that leaves parts out."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st
from support.catalogue import a_drawing, a_rectangle

from edgetime.errors import Where
from edgetime.findings import Finding
from edgetime.load import PartChoice
from edgetime.load.relevant import NEAR_MM, relevant_findings
from edgetime.takeoff import codes
from edgetime.takeoff.parts import TakeOff

PARTS = (
    a_rectangle(x=0.0, y=0.0, width=600.0, depth=400.0, name="p01"),
    a_rectangle(x=620.0, y=0.0, width=600.0, depth=400.0, name="p02"),
)


def at(x=None, y=None, path="load.dxf"):
    """Return an error at a place."""
    return Finding(codes.SELF_CROSSING, f"at {x}, {y}", Where(path=path, x_mm=x, y_mm=y))


def left(findings, *, only=("p01",), without=(), others=()):
    """Return what is left, the note on the rest apart."""
    drawing = replace(a_drawing(*PARTS), findings=tuple(findings))
    out = relevant_findings(TakeOff((drawing, *others)), PartChoice(only=only, without=without))
    return [f for f in out if f.code != "findings-left-out"], [
        f for f in out if f.code == "findings-left-out"
    ]


def test_what_lies_in_another_part_or_far_away_is_left_out():
    """What lies beside the part stays, unless it lies in the other one."""
    own, beside, unplaced = at(300.0, 200.0), at(-50.0, 200.0), at()
    other, far = at(625.0, 200.0), at(300.0, 5000.0)
    kept, notes = left([own, beside, unplaced, other, far])
    assert kept == [own, beside, unplaced]
    assert [(n.message.split()[0], n.where.key) for n in notes] == [("2", "--only")]
    kept, notes = left([own, other], only=(), without=("p01",))
    assert kept == [other]
    assert [(n.message.split()[0], n.where.key) for n in notes] == [("1", "--without")]


def test_a_drawing_of_which_nothing_is_cut_keeps_what_has_no_place():
    """An unknown layer there may hold the part that is wanted."""
    part = a_rectangle(x=0.0, y=0.0, name="p03")
    unplaced, placed = at(path="b.dxf"), at(300.0, 200.0, path="b.dxf")
    other = replace(a_drawing(part, path="b.dxf"), findings=(unplaced, placed))
    kept, notes = left([], others=[other])
    assert kept == [unplaced]
    assert len(notes) == 1


spots = st.tuples(st.floats(-2000.0, 3000.0), st.floats(-2000.0, 3000.0))


@given(st.lists(spots, max_size=20))
def test_choosing_every_part_hides_nothing_near_one(places):
    """Findings in or near a part are all there, and no choice at all leaves all of them."""
    findings = [at(*p) for p in places]
    kept, notes = left(findings, only=("p0*",))
    near = [f for f in findings if -NEAR_MM <= f.where.y_mm <= 400.0 and 0 <= f.where.x_mm <= 600]
    assert [f for f in near if f not in kept] == []
    assert bool(notes) == (len(kept) < len(findings))
    assert left(findings, only=())[0] == findings


@given(st.lists(spots, max_size=20))
def test_each_finding_is_shown_with_one_part_or_the_other(places):
    """What lies in a part is told in the load that cuts it, so that nothing is lost by a split."""
    findings = [at(*p) for p in places]
    one, two = left(findings)[0], left(findings, only=("p02",))[0]
    inside = [f for f in findings if 0 <= f.where.y_mm <= 400.0 and 0 <= f.where.x_mm <= 1220.0]
    assert [f for f in inside if f not in one and f not in two] == []
