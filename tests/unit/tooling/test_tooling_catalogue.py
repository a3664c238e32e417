"""What the shipped catalogue holds, and that each figure says where it comes from."""

import math
import re

import pytest

from edgetime.places import Place
from edgetime.tooling import Operation, ToolKind, load_catalogue, shipped_folder
from edgetime.tooling.layers import Meaning

SOURCE = re.compile(
    r"(Published source|Common practice, no source|By definition"
    r"|Assumption, replace with your own figure): \S"
)
IN_PER_MIN = 25.4 / 60.0


@pytest.fixture(scope="module")
def catalogue():
    return load_catalogue()


def test_catalogue_is_complete(catalogue):
    """Every profile, stone, machine and stack that the trade asks for is there."""
    assert {
        "flat-polish", "eased", "bevel", "half-bullnose", "full-bullnose", "ogee", "cove",
        "waterfall-radius", "mitre", "laminated-40", "seam", "unfinished",
    } <= set(catalogue.profiles)  # fmt: skip
    assert {"granite", "quartz", "marble", "sintered"} <= set(catalogue.stones)
    assert {"small", "medium", "large"} <= set(catalogue.machines)
    assert {"standard", "fast-metal", "marble", "sintered"} <= set(catalogue.stacks)


def test_every_stone_is_served_in_both_thicknesses(catalogue):
    """Each stone has a stack for 20 and for 30 mm."""
    for stone in catalogue.stones.values():
        for thickness in (20.0, 30.0):
            assert any(
                {stone.name, stone.family} & set(s.stones) and thickness in s.thicknesses_mm
                for s in catalogue.stacks.values()
            ), (stone.name, thickness)


def test_every_file_says_where_its_figures_come_from(catalogue):
    """Each sentence names its kind: published, common practice, assumption or definition."""
    files = {
        item.file
        for kind in ("profiles", "tools", "stacks", "machines", "stones")
        for item in getattr(catalogue, kind).values()
    }
    files |= {catalogue.shop.file, catalogue.layers.file}
    assert {file for file, key in catalogue.sources if key == ""} == files
    for where, sentence in catalogue.sources.items():
        assert SOURCE.match(sentence), (where, sentence)


def test_every_file_explains_itself():
    """Each shipped file begins with a comment in plain ASCII lines of at most 110 characters."""
    for path in shipped_folder().rglob("*.toml"):
        lines = path.read_text(encoding="ascii").splitlines()
        assert lines[0].startswith("# "), path
        assert all(len(x) <= 110 for x in lines if x.startswith("#")), path


def test_no_tool_runs_above_its_marked_maximum(catalogue):
    """Spindle speed and peripheral speed pi D n stay within the tool's and spindle's limits."""
    spindle = min(m.max_rotation_rad_per_s for m in catalogue.machines.values())
    for stack in catalogue.stacks.values():
        for step in stack.steps:
            tool = catalogue.tools[step.tool]
            assert step.rotation_rad_per_s <= tool.max_rotation_rad_per_s, (stack.name, step.name)
            assert step.rotation_rad_per_s <= spindle, (stack.name, step.name)
            if tool.max_peripheral_mm_per_s is not None:
                peripheral = step.rotation_rad_per_s * tool.diameter_mm / 2.0
                assert peripheral <= tool.max_peripheral_mm_per_s, (stack.name, step.name)


def test_metals_run_at_the_usual_peripheral_speed(catalogue):
    """Metal wheels grind at 20 to 40 m/s, pads polish below 15 m/s."""
    for stack in catalogue.stacks.values():
        for step in stack.steps:
            tool = catalogue.tools[step.tool]
            speed = step.rotation_rad_per_s * tool.diameter_mm / 2.0 / 1000.0
            if step.operation in {Operation.ROUGH, Operation.PROFILE}:
                assert 20.0 <= speed <= 40.0, (stack.name, step.name)
            if step.operation is Operation.POLISH:
                assert speed < 15.0, (stack.name, step.name)


def test_finishing_tools_of_a_stack_reach_the_same_corners(catalogue):
    """All finishing tools of a stack have one diameter, so one corner is not hand work for some."""
    for stack in catalogue.stacks.values():
        sizes = {catalogue.tools[s.tool].diameter_mm for s in stack.steps if s.operation.finishing}
        assert len(sizes) == 1, stack.name


def test_shares_of_every_profile_add_up_to_one(catalogue):
    """The finishing steps that apply to a profile take the whole of its section, the first most."""
    for stack in catalogue.stacks.values():
        for profile in catalogue.profiles.values():
            if not (profile.finished and profile.made_here):
                continue
            steps = [
                s
                for s in stack.steps
                if s.operation.finishing
                and (not s.applies_to or {profile.name, profile.family} & set(s.applies_to))
            ]
            assert math.isclose(sum(s.share for s in steps), 1.0, abs_tol=1e-6)
            assert steps[0].share == max(s.share for s in steps)
            assert [s.operation for s in steps][-3:] == [Operation.POLISH] * 3


def test_fast_metal_stack_runs_at_the_trades_feeds(catalogue):
    """Roughing at 100 in/min, second and third metal at 350, polishing at 70."""
    stack = catalogue.stacks["fast-metal"]
    by_name = {s.name: s.feed_mm_per_s / IN_PER_MIN for s in stack.steps}
    assert by_name["drum-75"] == pytest.approx(100.0)
    assert by_name["metal-2"] == by_name["metal-3"] == pytest.approx(350.0)
    assert by_name["polish-1"] == by_name["polish-3"] == pytest.approx(70.0)


def test_places_follow_the_operation(catalogue):
    """A step without places works where its operation does."""
    stack = catalogue.stacks["standard"]
    unsaid = [s for s in stack.steps if (stack.file, f"{s.key}.places") not in catalogue.raw]
    assert len(unsaid) == len(stack.steps) - 1
    for step in unsaid:
        expected = {
            Operation.CORE: (Place.HOLE,),
            Operation.CUT: (Place.CUTOUT,),
            Operation.SEAM: (Place.OUTER,),
        }.get(step.operation, (Place.OUTER, Place.CUTOUT))
        assert step.places == expected, step.name
        assert step.applies_to == ("seam",) or step.operation is not Operation.SEAM


def test_every_stack_opens_the_entry_of_its_finger_bit(catalogue):
    """One core bit wider than the finger bit is given the place cutout."""
    for stack in catalogue.stacks.values():
        (bit,) = (s.tool for s in stack.steps if s.operation is Operation.CUT)
        (core,) = (
            s.tool
            for s in stack.steps
            if s.operation is Operation.CORE and Place.CUTOUT in s.places
        )
        assert catalogue.tools[core].diameter_mm > catalogue.tools[bit].diameter_mm, stack.name


def test_gauge_wheel_reaches_every_strip(catalogue):
    """Between the strip and the wheel's shaft there is room for the shaft and its clearance."""
    wheel = catalogue.tools["gauge-100"]
    for profile in catalogue.profiles.values():
        room = wheel.diameter_mm / 2.0 - profile.gauge_strip_mm
        assert room >= wheel.shaft_mm / 2.0 + wheel.clearance_mm, profile.name


def test_machines_lie_in_the_stated_ranges(catalogue):
    """Acceleration 0.5 to 2 m/s2, jerk 5 to 20 m/s3, rapids 20 to 60 m/min, changes 10 to 25 s."""
    for machine in catalogue.machines.values():
        assert all(500.0 <= a <= 2000.0 for a in machine.axis_acceleration_mm_per_s2)
        assert all(5e3 <= j <= 20e3 for j in machine.axis_jerk_mm_per_s3)
        assert all(20.0 <= round(v * 0.06, 9) <= 60.0 for v in machine.rapid_mm_per_s[:2])
        run_up = machine.spindle_up_s
        assert 10.0 <= machine.exchange_s + machine.measure_s + run_up <= 25.0
        assert machine.rapid_mm_per_s[0] >= machine.axis_speed_mm_per_s[0]


def test_most_used_stack_fits_every_rack(catalogue):
    """Two profiles with the standard stack and one hole size need no more pockets than any has."""
    stack = catalogue.stacks["standard"]
    tools = {s.tool for s in stack.steps}
    profiled = {t for t in tools if catalogue.tools[t].profiled}
    cores = {t for t in tools if catalogue.tools[t].kind is ToolKind.CORE_BIT}
    needed = len(tools - profiled - cores) + 1 + 2 * len(profiled)
    assert needed <= min(m.pockets for m in catalogue.machines.values())


@pytest.mark.parametrize(
    ("layer", "means", "profile"),
    [
        ("EASED", Meaning.EDGE, "eased"),
        ("Edge-Eased", Meaning.EDGE, "eased"),
        ("HALF-BULLNOSE", Meaning.EDGE, "half-bullnose"),
        ("EDGE_FULL_BULLNOSE", Meaning.EDGE, "full-bullnose"),
        ("SINK-1", Meaning.CUTOUT, "flat-polish"),
        ("SINK-TOPMOUNT", Meaning.CUTOUT, "unfinished"),
        ("CUTOUT", Meaning.CUTOUT, "unfinished"),
        ("TAP_35", Meaning.HOLE, None),
        ("SEAM", Meaning.SEAM, None),
        ("WALL", Meaning.UNFINISHED, None),
        ("EDGE-UNFINISHED", Meaning.UNFINISHED, None),
        ("DRAINER", Meaning.RECESS, None),
        ("OUTLINE", Meaning.OUTLINE, None),
        ("part-17", Meaning.OUTLINE, None),
        ("Defpoints", Meaning.IGNORE, None),
    ],
)
def test_default_layers_read_plain_words(catalogue, layer, means, profile):
    """The shipped layer rules understand the words a draughtsman would use."""
    rule = catalogue.layers.rule_for(layer)
    assert (rule.means, rule.profile) == (means, profile)


def test_layer_without_a_meaning_has_no_rule(catalogue):
    """Layer 0 and unknown layers are left to be reported."""
    assert catalogue.layers.rule_for("0") is None
    assert catalogue.layers.default_profile is None


def test_layers_load_by_themselves(catalogue):
    """The rules read alone are those of the catalogue, with their own file's name."""
    path = shipped_folder() / "layers.toml"
    rules = load_catalogue(layers=path).layers
    assert rules.rules == catalogue.layers.rules
    assert rules.file == str(path)


def test_raw_has_the_text_as_written_and_defaults(catalogue):
    """Every figure can be shown as its file has it, or as a default of the schema."""
    stack = catalogue.stacks["standard"]
    step = next(s for s in stack.steps if s.name == "drum-75")
    assert catalogue.raw[stack.file, f"{step.key}.feed"] == "2.5 m/min"
    assert catalogue.raw[stack.file, f"{step.key}.plunge"] == "default: 2 m/min"
    machine = catalogue.machines["medium"]
    assert catalogue.raw[machine.file, "axis_acceleration"] == "1.2 m/s2, 1.2 m/s2, 1.0 m/s2"
    assert catalogue.raw[machine.file, "pockets"] == "28"
    assert catalogue.raw[catalogue.shop.file, "stock.saw"] == "2 mm"


def test_source_of_a_figure_is_its_own_or_the_files(catalogue):
    """The sentence for a key is found by its innermost name that has one, else the file's."""
    stack = catalogue.stacks["standard"]
    assert catalogue.source_of(stack.file, "step[3].feed").startswith("Common practice")
    assert catalogue.source_of(stack.file, "step[3].plunge") == stack.source
    assert "bridge saw" in catalogue.source_of(catalogue.shop.file, "stock.saw")
    assert catalogue.source_of("nowhere", "feed") == ""
