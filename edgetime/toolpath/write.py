"""Engagement after engagement written down as moves: travel, down, along the edge, up."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from edgetime.geometry.path import FloatArray, IntArray
from edgetime.moves import NO_INDEX, MoveKind
from edgetime.passes.pass_plan import Pass, PassPlan
from edgetime.tooling import Operation
from edgetime.toolpath.centre import centre_feeds
from edgetime.toolpath.core import circle_centre, core_area_mm2, pecks
from edgetime.toolpath.engage import Engagement
from edgetime.toolpath.rows import Block, Owner, RowBook

_NO_LIMIT: Final = math.inf
"""Feed of a rapid."""

# Bound once: looking a member up costs as much as writing a row.
_RAPID, _PLUNGE, _LEAD, _CUT = MoveKind.RAPID, MoveKind.PLUNGE, MoveKind.LEAD, MoveKind.CUT


class Writer:
    """Writes the rows of a load.

    Parameters
    ----------
    plan : PassPlan
        What is written.

    Attributes
    ----------
    book : RowBook
        The rows so far.
    changes : list of (int, int)
        Per visit, the rows of travel from and to the rack.
    """

    def __init__(self, plan: PassPlan) -> None:
        machine = plan.load.machine
        self.plan = plan
        self.rack = (*machine.rack_mm, machine.safe_z_mm)
        self.safe_z = machine.safe_z_mm
        self.approach_z = machine.approach_z_mm
        # The water comes on over the first place, so the tool stands there.
        self.stands = machine.water_on_s > 0.0
        self.book = RowBook(self.rack)
        self.changes = [(0, 0)] * len(plan.visits)
        # The pass the tool is at, where it stands, and in which profile.
        self._at: tuple[int, float, float, float, int] | None = None

    def write(self, index: int, body: Engagement | None, *, linked: bool) -> None:
        """Write one engagement, or with no body a cored hole.

        Parameters
        ----------
        index : int
            The pass.
        body : Engagement or None
            Its way along the edge.
        linked : bool
            The tool comes from the engagement before without leaving its depth.
        """
        p = self.plan.passes[index]
        centre = circle_centre(p.run.path) if body is None else body.start
        x, y = float(centre[0]), float(centre[1])
        if self._at is not None and self.plan.passes[self._at[0]].visit != p.visit:
            self.leave()
        profiles = self._profiles(p, body)
        first = int(profiles[0])
        if linked and self._at is not None:
            self._shift(index, p, x, y, first)
        else:
            self._approach(index, p, x, y, first, core=body is None)
        if body is None:
            self._core(index, p, x, y)
            self._at = (index, x, y, p.bottom_z_mm, first)
            return
        cut = body.kind == _CUT
        feed = np.full(len(cut), p.feed_mm_per_s)
        feed[cut] = centre_feeds(body.contact_ratio[cut], p.feed_mm_per_s, p.step)
        self.book.block(
            Block(
                body.end, body.bulge, body.length, feed, body.treated,
                self._volumes(p, body, profiles), body.kind, profiles,
                p.bottom_z_mm, index, p.run.part, p.visit,
            )
        )  # fmt: skip
        end = body.end[-1]
        self._at = (index, float(end[0]), float(end[1]), p.bottom_z_mm, int(profiles[-1]))

    def leave(self) -> None:
        """Bring the tool back to the rack."""
        if self._at is None:
            return
        visit = self.plan.passes[self._at[0]].visit
        self._retract()
        self.book.travel(self.rack, _RAPID, _NO_LIMIT, Owner(visit), stop=True, change=True)
        self.changes[visit] = (1, 1)
        self._at = None

    def _profiles(self, p: Pass, body: Engagement | None) -> IntArray:
        tags = p.run.path.tags
        return tags[:1] if body is None else tags[body.tags]

    def _approach(
        self, index: int, p: Pass, x: float, y: float, profile: int, *, core: bool
    ) -> None:
        """Travel to a place and go down to the depth, a core bit only to the approach height."""
        own = Owner(p.visit, index, p.run.part, profile)
        if self._at is None:
            self.book.travel(
                (x, y, self.safe_z), _RAPID, _NO_LIMIT, Owner(p.visit),
                stop=self.stands, change=True,
            )  # fmt: skip
        else:
            before = self.plan.passes[self._at[0]].run.part
            same_profile = self._at[4] == profile
            self._retract()
            same = before == p.run.part
            # The way from one part to another belongs to neither.
            owner = Owner(p.visit)
            if same:
                owner = own if same_profile else own._replace(profile=NO_INDEX)
            self.book.travel((x, y, self.safe_z), _RAPID, _NO_LIMIT, owner)
        dwell = p.step.dwell_s
        self.book.travel(
            (x, y, self.approach_z), _RAPID, _NO_LIMIT, own, dwell=dwell if core else 0.0
        )  # fmt: skip
        if not core:
            self.book.travel(
                (x, y, p.bottom_z_mm), _PLUNGE, p.plunge_mm_per_s, own, stop=True, dwell=dwell
            )  # fmt: skip

    def _shift(self, index: int, p: Pass, x: float, y: float, profile: int) -> None:
        """Go to the next place at the old depth, then to the new depth."""
        assert self._at is not None  # noqa: S101 - for the type checker
        z = self._at[3]
        own = Owner(p.visit, index, p.run.part, profile)
        self.book.travel((x, y, z), _LEAD, p.feed_mm_per_s, own)
        feed = p.step.retract_mm_per_s if p.bottom_z_mm > z else p.plunge_mm_per_s
        self.book.travel((x, y, p.bottom_z_mm), _PLUNGE, feed, own, stop=True)

    def _retract(self) -> None:
        """Go up at the retract feed to the approach height, then by rapid."""
        assert self._at is not None  # noqa: S101 - for the type checker
        index, x, y, _, profile = self._at
        p = self.plan.passes[index]
        own = Owner(p.visit, index, p.run.part, profile)
        for z, kind, feed in (
            (self.approach_z, _PLUNGE, p.step.retract_mm_per_s),
            (self.safe_z, _RAPID, _NO_LIMIT),
        ):
            self.book.travel((x, y, z), kind, feed, own)

    def _core(self, index: int, p: Pass, x: float, y: float) -> None:
        """Write the pecks of a hole; the circle counts as treated as it is drilled."""
        load = self.plan.load
        thickness = load.parts[p.run.part].actual_mm
        moves = pecks(
            p.bottom_z_mm,
            approach_z_mm=self.approach_z,
            peck_mm=p.step.depth_step_mm,
            thickness_mm=thickness,
            feed_mm_per_s=p.feed_mm_per_s,
            retract_mm_per_s=p.step.retract_mm_per_s,
        )
        area = core_area_mm2(load.diameter_mm(p.step.tool))
        # A hole's edge is treated as deep as it is drilled: the shares of the pecks add up to all
        # of it.
        drilled = max(float(moves.fresh.sum()), 1e-300)
        own = Owner(p.visit, index, p.run.part, int(p.run.path.tags[0]))
        for z, feed, stop, fresh in zip(
            moves.z.tolist(), moves.feed.tolist(), moves.stop.tolist(), moves.fresh.tolist(),
            strict=True,
        ):  # fmt: skip
            self.book.peck(
                (x, y, z), feed, own, stop=stop,
                treated=p.run.path.length_mm * fresh / drilled, volume=area * fresh,
            )  # fmt: skip

    def _volumes(self, p: Pass, body: Engagement, profiles: IntArray) -> FloatArray:
        """Return the stone removed on each move [mm³]."""
        cut = body.kind == _CUT
        if p.step.operation is Operation.CUT:
            thickness = self.plan.load.parts[p.run.part].actual_mm
            depth = max(0.0, min(p.top_z_mm, 0.0) - max(p.bottom_z_mm, -thickness))
            width = self.plan.load.diameter_mm(p.step.tool)
            return np.where(cut, body.length * (width * depth), 0.0)
        # Index -1 finds the zero appended for edges without a profile.
        removed = np.array([*p.removed_mm2, 0.0])
        return np.asarray(removed[profiles] * body.treated)
