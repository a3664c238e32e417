"""What is doubtful or dangerous in a catalogue whose files can all be used."""

from __future__ import annotations

from collections.abc import Iterator

from edgetime.errors import Where
from edgetime.findings import Finding, Severity
from edgetime.tooling.catalogue import Catalogue
from edgetime.tooling.codes import SPINDLE_LIMIT, TOO_FAST, WHEEL_LOW
from edgetime.tooling.profiles import Profile
from edgetime.tooling.stacks import Operation, Stack, Step
from edgetime.tooling.step_limits import (
    COVERS_EDGE,
    RPM,
    Overspeed,
    feed_findings,
    overspeeds,
    profile_depth_mm,
    section_near,
)
from edgetime.tooling.tools import Tool


def overspeed_finding(found: Overspeed, step: Step, tool: Tool, machine: str, file: str) -> Finding:
    """Return the finding of a speed above a limit."""
    omega = step.rotation_rad_per_s * RPM
    where = Where(path=file or None, key=f"{step.key}.spindle")
    if found.what == "rim":
        rim = 2.0 * found.has / step.rotation_rad_per_s
        said = (
            f"Step {step.name}: {tool.name}, {rim:.4g} mm at the rim, runs at "
            f"{found.has / 1000:.1f} m/s with {omega:.0f} rev/min; it is marked for "
            f"{found.most / 1000:.1f} m/s."
        )
        return Finding(TOO_FAST, said, where)
    most = found.most * RPM
    if found.what == "marked":
        said = (
            f"Step {step.name} turns {tool.name} at {omega:.0f} rev/min; it is marked for "
            f"{most:.0f} rev/min."
        )
        return Finding(TOO_FAST, said, where)
    said = (
        f"Step {step.name} asks for {omega:.0f} rev/min; the spindle of {machine} reaches "
        f"{most:.0f} rev/min."
    )
    return Finding(SPINDLE_LIMIT, said, where)


def _profiles(catalogue: Catalogue, step: Step) -> Iterator[Profile]:
    """Return the profiles a finishing step makes, those that are made here."""
    for profile in catalogue.profiles.values():
        if step.makes(profile.name, profile.family) and profile.finished and profile.made_here:
            yield profile


def _thicknesses(catalogue: Catalogue, stack: Stack) -> tuple[float, ...]:
    return stack.thicknesses_mm or (catalogue.shop.thickness_mm,)


def _spread_mm(catalogue: Catalogue, stack: Stack) -> float:
    """Return how much thicker than nominal a stone may be that the stack serves [mm]."""
    return max(
        (
            stone.thickness_spread_mm
            for stone in catalogue.stones.values()
            if stack.suits_stone(stone)
        ),
        default=0.0,
    )


def _low(catalogue: Catalogue, stack: Stack, step: Step, tool: Tool) -> Iterator[Finding]:
    """Return the finding of a tool that is lower than the thickest edge of its stack."""
    if step.operation not in COVERS_EDGE | {Operation.CORE}:
        return
    spread = _spread_mm(catalogue, stack)
    need, of = 0.0, ""
    for nominal in _thicknesses(catalogue, stack):
        heights = [(nominal, f"{nominal:g} mm")]
        if step.operation.finishing or step.operation is Operation.ROUGH:
            heights += [
                (section.height_mm, f"{profile.name} in {nominal:g} mm")
                for profile in _profiles(catalogue, step)
                if (section := section_near(profile, nominal)) is not None
            ]
        need, of = max([(need, of), *((height + spread, what) for height, what in heights)])
    if tool.width_mm < need - 1e-9:
        yield Finding(
            WHEEL_LOW,
            f"Step {step.name} of stack {stack.name}: the working part of {tool.name} is "
            f"{tool.width_mm:g} mm high; {of} needs {need:g} mm"
            + (f", of which {spread:g} mm are the stone's spread." if spread else "."),
            Where(path=tool.file or None, key="width"),
        )


def _speeds(catalogue: Catalogue, stack: Stack, step: Step, tool: Tool) -> Iterator[Finding]:
    """Return the speeds above a limit, with new tools and on the shop's own machine."""
    deepest = max(
        (
            profile_depth_mm(tool, section_near(profile, nominal))
            for profile in _profiles(catalogue, step)
            for nominal in _thicknesses(catalogue, stack)
        ),
        default=0.0,
    )
    machine = catalogue.machines[catalogue.shop.machine]
    rim = 0.5 * tool.diameter_mm + deepest
    for found in overspeeds(step, tool, rim, machine.max_rotation_rad_per_s):
        finding = overspeed_finding(found, step, tool, machine.name, stack.file)
        if found.what == "spindle" and stack.name != catalogue.shop.stack:
            # Another stack may be meant for another machine.
            finding = Finding(finding.kind, finding.message, finding.where, Severity.WARNING)
        yield finding


def catalogue_findings(catalogue: Catalogue) -> tuple[Finding, ...]:
    """Return what is doubtful or dangerous in a catalogue.

    Returns
    -------
    tuple of Finding
        Speeds above what tools are marked for and the shop's spindle reaches, feeds that are
        not usual or above a tool's limit, tools lower than the edges they work, keys under older
        names.
    """
    out: list[Finding] = []
    for stack in catalogue.stacks.values():
        for step in stack.steps:
            tool = catalogue.tools[step.tool]
            out += _speeds(catalogue, stack, step, tool)
            out += feed_findings(step, tool, stack.file)
            out += _low(catalogue, stack, step, tool)
    for machine in catalogue.machines.values():
        out += machine.notes()
    return tuple(out)
