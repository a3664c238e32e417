"""What reading a drawing may find."""

from __future__ import annotations

from typing import Final

from edgetime.findings import error, note, warning

DRAWING_REPAIRED: Final = warning(
    "drawing-repaired",
    "The file has format errors; repairs are listed.",
    "Compare the lengths by layer with the drawing, or export the file again.",
)
DRAWING_SMALL: Final = warning(
    "drawing-small",
    "The whole drawing is smaller than a hand.",
    "Check the drawing's units; state them with --drawing-units.",
)
DRAWING_LARGE: Final = warning(
    "drawing-large",
    "The whole drawing is larger than any router table.",
    "Check the drawing's units; state them with --drawing-units.",
)
UNITS_OVERRIDDEN: Final = note(
    "units-overridden",
    "The option for the drawing's units contradicts the drawing's own header.",
    "No action if the option is right.",
)
NO_GEOMETRY: Final = error(
    "no-geometry",
    "Model space holds no line, arc, polyline, ellipse, spline or circle.",
    "Draw the parts in model space; paper-space sheets are not read.",
)
HIDDEN_GEOMETRY: Final = note(
    "hidden-geometry",
    "Curves on off or frozen layers, or marked invisible, are left out of the parts.",
    "Turn the layer on if it belongs to the load.",
)
ENTITIES_IGNORED: Final = note(
    "entities-ignored",
    "Entities other than curves (dimensions, hatches, meshes) have no edge length.",
    "Redraw what is to be cut as lines, arcs or polylines.",
)
ENTITY_TILTED: Final = warning(
    "entity-tilted",
    "A curve lies in a plane that is not parallel to XY; its projection is measured.",
    "Flatten the drawing if the true length is intended.",
)
ENTITY_NOT_PLANAR: Final = warning(
    "entity-not-planar",
    "A curve in space varies in Z; its projection to XY is measured.",
    "Flatten the drawing if the true length is intended.",
)
ENTITY_OUT_OF_RANGE: Final = error(
    "entity-out-of-range",
    "A curve has coordinates that are not finite or are out of range; it is left out.",
    "Delete or redraw the entity.",
)
ENTITY_DAMAGED: Final = error(
    "entity-damaged",
    "An entity contradicts itself or lacks what its type needs; it is left out.",
    "Delete or redraw the entity.",
)
ZERO_LENGTH: Final = note(
    "zero-length",
    "Lines without length and circles without radius are left out.",
    "Nothing.",
)
BLOCK_MISSING: Final = error(
    "block-missing",
    "An inserted block is not in the file, or is a reference to another file.",
    "Bind external references before exporting.",
)
BLOCK_FLAT: Final = error(
    "block-flat",
    "A block is inserted with the scale 0 in X or Y, so it has no size; it is left out.",
    "Give the insert a scale, or delete it.",
)
