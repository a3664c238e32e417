"""Exact planar curves: chains of lines and arcs, their measures, parallels and overlaps."""

from edgetime.geometry.intersect import candidate_pairs, intersections
from edgetime.geometry.measure import (
    bounds,
    centres,
    contains,
    corner_turns,
    direction_at,
    distance,
    end_directions,
    is_simple,
    locate,
    nearest,
    point_at,
    radii,
    segment_areas,
    self_intersections,
    signed_area,
    start_directions,
    turns,
    vertex_positions,
)
from edgetime.geometry.nest import nest_loops
from edgetime.geometry.offset import Offset, offset_path, parallel_length, parallel_lengths
from edgetime.geometry.overlap import overlaps
from edgetime.geometry.path import Path, segment_lengths
from edgetime.geometry.segments import Segments
from edgetime.geometry.smooth import curve_length, ellipse_arc_length, fit_arcs, smooth_path
from edgetime.geometry.split import concatenate, merge_collinear, split_at, start_at, sub_path

__all__ = [
    "Offset",
    "Path",
    "Segments",
    "bounds",
    "candidate_pairs",
    "centres",
    "concatenate",
    "contains",
    "corner_turns",
    "curve_length",
    "direction_at",
    "distance",
    "ellipse_arc_length",
    "end_directions",
    "fit_arcs",
    "intersections",
    "is_simple",
    "locate",
    "merge_collinear",
    "nearest",
    "nest_loops",
    "offset_path",
    "overlaps",
    "parallel_length",
    "parallel_lengths",
    "point_at",
    "radii",
    "segment_areas",
    "segment_lengths",
    "self_intersections",
    "signed_area",
    "smooth_path",
    "split_at",
    "start_at",
    "start_directions",
    "sub_path",
    "turns",
    "vertex_positions",
]
