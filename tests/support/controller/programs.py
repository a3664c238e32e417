"""Programs for the comparison with a real controller, from closed forms to chopped curves."""

from __future__ import annotations

import math

import numpy as np

from edgetime.motion import MotionLimits
from edgetime.moves import Moves
from support.controller.bench import HABITS, HABITS_OF_MODE, Job

ACCELERATION = 1200.0
SPEED = 500.0
QUARTER = math.tan(math.pi / 8.0)


def limits_of(job: Job) -> MotionLimits:
    """Return the limits of the bench, with the controller's habits in the job's mode."""
    return MotionLimits(
        axis_speed_mm_per_s=(SPEED,) * 3,
        axis_acceleration_mm_per_s2=(ACCELERATION,) * 3,
        path_mode=job.mode,
        corner_tolerance_mm=job.tolerance_mm,
        **HABITS,
        **HABITS_OF_MODE[job.mode],
    )


def rectangle(width: float, height: float, radius: float, feed: float) -> Moves:
    """Return a rectangle with rounded corners: four lines and four arcs, all tangent."""
    w, h, r = width, height, radius
    points = [(r, 0), (w - r, 0), (w, r), (w, h - r), (w - r, h), (r, h), (0, h - r), (0, r)]
    return Moves.simple([*points, points[0]], feed=feed, bulge=[0.0, QUARTER] * 4)


def zigzag(interior_deg: float, feed: float, *, count: int = 20, side: float = 50.0) -> Moves:
    """Return sides that turn left and right in turn, with this angle between them."""
    turn = math.pi - math.radians(interior_deg)
    heading = np.where(np.arange(count) % 2 == 0, 0.0, turn)
    steps = side * np.column_stack([np.cos(heading), np.sin(heading)])
    return Moves.simple(np.vstack([[0.0, 0.0], np.cumsum(steps, axis=0)]), feed=feed)


def chopped_ellipse(count: int, perimeter: float, feed: float, *, ratio: float = 0.55) -> Moves:
    """Return an ellipse as chords of equal length along the curve."""
    t = np.linspace(0.0, 2.0 * np.pi, 40001)
    curve = np.column_stack([np.cos(t), ratio * np.sin(t)])
    run = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(curve, axis=0).T))])
    at = np.interp(np.linspace(0.0, run[-1], count + 1), run, t)
    points = np.column_stack([np.cos(at), ratio * np.sin(at)]) * perimeter / run[-1]
    return Moves.simple(points, feed=feed)


def tangent_chain(feed: float) -> Moves:
    """Return six lines in a row, a half circle in two arcs, and six lines back."""
    out = [(50.0 * i, 0.0) for i in range(7)]
    back = [(300.0 - 50.0 * i, 120.0) for i in range(7)]
    bulge = [0.0] * 6 + [QUARTER] * 2 + [0.0] * 6
    return Moves.simple([*out, (360.0, 60.0), *back], feed=feed, bulge=bulge)


def per_minute(feed: float) -> float:
    """Return a feed in mm/s."""
    return feed / 60.0


def programs() -> list[Job]:
    """Return the 29 programs."""
    f = per_minute
    square = [(0, 0), (200, 0), (200, 200), (0, 200), (0, 0)]
    jobs = [
        Job(f"straight 1 m, F{feed}", Moves.simple([(0, 0), (1000, 0)], feed=f(feed)), "exact-path")
        for feed in (2500, 9000, 24000)
    ]
    oblique = Moves.simple([(0, 0, 0), (600, 640, 480)], feed=f(24000))
    jobs.append(Job("oblique 1 m, F24000", oblique, "exact-path"))
    for mode in ("exact-path", "exact-stop"):
        square_moves = Moves.simple(square, feed=f(9000))
        jobs.append(Job(f"square 200, F9000, {mode}", square_moves, mode))
        jobs.append(Job(f"tangent chain, F9000, {mode}", tangent_chain(f(9000)), mode))
    for feed in (2500, 9000, 24000):
        large = rectangle(800, 500, 60, f(feed))
        jobs.append(Job(f"rounded 800 x 500 r 60, F{feed}, exact-path", large, "exact-path"))
        if feed < 24000:
            jobs.append(Job(f"rounded 800 x 500 r 60, F{feed}", large, "continuous", 0.1))
    small = rectangle(400, 300, 10, f(9000))
    jobs.append(Job("rounded 400 x 300 r 10, exact-path", small, "exact-path"))
    jobs.append(Job("rounded 400 x 300 r 10", small, "continuous", 0.1))
    jobs += [
        Job(
            f"ellipse of 200 x 5 mm, F{feed}",
            chopped_ellipse(200, 1000, f(feed)),
            "continuous",
            0.1,
        )
        for feed in (2500, 9000)
    ]
    jobs += [
        Job(f"zigzag {angle}°, P{p:g}", zigzag(angle, f(6000)), "continuous", p)
        for angle in (60, 90, 120, 150, 170)
        for p in (0.1, 1.0)
    ]
    jobs.append(Job("zigzag 90°, exact-path", zigzag(90, f(6000)), "exact-path"))
    jobs.append(Job("zigzag 90°, exact-stop", zigzag(90, f(6000)), "exact-stop"))
    return jobs


SHORT = (
    "straight 1 m, F9000",
    "square 200, F9000, exact-path",
    "square 200, F9000, exact-stop",
    "tangent chain, F9000, exact-stop",
    "rounded 800 x 500 r 60, F24000, exact-path",
    "rounded 400 x 300 r 10",
    "ellipse of 200 x 5 mm, F9000",
    "zigzag 60°, P1",
    "zigzag 90°, P0.1",
    "zigzag 150°, P1",
)
"""The ten that are run with every test."""


def chopped_programs() -> list[Job]:
    """Return curves in so short chords that look-ahead or the cycle bounds the speed."""
    return [
        Job(
            "ellipse of 2000 x 0.5 mm, F24000",
            chopped_ellipse(2000, 1000, 400.0),
            "continuous",
            0.01,
        ),
        Job(
            "ellipse of 2000 x 0.1 mm, F12000",
            chopped_ellipse(2000, 200, 200.0),
            "continuous",
            0.01,
        ),
        Job(
            "ellipse of 1000 x 1 mm, F12000", chopped_ellipse(1000, 1000, 200.0), "continuous", 0.1
        ),
    ]
