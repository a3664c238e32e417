"""What can be wrong with the paths of the tools without stopping the work."""

from __future__ import annotations

from typing import Final

from edgetime.findings import error, note, warning

INSIDE_RADIUS: Final = warning(
    "inside-radius",
    "An inside corner is tighter than the tool's radius and its clearance allow. The stretch "
    "is left out of the tool's passes; where it misses finishing it is hand work.",
    "Draw the corner with the radius needed, or use a smaller tool.",
)

OPENING_NARROW: Final = warning(
    "opening-narrow",
    "A slot, notch, taper or cutout is narrower than the tool, so a stretch of its edge is not "
    "reached, whatever its corner radii.",
    "Widen the opening, use a smaller tool, or leave its edge unfinished.",
)

NEIGHBOUR: Final = warning(
    "neighbour-too-near",
    "The swept wheel comes nearer to another part than the spacing allows; an error if it would "
    "cut into it.",
    "Move the parts further apart (parts that meet in a seam with --apart), use a smaller tool, or "
    "work on them in separate loads (--only).",
)

KEEP_OUT: Final = warning(
    "keep-out-near",
    "The swept wheel comes nearer to a clamp, stop or cup than the spacing allows; an error if it "
    "would hit it.",
    "Move the clamp, stop or cup, turn the part, or shorten leads and overruns.",
)

TRAVEL: Final = error(
    "outside-travel",
    "The tool's centre would have to leave the machine's travel.",
    "Move the part on the table, shorten leads and overruns, or use a larger machine.",
)

WHEEL_OFF_TABLE: Final = note(
    "wheel-off-table",
    "The swept wheel reaches beyond the table's edge. This is allowed if nothing is there.",
    "Keep the surroundings of the table clear, or move the part inward.",
)

SHAFT_HITS_STONE: Final = error(
    "shaft-hits-stone",
    "The shaft or hub of a tool that works under or over the stone would touch the edge.",
    "Use a tool with a slimmer shaft or a larger disc, or ask for a narrower strip.",
)

GAUGE_ENTRY: Final = error(
    "gauge-entry",
    "A gauge wheel has no room to plunge clear of the stone and come in from the side.",
    "Widen the opening, use a smaller disc, or gauge this edge elsewhere.",
)

CONTACT_FEED: Final = note(
    "contact-feed",
    "In a tight inside corner the contact feed is three times the programmed feed or more (r / (r "
    "− R)): the finish may suffer there.",
    "Set hold_contact_feed of the step, draw the corner larger, or use a smaller tool.",
)

"""All codes of this stage."""
