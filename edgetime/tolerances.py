"""Every tolerance of the project, named, with its unit and its reason.

Options and shop files may override those that depend on a drawing's quality.
"""

from __future__ import annotations

from typing import Final

GAP_MM: Final = 0.5
"""Ends of curves closer than this are joined [mm]. Hand-drawn templates leave gaps of a
few tenths; half a millimetre is a quarter of the narrowest saw kerf, so no true gap is lost."""

COINCIDENT_MM: Final = 1e-3
"""Two points closer than this are one point [mm]: below any drafting accuracy, far above
the rounding of DXF's 16 digits at 10 m."""

CONTOUR_MM: Final = 0.2
"""The worked contour may differ from the drawn one by so much [mm]: so much stone may be left
where a wheel does not quite reach, and within it runs of short chords are taken for the line or
arc they follow. A digitiser is good for about 0.1 mm; a line through two of its points may pass a
third by twice that. A hand with a pad takes off more. Common practice, no source."""

OVERLAY_MM: Final = 0.1
"""A curve on a profile layer lies on the outline when it is nowhere further away [mm]."""

ZERO_LENGTH_MM: Final = 1e-6
"""Shorter curves carry no length and no direction [mm]; they are left out."""

HOLE_DIAMETER_MM: Final = 0.5
"""A circle on a hole layer fits a core bit when their diameters differ by no more [mm]."""

RIB_MM: Final = 5.0
"""Less stone between an opening and an edge is a slip of the pen [mm]: a wheel takes its stock
of 1 to 2 mm from both sides, and what is left of a slab 20 mm thick breaks. Assumption."""

HAND_MM: Final = 100.0
"""A part whose longest side is shorter is smaller than a hand [mm]: no cup holds it. Assumption;
vacuum cups for stone measure about that (common practice, no source)."""

STRIP_MM: Final = 10.0
"""A part of less mean width, area over half the perimeter, is too narrow for a strip of stone
[mm]: it is half as wide as a slab is thick. Assumption."""

NOTHING_MM: Final = 20.0
"""A part whose longest side is shorter than a slab is thick is not a part [mm]: an error, not a
warning. Assumption."""

PLANAR_Z_MM: Final = 1e-3
"""An entity whose Z varies by less is planar [mm]."""

STRAIGHT_BULGE: Final = 1e-9
"""A smaller bulge is a straight segment: its sag over 10 m is 5e-6 mm."""

BIARC_TOLERANCE_MM: Final = 0.01
"""Splines and ellipses are replaced by arcs within this [mm], for tool paths only; their
lengths stay exact."""

TANGENT_RAD: Final = 1e-4
"""Two moves whose directions differ by less meet tangentially [rad]: at 10 m/min the step
in velocity is 0.017 mm/s, below one servo increment."""

LENGTH_RELATIVE: Final = 1e-9
"""Quadrature of splines and ellipses stops at this relative error."""
