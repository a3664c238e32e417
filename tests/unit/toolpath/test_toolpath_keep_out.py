"""Clamps, stops and cups against the swept wheels, by distances worked out by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest
from support.plans import a_load, a_part, a_pass, a_plan, a_run, a_step, a_tool
from support.shapes import rectangle
from support.takeoffs import Builder

from edgetime.findings import Severity
from edgetime.geometry.path import Path
from edgetime.load.place import Placement, placed_keep_outs
from edgetime.takeoff import take_off
from edgetime.tooling import Operation, check_shop, load_catalogue
from edgetime.tooling.keep_out import KeepOut, KeepOutKind
from edgetime.toolpath import build_tool_paths

OUTLINE = rectangle(1000.0, 600.0, x=500.0, y=500.0)


def an_area(path, kind=KeepOutKind.SOLID, name="clamp 1"):
    """Return a keep-out area."""
    return KeepOut(name, kind, (path,), "load.dxf", "CLAMPS", "2A")


def told(area, *passes, tools=None, parts=None, step=None, **changes):
    """Return the findings on keep-outs of one pass of a wheel of 100 mm around the outline."""
    load = a_load(parts or [a_part(OUTLINE)], tools=tools)
    load = replace(load, keep_outs=(area,))
    passes = passes or (a_pass(load, a_run(load), step or a_step(), **changes),)
    found = build_tool_paths(a_plan(load, list(passes))).findings
    return [f for f in found if f.code == "keep-out-near"]


@pytest.mark.parametrize(
    ("gap", "severity", "away"),
    [(106.0, None, 56.0), (103.0, Severity.WARNING, 53.0), (99.0, Severity.ERROR, 49.0)],
)
def test_clamp_beside_the_front(gap, severity, away):
    """The centre runs 50 mm before the front; a clamp `gap` before it is gap − 50 away."""
    found = told(an_area(rectangle(80.0, 60.0, x=900.0, y=500.0 - gap - 60.0)))
    assert [f.severity for f in found] == ([] if severity is None else [severity])
    for finding in found:
        assert f"within {away:.1f} mm of clamp 1; it needs 55.0 mm" in finding.message
        assert 900.0 <= finding.where.x_mm <= 980.0
        assert finding.where.y_mm == pytest.approx(450.0)
        assert (finding.where.layer, finding.where.handle) == ("CLAMPS", "2A")


def test_clamp_that_the_centre_runs_over_is_an_error():
    """A wheel whose centre is inside a large area is far from its lines, and yet over it."""
    (finding,) = told(an_area(rectangle(3000.0, 2000.0, x=-400.0, y=-400.0)))
    assert finding.severity is Severity.ERROR
    assert "within 0.0 mm" in finding.message


def test_open_line_is_in_the_way_too():
    """A stop drawn as one line, 99 mm from the left side."""
    line = Path.from_bulges([(401.0, 600.0), (401.0, 700.0)])
    (finding,) = told(an_area(line, name="STOP"))
    assert "within 49.0 mm of STOP" in finding.message


def test_lead_is_swept():
    """The clamp 120 mm before the front is clear of the cut and not of a straight lead of 100."""
    clamp = an_area(rectangle(1000.0, 60.0, x=500.0, y=320.0))
    assert told(clamp) == []
    (finding,) = told(clamp, step=a_step(lead="straight", lead_mm=100.0))
    assert finding.severity is Severity.ERROR


@pytest.mark.parametrize(("bottom", "found"), [(-30.0, 1), (-32.0, 1), (-20.0, 0)])
def test_cup_is_in_the_way_of_tools_that_reach_the_underside(bottom, found):
    """A cup that looks out 10 mm from under a slab of 30 mm; a clamp at the same place is hit in any case."""
    under = rectangle(100.0, 100.0, x=490.0, y=800.0)
    cup = an_area(under, KeepOutKind.CUP, "cup 4")
    assert len(told(cup, bottom_z_mm=bottom)) == found
    assert len(told(an_area(under), bottom_z_mm=bottom)) == 1


def test_last_depth_step_of_a_cut_meets_the_cup():
    """The first depth of a slot does not reach a cup under it, the last one does."""
    cutout = rectangle(400.0, 300.0, x=700.0, y=650.0, radius=60.0, hand=-1)
    tools = [a_tool(20.0, name="bit", shaft_mm=20.0)]
    load = replace(
        a_load([a_part(OUTLINE, cutout)], tools=tools),
        keep_outs=(an_area(rectangle(50.0, 50.0, x=690.0, y=780.0), KeepOutKind.CUP, "cup"),),
    )
    run = a_run(load, 0, 1)
    step = a_step(operation=Operation.CUT, tool="bit")
    depths = [
        a_pass(load, run, step, bottom_z_mm=z, number=k, count=2)
        for k, z in enumerate((-12.0, -32.0), 1)
    ]
    for passes, count in ((depths[:1], 0), (depths, 1)):
        found = build_tool_paths(a_plan(load, passes)).findings
        assert sum(f.code == "keep-out-near" for f in found) == count


# -- where they come from ---------------------------------------------------------------


def of_drawing(tmp_path, builder, **units):
    """Take off a drawing with layers for clamps and cups."""
    rules = tmp_path / "layers.toml"
    rules.write_text(
        '[[layer]]\nmatch = "CLAMP*"\nmeans = "keep-out"\n'
        '[[layer]]\nmatch = "CUPS"\nmeans = "cup"\n'
        '[[layer]]\nmatch = "EASED"\nmeans = "edge"\nprofile = "eased"\n'
    )
    return take_off(
        [builder.drawing(**units)], load_catalogue(layers=rules).layers, profiles=("eased",)
    )


def test_layers_give_clamps_and_cups(tmp_path):
    """Closed shapes, circles and open lines; in inches; they make no part and no finding."""
    drawing = Builder().rectangle("EASED", 10, 10, 40, 24).rectangle("CLAMP-1", 20, 4, 4, 3)
    drawing.circle("CUPS", 30, 20, 5).line("CLAMPS", (0, 0), (0, 8))
    result = of_drawing(tmp_path, drawing, units="in", mm_per_unit=25.4)
    (part,) = result.parts
    assert part.area_mm2 == pytest.approx(40 * 24 * 25.4**2)
    assert [f.code for f in result.findings] == []
    found = {k.layer: k for k in result.drawings[0].keep_outs}
    assert found["CUPS"].kind is KeepOutKind.CUP
    assert found["CLAMP-1"].kind is KeepOutKind.SOLID
    assert found["CLAMP-1"].bounds_mm == pytest.approx([508, 101.6, 609.6, 177.8])
    assert [p.closed for k in found.values() for p in k.paths].count(False) == 1


def test_hidden_layers_hold_no_clamps(tmp_path):
    """What is off or frozen is left out, as for parts."""
    drawing = Builder().rectangle("EASED", 10, 10, 400, 240)
    drawing.rectangle("CLAMP", 20, 40, 40, 30, visible=False)
    assert of_drawing(tmp_path, drawing).drawings[0].keep_outs == ()


def test_lines_of_one_block_are_one_area(tmp_path):
    """Three lines of a block inserted twice: two areas, named after the block."""
    drawing = Builder().rectangle("EASED", 10, 10, 400, 240)
    for insert, x in ((0, 500), (1, 600)):
        for a, b in (((x, 0), (x + 50, 0)), ((x + 50, 0), (x, 50)), ((x, 50), (x, 0))):
            drawing.line("CLAMP", a, b, insert=insert, blocks=("TOGGLE",))
    areas = of_drawing(tmp_path, drawing).drawings[0].keep_outs
    assert [len(a.paths) for a in areas] == [3, 3]
    assert all(a.name.startswith("TOGGLE (") for a in areas)


def test_areas_move_with_their_drawing(tmp_path):
    """Turned by 90° and put at (1000, 500): a clamp below the part comes to its right."""
    drawing = Builder().rectangle("EASED", 0, 0, 400, 200).rectangle("CLAMP", 100, -60, 80, 60)
    result = of_drawing(tmp_path, drawing)
    place = [Placement(0, 1000.0, 500.0, 0.5 * 3.141592653589793)]
    (area,) = placed_keep_outs(result, place)
    assert area.bounds_mm == pytest.approx([1200.0, 600.0, 1260.0, 680.0])


def test_machine_file_gives_circles_rectangles_and_polygons(shop_file):
    """Three forms, each with its kind and its bounds."""
    folder = shop_file(
        '[[keep_out]]\nname = "A"\nkind = "clamp"\ncorner = ["0 mm", "10 mm"]\n'
        'size = ["100 mm", "2 in"]\n'
        '[[keep_out]]\nname = "7"\nkind = "cup"\ncentre = ["500 mm", "300 mm"]\n'
        'diameter = "120 mm"\n'
        '[[keep_out]]\nname = "rail"\nkind = "stop"\n'
        'points = [["0 mm", "0 mm"], ["50 mm", "0 mm"], ["0 mm", "50 mm"]]\n'
    )
    assert check_shop(folder) == []
    areas = load_catalogue(folder).machines["medium"].keep_outs
    assert [(a.name, str(a.kind)) for a in areas] == [
        ("clamp A", "solid"), ("cup 7", "cup"), ("stop rail", "solid"),
    ]  # fmt: skip
    boxes = [a.bounds_mm for a in areas]
    assert boxes[0] == pytest.approx([0.0, 10.0, 100.0, 60.8])
    assert boxes[1] == pytest.approx([440.0, 240.0, 560.0, 360.0])
    assert boxes[2] == pytest.approx([0.0, 0.0, 50.0, 50.0])


@pytest.mark.parametrize(
    ("keys", "says"),
    [
        ('centre = ["1 mm", "2 mm"]', "is not a circle, rectangle or polygon"),
        ('diameter = "9 mm"\nsize = ["1 mm", "1 mm"]', "is not a circle, rectangle or polygon"),
        ('points = [["0 mm", "0 mm"], ["50 mm", "0 mm"]]', "is not a circle, rectangle or polygon"),
        (
            'points = [["0 mm", "0 mm"], ["9 mm", "9 mm"], ["9 mm", "0 mm"], ["0 mm", "9 mm"]]',
            "crosses itself",
        ),
    ],
)
def test_area_without_a_shape_is_an_error(shop_file, keys, says):
    """Half a circle's figures, a mixture, two points, a crossed polygon: with file and key."""
    (error,) = check_shop(shop_file(f'[[keep_out]]\nname = "A"\nkind = "stop"\n{keys}\n'))
    assert says in error.what
    assert (error.where.key or "").startswith("keep_out[1]")


@pytest.fixture
def shop_file(tmp_path):
    """Return a function that adds tables to the shipped machine in a shop of its own."""
    from edgetime.tooling import shipped_folder  # noqa: PLC0415  only here

    def make(text):
        folder = tmp_path / "shop"
        (folder / "machines").mkdir(parents=True)
        shipped = (shipped_folder() / "machines" / "medium.toml").read_text()
        (folder / "machines" / "medium.toml").write_text(f"{shipped}\n{text}")
        return folder

    return make
