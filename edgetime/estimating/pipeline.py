"""The one function that joins the stages, and the record of what each of them said."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from typing import ClassVar, Final, NamedTuple, Unpack

import numpy as np

from edgetime._version import __version__
from edgetime.cycle import Cycle, OrderRow, WallClock, compute_cycle, order_of_work
from edgetime.errors import NothingToCut
from edgetime.estimating.reading import read_take_off
from edgetime.estimating.work_digest import work_digest
from edgetime.findings import Finding
from edgetime.labour import Labour, compute_labour
from edgetime.load import Choices, Load, Options, make_load
from edgetime.load.make_load import check_feed_override
from edgetime.load.relevant import relevant_findings
from edgetime.motion import MotionLimits, MotionTimes, compute_motion
from edgetime.passes import PassPlan, plan_passes
from edgetime.progress import tell
from edgetime.records import HIDDEN, as_json, figure, figure_merged
from edgetime.takeoff import LayerRule, TakeOff
from edgetime.tooling import Catalogue, Machine, load_catalogue
from edgetime.toolpath import ToolPaths, build_tool_paths
from edgetime.wear import Wear, compute_wear

SAME_S: Final = 1e-9
"""Orders of one visit that differ by less take the same time [s]."""

_WORK: Final = "timing the load"


def motion_limits(machine: Machine) -> MotionLimits:
    """Return a machine's motion limits in the form :func:`edgetime.compute_motion` takes.

    Parameters
    ----------
    machine : Machine
        From the catalogue.
    """
    return MotionLimits(
        axis_speed_mm_per_s=machine.axis_speed_mm_per_s,
        rapid_speed_mm_per_s=machine.rapid_mm_per_s,
        axis_acceleration_mm_per_s2=machine.axis_acceleration_mm_per_s2,
        axis_jerk_mm_per_s3=machine.axis_jerk_mm_per_s3,
        path_acceleration_mm_per_s2=machine.path_acceleration_mm_per_s2,
        centripetal_acceleration_mm_per_s2=machine.centripetal_mm_per_s2,
        path_mode=machine.path_mode,
        corner_tolerance_mm=machine.corner_tolerance_mm,
        blend_share=machine.blend_share,
        stop_at_rapids=machine.stop_at_rapids,
        block_time_s=machine.block_time_s,
        look_ahead_moves=machine.look_ahead_moves,
        arc_shares=machine.arc_shares,
        corner_share=machine.corner_share,
        last_move_share=machine.last_move_share,
    )


class ReadDrawing(NamedTuple):
    """A drawing of the load, and the size of its visible curves."""

    path: str
    units: str
    mm_per_unit: float
    width_mm: float
    height_mm: float


class HandWork(NamedTuple):
    """Edge that no finishing tool reaches, and where it is on the table."""

    part_id: str
    profile: str
    length_mm: float
    x_mm: float
    y_mm: float


class Stop(NamedTuple):
    """An attended stop; ``before_row`` is an index into the table of tools."""

    before_row: int
    reason: str
    part_ids: tuple[str, ...]
    attended_s: float


@dataclass(frozen=True, eq=False)
class Estimate:
    """Everything that led to a cycle time, stage by stage.

    Attributes
    ----------
    options : Options
        What was asked.
    take_off : TakeOff
        Parts and edges.
    load : Load
        What lies on the table.
    paths : ToolPaths
        Moves, and the plan they belong to.
    motion : MotionTimes
        Seconds of each move.
    cycle : Cycle
        Totals.
    wear_factors : mapping or None
        As :func:`edgetime.wear.compute_wear` takes them; None for lives as they are stated.
    """

    SCHEMA: ClassVar[str] = "edgetime.estimate/1"

    options: Options = field(metadata=HIDDEN)
    take_off: TakeOff = field(metadata=HIDDEN)
    load: Load = field(metadata=HIDDEN)
    paths: ToolPaths = field(metadata=HIDDEN)
    motion: MotionTimes = field(metadata=HIDDEN)
    cycle: Cycle = field(metadata=HIDDEN)
    wear_factors: Mapping[str, Mapping[str, float]] | None = field(default=None, metadata=HIDDEN)

    @property
    def plan(self) -> PassPlan:
        """What is done: the passes that have moves, and what is attended for them."""
        return self.paths.plan

    @cached_property
    def wear(self) -> Wear:
        """What the load takes out of its tools, computed when first asked for."""
        return compute_wear(self.paths, self.motion, self.cycle, self.wear_factors)

    @cached_property
    def order(self) -> tuple[OrderRow, ...]:
        """The order of work, row by row, computed when first asked for."""
        return order_of_work(self.paths, self.motion, self.cycle)

    def wall_clock(self, start: str) -> WallClock:
        """Return what turns times of this cycle into times of day.

        Parameters
        ----------
        start : str
            When cycle start is pressed: ``9:10``, ``2027-01-18 9:10``.

        Raises
        ------
        UsageError
            No such time or date.
        """
        return WallClock.of(start, self.plan.stops, self.cycle)

    @property
    @figure
    def digest(self) -> str:
        """SHA-256 of drawings, catalogue, options and version: equal digests, equal figures."""
        facts = {
            "version": __version__,
            "drawings": [d.digest for d in self.take_off.drawings],
            "catalogue": self.load.catalogue.digest,
            "options": as_json(self.options),
        }
        return hashlib.sha256(json.dumps(facts, sort_keys=True).encode()).hexdigest()

    @property
    @figure
    def work_digest(self) -> str:
        """SHA-256 of what the tools do: equal for equal work, whatever else is in the files."""
        return work_digest(self.paths, self.motion)

    @property
    @figure
    def drawings(self) -> tuple[ReadDrawing, ...]:
        """The drawings and their units."""
        return tuple(
            ReadDrawing(d.path, d.units, d.mm_per_unit, *d.size_mm) for d in self.take_off.drawings
        )

    @property
    @figure
    def machine(self) -> str:
        """Name of the machine."""
        return self.load.machine.name

    @property
    @figure
    def stack(self) -> str:
        """Name of the tool stack."""
        return self.load.stack.name

    @property
    @figure
    def stone(self) -> str:
        """Name of the stone."""
        return self.load.stone.name

    @property
    @figure
    def thickness_mm(self) -> float:
        """Nominal thickness [mm]."""
        return self.load.nominal_mm

    @property
    @figure
    def actual_thickness_mm(self) -> float:
        """Thickness that the cycle is timed with [mm]."""
        return self.load.parts[0].actual_mm

    @property
    @figure
    def diameters_mm(self) -> dict[str, float]:
        """Actual diameter by tool or piece, where it differs from new [mm]."""
        return self.load.diameters_mm

    @property
    @figure_merged
    def timeline(self) -> Cycle:
        """The cycle, whose figures are the estimate's."""
        return self.cycle

    @cached_property
    @figure
    def labour(self) -> Labour:
        """What people do for the load, computed when first asked for."""
        return compute_labour(self.plan, self.cycle, self.wear)

    @property
    @figure
    def hand_work(self) -> tuple[HandWork, ...]:
        """Where edges are left for hand finishing."""
        ids = self.plan.part_ids(h.part for h in self.paths.hand)
        return tuple(
            HandWork(part_id, h.profile, h.length_mm, h.x_mm, h.y_mm)
            for part_id, h in zip(ids, self.paths.hand, strict=True)
        )

    @property
    @figure
    def elsewhere_mm(self) -> dict[str, float]:
        """Edge by profile that is made on another machine [mm]."""
        return self.plan.elsewhere_mm

    @property
    @figure
    def stops(self) -> tuple[Stop, ...]:
        """The attended stops."""
        return tuple(Stop(*row) for row in self.plan.stop_rows)

    @property
    @figure
    def findings(self) -> tuple[Finding, ...]:
        """What every stage found, in the order of the stages."""
        return (
            *relevant_findings(self.take_off, self.options.choice),
            *self.load.findings,
            *self.plan.findings,
            *self.paths.findings,
        )


def estimate_take_off(parts: TakeOff, catalogue: Catalogue, options: Options) -> Estimate:
    """Run all stages after the take-off.

    Parameters
    ----------
    parts : TakeOff
        What to cut.
    catalogue : Catalogue
        What to cut it with.
    options : Options
        Choices.

    Raises
    ------
    PlanError
        There is nothing to cut, no stack serves, or the machine cannot move so.
    UsageError
        An option names something unknown or is out of range.
    """
    return estimate_load(parts, make_load(parts, catalogue, options), options)


def visits_quicker_as_drawn(paths: ToolPaths, limits: MotionLimits) -> list[int]:
    """Return the visits, as first planned, that take less time in the order drawn.

    A tour is found from the rapids between runs with leads of full length. What the machine
    makes of it is timed here, and beside it the order drawn; each visit keeps the quicker.
    """
    if paths.drawn is None:
        return []
    seconds = [
        np.bincount(
            moves.visit,
            weights=compute_motion(moves, limits).seconds + moves.dwell,
            minlength=len(paths.visits),
        )
        for moves in (paths.moves, paths.drawn)
    ]
    late = np.flatnonzero(seconds[1] < seconds[0] - SAME_S)
    return [paths.visits[v] for v in late.tolist()]


def estimate_load(parts: TakeOff, load: Load, options: Options) -> Estimate:
    """Run all stages after the load is made."""
    tell(_WORK, 0, 3)
    plan = plan_passes(load)
    paths = build_tool_paths(plan)
    limits = motion_limits(load.machine)
    tell(_WORK, 1, 3)
    late = visits_quicker_as_drawn(paths, limits)
    if late:
        plan = plan.taking_drawn(late)
        paths = build_tool_paths(plan)
    if not paths.plan.visits:
        first = paths.findings[0] if paths.findings else None
        raise NothingToCut(
            f"No tool of stack {load.stack.name!r} reaches any edge of this load."
            + (f" {first.message}" if first else ""),
            where=first.where if first else None,
            remedy="Draw larger corner radii, or choose smaller wheels.",
        )
    tell(_WORK, 2, 3)
    motion = compute_motion(paths.moves, limits)
    tell(_WORK, 3, 3)
    return Estimate(
        options=options,
        take_off=parts,
        load=load,
        paths=paths,
        motion=motion,
        cycle=compute_cycle(paths, motion),
    )


def retime(est: Estimate, machine: Machine) -> Estimate:
    """Return the estimate on another machine record whose paths are the same.

    Only for changes that leave every move where it is: limits of motion, exchange times,
    spindle run-up.
    """
    load = replace(est.load, machine=machine)
    paths = replace(est.paths, plan=replace(est.plan, load=load))
    motion = compute_motion(paths.moves, motion_limits(machine))
    return replace(est, load=load, paths=paths, motion=motion, cycle=compute_cycle(paths, motion))


def estimate(
    drawings: Sequence[str | Path],
    options: Options | None = None,
    *,
    shop: str | Path | None = None,
    layers: str | Path | None = None,
    layer_rules: Sequence[str | LayerRule] = (),
    profile: str | None = None,
    cutout_profile: str | None = None,
    **choices: Unpack[Choices],
) -> Estimate:
    """Calculate how long a load runs, tool by tool.

    Parameters
    ----------
    drawings : sequence of path
        DXF files; together they are one load.
    options : Options, optional
        What is chosen; everything as the shop has it when omitted.
    shop : path, optional
        Shop folder; the shipped catalogue serves without one.
    layers : path, optional
        A ``layers.toml`` to use instead of the shop's.
    layer_rules : sequence of str or LayerRule
        Rules that come before those of the file, such as ``"0=outline"`` or
        ``"POL*=edge:flat-polish"``.
    profile, cutout_profile : str, optional
        Profile of edges of outlines, and of openings, that nothing else names.
    **choices : Choices
        Single options by name: ``stone="granite"``, ``only=["p01"]``.

    Returns
    -------
    Estimate
        The totals and every stage that led to them.

    Raises
    ------
    InputError
        A drawing or a file of the shop cannot be used.
    PlanError
        The inputs are valid, but nothing can be cut with them.
    UsageError
        An option is unknown or out of range.

    Examples
    --------
    >>> from edgetime import estimate
    >>> load = estimate(["kitchen.dxf"], stone="granite", thickness_mm=30)  # doctest: +SKIP
    >>> minutes = load.cycle.total_s / 60  # doctest: +SKIP
    """
    chosen = (options or Options()).having(**choices)
    check_feed_override(chosen.feed_override)  # a slip is reported before drawings are read
    catalogue = load_catalogue(
        None if shop is None else Path(shop),
        layers=None if layers is None else Path(layers),
        layer_rules=layer_rules,
        profile=profile,
        cutout_profile=cutout_profile,
    )
    parts = read_take_off(drawings, catalogue, drawing_units=chosen.drawing_units)
    return estimate_take_off(parts, catalogue, chosen)
