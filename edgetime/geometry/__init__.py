"""Exact planar curves: chains of lines and arcs, their measures and parallels."""

from edgetime.geometry.intersect import candidate_pairs, intersections
from edgetime.geometry.measure import (
    bounds,
    contains,
    corner_turns,
    direction_at,
    distance,
    is_simple,
    locate,
    nearest,
    point_at,
    radii,
    segment_areas,
    signed_area,
    start_directions,
    vertex_positions,
)
from edgetime.geometry.offset import Offset, offset_path
from edgetime.geometry.path import Path, segment_lengths
from edgetime.geometry.segments import Segments
from edgetime.geometry.smooth import fit_arcs, smooth_path
from edgetime.geometry.split import concatenate, split_at, start_at, sub_path

__all__ = [
    "Offset",
    "Path",
    "Segments",
    "bounds",
    "candidate_pairs",
    "concatenate",
    "contains",
    "corner_turns",
    "direction_at",
    "distance",
    "fit_arcs",
    "intersections",
    "is_simple",
    "locate",
    "nearest",
    "offset_path",
    "point_at",
    "radii",
    "segment_areas",
    "segment_lengths",
    "signed_area",
    "smooth_path",
    "split_at",
    "start_at",
    "start_directions",
    "sub_path",
    "vertex_positions",
]
