"""What changed between two drawings, against changes known by hand."""

from __future__ import annotations

import math

import pytest
from support.takeoffs import QUARTER, RULES, Builder

from edgetime.comparison.revisions import compare_revisions
from edgetime.errors import UsageError
from edgetime.takeoff import take_off
from edgetime.tooling.layers import LayerRule, LayerRules, Meaning


def taken(*builders):
    return take_off([b.drawing(path=f"{k}.dxf") for k, b in enumerate(builders)], RULES)


def compared(old, new, **options):
    return compare_revisions(taken(new), taken(old), **options)


def top(x=0.0, width=1200.0, *, front="EASED", name="TOP", y=0.0, depth=600.0, b=None):
    """Draw a top of four lines, eased in front, a wall behind, eased on the left, a seam on the right."""
    b = b or Builder()
    corners = [(x, y), (x + width, y), (x + width, y + depth), (x, y + depth)]
    for k, layer in enumerate((front, "SEAM", "WALL", "EASED")):
        b.line(layer, corners[k], corners[(k + 1) % 4])
    return b.text(name, x + 0.5 * width, y + 0.4 * depth, height=20.0) if name else b


def statuses(revision):
    return [str(p.status) for p in revision.parts]


def edges(revision):
    """Return (change, old profile, profile, old length, length) of all edges that changed."""
    return sorted(
        (
            str(e.change), e.old_profile, e.profile,
            e.old_length_mm and round(e.old_length_mm, 6), e.length_mm and round(e.length_mm, 6),
        )
        for p in revision.parts for e in p.edges
    )  # fmt: skip


def openings(revision):
    return [
        (str(o.change), o.old_kind, o.kind, o.old_diameter_mm, o.diameter_mm)
        for p in revision.parts
        for o in p.openings
    ]


def test_nothing_changed():
    """The same lines as a polyline with overlays, begun elsewhere, run the other way."""
    b = Builder().closed("OUTLINE", [(1200, 600), (1200, 0), (700, 0), (0, 0), (0, 600)])
    b.line("EASED", (1200, 0), (0, 0)).line("SEAM", (1200, 600), (1200, 0))
    b.line("WALL", (0, 600), (1200, 600)).line("EASED", (0, 600), (0, 0))
    b.text("TOP", 500, 300, height=20.0)
    revision = compared(top(), b)
    assert statuses(revision) == ["same"]
    assert not revision.changed
    assert not revision.moved
    assert all(p.change_mm == pytest.approx(0.0, abs=1e-9) for p in revision.profiles)


def test_a_profile_changed():
    """The front gets another profile: one edge, and two lengths."""
    revision = compared(top(), top(front="BULLNOSE"))
    assert statuses(revision) == ["changed"]
    assert edges(revision) == [("profile", "eased", "half-bullnose", 1200.0, 1200.0)]
    assert {p.profile: p.change_mm for p in revision.profiles} == pytest.approx(
        {"eased": -1200.0, "half-bullnose": 1200.0, "seam": 0.0, "unfinished": 0.0}
    )


def test_a_top_is_wider():
    """Front and back are longer by 50, and the seam lies 50 further right."""
    revision = compared(top(), top(width=1250.0))
    assert edges(revision) == [
        ("length", "eased", "eased", 1200.0, 1250.0),
        ("length", "unfinished", "unfinished", 1200.0, 1250.0),
        ("moved", "seam", "seam", 600.0, 600.0),
    ]
    (part,) = revision.parts
    assert part.area_mm2 - part.old_area_mm2 == pytest.approx(50.0 * 600.0)
    assert part.moved is None


def test_a_profile_ends_elsewhere():
    """Of a front of 1200 the last 300 become a bullnose: one edge shorter, one new."""
    b = Builder().line("EASED", (0, 0), (900, 0)).line("BULLNOSE", (900, 0), (1200, 0))
    b.line("SEAM", (1200, 0), (1200, 600)).line("WALL", (1200, 600), (0, 600))
    b.line("EASED", (0, 600), (0, 0)).text("TOP", 600, 240, height=20.0)
    assert edges(compared(top(), b)) == [
        ("added", None, "half-bullnose", None, 300.0),
        ("length", "eased", "eased", 1200.0, 900.0),
    ]


def test_a_corner_gets_a_radius():
    """The arc is a new edge of a quarter of 2 pi 50; its neighbours are shorter by 50."""
    b = Builder().line("EASED", (50, 0), (1200, 0)).line("SEAM", (1200, 0), (1200, 600))
    b.line("WALL", (1200, 600), (0, 600)).line("EASED", (0, 600), (0, 50))
    b.arc("EASED", (0, 50), (50, 0), QUARTER).text("TOP", 600, 240, height=20.0)
    got = edges(compared(top(), b))
    assert got == [
        ("added", None, "eased", None, pytest.approx(25.0 * math.pi, abs=1e-5)),
        ("length", "eased", "eased", 600.0, 550.0),
        ("length", "eased", "eased", 1200.0, 1150.0),
    ]


@pytest.mark.parametrize("angle", [0.0, 90.0, 180.0, 37.3])
def test_a_part_moved_beside_another(angle):
    """One part turned and shifted; the other stays and says where the drawing is."""
    two = top(b=top(3000.0, 1000.0, name="OTHER"))
    moved = top(b=top(3000.0, 1000.0, name="OTHER"))
    way = complex(math.cos(math.radians(angle)), math.sin(math.radians(angle)))
    for c in moved.curves[4:]:
        z = [way * complex(*p) + complex(-200, 1500) for p in c.points]
        c.points = [(p.real, p.imag) for p in z]
    at = way * complex(moved.texts[1].x_mm, moved.texts[1].y_mm) + complex(-200, 1500)
    moved.texts.pop()
    moved.text("TOP", at.real, at.imag, height=20.0)
    revision = compared(two, moved)
    found = {p.name: p for p in revision.parts}
    assert found["OTHER"].status == "same"
    assert found["TOP"].status == "moved"
    assert not revision.changed
    assert revision.moved
    shift = found["TOP"].moved
    want = way * complex(600, 300) + complex(-200, 1500) - complex(600, 300)
    assert (shift.x_mm, shift.y_mm) == pytest.approx((want.real, want.imag), abs=1e-6)
    assert math.cos(shift.rotation_rad) == pytest.approx(way.real, abs=1e-9)


def test_a_mirrored_part_is_another():
    """It has gone and come, and each says of which it is the image; its own image is the same."""
    image = top()
    for c in image.curves:
        c.points = [(-x, y) for x, y in c.points]
    image.texts.clear()
    image.text("TOP", -600, 240, height=20.0)
    revision = compared(top(), image)
    assert statuses(revision) == ["added", "removed"]
    assert [p.mirror_of for p in revision.parts] == ["p01", "p01"]
    plain = Builder().rectangle("EASED", 0, 0, 900, 400)
    mirrored = Builder().rectangle("EASED", -900, 0, 900, 400)
    assert statuses(compared(plain, mirrored)) == ["same"]


def test_parts_come_and_go():
    """A part between two others is new, one of another size has gone; nothing else changes."""
    old = top(b=top(1500.0, 800.0, name="GONE"))
    new = top(b=top(5000.0, 2100.0, name="NEW", depth=300.0))
    found = {(p.name or p.old_name): str(p.status) for p in compared(old, new).parts}
    assert found == {"TOP": "same", "NEW": "added", "GONE": "removed"}


def test_names_by_position_do_not_count():
    """A part put in before others renames them all; only it is new."""
    old = top(1500.0, 800.0, name="", b=top(3000.0, 900.0, name=""))
    new = top(1500.0, 800.0, name="", b=top(3000.0, 900.0, name="", b=top(name="")))
    revision = compared(old, new)
    assert statuses(revision) == ["added", "same", "same"]
    assert not any(p.renamed for p in revision.parts)


def test_parts_numbered_anew_are_matched_by_shape():
    """Numbers 1 to 3 become 2 to 4 behind a new 1."""
    widths = [700.0, 900.0, 1100.0]
    old, new = Builder(), Builder()
    for k, width in enumerate(widths):
        top(1500.0 * k, width, name=f"BAY {k + 1}", b=old)
        top(1500.0 * k, width, name=f"BAY {k + 2}", b=new)
    top(6000.0, 1300.0, name="BAY 1", b=new)
    revision = compared(old, new)
    assert [(p.old_name, p.name, str(p.status)) for p in revision.parts] == [
        ("BAY 1", "BAY 2", "same"), ("BAY 2", "BAY 3", "same"), ("BAY 3", "BAY 4", "same"), (None, "BAY 1", "added"),
    ]  # fmt: skip
    assert all(p.renamed for p in revision.parts[:3])


def test_a_name_speaks_louder_than_another_shape():
    """A becomes as wide as a new part N is not; N is a copy of the old A."""
    old = top(name="A", b=top(2000.0, 900.0, name="B"))
    new = top(0.0, 1230.0, name="A", b=top(2000.0, 900.0, name="B"))
    top(4000.0, 1200.0, name="N", b=new)
    found = {p.name: (p.old_name, str(p.status)) for p in compared(old, new).parts}
    assert found == {"A": ("A", "changed"), "B": ("B", "same"), "N": (None, "added")}


def test_a_renamed_and_changed_part_is_found_by_likeness():
    """Another name and another width, and nothing else it could be."""
    revision = compared(top(name="A"), top(width=1260.0, name="B"))
    (part,) = revision.parts
    assert (part.status, part.renamed) == ("changed", True)


def test_openings():
    """A tap hole moves by 40 and 30, a basin is larger, one hole has gone, one is new."""
    old = top().rectangle("CUTOUT", 300, 150, 400, 300).circle("TAP", 900, 500, 35)
    old.circle("TAP", 1100, 100, 35)
    new = top().rectangle("CUTOUT", 300, 150, 420, 300).circle("TAP", 940, 530, 35)
    new.circle("TAP", 100, 100, 50)
    revision = compared(old, new)
    found = openings(revision)
    assert sorted(found, key=str) == sorted(
        [
            ("resized", "cutout", "cutout", None, None),
            ("moved", "hole", "hole", 35.0, 35.0),
            ("added", None, "hole", None, 50.0),
            ("removed", "hole", None, 35.0, None),
        ],
        key=str,
    )
    (moved,) = [o for p in revision.parts for o in p.openings if o.change == "moved"]
    assert moved.moved[:2] == pytest.approx((40.0, 30.0))
    assert edges(revision) == [
        ("length", "unfinished", "unfinished", 400.0, 420.0),
        ("length", "unfinished", "unfinished", 400.0, 420.0),
        ("moved", "unfinished", "unfinished", 300.0, 300.0),
    ]
    assert (revision.holes.count, revision.holes.old_count) == (2, 2)


def test_a_cutout_gets_a_profile():
    """Its line stays; four edges have another profile."""
    old, new = top().rectangle("CUTOUT", 300, 150, 400, 300), top()
    new.rectangle("SINK", 300, 150, 400, 300)
    revision = compared(old, new)
    assert openings(revision) == []
    assert {e[:3] for e in edges(revision)} == {("profile", "unfinished", "flat-polish")}
    assert sum(e[4] for e in edges(revision)) == pytest.approx(1400.0)


def test_an_ellipse_like_curve_is_one_edge():
    """Many arcs that meet smoothly are one side, however they are divided."""

    def oval(count, grow=0.0):
        a, c = 400.0 + grow, 250.0
        t = [2 * math.pi * k / count for k in range(count)]
        points = [(a * math.cos(v), c * math.sin(v)) for v in t]
        bulges = []
        for k in range(count):
            p, q = points[k], points[(k + 1) % count]
            v = t[k] + math.pi / count
            m = (a * math.cos(v), c * math.sin(v))
            chord = math.dist(p, q)
            sag = abs((q[0] - p[0]) * (p[1] - m[1]) - (p[0] - m[0]) * (q[1] - p[1])) / chord
            bulges.append(2 * sag / chord)
        return Builder().closed("EASED", points, bulges)

    assert statuses(compared(oval(96), oval(64))) == ["same"]
    revision = compared(oval(96), oval(96, 30.0))
    assert len(edges(revision)) == 1
    assert edges(revision)[0][:3] == ("length", "eased", "eased")


def test_a_round_table_turns_with_its_hole():
    """A circle has no corner: its hole shows how far it was turned."""
    old = Builder().circle("EASED", 0, 0, 900).circle("TAP", 300, 0, 35)
    old.rectangle("EASED", 2000, 0, 800, 500)
    new = Builder().circle("EASED", 0, 0, 900).circle("TAP", 0, 300, 35)
    new.rectangle("EASED", 2000, 0, 800, 500)
    revision = compared(old, new)
    found = {str(p.status): p for p in revision.parts}
    assert found["moved"].moved.rotation_rad == pytest.approx(math.pi / 2)
    assert sorted(statuses(revision)) == ["moved", "same"]


def test_a_divided_part():
    """A new seam halves a top: one part changed, one new; the seam counts on both sides."""
    old = Builder().rectangle("EASED", 0, 0, 3000, 600)
    new = Builder()
    new.line("EASED", (0, 600), (0, 0)).line("EASED", (0, 0), (1800, 0))
    new.line("SEAM", (1800, 0), (1800, 600)).line("EASED", (1800, 600), (0, 600))
    new.line("EASED", (2000, 0), (3200, 0)).line("EASED", (3200, 0), (3200, 600))
    new.line("EASED", (3200, 600), (2000, 600)).line("SEAM", (2000, 600), (2000, 0))
    revision = compared(old, new)
    assert sorted(statuses(revision)) == ["added", "changed"]
    seams = revision.seams
    assert (seams.old_count, seams.count) == (0, 2)
    assert seams.length_mm == pytest.approx(1200.0)


def test_nothing_on_one_side():
    """A drawing without a part against one with a part, and against itself."""
    none = Builder().line("EASED", (0, 0), (100, 0))
    assert statuses(compared(none, top())) == ["added"]
    assert statuses(compared(top(), none)) == ["removed"]
    assert not compared(none, none).changed


def test_several_drawings_are_one_load():
    """A part that moves from one drawing to another is the same part."""
    old = taken(top(), top(3000.0, 800.0, name="B"))
    new = taken(top(b=top(3000.0, 800.0, name="B")))
    assert statuses(compare_revisions(new, old)) == ["same", "same"]


@pytest.mark.parametrize("tolerance_mm", [0.0, -1.0, 6.0, math.nan])
def test_a_tolerance_out_of_range_is_refused(tolerance_mm):
    """Nothing would coincide, or everything."""
    with pytest.raises(UsageError, match="tolerance"):
        compared(top(), top(), tolerance_mm=tolerance_mm)


def test_the_tolerance_decides():
    """A front moved by 0.3 mm is the same within half a millimetre only."""
    moved = top(depth=600.3)
    assert statuses(compared(top(), moved)) == ["changed"]
    assert statuses(compared(top(), moved, tolerance_mm=0.5)) == ["same"]


def test_hundreds_of_equal_parts_are_matched_in_place():
    """Forty copies, one gone and one turned: two changes."""
    old, new = Builder(), Builder()
    for k in range(40):
        top(1500.0 * k, name="VANITY", b=old)
        if k == 7:
            continue
        top(1500.0 * k, name="VANITY", b=new)
    for c in new.curves[-4:]:
        c.points = [(2 * 59100.0 - x, 600.0 - y) for x, y in c.points]
    found = statuses(compared(old, new))
    assert (found.count("same"), found.count("moved"), found.count("removed")) == (38, 1, 1)


def groove(x, *, length=300.0, lines=1):
    """Draw the top with a drainer groove across, in one line or in pieces."""
    b = top()
    for k in range(lines):
        ends = [(x, 100.0 + length * (k + n) / lines) for n in (0, 1)]
        b.line("DRAINER", *ends)
    return b


def test_a_groove_moved_on_its_part():
    """Nothing of the outline or the lengths changed, but the groove lies 200 further right."""
    revision = compared(groove(300.0), groove(500.0))
    (part,) = revision.parts
    assert (part.status, part.recesses_changed) == ("changed", True)
    assert part.recess_mm == part.old_recess_mm == 300.0
    assert part.number == 1


def test_a_groove_in_pieces_is_the_same():
    """One line or three; with the part or with the whole drawing it may also be turned."""
    assert statuses(compared(groove(300.0), groove(300.0, lines=3))) == ["same"]
    turned = groove(300.0)
    for c in turned.curves:
        c.points = [(-y, x) for x, y in c.points]
    turned.texts.clear()
    turned.text("TOP", -240, 600, height=20.0)
    assert statuses(compared(groove(300.0), turned)) == ["same"]


def test_profiles_that_changed_sides_are_no_mirror_image():
    """The blank lies where it was: the wall is now in front, the polished edge behind."""
    swapped = Builder().line("WALL", (0, 0), (900, 0)).line("EASED", (900, 0), (900, 500))
    swapped.line("EASED", (900, 500), (0, 500)).line("SEAM", (0, 500), (0, 0))
    plain = Builder().line("EASED", (0, 0), (900, 0)).line("EASED", (900, 0), (900, 500))
    plain.line("WALL", (900, 500), (0, 500)).line("SEAM", (0, 500), (0, 0))
    revision = compared(top(x=3000.0, b=plain), top(x=3000.0, b=swapped))
    assert statuses(revision) == ["changed", "same"]
    assert edges(revision) == [
        ("profile", "eased", "unfinished", 900.0, 900.0),
        ("profile", "unfinished", "eased", 900.0, 900.0),
    ]


def test_a_sink_on_the_other_side_has_moved():
    """From 100..400 to 500..800 of 900: the mirror image of the part, in the same blank."""
    old, new = (
        top(
            x=3000.0,
            b=Builder().rectangle("EASED", 0, 0, 900, 500).rectangle("SINK", x, 50, 300, 300),
        )
        for x in (100, 500)
    )
    revision = compared(old, new)
    assert statuses(revision) == ["changed", "same"]
    (opening,) = revision.parts[0].openings
    assert (opening.change, opening.moved[:2]) == ("moved", pytest.approx((400.0, 0.0)))


def test_wider_by_little_more_than_the_tolerance_is_no_move():
    """Laid middle on middle it is the same within 0.1 mm, and 0.075 mm is no distance."""
    revision = compared(top(), top(width=1200.15))
    assert statuses(revision) == ["same"]
    assert not revision.moved


def test_a_cutout_made_otherwise():
    """The line stays, the layer says that it is open already."""
    old, new = (top().rectangle(layer, 200, 100, 400, 300) for layer in ("BASIN", "PRECUT"))
    rules = LayerRules(
        (
            LayerRule("BASIN", Meaning.CUTOUT, profile="flat-polish", method="milled"),
            LayerRule("PRECUT", Meaning.CUTOUT, profile="flat-polish", method="precut"),
            *RULES.rules,
        ),
        source="layers.toml",
    )
    revision = compare_revisions(take_off([new.drawing()], rules), take_off([old.drawing()], rules))
    (opening,) = revision.parts[0].openings
    assert (opening.change, opening.old_method, opening.method) == ("method", "milled", "precut")
    assert opening.moved is None
