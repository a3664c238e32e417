"""Lengths and angles of curves that tests ask for and no command does."""

import math

import numpy as np

from edgetime.geometry.segments import Segments
from edgetime.geometry.smooth import smooth_path


def turns(path):
    """Return the angle each segment turns, positive to the left [rad]."""
    return 4.0 * np.arctan(path.bulges)


def centres(path):
    """Return the centres of the arcs (n, 2), infinite for straight segments [mm]."""
    return Segments.of(path).centre


def ellipse_arc_length(a, b, t0, t1):
    """Return the length that the program gives an elliptic arc, from angle t0 to t1 [mm].

    A flat ellipse hurries round its ends: the quarters begin and end there.
    """

    def position(t):
        return np.column_stack([a * np.cos(t), b * np.sin(t)])

    def derivative(t):
        return np.column_stack([-a * np.sin(t), b * np.cos(t)])

    quarter = 0.5 * math.pi
    inner = quarter * np.arange(np.ceil(t0 / quarter), np.floor(t1 / quarter) + 1.0)
    knots = np.unique(np.concatenate([[t0, t1], inner]))
    path = smooth_path(position, derivative, knots, tolerance_mm=1e-3 * a, relative=1e-13)
    return path.length_mm


def unreached_mm(found):
    """Return how much of the edge an offset leaves out [mm]."""
    return float((found.unreached[:, 1] - found.unreached[:, 0]).sum())


def tour_length(entries, exits, order, home, measure=None):
    """Return the travel from home through all runs and back, the runs themselves left out."""

    def straight(start, end):
        return np.hypot(start[..., 0] - end[..., 0], start[..., 1] - end[..., 1])

    inn = np.array([entries[i][c] for i, c in order])
    out = np.array([exits[i][c] for i, c in order])
    ways = (measure or straight)(np.vstack([home, out]), np.vstack([inn, home]))
    return float(ways.sum())
