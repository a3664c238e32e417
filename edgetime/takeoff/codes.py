"""Every kind of finding the take-off can make."""

from __future__ import annotations

from typing import Final

from edgetime.findings import error, note, warning

LAYER_UNMATCHED: Final = warning(
    "layer-unmatched",
    "No layer rule matches a layer with curves; they are not part of any part.",
    "Let edgetime layers propose a rule for it, or add a [[layer]] entry to layers.toml "
    '(means = "ignore" if it is to be left out).',
)
LAYER_RULE_UNUSED: Final = warning(
    "layer-rule-unused",
    "A rule given with --layer matches no layer of the drawings, so it changes nothing.",
    "Correct the name; edgetime takeoff --show layers lists the layers.",
)
LAYER_HIDDEN: Final = note(
    "layer-hidden",
    "Curves on an off or frozen layer, or marked invisible, are left out of the parts.",
    "Switch the layer on and save the drawing if they belong to the load.",
)
RECESS_LISTED: Final = warning(
    "recess-listed",
    "Recess work (drainer grooves, hob rebates) is listed but not timed.",
    "Add its time by hand.",
)
DUPLICATE_CURVE: Final = warning(
    "duplicate-curve",
    "A curve is drawn more than once, wholly or in part; it counts once.",
    "Delete the extra copy.",
)
PROFILE_CONFLICT: Final = warning(
    "profile-conflict",
    "Two worked profiles are drawn on the same stretch of edge; the one whose layer rule comes "
    "first in layers.toml counts.",
    "Delete one of the two curves, or put the rule that is to count first.",
)
WORKED_OVER_UNFINISHED: Final = note(
    "worked-over-unfinished",
    "A stretch of edge is drawn as worked and as unfinished; the worked profile counts.",
    "No action if intended. If the edge is to stay unfinished, end the worked line where "
    "the unfinished one begins; a closed one can be put on an outline layer, with open lines over "
    "it "
    "where it is worked.",
)
SEAM_OVER_PROFILE: Final = note(
    "seam-over-profile",
    "A stretch of edge is drawn as a seam and with a profile, or as unfinished; the seam counts.",
    "No action if the edge is joined to another part; otherwise delete the seam there.",
)
METHOD_CONFLICT: Final = warning(
    "method-conflict",
    "Two layer rules disagree on how a cutout is made; the first in layers.toml counts.",
    "Delete one of the two curves, or put the rule that is to count first.",
)
HOLE_PROFILE: Final = warning(
    "hole-profile",
    "A profile is drawn on a hole; a core bit makes the hole and gives its edge no profile, so "
    "the profile is not counted.",
    "Add that work by hand, or draw the hole on a cutout layer only.",
)
PROFILE_UNKNOWN: Final = warning(
    "profile-unknown",
    "A profile name from a layer rule or a text is not in the catalogue.",
    "Correct the name, or add the profile to the shop's profiles folder.",
)
PROFILE_TEXT_LOOSE: Final = warning(
    "profile-text-loose",
    "A PROFILE: text is inside no part, or contradicts another text in its part.",
    "Move the text inside the outline of its part and leave one text per part.",
)
PART_NAME_CHOSEN: Final = note(
    "part-name-chosen",
    "Several texts in a part could be its name; the largest counts, of equal ones the first.",
    "Write PART: name in the part if another one is meant.",
)
OUTLINE_PROFILE_MISSING: Final = warning(
    "outline-profile-missing",
    "Neither a curve on a profile layer, nor a text, nor a default gives an outer edge its "
    "profile; it counts as unfinished.",
    "Draw the edge on the layer of its profile, add a PROFILE: text, or set default_profile.",
)
CUTOUT_PROFILE_MISSING: Final = note(
    "cutout-profile-missing",
    "Neither a layer rule nor a curve on a profile layer gives a cutout its profile; it counts "
    "as unfinished.",
    "Set profile in the layer rule of the cutout, or draw its edge on the layer of its profile.",
)
GAP_BRIDGED: Final = note(
    "gap-bridged",
    "Two ends that do not quite meet are joined by a straight line within the gap tolerance.",
    "Join the ends in the drawing.",
)
CORNER_TRIMMED: Final = note(
    "corner-trimmed",
    "A line runs past its corner by no more than the gap tolerance; the excess is trimmed.",
    "Trim the line to the corner in the drawing.",
)
OPEN_CHAIN: Final = error(
    "open-chain",
    "A chain of curves does not close, so it is neither a part nor a cutout.",
    "Close the gap in the drawing, or raise gap in layers.toml if it is meant to close.",
)
EDGE_STRAY: Final = warning(
    "edge-stray",
    "A curve on a profile layer is not on an outline or a cutout; it is not used.",
    "Snap it to the outline, or put it on a layer that is ignored.",
)
BRANCH: Final = note(
    "branch",
    "Three or more ends meet at one point; the loops were found by layer, then as the areas "
    "the lines enclose.",
    "Check the parts found there; delete lines that are not edges.",
)
SELF_CROSSING: Final = error(
    "self-crossing",
    "A closed line crosses itself; its area has no meaning and it is left out.",
    "Correct the line in the drawing.",
)
LOOPS_CROSS: Final = error(
    "loops-cross",
    "Two closed lines cross each other.",
    "Move or correct one of the two; for parts that overlap, the cycle time counts both.",
)
LOOP_TINY: Final = warning(
    "loop-tiny",
    "A closed line is too small to be a part or an opening, or encloses no area; it is left out.",
    "Delete it, or check the units of the drawing.",
)
CUTOUT_OUTSIDE: Final = warning(
    "cutout-outside",
    "A cutout or hole is outside all parts, or inside another opening; it is left out.",
    "Draw the outline around it, or delete it.",
)
CUTOUT_NOTCHES: Final = note(
    "cutout-notches",
    "A cutout reaches the edge of a part; it counts as a notch in the outline, and the edge it "
    "removes no longer counts. notch_method sets whether it is cut with the outline or milled.",
    "No action if intended; otherwise move the cutout off the edge.",
)
RIB_THIN: Final = warning(
    "rib-thin",
    "Between a cutout or hole and the edge of its part there is little or no stone left.",
    "Draw it over the edge if it is to be a notch, or move it inwards.",
)
OPENING_BY_DEPTH: Final = note(
    "opening-by-depth",
    "A closed line on an outline or profile layer lies inside a part; it counts as a cutout, or "
    "as a hole if it is a circle on an outline layer that fits a core bit.",
    "Put it on a cutout or hole layer to make that explicit.",
)
HOLE_SIZE: Final = warning(
    "hole-size",
    "A closed line on a hole layer is not a circle, or fits no core bit; it counts as a cutout.",
    "Change the diameter, mount a core bit of that size, or draw it on a cutout layer.",
)
SEAM_DIVIDES: Final = note(
    "seam-divides",
    "A seam runs from edge to edge of a part and divides it; both parts get the seam as an edge.",
    "Move the parts apart with --apart, so that wheels reach both sides of the seam.",
)
SEAM_LOOSE: Final = warning(
    "seam-loose",
    "A seam lies inside a part but does not divide it; it is not used.",
    "Draw both its ends to the outline or to a cutout.",
)
PART_SMALL: Final = warning(
    "part-small",
    "Every part of a drawing is smaller than a hand; the units are probably wrong.",
    "Check the units, and state them with --drawing-units.",
)
PART_TOO_SMALL: Final = warning(
    "part-too-small",
    "A part is too short to hold, or narrower than any strip of stone. It is timed, but probably "
    "unintended.",
    "Delete it if drawn by mistake; otherwise check the units, and how the part will be held.",
)
PART_IN_OPENING: Final = warning(
    "part-in-opening",
    "A part lies in an opening of another part; it comes loose with the waste when that is cut.",
    "Move it out of the opening, or mark the opening's layer as precut if it is open already.",
)
PARTS_TOUCH: Final = note(
    "parts-touch",
    "Two parts are drawn with a common stretch of edge; no tool reaches it.",
    "Move the parts apart by more than the largest wheel.",
)
NO_PARTS: Final = error(
    "no-parts",
    "No closed outline was found, so there are no parts.",
    "Check the layer rules against the layers of the drawing, and the findings on open chains.",
)

CHORDS_FOLLOWED: Final = note(
    "chords-followed",
    "A curve is drawn as short chords, or a straight with a digitiser's noise. The tools follow "
    "the intended lines and arcs, within the shop's contour tolerance; lengths stay as drawn.",
    "Draw arcs as arcs; or set contour_tolerance in shop.toml, 0 to follow every chord.",
)
