"""Three invented loads, and what a careful person with a calculator says of them.

Nothing of the program's own arithmetic is used: only the figures of the catalogue (machine,
steps, tools) and the definitions of the documentation. Lengths are closed forms; the centre of
a tool runs the parallel curve, whose length is P + R times the angle turned (Steiner 1840);
a move from rest to rest takes the closed forms of the double-S profile (Biagiotti and
Melchiorri, Trajectory Planning for Automatic Machines and Robots, 2008, section 3.4).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path

from edgetime.tooling import Machine, Step
from support.pen import QUARTER, Pen

Point = tuple[float, float]
Cut = Sequence[tuple[float, float]]


def seconds(way: float, speed: float, acceleration: float, jerk: float) -> float:
    """Return the time of a straight move from rest to rest [s]."""
    a, j = acceleration, jerk
    if speed * j >= a * a:
        if way >= speed * (speed / a + a / j):
            return way / speed + speed / a + a / j
        if way >= 2.0 * a**3 / j**2:
            return a / j + math.sqrt((a / j) ** 2 + 4.0 * way / a)
    elif way >= 2.0 * speed * math.sqrt(speed / j):
        return way / speed + 2.0 * math.sqrt(speed / j)
    return 4.0 * math.cbrt(way / (2.0 * j))


@dataclass
class Row:
    """The seconds of one tool, by hand, and the millimetres of its centre in the cut."""

    change: float = 0.0
    cut: float = 0.0
    lead: float = 0.0
    plunge: float = 0.0
    rapid: float = 0.0
    dwell: float = 0.0
    path_mm: float = 0.0

    @property
    def total(self) -> float:
        """Sum of the terms [s]."""
        return self.change + self.cut + self.lead + self.plunge + self.rapid + self.dwell


@dataclass(frozen=True)
class Way:
    """One engagement: where the tool goes down and up, and what it runs in between.

    ``cut`` is a list of (length, radius) of the tool-centre path, radius ``inf`` on straights;
    ``straight`` is overruns and overlap. All in millimetres.
    """

    down: Point
    up: Point
    cut: Cut
    straight: float


@dataclass
class Hand:
    """A calculator for one machine."""

    machine: Machine
    rotation: float = 0.0
    rows: dict[str, Row] = field(default_factory=dict)

    def travel(self, here: Point, there: Point) -> float:
        """Return the time of a rapid in XY: the axis that limits most decides [s]."""
        m = self.machine
        way = math.dist(here, there)
        if way == 0.0:
            return 0.0
        share = [abs(there[i] - here[i]) / way for i in (0, 1)]

        def least(limits: tuple[float, float, float]) -> float:
            return min(limits[i] / share[i] for i in (0, 1) if share[i] > 0.0)

        a = min(m.path_acceleration_mm_per_s2, least(m.axis_acceleration_mm_per_s2))
        return seconds(way, least(m.rapid_mm_per_s), a, least(m.axis_jerk_mm_per_s3))

    def vertical(self, way: float, speed: float | None = None) -> float:
        """Return the time of a move up or down, a rapid without a speed [s]."""
        m = self.machine
        v = m.rapid_mm_per_s[2] if speed is None else min(speed, m.axis_speed_mm_per_s[2])
        a = min(m.path_acceleration_mm_per_s2, m.axis_acceleration_mm_per_s2[2])
        return seconds(way, v, a, m.axis_jerk_mm_per_s3[2])

    def on_arc(self, radius: float, feed: float) -> float:
        """Return the speed on an arc: motion page, 'along and across together' [mm/s]."""
        if math.isinf(radius):
            return feed
        m, k = self.machine, math.sqrt(2.0)
        across = min(m.centripetal_mm_per_s2, min(m.axis_acceleration_mm_per_s2[:2]) / k)
        jerk = min(m.axis_jerk_mm_per_s3[:2])
        return min(feed, math.sqrt(across * radius), math.cbrt(jerk * radius**2 / (2.0 * k)))

    def starting_and_stopping(self, speed: float) -> float:
        """Return what one start and one stop on lead arcs add to length ÷ speed [s]."""
        m, k = self.machine, math.sqrt(2.0)
        a = min(m.path_acceleration_mm_per_s2, min(m.axis_acceleration_mm_per_s2[:2]) / k)
        j = min(m.axis_jerk_mm_per_s3[:2]) / (2.0 * k)
        return speed / a + a / j if speed * j >= a * a else 2.0 * math.sqrt(speed / j)

    def change(self, step: Step) -> float:
        """Return run-down, exchange, measuring and run-up [s]."""
        m = self.machine
        spin = (self.rotation + step.rotation_rad_per_s) / m.spindle_up_rad_per_s2
        self.rotation = step.rotation_rad_per_s
        return spin + m.exchange_s + m.measure_s

    def wheel(self, name: str, step: Step, ways: list[Way], depth: float) -> Row:
        """Sum one visit of a wheel that comes to its runs on arcs, and keep it as ``name``."""
        m, row = self.machine, Row()
        row.change = self.change(step)
        row.change += self.travel(m.rack_mm, ways[0].down) + self.travel(ways[-1].up, m.rack_mm)
        row.dwell = m.water_on_s + step.dwell_s * len(ways)
        feed = step.feed_mm_per_s
        arc = self.on_arc(step.lead_mm, feed)
        for number, way in enumerate(ways):
            row.cut += sum(length / self.on_arc(radius, feed) for length, radius in way.cut)
            row.path_mm += sum(length for length, _ in way.cut)
            row.lead += math.pi * step.lead_mm / arc + way.straight / feed
            row.lead += self.starting_and_stopping(arc)
            row.plunge += self.vertical(m.approach_z_mm + depth, step.plunge_mm_per_s)
            row.plunge += self.vertical(m.approach_z_mm + depth, step.retract_mm_per_s)
            row.rapid += 2.0 * self.vertical(m.safe_z_mm - m.approach_z_mm)
            if number:
                row.rapid += self.travel(ways[number - 1].up, way.down)
        self.rows[name] = row
        return row

    def core(self, name: str, step: Step, holes: list[Point], depth: float) -> Row:
        """Sum one visit of a core bit that pecks its holes, each but half a millimetre back."""
        m, row = self.machine, Row()
        row.change = self.change(step)
        row.change += self.travel(m.rack_mm, holes[0]) + self.travel(holes[-1], m.rack_mm)
        row.dwell = m.water_on_s + step.dwell_s * len(holes)
        back_off = 0.5
        pecks = math.ceil(depth / step.depth_step_mm)
        one = (m.approach_z_mm + depth + back_off * (pecks - 1)) / step.feed_mm_per_s
        for k in range(1, pecks):
            up = m.approach_z_mm + k * step.depth_step_mm
            one += self.vertical(up, step.retract_mm_per_s)
            one += self.vertical(up - back_off, step.retract_mm_per_s)
        one += self.vertical(m.approach_z_mm + depth, step.retract_mm_per_s)
        row.plunge = one * len(holes)
        row.rapid = len(holes) * 2.0 * self.vertical(m.safe_z_mm - m.approach_z_mm)
        row.rapid += sum(self.travel(p, q) for p, q in pairwise(holes))
        self.rows[name] = row
        return row


def closed(middle: Point, along: Point, air: Point, offset: float, step: Step, cut: Cut) -> Way:
    """Return a closed run begun in the middle of a straight, with arcs and overlap."""
    out = offset + step.lead_mm
    back, ahead = step.lead_mm, step.lead_mm + step.overlap_mm
    down = (
        middle[0] - along[0] * back + air[0] * out,
        middle[1] - along[1] * back + air[1] * out,
    )
    up = (
        middle[0] + along[0] * ahead + air[0] * out,
        middle[1] + along[1] * ahead + air[1] * out,
    )
    return Way(down, up, cut, step.overlap_mm)


def open_run(
    ends: tuple[Point, Point],
    alongs: tuple[Point, Point],
    airs: tuple[Point, Point],
    offset: float,
    step: Step,
    cut: Cut,
) -> Way:
    """Return a run between two free ends: overrun both, an arc in and an arc out."""
    out, past = offset + step.lead_mm, step.overrun_mm + step.lead_mm
    down, up = (
        (p[0] + way * t[0] * past + n[0] * out, p[1] + way * t[1] * past + n[1] * out)
        for p, t, n, way in zip(ends, alongs, airs, (-1.0, 1.0), strict=True)
    )
    return Way(down, up, cut, 2.0 * step.overrun_mm)


def write_rectangle(path: Path) -> Path:
    """Write 1200 x 700 at (700, 600), eased all round."""
    pen = Pen()
    pen.rectangle("EASED", 700, 600, 1200, 700)
    return pen.save(path)


TOPS = (
    # x, y, width, height; layers of bottom, right, top, left
    (300.0, 600.0, 1500.0, 620.0, ("EASED", "SEAM", "WALL", "EASED")),
    (2150.0, 600.0, 1100.0, 620.0, ("EASED", "EASED", "WALL", "SEAM")),
)
SINKS = (
    # x, y, width, height, corner radius
    (700.0, 690.0, 500.0, 400.0, 60.0),
    (2490.0, 700.0, 420.0, 360.0, 70.0),
)
TAPS = ((950.0, 1155.0), (2700.0, 1140.0))
TAP_DIAMETER = 35.0


def write_tops(path: Path) -> Path:
    """Write two tops that meet in a seam, each with an undermount cutout and a tap hole."""
    pen = Pen()
    for *place, layers in TOPS:
        pen.sides(layers, *place)
    for sink in SINKS:
        pen.rounded("SINK", *sink)
    for x, y in TAPS:
        pen.circle("TAP", x, y, TAP_DIAMETER)
    return pen.save(path)


def write_counter(path: Path) -> Path:
    """Write an L-shaped counter: three rounded corners, a radius end, an inside radius."""
    pen = Pen()
    pen.loop(
        "HALF-BULLNOSE",
        [
            (580, 400, 0.0),
            (2980, 400, 1.0),  # half circle, radius 320
            (2980, 1040, 0.0),
            (1200, 1040, -QUARTER),  # inside radius 60
            (1140, 1100, 0.0),
            (1140, 1860, QUARTER),  # radius 40
            (1100, 1900, 0.0),
            (540, 1900, QUARTER),  # radius 40
            (500, 1860, 0.0),
            (500, 480, QUARTER),  # radius 80
        ],
    )
    return pen.save(path)
