"""Which parts are cut, how often, and how far apart the pieces of a divided part lie."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from support.catalogue import a_catalogue, a_drawing, a_load, a_part, a_rectangle
from support.estimates import an_estimate
from support.shapes import rectangle

from edgetime.errors import NothingToCut, UsageError
from edgetime.geometry.measure import bounds
from edgetime.geometry.path import Path
from edgetime.load import Copies, PartChoice, Placement, make_load
from edgetime.takeoff.parts import TakeOff

TOPS = [
    a_rectangle(x=100.0, y=100.0, width=600.0, depth=400.0, name="p01"),
    a_rectangle(x=900.0, y=100.0, width=600.0, depth=400.0, name="p02"),
]


def chosen(*parts, drawings=None, catalogue=None, place=(), **choice):
    """Return the load of a choice of parts."""
    take_off = TakeOff(tuple(drawings) if drawings else (a_drawing(*parts),))
    return make_load(take_off, catalogue or a_catalogue(), choice=PartChoice(**choice), place=place)


def ids(load):
    """Return the ids of the parts of a load."""
    return [p.part.part_id for p in load.parts]


def named(*names):
    """Return parts p01 … with names of their own, far apart."""
    return [
        replace(a_rectangle(x=1200.0 * k, width=300.0, depth=300.0, name=f"p{k + 1:02d}"), name=n)
        for k, n in enumerate(names)
    ]


@pytest.mark.parametrize(
    ("only", "without", "left"),
    [
        ((), (), ["p01", "p02", "p03"]),
        (("p02",), (), ["p02"]),
        (("P02", "island [1]"), (), ["p02", "p03"]),
        (("vanity*",), (), ["p01", "p02"]),
        (("*",), ("*2*",), ["p01", "p03"]),
        ((), ("Island*",), ["p01", "p02"]),
        (("p0[13]",), ("p01",), ["p03"]),
    ],
)
def test_parts_are_chosen_by_id_or_name(only, without, left):
    """Upper or lower case, with the wildcards of file names; a literal name comes first."""
    parts = named("VANITY", "Vanity (2)", "ISLAND [1]")
    assert ids(chosen(*parts, only=only, without=without)) == left


def test_places_of_parts_left_out_stay_empty():
    """What is cut lies where it did, also in a drawing that is placed."""
    place = [Placement(0, 200.0, 300.0)]
    every = chosen(*TOPS, place=place)
    second = chosen(*TOPS, place=place, only=("p02",))
    assert bounds(second.parts[0].part.outline.path) == bounds(every.parts[1].part.outline.path)


@pytest.mark.parametrize("option", ["only", "without"])
def test_unknown_parts_are_refused_with_near_names(option):
    """A slip of the pen: the option, the nearest name, and all there are."""
    with pytest.raises(UsageError, match="No part 'vanitty'") as caught:
        chosen(*named("VANITY", "ISLAND"), **{option: ("vanitty",)})
    assert "Did you mean 'VANITY'" in caught.value.remedy
    assert "p02 (ISLAND)" in caught.value.remedy
    assert caught.value.where.key == f"--{option}"


def test_nothing_left_is_nothing_to_cut():
    """All parts left out."""
    with pytest.raises(NothingToCut, match="No part is left"):
        chosen(*TOPS, without=("*",))


def test_copies_lie_in_a_grid_clear_of_one_another():
    """A 600 x 400 part on 4000 x 2500 mm with 100 mm pads and 60 mm drums, 2.5 mm of stock.

    The gauging disc asks for most: radius 60 + stock 2.5 + spacing 5 out, radius 60 and
    spacing 5 again: 132.5 mm. So a grid of 732.5 x 532.5 mm from (100, 100).
    """
    load = chosen(TOPS[0], copies=(Copies(0, 7),))
    assert ids(load) == ["p01", *[f"p01-{k}" for k in range(2, 8)]]
    corners = [bounds(p.part.outline.path)[:2] for p in load.parts]
    right = [(100.0 + 732.5 * k, 100.0) for k in range(5)]
    above = [(100.0, 632.5), (832.5, 632.5)]
    assert corners == [pytest.approx(c) for c in (*right, *above)]
    assert load.findings == ()
    assert len({p.part.name for p in load.parts}) == 7


def test_copies_take_their_own_time_each():
    """Every tool treats and cuts four times as much; no wheel comes too near to a copy."""
    one, four = an_estimate(TOPS[0]), an_estimate(
        TOPS[0], choice=PartChoice(copies=(Copies(0, 4),))
    )  # fmt: skip
    assert "neighbour-too-near" not in {f.code for f in four.findings}
    for a, b in zip(one.cycle.visits, four.cycle.visits, strict=True):
        assert b.treated_mm == pytest.approx(4.0 * a.treated_mm)
        assert b.time.cut_s == pytest.approx(4.0 * a.time.cut_s)
        assert b.time.lead_s == pytest.approx(4.0 * a.time.lead_s)


def test_copies_keep_off_other_drawings():
    """The place of the second drawing is left free."""
    other = a_drawing(a_rectangle(x=900.0, y=100.0, width=600.0, depth=400.0, name="p02"),
                      path="other.dxf")  # fmt: skip
    load = chosen(drawings=[a_drawing(TOPS[0]), other], copies=(Copies("load.dxf", 3),))
    boxes = np.array([bounds(p.part.outline.path) for p in load.parts])
    for i in range(len(boxes)):
        for j in range(i):
            apart = np.maximum(boxes[i, :2] - boxes[j, 2:], boxes[j, :2] - boxes[i, 2:]).max()
            assert apart >= 132.5 - 1e-6
    assert ids(load) == ["p01", "p01-2", "p01-3", "p02"]


def test_copies_that_do_not_fit_are_refused_with_how_many_do():
    """5 columns and 4 rows of the grid above: twenty; a table full is laid, one more is not."""
    assert len(chosen(TOPS[0], copies=(Copies(0, 20),)).parts) == 20
    with pytest.raises(UsageError, match="there is room for 20") as caught:
        chosen(TOPS[0], copies=(Copies(0, 21),))
    assert "--place" in caught.value.remedy


@pytest.mark.parametrize(
    "copies",
    [(Copies(0, 0),), (Copies(0, 501),), (Copies(1, 2),), (Copies("no.dxf", 2),),
     (Copies(0, 2), Copies("load.dxf", 3))],
)  # fmt: skip
def test_bad_copies_are_refused(copies):
    """None, too many, of no drawing, twice."""
    with pytest.raises(UsageError) as caught:
        chosen(TOPS[0], copies=copies)
    assert caught.value.where.key == "--copies"
    assert caught.value.remedy


def pieces(*outlines):
    """Return parts of polygons; each edge that another one shares is a seam."""
    parts = []
    sides = {frozenset((a, b)) for o in outlines for a, b in zip(o, [*o[1:], o[0]], strict=True)}
    count = dict.fromkeys(sides, 0)
    for o in outlines:
        for a, b in zip(o, [*o[1:], o[0]], strict=True):
            count[frozenset((a, b))] += 1
    for k, o in enumerate(outlines):
        names = [
            "seam" if count[frozenset((a, b))] > 1 else "eased"
            for a, b in zip(o, [*o[1:], o[0]], strict=True)
        ]
        path = Path.from_bulges([tuple(map(float, p)) for p in o], closed=True)
        parts.append(a_part(path, names, name=f"p{k + 1:02d}"))
    return parts


LEFT = [(300, 400), (1300, 400), (1300, 1000), (300, 1000)]
RIGHT = [(1300, 400), (2300, 400), (2300, 1000), (1300, 1000)]
# An L with a mitred joint from the inner to the outer corner.
LEG = [(300, 300), (900, 900), (900, 1900), (300, 1900)]
FRONT = [(300, 300), (2300, 300), (2300, 900), (900, 900)]
# A T: one piece below, two above that meet in a seam of their own.
BELOW = [(300, 300), (1300, 300), (2300, 300), (2300, 800), (1300, 800), (300, 800)]
ABOVE_1 = [(300, 800), (1300, 800), (1300, 1400), (300, 1400)]
ABOVE_2 = [(1300, 800), (2300, 800), (2300, 1400), (1300, 1400)]


def moves_of(outlines, gap_mm):
    """Return by how much each piece is moved."""
    parts = pieces(*outlines)
    laid = chosen(*parts, apart_mm=gap_mm).parts
    return [
        (p.part.outline.path.points - q.outline.path.points)[0].tolist()
        for p, q in zip(laid, parts, strict=True)
    ]


def test_two_pieces_are_laid_apart_across_their_seam():
    """The left one stays, the right one goes to the right by the gap."""
    assert moves_of([RIGHT, LEFT], 200.0) == [pytest.approx([200.0, 0.0]), [0.0, 0.0]]


def test_pieces_of_a_mitred_joint_move_square_to_it():
    """Across a joint at 45 degrees: each way by 200 / √2."""
    leg, front = moves_of([LEG, FRONT], 200.0)
    half = 200.0 / math.sqrt(2.0)
    moved = np.array(leg) - np.array(front)
    assert moved.tolist() == pytest.approx([-half, half])


def test_three_pieces_are_all_apart():
    """In a T every seam opens: along its normal the pieces are 200 mm apart."""
    below, first, second = map(np.array, moves_of([BELOW, ABOVE_1, ABOVE_2], 200.0))
    assert (first - below)[1] == pytest.approx(200.0)
    assert (second - below)[1] == pytest.approx(200.0)
    assert (second - first)[0] == pytest.approx(200.0)


def test_both_sides_of_a_seam_can_be_worked_when_apart():
    """Too near as drawn, and told with the gap that does; in order with that gap."""
    parts = pieces(LEFT, RIGHT)
    drawn = an_estimate(*parts)
    near = [f for f in drawn.findings if f.code == "neighbour-too-near"]
    assert near
    # The gauging disc of the catalogue: see the copies above.
    assert all("--apart 133 " in f.message for f in near)
    assert "--apart" in near[0].remedy
    apart = an_estimate(*parts, choice=PartChoice(apart_mm=133.0))
    assert {f.code for f in apart.findings}.isdisjoint({"neighbour-too-near", "parts-overlap"})
    seams = [v.treated_mm for v in apart.cycle.visits if v.tool == "seamer"]
    assert seams == pytest.approx([2 * 600.0])


def test_parts_without_a_common_seam_stay_and_are_told():
    """Parts that touch with other edges, or whose seams are far apart: a note, no move."""
    touching = [a_rectangle(x=100.0, width=400.0), a_rectangle(x=500.0, width=400.0, name="p02")]
    load = chosen(*touching, apart_mm=200.0)
    assert [p.part for p in load.parts] == touching
    assert "no-seam-to-lay-apart" in {f.code for f in load.findings}
    far = [
        a_part(rectangle(400.0, 400.0, x=900.0 * k + 100.0), "seam", name=f"p0{k}")
        for k in range(2)
    ]
    assert [p.part for p in chosen(*far, apart_mm=200.0).parts] == far


@pytest.mark.parametrize("gap", [0.0, -1.0, math.nan, math.inf, 5001.0])
def test_absurd_gaps_are_refused(gap):
    """No gap, none at all, or one as wide as no table."""
    with pytest.raises(UsageError) as caught:
        chosen(*pieces(LEFT, RIGHT), apart_mm=gap)
    assert caught.value.where.key == "--apart"


def test_without_a_choice_all_parts_lie_once_as_drawn():
    """The very parts of the take-off."""
    assert [p.part for p in a_load(*TOPS).parts] == TOPS


def test_copies_of_a_drawing_of_which_nothing_is_cut_are_refused():
    """Both options say something about it, and they contradict each other."""
    parts = named("SPLASH", "TABLE")
    drawings = [a_drawing(p, path=f"{p.name.lower()}.dxf") for p in parts]
    with pytest.raises(UsageError, match=r"3 copies of table\.dxf .* no part of it") as refused:
        chosen(drawings=drawings, only=["SPLASH"], copies=[Copies("table.dxf", 3)])
    assert refused.value.where.key == "--copies"
    left = chosen(drawings=drawings, only=["SPLASH"], copies=[Copies("table.dxf", 1)])
    assert ids(left) == ["p01"]
