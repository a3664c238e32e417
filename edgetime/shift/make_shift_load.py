"""The load of a shift, from an estimate or from a job that is not drawn yet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from edgetime.errors import InternalError, PlanError, UsageError, Where
from edgetime.findings import Finding
from edgetime.geometry.measure import bounds
from edgetime.jobs import Job
from edgetime.passes.pass_plan import pocket_stops
from edgetime.shift import codes
from edgetime.shift.load_runs import PieceUse, ShiftLoad, Stop
from edgetime.tooling import Catalogue, Machine, ShiftDefaults
from edgetime.tooling.suggest import suggest
from edgetime.unit_table import FT_MM

if TYPE_CHECKING:
    from edgetime.estimating import Estimate


def machine_of(catalogue: Catalogue, name: str | None) -> Machine:
    """Return a machine by name, the shop's default for None.

    Raises
    ------
    UsageError
        There is none of that name.
    """
    wanted = name or catalogue.shop.machine
    if wanted not in catalogue.machines:
        raise UsageError(
            f"There is no machine {wanted!r}.",
            where=Where(key="--machine"),
            remedy=suggest(wanted, sorted(catalogue.machines)),
        )
    return catalogue.machines[wanted]


def undrawn_load(
    job: Job, machine: Machine, catalogue: Catalogue, rules: ShiftDefaults
) -> tuple[ShiftLoad, tuple[Finding, ...]]:
    """Return the load of a job that is not drawn yet.

    Parameters
    ----------
    job : Job
        With cycle, area and parts. Its tools are not known, so none is ever swapped for it.
    machine : Machine
        Gives the table, and the times of loading and unloading.
    catalogue : Catalogue
        Gives set-up and attendance.
    rules : ShiftDefaults
        Zones of the table.

    Returns
    -------
    load : ShiftLoad
        The load, on as many zones as its area takes at the least.
    findings : tuple of Finding
        A load larger than a zone.

    Raises
    ------
    PlanError
        Its parts have more area than the table.
    """
    if job.cycle_s is None or job.area_mm2 is None or job.parts is None:
        raise InternalError("A job without drawings lacks its figures.")
    shop = catalogue.shop
    zone = zone_length_mm(machine, rules) * machine.table_mm[1]
    # Parts lie apart from one another, so that they may need more; never less.
    need = max(1, math.ceil(job.area_mm2 / zone - 1e-9))
    if need > rules.zones:
        table = rules.zones * zone
        raise PlanError(
            f"{job.name} has {_area(job.area_mm2)} of parts; the table of {machine.name} has "
            f"{_area(table)}{'' if rules.zones == 1 else f' in {_zones(rules.zones)}'}.",
            where=job.at("area"),
            remedy=f"Split the job into at least {math.ceil(job.area_mm2 / table - 1e-9)} loads, a "
            "line each with its own cycle, area and parts, or choose a larger machine.",
        )
    load = ShiftLoad(
        name=job.name,
        cycle_s=job.cycle_s,
        parts=job.parts,
        area_mm2=job.area_mm2,
        load_part_s=machine.load_part_s,
        unload_part_s=machine.unload_part_s,
        setup_s=3600.0 * float(shop.price.setup_h),
        attend_s=float(shop.price.attendance) * job.cycle_s,
        zones=need,
        due=job.due,
        ready_s=job.ready_s,
        where=job.where,
        cycle_at=job.places.get("cycle"),
    )
    if need == 1:
        return load, ()
    text = (
        f"{job.name} has {_area(job.area_mm2)} of parts; a zone has {_area(zone)}. It "
        f"takes at least {_zones(need)}."
    )
    return load, (Finding(codes.LOAD_LARGER_THAN_ZONE, text, job.where),)


def _area(area_mm2: float) -> str:
    return f"{area_mm2 / 1e6:.2f} m² ({area_mm2 / FT_MM**2:.0f} sq ft)"


def zone_length_mm(machine: Machine, rules: ShiftDefaults) -> float:
    """Return the length of a zone in X [mm]."""
    return rules.zone_length_mm or machine.table_mm[0] / rules.zones


def _stops(est: Estimate, pockets: int) -> tuple[Stop, ...]:
    cycle, plan, load = est.cycle, est.plan, est.load
    starts = [*(v.starts_s for v in cycle.visits), cycle.total_s]
    # The rack of this shift may have other pockets than the machine's file says.
    late = pocket_stops(plan.visits, load.machine, load.catalogue.shop, pockets=pockets)
    stops = [*(s for s in plan.stops if s.reason != "pocket"), *late]
    found = [
        Stop(
            at_s=starts[s.before_visit],
            seconds=s.seconds,
            reason=s.reason,
            on=(plan.visits[s.before_visit].piece,)
            if s.reason == "pocket"
            else tuple(load.parts[p].part.part_id for p in s.parts),
        )
        for s in stops
    ]
    return tuple(sorted(found, key=lambda s: s.at_s))


def shift_load(
    est: Estimate,
    rules: ShiftDefaults,
    *,
    pockets: int | None = None,
    job: Job | None = None,
) -> tuple[ShiftLoad, tuple[Finding, ...]]:
    """Return what a shift must know of an estimated load.

    Parameters
    ----------
    est : Estimate
        Of the load.
    rules : ShiftDefaults
        Zones of the table, time of a tool swap.
    pockets : int, optional
        Of the rack; the machine's when None.
    job : Job, optional
        Gives its name, due date and when it is ready; and, where it has one, a machine cycle
        to use instead of the estimated one, such as one timed with a stopwatch: stops within
        it move in proportion.

    Returns
    -------
    load : ShiftLoad
        The load.
    findings : tuple of Finding
        Loads longer than a zone, racks too short.

    Raises
    ------
    PlanError
        The load is longer than all zones together, where their length is stated.
    """
    machine = est.load.machine
    places = machine.pockets if pockets is None else pockets
    paths = tuple(d.path for d in est.take_off.drawings)
    shares = {t.piece: t.share for t in est.wear.tools}
    tasks = {t.kind: t.seconds for t in est.labour.tasks}
    pieces = tuple(dict.fromkeys(v.piece for v in est.cycle.visits))
    boxes = [bounds(p.part.outline.path) for p in est.load.parts]
    length = max(b[2] for b in boxes) - min(b[0] for b in boxes)
    zone = zone_length_mm(machine, rules)
    job = job or Job()
    title = job.name or " + ".join(_stem(p) for p in paths)
    place = job.where if job.where.path else Where(path=", ".join(paths))
    need = max(1, math.ceil(length / zone - 1e-9))
    if need > rules.zones and rules.zone_length_mm is not None:
        raise PlanError(
            f"{title} is {length:.0f} mm long; {_zones(rules.zones)} of {zone:.0f} mm "
            f"{'is' if rules.zones == 1 else 'are'} {rules.zones * zone:.0f} mm.",
            where=place,
            remedy="Give the real length of a zone with --zone-length, or as zone_length under "
            "[shift] in shop.toml; or draw the load shorter.",
        )
    load = ShiftLoad(
        name=title,
        cycle_s=est.cycle.total_s,
        parts=len(est.load.parts),
        area_mm2=sum(p.part.area_gross_mm2 for p in est.load.parts),
        load_part_s=machine.load_part_s,
        unload_part_s=machine.unload_part_s,
        setup_s=tasks.get("set-up", 0.0),
        attend_s=tasks.get("attend", 0.0),
        stops=_stops(est, places),
        pieces=tuple(PieceUse(p, shares.get(p)) for p in pieces),
        zones=min(rules.zones, need),
        due=job.due,
        ready_s=job.ready_s,
        drawings=paths,
        where=place,
        cycle_at=job.places.get("cycle"),
    )
    if job.cycle_s is not None:
        load = with_cycle(load, job.cycle_s)
    return load, _findings(load, length, zone, places, paths)


def with_cycle(load: ShiftLoad, cycle_s: float) -> ShiftLoad:
    """Return a load with another machine cycle, its stops moved in proportion."""
    factor = cycle_s / load.cycle_s if load.cycle_s > 0.0 else 0.0
    stops = tuple(replace(s, at_s=s.at_s * factor) for s in load.stops)
    return replace(load, cycle_s=cycle_s, attend_s=load.attend_s * factor, stops=stops)


def _findings(
    load: ShiftLoad, length: float, zone: float, pockets: int, paths: Sequence[str]
) -> tuple[Finding, ...]:
    where = Where(path=", ".join(paths))
    out = []
    if load.zones > 1:
        out.append(
            Finding(
                codes.LOAD_LARGER_THAN_ZONE,
                f"{load.name} is {length:.0f} mm long; a zone is {zone:.0f} mm long. It takes "
                f"{_zones(load.zones)}.",
                where,
            )
        )
    if len(load.pieces) > pockets:
        out.append(
            Finding(
                codes.POCKETS_SHORT,
                f"{load.name} needs {len(load.pieces)} tools; the rack has {pockets} "
                f"pockets. The others are swapped by hand during the cycle.",
                where,
            )
        )
    return tuple(out)


def _zones(number: int) -> str:
    return "1 zone" if number == 1 else f"{number} zones"


def _stem(path: str) -> str:
    return path.replace("\\", "/").rsplit("/", 1)[-1].rsplit(".", 1)[0]
