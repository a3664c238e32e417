"""Openings of parts: cutouts and core-bit holes."""

from __future__ import annotations

import math
from collections import defaultdict
from typing import NamedTuple

from edgetime.choices import CutoutMethod
from edgetime.drawing.drawing import Entity
from edgetime.takeoff import codes
from edgetime.takeoff.by_layer import UNFINISHED, Sheet
from edgetime.takeoff.chords import circle_of, follow_contour
from edgetime.takeoff.claims import Claims
from edgetime.takeoff.loops import Loops
from edgetime.takeoff.notes import Notes
from edgetime.takeoff.parts import Contour, Cutout, Hole
from edgetime.takeoff.sound import listed_mm
from edgetime.tolerances import COINCIDENT_MM, HOLE_DIAMETER_MM
from edgetime.tooling.layers import Meaning

_Circle = tuple[float, float, float]
"""Centre and diameter [mm]."""


class CoreBits(NamedTuple):
    """The core bits that a shop has."""

    diameters_mm: tuple[float, ...]
    """Their diameters; with none of them, any circle can be cored [mm]."""

    def fit(self, diameter_mm: float) -> bool:
        """Return whether one of them makes a hole."""
        # Rounding of a unit conversion must not decide at the limit itself.
        reach = HOLE_DIAMETER_MM + 1e-9
        return not self.diameters_mm or abs(self.nearest(diameter_mm) - diameter_mm) <= reach

    def nearest(self, diameter_mm: float) -> float:
        """Return the diameter nearest to that of a hole [mm]."""
        return min(self.diameters_mm, key=lambda d: abs(d - diameter_mm))


class Openings:
    """Makes cutouts and holes of loops."""

    def __init__(
        self,
        sheet: Sheet,
        claims: Claims,
        loops: Loops,
        contours: list[tuple[Contour, float, tuple[float, float]]],
        notes: Notes,
        *,
        cores: CoreBits,
        contour_mm: float,
        profile: str | None = None,
    ) -> None:
        self._sheet, self._claims, self._notes = sheet, claims, notes
        self._loops, self._contours = loops, contours
        self._cores, self._profile = cores, profile
        self._contour_mm = contour_mm
        self._circles = loops.circles.tolist()

    def make(self, number: int) -> Cutout | Hole:
        """Return a loop as a hole if a core bit makes it, else as a cutout."""
        sheet = self._sheet
        own = self._loops.segments.entity[self._loops.first[number] : self._loops.first[number + 1]]
        entities = sorted(set(own.tolist()))
        lead = sheet.entities[entities[0]]
        contour, missing, worst = self._contours[number]
        followed = follow_contour(contour, self._contour_mm)
        circle = self._circle(number, lead if len(entities) == 1 else None)
        if circle is None and followed.found:
            circle = circle_of(followed.contour.path)
        means = {sheet.meaning(e) for e in entities}
        # Where everything is drawn on one layer, a circle of a bit's size is its hole.
        meant = means == {Meaning.HOLE} or (
            means == {Meaning.OUTLINE} and bool(self._cores.diameters_mm)
        )
        if meant and circle is not None and self._cores.fit(circle[2]):
            self._note_finish(contour, missing, circle, lead)
            followed.note("a hole", self._notes)
            drawn = contour.path.length_mm if followed.found else None
            return Hole(*circle, lead.layer, lead.handle, drawn)
        if means == {Meaning.HOLE}:
            self._note_misfit(circle, lead, number)
        if missing > 0.0 and self._profile is None:
            text = f"{missing:.1f} mm of a cutout have no profile; they count as unfinished."
            self._notes.add(codes.CUTOUT_PROFILE_MISSING, text, of=lead, at=worst)
        followed.note("a cutout", self._notes)
        diameter = None if circle is None else circle[2]
        return Cutout(followed.contour, diameter, self._method(entities, worst))

    def _circle(self, number: int, drawn: Entity | None) -> _Circle | None:
        """Return centre and diameter of a loop that is drawn as one circle [mm]."""
        x, y, diameter = self._circles[number]
        if drawn is not None and drawn.circle_diameter_mm is not None:
            diameter = drawn.circle_diameter_mm
        return None if math.isnan(diameter) else (x, y, diameter)

    def _method(self, entities: list[int], place: tuple[float, float]) -> CutoutMethod | None:
        """Return how a cutout is made: any curve drawn there may say, the earlier rule counts."""
        said: dict[CutoutMethod, int] = {}
        for e in self._claims.with_covered(entities):
            rule = self._sheet.rules[e]
            if rule is not None and rule.method is not None:
                said.setdefault(rule.method, e)
        if len(said) < 2:
            return next(iter(said), None)
        method, other = sorted(said, key=lambda m: self._sheet.rule_number(said[m]))[:2]
        loser = self._sheet.entities[said[other]]
        text = (
            f"A cutout is drawn as {other} and as {method} ({self._sheet.name(said[method])}); "
            f"{method} counts, since its layer rule comes first."
        )
        self._notes.add(codes.METHOD_CONFLICT, text, of=loser, at=place)
        return method

    def _note_finish(
        self, contour: Contour, missing_mm: float, circle: _Circle, lead: Entity
    ) -> None:
        """Note the profiles drawn on a hole."""
        drawn: dict[str, float] = defaultdict(float)
        for edge in contour.edges:
            drawn[edge.profile] += edge.length_mm
        # What has the profile of openings without one (--cutout-profile) has none drawn.
        drawn[self._profile or UNFINISHED] -= missing_mm
        worked = {p: mm for p, mm in drawn.items() if p != UNFINISHED and mm > COINCIDENT_MM}
        if worked:
            x, y, diameter = circle
            text = f"On a hole of {diameter:.2f} mm an edge is drawn ({listed_mm(worked)}); "
            text += "a core bit gives it none."
            self._notes.add(codes.HOLE_PROFILE, text, of=lead, at=(x, y))

    def _note_misfit(self, circle: _Circle | None, lead: Entity, number: int) -> None:
        if circle is None:
            text = "A closed line on a hole layer is not a circle; it counts as a cutout."
            x, y = self._loops.segments.start[self._loops.first[number]].tolist()
        else:
            x, y, diameter = circle
            text = (
                f"No core bit has the diameter {diameter:.2f} mm (within "
                f"{HOLE_DIAMETER_MM:g} mm); the nearest has {self._cores.nearest(diameter):g} mm. It counts "
                "as a cutout."
            )
        self._notes.add(codes.HOLE_SIZE, text, of=lead, at=(x, y))
