"""Every kind of finding the pass plan can make."""

from __future__ import annotations

from typing import Final

from edgetime.findings import error, note, warning

NO_STEP: Final = error(
    "no-step",
    "No finishing step of the stack makes a drawn profile; its time is missing.",
    "Choose another stack, or add the profile or its family to applies_to of a step.",
)
NO_CORE_BIT: Final = error(
    "no-core-bit",
    "No core step of the stack has the diameter of a hole; its time is missing.",
    "Add a core step with that bit to the stack, or draw the hole as a cutout.",
)
NO_CUT_STEP: Final = error(
    "no-cut-step",
    "A cutout is to be milled, but no cut step of the stack applies to it; its time is missing.",
    "Add a cut step to the stack, or state that cutouts are precut.",
)
NO_ENTRY_CORE: Final = note(
    "no-entry-core",
    "A milled cutout has no cored hole to enter through; the finger bit plunges by itself.",
    "Give a core step of the stack the place cutout if the bit cannot plunge.",
)
NO_ROUGH_STEP: Final = warning(
    "no-rough-step",
    "Edges carry stock, but no rough step of the stack removes it.",
    "Add a rough step for the profile, or set the stock of its source to 0.",
)
NO_SEAM_STEP: Final = warning(
    "no-seam-step",
    "Seams are drawn, but the stack has no seam step; they stay as cut.",
    "Add a seam step, or take the seams as unfinished if they are joined as sawn.",
)
NO_GAUGE_STEP: Final = warning(
    "no-gauge-step",
    "A profile needs its back strip ground to gauge, but the stack has no gauge step for it.",
    "Add a gauge step to the stack, or probe the slab: at gauge thickness nothing is ground.",
)
GAUGE_REACH: Final = error(
    "gauge-reach",
    "The gauge strip is wider than the gauge wheel reaches before its shaft meets the edge.",
    "Mount a larger gauge wheel, or narrow gauge_strip of the profile.",
)
NO_SECTION: Final = warning(
    "no-section",
    "A profile has no cross-section for the thickness of the load; its volume counts as 0.",
    "Add a section for that thickness to the profile's file.",
)
MADE_ELSEWHERE: Final = note(
    "made-elsewhere",
    "A profile is not made on this machine: it is listed, not timed.",
    "No action if intended; otherwise set made_here in the profile's file.",
)
TOOL_MISSING: Final = error(
    "tool-missing",
    "A step of the stack names a tool the catalogue does not have; the step is left out.",
    "Add the tool to the shop's tools folder, or correct its name in the stack.",
)
POCKETS_SHORT: Final = warning(
    "pockets-short",
    "The load needs more tools than the rack has pockets; some are swapped by hand.",
    "Split the load by profile, use fewer profiled wheels, or plan the swaps.",
)
DIAMETER_UNUSED: Final = note(
    "diameter-unused",
    "An actual diameter is given for a tool or wheel that this load does not use.",
    "Correct the name of the tool or its profile, or leave the option out.",
)
