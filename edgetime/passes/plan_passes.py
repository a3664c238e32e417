"""Plan the passes of a load: visits, passes in running order, attended stops."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Final

import numpy as np

from edgetime.errors import NothingToCut
from edgetime.geometry.measure import start_directions
from edgetime.geometry.path import FloatArray
from edgetime.load.checks import sampled
from edgetime.load.load import Load
from edgetime.passes import codes
from edgetime.passes.checks import check_coverage, check_diameters, check_pockets, check_speeds
from edgetime.passes.features import Planner
from edgetime.passes.grinding import Grinding
from edgetime.passes.milling import Milling
from edgetime.passes.order import Orderer
from edgetime.passes.pass_plan import (
    AttendedStop,
    Pass,
    PassPlan,
    PlannedVisit,
    pocket_stops,
)
from edgetime.passes.strokes import Work
from edgetime.places import Place
from edgetime.tooling import Operation, Step
from edgetime.tooling.layers import USUAL_PROFILE, Meaning

FINISHING: Final = frozenset({Operation.PROFILE, Operation.FINE, Operation.POLISH})

OPPOSITE_RAD: Final = math.radians(10.0)
"""Two edges run opposite ways when their directions differ from 180° by less [rad]."""


_Stay = tuple[PlannedVisit, list[list[Work]]]


def _mergeable(groups: list[list[Work]]) -> bool:
    """Return whether steps of one stay may be taken run by run instead of one after another.

    They may where each contour is worked by one step only, or by all on the same runs.
    """
    seen: dict[tuple[int, int, bool], frozenset[int]] = {}
    for works in groups:
        mine: dict[tuple[int, int, bool], set[int]] = {}
        for w in works:
            key = (w.run.part, w.run.contour, w.run.place is Place.HOLE)
            mine.setdefault(key, set()).add(id(w.run))
        for key, ids in mine.items():
            if key[2]:
                continue
            if seen.setdefault(key, frozenset(ids)) != ids:
                return False
    return True


def _cups(planner: Planner, works: list[Work]) -> tuple[int, ...]:
    """Return the parts whose cups must be moved while their back strip is ground."""
    strips: dict[int, float] = {}
    by_part: dict[int, list[tuple[FloatArray, FloatArray]]] = {}
    for w in works:
        if w.run.contour != 0:
            continue
        path = w.run.path
        strip = planner.traits.strip_mm[int(path.tags[0])]
        strips[w.run.part] = max(strips.get(w.run.part, 0.0), strip)
        by_part.setdefault(w.run.part, []).append((path.lengths, start_directions(path)))
    out: list[int] = []
    for part, pieces in by_part.items():
        lengths = np.concatenate([p[0] for p in pieces])
        angles = np.concatenate([p[1] for p in pieces])
        along = float(angles[int(np.argmax(lengths))])
        # Only edges longer than the strip hold a part; a corner's short arcs do not count.
        against = np.abs(np.cos(angles - along) + 1.0) < 1.0 - math.cos(OPPOSITE_RAD)
        if not (against & (lengths > strips[part])).any():
            continue
        outline = sampled(planner.load.parts[part].part.outline.path)
        across = outline @ np.array([-math.sin(along), math.cos(along)])
        if np.ptp(across) < 2.0 * strips[part] + planner.load.machine.min_hold_mm:
            out.append(part)
    return tuple(out)


def _lengths(planner: Planner) -> tuple[dict[str, float], dict[tuple[int, str], float]]:
    """Return edge lengths made elsewhere by profile, and finished here by part and profile."""
    elsewhere: dict[str, float] = {}
    treated: dict[tuple[int, str], float] = {}
    for c in planner.contours:
        sums = np.bincount(c.profile, weights=c.length_mm, minlength=len(planner.names))
        for p in c.labels:
            name = planner.names[p]
            if planner.traits.elsewhere[p]:
                elsewhere[name] = elsewhere.get(name, 0.0) + float(sums[p])
            elif planner.traits.finished[p]:
                key = (c.part, name)
                treated[key] = treated.get(key, 0.0) + float(sums[p])
    for name, length in elsewhere.items():
        planner.findings.add(
            codes.MADE_ELSEWHERE,
            name,
            f"{length / 1000.0:.2f} m of {name} are made elsewhere; they are not timed.",
        )
    return elsewhere, treated


def _works(planner: Planner) -> Iterator[tuple[int, Step, list[Work]]]:
    """Return what each step does: first as the parts lie, then after they were turned over."""
    milling, grinding = Milling(planner), Grinding(planner)
    makers: dict[Operation, Callable[[int, Step], Iterator[Work]]] = {
        Operation.CORE: milling.core,
        Operation.CUT: milling.cut,
        Operation.ROUGH: grinding.rough,
        Operation.SEAM: grinding.seam,
        Operation.GAUGE: grinding.gauge,
    }
    for side in (0, 1):
        for row, step in enumerate(planner.steps):
            maker = makers.get(step.operation)
            if maker is None:
                yield side, step, list(grinding.finish(row, step, side))
            elif side == 0:
                # Straight walls, bores and the back are done as the parts lie first.
                yield side, step, list(maker(row, step))


def _visits(planner: Planner) -> list[_Stay]:
    """Return the stays in the spindle with their work, step by step."""
    out: list[_Stay] = []
    for side, step, works in _works(planner):
        by_piece: dict[str, list[Work]] = {}
        for work in works:
            by_piece.setdefault(work.piece, []).append(work)
        for piece, own in by_piece.items():
            visit = PlannedVisit(step.tool, piece, step.operation, step.rotation_rad_per_s, side)
            last = out[-1][0] if out else None
            if last is not None and replace(visit, operation=last.operation) == last:
                out[-1][1].append(own)
            else:
                out.append((visit, [own]))
    return out


def _stops(planner: Planner, visits: list[_Stay]) -> list[AttendedStop]:
    machine = planner.load.machine
    stops = pocket_stops([visit for visit, _ in visits], machine, planner.load.catalogue.shop)
    turned = next((v for v, (visit, _) in enumerate(visits) if visit.side == 1), None)
    for v, (visit, groups) in enumerate(visits):
        works = [w for group in groups for w in group]
        if v == turned:
            parts = sorted({w.run.part for _, gs in visits[v:] for g in gs for w in g})
            whole = tuple((part, 0) for part in parts)
            stops.append(AttendedStop(v, "flip", whole, machine.flip_s, machine.stop_s))
        if visit.side == 0:
            gauged = [w for w in works if w.step.operation is Operation.GAUGE]
            cups = tuple((part, 0) for part in _cups(planner, gauged))
            if cups:
                stops.append(AttendedStop(v, "cups", cups, machine.cup_move_s, machine.stop_s))
        cut = {id(w.run): w.run for w in works if w.step.operation is Operation.CUT}
        if cut:
            slugs = tuple(sorted((run.part, run.contour) for run in cut.values()))
            stops.append(AttendedStop(v + 1, "slug", slugs, machine.slug_s, machine.stop_s))
    return sorted(stops, key=lambda s: s.before_visit)


def _passes(planner: Planner, visit: int, works: list[Work]) -> list[Pass]:
    factor = planner.load.stone.feed_factor * planner.load.feed_override
    return [
        Pass(
            run=w.run,
            visit=visit,
            step=w.step,
            offset_mm=s.offset_mm,
            reach_mm=s.reach_mm,
            top_z_mm=s.top_z_mm,
            bottom_z_mm=s.bottom_z_mm,
            number=number,
            count=len(w.strokes),
            feed_mm_per_s=w.step.feed_mm_per_s * factor,
            plunge_mm_per_s=w.step.plunge_mm_per_s * factor,
            removed_mm2=s.removed_mm2,
        )
        for w in works
        for number, s in enumerate(w.strokes, 1)
    ]


def _in_order(
    planner: Planner, visits: list[_Stay], order: Callable[[list[Work]], list[Work]]
) -> tuple[Pass, ...]:
    """Return the passes visit by visit, each visit's work put in order."""
    passes: list[Pass] = []
    for v, (_, groups) in enumerate(visits):
        # Steps of one tool that go over the same runs may be done run by run, which saves travel.
        if len(groups) > 1 and _mergeable(groups):
            parts = [[w for group in groups for w in group]]
        else:
            parts = groups
        for works in parts:
            passes.extend(_passes(planner, v, order(works)))
    return tuple(passes)


def _default_profile(planner: Planner) -> tuple[str, ...]:
    """Return the option that gives outlines a profile the stack makes, if that is what lacks."""
    load = planner.load
    rule_for = load.catalogue.layers.rule_for
    bare = any(
        edge.profile == Meaning.UNFINISHED
        and (rule := rule_for(edge.layer)) is not None
        and rule.means is Meaning.OUTLINE
        for placed in load.parts
        for edge in placed.part.outline.edges
    )
    named = [set(s.applies_to) for s in load.stack.steps if s.operation in FINISHING]
    made = [
        p.name
        for p in load.catalogue.profiles.values()
        if p.finished and p.made_here and any(not n or n & {p.name, p.family} for n in named)
    ]
    usual = USUAL_PROFILE if USUAL_PROFILE in made else next(iter(made), None)
    return ("--profile", usual) if bare and usual is not None else ()


def plan_passes(load: Load) -> PassPlan:
    """Plan which tool runs where, how often, and in which order.

    Steps of the stack run in order; consecutive steps with the same tool piece at the same
    spindle speed share a stay in the spindle. All passes of one run by one step stay together.

    Parameters
    ----------
    load : Load
        Placed parts with their stack.

    Returns
    -------
    PassPlan
        With the findings of this stage.

    Raises
    ------
    NothingToCut
        No step of the stack finds anything to do.
    """
    planner = Planner(load)
    visits = _visits(planner)
    check_coverage(planner)
    elsewhere, treated = _lengths(planner)
    findings = planner.findings
    if not visits:
        reasons = " ".join(f.message for f in list(findings.items.values())[:3])
        raise NothingToCut(
            f"No tool of stack {load.stack.name!r} is used in this load. {reasons}".rstrip(),
            where=planner.where(0),
            remedy="Give edges a profile that is made here: draw them on the layer of that "
            "profile, write the text PROFILE: NAME into the part, add --profile NAME, or set "
            "default_profile in layers.toml. Or choose a stack that makes the profile they have.",
            add=_default_profile(planner),
        )
    orderer = Orderer(load)
    passes = _in_order(planner, visits, orderer.drawn)
    drawn: tuple[Pass, ...] = ()
    if load.order != "as-drawn":
        drawn, passes = passes, _in_order(planner, visits, orderer.quick)
    planned = tuple(visit for visit, _ in visits)
    used = {w.step.name: w.step for _, groups in visits for group in groups for w in group}
    check_speeds(planner, list(used.values()))
    check_pockets(planner, planned)
    check_diameters(planner, planned)
    return PassPlan(
        load=load,
        profiles=planner.names,
        visits=planned,
        passes=passes,
        stops=tuple(_stops(planner, visits)),
        elsewhere_mm=elsewhere,
        treated_mm=treated,
        findings=tuple(findings.items.values()),
        drawn=drawn,
    )
