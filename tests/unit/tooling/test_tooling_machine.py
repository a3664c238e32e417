"""How a machine's file says what its controller does."""

import dataclasses

import pytest

from edgetime.estimating import motion_limits
from edgetime.motion import MotionLimits
from edgetime.tooling import check_shop, load_catalogue

MODE = 'path_mode = "continuous"'


def machine(shop, *lines):
    """Return the medium machine with lines in place of its path mode."""
    shop.edit("machines/medium.toml", MODE, "\n".join(lines))
    return load_catalogue(shop.folder).machines["medium"]


@pytest.mark.parametrize("mode", ["exact-path", "exact-stop", "continuous"])
def test_the_three_modes_reach_the_motion(shop, mode):
    """Each mode is that of the limits, without a note; JSON keeps the older word beside it."""
    found = machine(shop, f'path_mode = "{mode}"')
    assert motion_limits(found).path_mode == found.path_mode == mode
    assert found.corner == ("blend" if mode == "continuous" else "exact-stop")
    assert found.notes() == ()


@pytest.mark.parametrize(("old", "mode"), [("exact-stop", "exact-path"), ("blend", "continuous")])
def test_the_old_key_keeps_its_meaning_and_is_noted(shop, old, mode):
    """``corner`` is read as before, and the note names file, line and what to write."""
    found = machine(shop, f'corner = "{old}"')
    assert check_shop(shop.folder) == []
    assert found.path_mode == mode
    (note,) = found.notes()
    assert note.code == "old-key"
    assert note.severity.value == "note"
    assert f'path_mode = "{mode}"' in note.message
    lines = (shop.folder / "machines" / "medium.toml").read_text(encoding="utf-8").splitlines()
    assert lines[note.where.line - 1].startswith(f'corner = "{old}"')
    assert note.where.path.endswith("machines/medium.toml")


def test_habits_that_are_not_stated_are_those_of_the_motion_stage(shop):
    """The defaults of the file are those of MotionLimits: one machine, one meaning."""
    limits = motion_limits(machine(shop, MODE))
    for field in dataclasses.fields(MotionLimits):
        if field.name in {
            "blend_share",
            "stop_at_rapids",
            "look_ahead_moves",
            "arc_shares",
            "corner_share",
            "last_move_share",
        }:
            assert getattr(limits, field.name) == field.default, field.name


@pytest.mark.parametrize(
    ("line", "field", "value"),
    [
        ('blend_share = "20 %"', "blend_share", 0.2),
        ("stop_at_rapids = false", "stop_at_rapids", False),
        ("look_ahead = 50", "look_ahead_moves", 50),
        ('look_ahead = "unlimited"', "look_ahead_moves", None),
        ('arc_shares = ["50 %", "86.6 %"]', "arc_shares", (0.5, 0.866)),
        ('arc_shares = "by-direction"', "arc_shares", None),
        ('corner_share = "90 %"', "corner_share", 0.9),
        ('last_move_share = "50 %"', "last_move_share", 0.5),
    ],
)
def test_every_habit_reaches_the_motion(shop, line, field, value):
    """Each key of the file is a field of the limits."""
    if field == "stop_at_rapids":
        shop.edit("machines/medium.toml", "stop_at_rapids = true", "")
    limits = motion_limits(machine(shop, MODE, line))
    assert getattr(limits, field) == pytest.approx(value)
