"""The plan shows what the take-off measured, where it is, and nothing that anybody injected."""

from __future__ import annotations

import xml.etree.ElementTree as ET

import numpy as np
import pytest
from support.estimates import two_tops
from support.foreign_layers import drawn, german
from support.kitchens import write_kitchen
from support.takeoffs import RULES, Builder
from svgelements import Path as SvgPath

from edgetime.drawing import read_drawing
from edgetime.estimating import estimate, read_take_off
from edgetime.moves import MoveKind
from edgetime.picture import Show, draw_plan
from edgetime.picture.scene import BETWEEN_MM
from edgetime.picture.styles import letter, profile_strokes
from edgetime.picture.tools import ranges
from edgetime.takeoff import take_off
from edgetime.tooling import load_catalogue

SVG = "{http://www.w3.org/2000/svg}"


def tree(svg):
    return ET.fromstring(svg)  # noqa: S314  our own picture


def classed(root, name):
    return [g for g in root.iter(f"{SVG}g") if g.get("class") == name]


def edges(root):
    return [p for g in classed(root, "edges") for p in g.iter(f"{SVG}path")]


def test_drawn_lengths_are_the_take_offs(tmp_path):
    """A general SVG library measures every edge as long as the take-off says."""
    est = estimate([write_kitchen(tmp_path / "kitchen.dxf")])
    found = edges(tree(draw_plan(est)))
    assert len(found) == sum(len(c.edges) for p in est.load.parts for c in p.part.contours())
    for path in found:
        length = SvgPath(path.get("d")).length(error=1e-9)
        # The ellipse is drawn by arcs within 1e-3 of its length, everything else exactly.
        assert length == pytest.approx(float(path.get("data-length-mm")), abs=2e-3)


def test_the_sums_of_the_legend_are_the_take_offs(tmp_path):
    """Edge by profile, added up over the drawn edges."""
    catalogue = load_catalogue()
    found = read_take_off([write_kitchen(tmp_path / "kitchen.dxf")], catalogue)
    root = tree(draw_plan(found))
    sums = {}
    for group in classed(root, "edges"):
        name = group.get("data-profile")
        sums[name] = sum(float(p.get("data-length-mm")) for p in group)
    assert sums == pytest.approx(found.drawings[0].lengths_by_profile_mm)
    told = " ".join(t.text for t in classed(root, "legend")[0].iter(f"{SVG}text"))
    for name, length in sums.items():
        assert f"{name}  {length / 1e3:.3f} m" in told


def test_y_points_up():
    """What is above in the drawing is above in the picture, and arcs bulge the same way."""
    low = Builder().rectangle("OUTLINE", 0, 0, 400, 100)
    found = take_off([low.rectangle("OUTLINE", 0, 500, 400, 100).drawing()], RULES)
    root = tree(draw_plan(found))
    tops = [
        float(t.get("y")) for t in root.iter(f"{SVG}text") if t.text in {"p01", "p02"}
    ]  # p01 is the upper row
    assert tops[0] < tops[1]
    bulged = Builder().circle("OUTLINE", 0, 0, 300).drawing()
    box = SvgPath(edges(tree(draw_plan(take_off([bulged], RULES))))[0].get("d")).bbox()
    assert box == pytest.approx((-150, -150, 150, 150), abs=1e-6)


def test_several_drawings_lie_side_by_side():
    """Drawn on the same spot, they would hide each other."""
    two = [Builder().rectangle("OUTLINE", 0, 0, 400, 100).drawing(path=n) for n in ("a", "b")]
    boxes = [SvgPath(p.get("d")).bbox() for p in edges(tree(draw_plan(take_off(two, RULES))))]
    assert min(b[0] for b in boxes) == 0.0
    starts = sorted({round(min(b[0] for b in boxes if b[0] >= x)) for x in (0, 401)})
    assert starts == [0, round(400 + BETWEEN_MM)]


def test_layers_without_a_rule_are_shown_as_drawn(tmp_path):
    """With no part at all the curves are there, named by layer, and as long as drawn."""
    path, _ = drawn(german, tmp_path)
    found = read_take_off([path], load_catalogue())
    assert not found.parts
    root = tree(draw_plan(found, drawings=[read_drawing(path)]))
    (group,) = classed(root, "drawn")
    lengths = {
        p.get("data-layer"): SvgPath(p.get("d")).length(error=1e-9)
        for p in group.iter(f"{SVG}path")
    }
    unknown = {u.layer: u.length_mm for u in found.drawings[0].layers if u.means == "unknown"}
    assert "AUSSENKONTUR" in unknown
    named = {t.text for t in classed(root, "labels")[0].iter(f"{SVG}text")}
    assert set(unknown) <= named
    told = " ".join(t.text for t in classed(root, "legend")[0].iter(f"{SVG}text"))
    assert f"no layer rule: {', '.join(unknown)}" in told
    for layer, length in unknown.items():
        assert lengths[layer] == pytest.approx(length, rel=1e-3)


def test_findings_are_marked_where_they_are():
    """Each kind has one number, in the picture and in the legend."""
    drawing = Builder().rectangle("OUTLINE", 0, 0, 400, 200).line("CUTOUT", (50, 50), (90, 50))
    found = take_off([drawing.drawing()], RULES)
    (loose,) = [f for f in found.findings if f.where.x_mm is not None and f.code == "open-chain"]
    root = tree(draw_plan(found))
    (mark,) = [
        g for g in root.iter(f"{SVG}g") if loose.message in (g.findtext(f"{SVG}title") or "")
    ]
    place = mark.find(f"{SVG}text")
    assert float(place.get("x")) == pytest.approx(loose.where.x_mm, abs=0.01)
    number = mark.get("data-finding")
    told = [t.text for t in classed(root, "legend")[0].iter(f"{SVG}text")]
    assert any(t.startswith(f"{number} {loose.severity} open-chain") for t in told)


def test_paths_are_those_of_the_moves():
    """Cut paths, measured in the picture, are as long as the moves in the cut."""
    est = two_tops()
    root = tree(draw_plan(est, show=frozenset(Show)))
    moves = est.paths.moves
    for group in classed(root, "tool"):
        v = int(group.get("data-visit")) - 1
        cut = [p for p in group if p.get("class") == "cut"]
        drawn_mm = sum(SvgPath(p.get("d")).length(error=1e-6) for p in cut)
        mine = (moves.visit == v) & (moves.kind == MoveKind.CUT)
        level = mine & (moves.start[:, 2] == moves.end[:, 2])
        assert drawn_mm == pytest.approx(float(moves.length[level].sum()), rel=2e-3)
    assert len(classed(root, "tool")) == len(est.cycle.visits)


def test_one_tool_alone_is_shown():
    """Its starts are numbered in the order of work."""
    est = two_tops()
    tool = est.cycle.visits[-1].piece
    root = tree(draw_plan(est, show=frozenset(Show), tools=[tool]))
    assert {g.get("data-tool") for g in classed(root, "tool")} == {tool}
    (starts,) = classed(root, "starts")
    first = [row for row in est.order if row.piece == tool and row.kind == "pass"]
    numbers = [t.text for t in starts.iter(f"{SVG}text")]
    assert numbers[0].split("-")[0] == "1"
    assert max(int(n.split("-")[-1]) for n in numbers) == len(first)


@pytest.mark.parametrize(
    "name", ["<script>alert(1)</script>", '"/><circle r="9"/>', "a & b", "\x1b[31mred\x00"]
)
def test_names_are_only_text(name):
    """A part's name from a drawing adds no element and breaks no picture."""
    builder = Builder().rectangle("OUTLINE", 0, 0, 800, 400).text(name, 400, 200)
    root = tree(draw_plan(take_off([builder.drawing(path=name)], RULES)))
    allowed = {"svg", "title", "desc", "rect", "g", "path", "text", "circle"}
    assert {e.tag.removeprefix(SVG) for e in root.iter()} <= allowed
    assert not list(root.iter(f"{SVG}circle"))
    assert all(key != "onload" for e in root.iter() for key in e.attrib)


def test_profiles_are_told_apart_without_colour():
    """Seven profiles have seven dash patterns, and every one a letter."""
    strokes = profile_strokes({f"p{k}": 100.0 - k for k in range(7)} | {"unfinished": 900.0}, set())
    assert len({s.dash for n, s in strokes.items() if n != "unfinished"}) == 7
    assert strokes["unfinished"].width < min(strokes[f"p{k}"].width for k in range(7))
    assert [letter(k) for k in (0, 25, 26, 52)] == ["A", "Z", "AA", "BA"]


def test_circles_are_drawn_by_quarters():
    """A renderer that makes one cubic curve of an arc keeps them round: closed form."""
    drawing = Builder().circle("OUTLINE", 10, 20, 300).drawing()
    data = edges(tree(draw_plan(take_off([drawing], RULES))))[0].get("d")
    assert data.count("A") == 4
    path = SvgPath(data)
    assert path.length(error=1e-9) == pytest.approx(300 * np.pi, abs=1e-6)
    for share in np.linspace(0.0, 1.0, 17):
        at = path.point(share)
        assert np.hypot(at.x - 10, -at.y - 20) == pytest.approx(150, abs=1e-3)


def test_open_lines_are_drawn_and_named_in_the_legend():
    """A chain that does not close is in no part, and still seen; what is in a part is not."""
    b = Builder().rectangle("OUTLINE", 0, 0, 400, 200).chain("OUTLINE", [(500, 0), (900, 0)])
    drawing = b.line("EASED", (0, 0), (400, 0)).line("EASED", (0, 400), (300, 400)).drawing()
    root = tree(draw_plan(take_off([drawing], RULES), drawings=[drawing]))
    (group,) = classed(root, "drawn")
    lengths = {p.get("data-layer"): SvgPath(p.get("d")).length() for p in group.iter(f"{SVG}path")}
    assert lengths == pytest.approx({"OUTLINE": 400.0, "EASED": 300.0})
    told = [t.text for t in classed(root, "legend")[0].iter(f"{SVG}text")]
    assert "in no part: EASED, OUTLINE" in told


def test_marks_of_one_place_lie_side_by_side():
    """A part drawn twice and without profile has two marks, and both are inside the view."""
    b = Builder().rectangle("OUTLINE", 0, 0, 400, 200).rectangle("OUTLINE", 0, 0, 400, 200)
    found = take_off([b.drawing()], RULES)
    root = tree(draw_plan(found))
    (group,) = classed(root, "findings")
    at = [(float(t.get("x")), float(t.get("y"))) for t in group.iter(f"{SVG}text")]
    assert len(at) >= 2
    size = float(next(group.iter(f"{SVG}text")).get("font-size"))
    for k, one in enumerate(at):
        assert all(np.hypot(one[0] - x, one[1] - y) > 1.5 * size for x, y in at[:k])
    left, top, wide, high = map(float, root.get("viewBox").split())
    assert all(left < x < left + wide and top < y < top + high for x, y in at)


def test_names_do_not_lie_on_one_another():
    """Narrow parts close together: the boxes of all names are apart."""
    b = Builder()
    for k in range(12):
        b.rectangle("EASED", 130 * k, 0, 100, 700 if k % 2 else 25)
    root = tree(draw_plan(take_off([b.drawing()], RULES)))
    boxes = []
    for t in classed(root, "labels")[0].iter(f"{SVG}text"):
        high = float(t.get("font-size"))
        half = 0.5 * 0.5 * len(t.text) * high
        x, y = float(t.get("x")), float(t.get("y"))
        boxes.append((x - half, y - 0.7 * high, x + half, y))
    assert len(boxes) > 12
    for k, a in enumerate(boxes):
        for c in boxes[:k]:
            assert a[2] <= c[0] or c[2] <= a[0] or a[3] <= c[1] or c[3] <= a[1]


def test_numbers_of_starts_are_written_as_runs():
    """Not every number between the first and the last starts at one place."""
    assert ranges([1, 2, 3, 7]) == "1-3, 7"
    assert ranges([4]) == "4"
