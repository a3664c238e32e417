"""What the shipped figures come to in the units a stone programmer judges them by.

The speeds are held against each tool's own mark. The bound on removal is the catalogue's own
assumption (stacks/standard.toml: roughing takes 150 cm³/min), not a published figure.
"""

from __future__ import annotations

import math

import pytest

from edgetime import load_catalogue
from edgetime.tooling import Stack, Step

CATALOGUE = load_catalogue()
ROUGHING_CM3_PER_MIN = 160.0


def _applies(step: Step, profile) -> bool:
    return not step.applies_to or bool({profile.name, profile.family} & set(step.applies_to))


def _rows():
    for stack in CATALOGUE.stacks.values():
        for thickness in stack.thicknesses_mm:
            for profile in CATALOGUE.profiles.values():
                if profile.made_here and profile.finished:
                    yield pytest.param(
                        stack, thickness, profile, id=f"{stack.name}-{thickness:g}-{profile.name}"
                    )


@pytest.mark.parametrize(("stack", "thickness", "profile"), list(_rows()))
def test_rim_speed_and_removal(stack: Stack, thickness: float, profile) -> None:
    """No wheel's rim runs above its mark, no pass takes more stone than roughing does.

    v = ω (R + depth of the profile), Q = area × share ÷ passes × feed.
    """
    section = profile.sections[thickness]
    depth = max(u for u, _ in section.points_mm)
    steps = [s for s in stack.steps if s.operation.finishing and _applies(s, profile)]
    assert math.fsum(s.share for s in steps) == pytest.approx(1.0)
    for step in steps:
        tool = CATALOGUE.tools[step.tool]
        rim = tool.diameter_mm / 2.0 + (depth if tool.profiled else 0.0)
        assert tool.max_peripheral_mm_per_s is not None
        assert step.rotation_rad_per_s * rim <= tool.max_peripheral_mm_per_s, step.name
        removal = section.removed_mm2 * step.share / step.passes * step.feed_mm_per_s
        assert removal * 60.0 / 1000.0 <= ROUGHING_CM3_PER_MIN, step.name
