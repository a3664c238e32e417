"""What to change in the drawing or the set-up to save machine time or hand work.

Wherever a change can be run, it is: the saving is the difference of two whole estimates.
Where only the drawing's author can make the change (a larger inside radius, a seam moved),
the saving is computed from the lengths concerned and the rate at which this very load runs
such edges; the advice says which.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from edgetime.errors import EdgetimeError, Where
from edgetime.estimating.by_hand import by_hand
from edgetime.estimating.pipeline import Estimate, estimate_load, estimate_take_off
from edgetime.geometry import Segments, bounds, contains, corner_turns, intersections, radii
from edgetime.geometry.path import FloatArray
from edgetime.takeoff import Contour, Part, TakeOff
from edgetime.tooling import FaceUp, Operation, Tool
from edgetime.toolpath.codes import KEEP_OUT, NEIGHBOUR

__all__ = ["Advice", "advise"]

_RARE_PROFILE_MM = 1500.0
"""A profile with less edge than this in a load is worth a question: its own set of wheels
comes out of the rack for it [mm]."""

_SHARP_RAD = math.radians(1.0)
"""A smaller turn to the right is no corner but a joint of two tangent curves [rad]."""

_WORTH_S = 5.0
"""A saving below this is not worth a line [s]."""

_WORTH_MM = 10.0
"""Hand work below this is not worth a line [mm]."""


@dataclass(frozen=True, kw_only=True)
class Advice:
    """One thing to change.

    Attributes
    ----------
    kind : str
        Stable slug: ``inside-radius``, ``smaller-wheel``, ``precut-cutouts``, ``other-stack``,
        ``rare-profile``, ``turning-over``, ``seam-place``, ``spacing``, ``pockets``.
    what : str
        What to change, with its numbers.
    saving_s : float
        Machine time saved; negative when it costs some [s].
    saving_attended_s : float
        Attended time saved [s].
    saving_hand_mm : float
        Hand finishing saved [mm].
    how : str
        ``computed by a second estimate`` or the formula used.
    where : Where
        The place in the drawing or the file.
    """

    kind: str
    what: str
    saving_s: float
    saving_attended_s: float
    saving_hand_mm: float
    how: str
    where: Where

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "kind": self.kind,
            "what": self.what,
            "saving_s": self.saving_s,
            "saving_attended_s": self.saving_attended_s,
            "saving_hand_mm": self.saving_hand_mm,
            "how": self.how,
            "where": self.where.as_dict(),
        }


_SECOND = "difference to a second estimate with this change"


def advise(est: Estimate) -> tuple[Advice, ...]:
    """Return what to change, the greatest saving first.

    Parameters
    ----------
    est : Estimate
        The load as drawn and set up.

    Returns
    -------
    tuple of Advice
        Machine and attended time saved count first, then hand work.
    """
    found = [
        *_larger_inside_radius(est),
        *_smaller_wheel(est),
        *_precut_cutouts(est),
        *_other_stack(est),
        *_rare_profiles(est),
        *_turning_over(est),
        *_seam_place(est),
        *_spacing(est),
        *_pockets(est),
    ]
    return tuple(
        sorted(
            found,
            key=lambda a: (-(a.saving_s + a.saving_attended_s), -a.saving_hand_mm, a.what),
        )
    )


def _against(
    est: Estimate, other: Estimate, kind: str, what: str, where: Where
) -> Iterable[Advice]:
    """Yield the advice if the second estimate really saves something."""
    saving = Advice(
        kind=kind,
        what=what,
        saving_s=est.cycle.total_s - other.cycle.total_s,
        saving_attended_s=est.cycle.attended_s - other.cycle.attended_s,
        saving_hand_mm=est.cycle.hand_mm - other.cycle.hand_mm,
        how=_SECOND,
        where=where,
    )
    if saving.saving_s + saving.saving_attended_s > _WORTH_S or saving.saving_hand_mm > _WORTH_MM:
        yield saving


def _finishing_tools(est: Estimate) -> list[Tool]:
    names = dict.fromkeys(p.step.tool for p in est.plan.passes if p.step.operation.finishing)
    return [est.load.catalogue.tools[name] for name in names]


def _largest_mm(est: Estimate, tool: Tool) -> float:
    """Return the diameter of the largest mounted piece of a tool [mm]."""
    pieces = {v.piece for v in est.plan.visits if v.tool == tool.name}
    return max(est.load.diameter_mm(piece) for piece in pieces or {tool.name})


def _finishing_rate_s_per_mm(est: Estimate) -> float:
    """Return the seconds all finishing passes of this load spend per millimetre of edge."""
    spent = 0.0
    edge = 0.0
    for visit in est.cycle.visits:
        if Operation(visit.operation).finishing:
            spent += visit.time.cut_s
            edge = max(edge, visit.treated_mm)
    return spent / edge if edge else 0.0


def _inside_radii(contour: Contour) -> list[float]:
    """Return the radii of a contour's inside corners, 0 for a sharp one [mm]."""
    path = contour.path
    out = [abs(r) for r in radii(path).tolist() if math.isfinite(r) and r < 0.0]
    return out + [0.0] * int((corner_turns(path) < -_SHARP_RAD).sum())


def _contour(part: Part, index: int) -> Contour:
    return part.contours()[index]


def _contour_name(index: int) -> str:
    return "the outline" if index == 0 else f"cutout {index}"


def _larger_inside_radius(est: Estimate) -> Iterable[Advice]:
    """Ask for larger corners where they can be had, and for wider openings where they cannot."""
    tools = _finishing_tools(est)
    if not tools:
        return
    needed = max(_largest_mm(est, t) / 2.0 + t.clearance_mm for t in tools)
    rate = _finishing_rate_s_per_mm(est)
    for (index, contour), hand in by_hand(est, needed).items():
        part = est.load.parts[index].part
        corners = (
            f"draw its {hand.corners} tight inside corner(s) with a radius of at least "
            f"{needed:.1f} mm (smallest now {hand.tightest_mm:.1f} mm); the largest finishing "
            "wheel then reaches them."
        )
        width = (
            f"make it at least {2.0 * needed:.1f} mm wide ({hand.width_mm:.1f} mm now, at its "
            "narrowest); rounding its corners does not let the largest finishing wheel in."
        )
        asked = (
            ("inside-radius", hand.corners_mm, corners),
            ("wider-opening", hand.narrow_mm, width),
        )
        for kind, length, what in asked:
            if length < _WORTH_MM:
                continue
            x, y = hand.place
            yield Advice(
                kind=kind,
                what=f"{part.part_id} ({part.name}), {_contour_name(contour)}: {what}",
                saving_s=-length * rate,
                saving_attended_s=0.0,
                saving_hand_mm=length,
                how="hand work of this contour; the machine runs that length at this load's own "
                "rate",
                where=Where(path=part.drawing, part=part.part_id, x_mm=x, y_mm=y),
            )


def _smaller_wheel(est: Estimate) -> Iterable[Advice]:
    """Try wheels that fit the load's own inside radii and narrow openings in place of the larger ones."""
    if est.cycle.hand_mm < _WORTH_MM:
        return
    tools = _finishing_tools(est)
    largest = max(_largest_mm(est, t) / 2.0 + t.clearance_mm for t in tools)
    contours = {(h.part, h.contour) for h in est.paths.hand if h.contour >= 0}
    radii_mm = sorted(
        {
            round(r, 3)
            for part, contour in contours
            for r in _inside_radii(_contour(est.load.parts[part].part, contour))
            if 0.0 < r < largest
        }
        | {
            round(0.5 * hand.width_mm, 3)
            for hand in by_hand(est, largest).values()
            if hand.narrow_mm
        }
    )
    # A wheel below 20 mm has no room for its hub; the trade makes none.
    for radius in [r for r in radii_mm if r >= 10.0][:3]:
        smaller = {
            t.name: 2.0 * (radius - t.clearance_mm)
            for t in tools
            if _largest_mm(est, t) / 2.0 + t.clearance_mm > radius
        }
        if any(d <= 0.0 for d in smaller.values()):
            continue
        # One size for all pieces of a tool.
        others = {
            name: d
            for name, d in est.load.diameters_mm.items()
            if name.partition("/")[0] not in smaller
        }
        load = replace(est.load, diameters_mm=others | smaller)
        try:
            other = estimate_load(est.take_off, load, est.options)
        except EdgetimeError:
            continue
        diameter = min(smaller.values())
        yield from _against(
            est,
            other,
            "smaller-wheel",
            f"Finish with wheels and pads of at most {diameter:.1f} mm diameter "
            f"({', '.join(smaller)}), which enter corners and openings that admit a radius of {radius:.1f} mm.",
            Where(path=est.load.stack.file),
        )


def _precut_cutouts(est: Estimate) -> Iterable[Advice]:
    milled = {p.run.part for p in est.plan.passes if p.step.operation is Operation.CUT}
    if not milled:
        return

    def precut(part: Part) -> Part:
        return replace(part, cutouts=tuple(replace(c, method="precut") for c in part.cutouts))

    load = replace(
        est.load,
        cutout_method="precut",
        parts=tuple(replace(p, part=precut(p.part)) for p in est.load.parts),
    )
    try:
        other = estimate_load(est.take_off, load, est.options)
    except EdgetimeError:
        return
    names = ", ".join(est.load.parts[i].part.part_id for i in sorted(milled))
    yield from _against(
        est,
        other,
        "precut-cutouts",
        f"Have the cutouts of {names} cut on the waterjet or saw before loading "
        "(that machine's own time is not counted here).",
        Where(path=est.load.catalogue.shop.file, key="cutout_method"),
    )


def _other_stack(est: Estimate) -> Iterable[Advice]:
    for name in est.load.catalogue.stacks:
        if name == est.load.stack.name:
            continue
        try:
            other = estimate_take_off(
                est.take_off, est.load.catalogue, replace(est.options, stack=name)
            )
        except EdgetimeError:
            continue
        if any(f.severity.value == "error" for f in other.plan.findings):
            continue
        yield from _against(
            est,
            other,
            "other-stack",
            f"Mount the stack {name} ({other.load.stack.title}) instead of {est.load.stack.name}.",
            Where(path=other.load.stack.file),
        )


def _with_profile(parts: TakeOff, old: str, new: str) -> TakeOff:
    def edit(contour: Contour) -> Contour:
        return replace(
            contour,
            edges=tuple(
                replace(e, profile=new if e.profile == old else e.profile) for e in contour.edges
            ),
        )

    def edit_part(part: Part) -> Part:
        return replace(
            part,
            outline=edit(part.outline),
            cutouts=tuple(replace(c, contour=edit(c.contour)) for c in part.cutouts),
        )

    return TakeOff(
        drawings=tuple(
            replace(d, parts=tuple(edit_part(p) for p in d.parts)) for d in parts.drawings
        )
    )


def _commonest_profile(est: Estimate, but: str) -> str | None:
    lengths: dict[str, float] = defaultdict(float)
    for (_, profile), length in est.plan.treated_mm.items():
        lengths[profile] += length
    lengths.pop(but, None)
    return max(lengths, key=lambda p: (lengths[p], p), default=None)


def _rare_profiles(est: Estimate) -> Iterable[Advice]:
    lengths: dict[str, float] = defaultdict(float)
    for (_, profile), length in est.plan.treated_mm.items():
        lengths[profile] += length
    for profile, length in sorted(lengths.items()):
        common = _commonest_profile(est, profile)
        if common is None or length > _RARE_PROFILE_MM:
            continue
        try:
            other = estimate_take_off(
                _with_profile(est.take_off, profile, common), est.load.catalogue, est.options
            )
        except EdgetimeError:
            continue
        yield from _against(
            est,
            other,
            "rare-profile",
            f"Ask whether the {length / 1000:.2f} m of {profile} may be {common}: "
            "its own wheels come out of the rack for it.",
            Where(),
        )


def _turning_over(est: Estimate) -> Iterable[Advice]:
    """Ask about profiles that force a part to be turned over."""
    turning = sorted(
        {
            profile
            for _, profile in est.plan.treated_mm
            if est.load.catalogue.profiles[profile].sides == 2
            or est.load.catalogue.profiles[profile].face_up is FaceUp.DOWN
        }
    )
    if not any(stop.reason == "flip" for stop in est.plan.stops):
        return
    for profile in turning:
        common = _commonest_profile(est, profile)
        if common is None:
            continue
        try:
            other = estimate_take_off(
                _with_profile(est.take_off, profile, common), est.load.catalogue, est.options
            )
        except EdgetimeError:
            continue
        yield from _against(
            est,
            other,
            "turning-over",
            f"{profile} turns parts over half way; {common} would not.",
            Where(path=est.load.catalogue.profiles[profile].file),
        )


def _seam_place(est: Estimate) -> Iterable[Advice]:
    """Look for a narrower place for a seam, as fabricators put seams at the sink."""
    seam_s = sum(v.time.cut_s for v in est.cycle.visits if v.operation == Operation.SEAM.value)
    seam_mm = sum(v.edge_mm for v in est.cycle.visits if v.operation == Operation.SEAM.value)
    rate = seam_s / seam_mm if seam_mm else 0.0
    for placed in est.load.parts:
        part = placed.part
        for edge in part.outline.edges:
            if edge.profile != "seam" or edge.stop - edge.first != 1:
                continue
            if part.outline.path.bulges[edge.first] != 0.0:
                continue
            narrow = _narrowest(part, edge.first)
            if narrow is None:
                continue
            width, x, y = narrow
            saved = edge.length_mm - width
            if width > 0.75 * edge.length_mm:
                continue
            yield Advice(
                kind="seam-place",
                what=(
                    f"{part.part_id} ({part.name}): its seam is {edge.length_mm:.0f} mm long; at "
                    f"({x:.0f}, {y:.0f}) mm, through the cutout, only {width:.0f} mm of stone "
                    "would be joined. Weigh it against the strength of the narrow rails."
                ),
                saving_s=2.0 * saved * rate,
                saving_attended_s=0.0,
                saving_hand_mm=0.0,
                how="seam length saved on both sides at this load's own seam rate",
                where=Where(path=part.drawing, part=part.part_id, x_mm=x, y_mm=y),
            )


def _narrowest(part: Part, segment: int) -> tuple[float, float, float] | None:
    """Return (width, x, y) of the narrowest cross-section through a cutout, parallel to a seam.

    Cross-sections stand at the middle of each cutout's bounds; the width is that of the stone
    which the outline and the cutouts leave on the line [mm].
    """
    path = part.outline.path
    step = path.points[segment + 1] - path.points[segment]
    along = step / np.hypot(step[0], step[1])
    sections = []
    for cutout in part.cutouts:
        x0, y0, x1, y1 = bounds(cutout.contour.path)
        middle = np.array([(x0 + x1) / 2.0, (y0 + y1) / 2.0])
        sections.append((_stone_on_line(part, middle, along), float(middle[0]), float(middle[1])))
    return min(sections, default=None)


def _stone_on_line(part: Part, origin: FloatArray, along: FloatArray) -> float:
    """Return the length of stone on a straight line through a part [mm]."""
    x0, y0, x1, y1 = bounds(part.outline.path)
    half = float(np.hypot(x1 - x0, y1 - y0)) + 1.0
    start, end = origin - half * along, origin + half * along
    cuts = []
    for contour in part.contours():
        table = Segments.of(contour.path)
        n = len(table)
        line = Segments(np.tile(start, (n, 1)), np.tile(end, (n, 1)), np.zeros(n))
        cuts.append(intersections(line, table)[1])
    at = np.unique(np.concatenate(cuts))
    middle = 0.5 * (at[:-1] + at[1:])
    points = start + middle[:, None] * (end - start)
    stone = contains(part.outline.path, points)
    for cutout in part.cutouts:
        stone &= ~contains(cutout.contour.path, points)
    return float(np.diff(at)[stone].sum() * 2.0 * half)


_APART = {NEIGHBOUR.name: "Move the parts apart", KEEP_OUT.name: "Clear the way"}


def _spacing(est: Estimate) -> Iterable[Advice]:
    """Turn what the clearance check found into one line per pair of parts."""
    for finding in est.paths.findings:
        if finding.code in _APART:
            yield Advice(
                kind="spacing",
                what=f"{_APART[finding.code]}: {finding.message}",
                saving_s=0.0,
                saving_attended_s=0.0,
                saving_hand_mm=0.0,
                how="no time saved; the load cannot run safely as it lies",
                where=finding.where,
            )


def _pockets(est: Estimate) -> Iterable[Advice]:
    """Say what tools that do not fit the rack cost."""
    pieces = len(dict.fromkeys(v.piece for v in est.plan.visits))
    pockets = est.load.machine.pockets
    if pieces <= pockets:
        return
    swaps = pieces - pockets
    machine = est.load.machine
    yield Advice(
        kind="pockets",
        what=(
            f"The load needs {pieces} tools and {machine.name} has {pockets} pockets; "
            f"{swaps} must be put in by hand while the program waits. Fewer profiles in one "
            "load, or a machine with more pockets, saves these stops."
        ),
        saving_s=0.0,
        saving_attended_s=swaps * machine.stop_s,
        saving_hand_mm=0.0,
        how="one attended stop per tool that has no pocket",
        where=Where(path=machine.file, key="pockets"),
    )
