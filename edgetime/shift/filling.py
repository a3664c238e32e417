"""Which parts of the waiting jobs go together on a table, by area: an upper estimate.

This is not nesting: no part is laid out. It gives the smallest number of loads the parts can
need, and proposes which to put together; whether they fit must be tried.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, NamedTuple

from edgetime.errors import Where
from edgetime.findings import Finding
from edgetime.load.checks import sampled
from edgetime.records import HIDDEN, figure, written
from edgetime.shift import codes

if TYPE_CHECKING:
    from edgetime.estimating import Estimate

_SLACK_MM2 = 1e-3


@dataclass(frozen=True, kw_only=True)
class TablePart:
    """A part that waits for a place on the table.

    Attributes
    ----------
    job, part_id, name : str
        Whose it is, and which.
    size_mm : (float, float)
        Overall width and height [mm].
    area_mm2 : float
        Gross of cutouts [mm²].
    claim_mm2 : float
        With half the gap all round [mm²].
    kind : str
        What must be alike in a load: machine, stone, thickness, stack.
    due : date or None
        Of its job.
    """

    job: str
    part_id: str
    name: str
    size_mm: tuple[float, float] = field(metadata=HIDDEN)
    area_mm2: float
    claim_mm2: float = field(metadata=HIDDEN)
    kind: str = field(metadata=HIDDEN)
    due: date | None = field(default=None, metadata=HIDDEN)


@dataclass(frozen=True, kw_only=True)
class TableLoad:
    """Parts that go together by area.

    Attributes
    ----------
    parts : tuple of TablePart
        In the order they were taken.
    filled : float
        Their claims by what the table offers [-].
    """

    parts: tuple[TablePart, ...]
    filled: float

    @property
    @figure
    def kind(self) -> str:
        """Machine, stone, thickness and stack of the parts."""
        return self.parts[0].kind

    @property
    @figure
    def area_mm2(self) -> float:
        """Area of the parts, gross of cutouts [mm²]."""
        return sum(p.area_mm2 for p in self.parts)


class TableRow(NamedTuple):
    """A part in a table filling.

    Attributes
    ----------
    filling : Filling
        The loads.
    row, number : int
        Of the part; of the load it is in; from 1.
    load : TableLoad
        That load.
    part : TablePart
        The part.
    """

    filling: Filling
    row: int
    number: int
    load: TableLoad
    part: TablePart


@dataclass(frozen=True, kw_only=True)
class Filling:
    """Loads by area.

    Attributes
    ----------
    loads : tuple of TableLoad
        By due date of their most urgent part.
    at_least : int
        No nesting needs fewer loads.
    table_mm : (float, float)
        Table, or zone.
    gap_mm : float
        Between parts, from edge to edge.
    findings : tuple of Finding
        Parts that do not lie on the table at all.
    """

    loads: tuple[TableLoad, ...]
    at_least: int = field(metadata=written(key="at_least_loads"))
    table_mm: tuple[float, float]
    gap_mm: float
    findings: tuple[Finding, ...] = field(metadata=HIDDEN)

    @property
    @figure
    def estimate(self) -> str:
        """``upper``: by area, without nesting, no table holds more."""
        return "upper"

    @property
    def rows(self) -> tuple[TableRow, ...]:
        """Each part, load by load."""
        parts = [(n, load, p) for n, load in enumerate(self.loads, 1) for p in load.parts]
        return tuple(TableRow(self, row, *part) for row, part in enumerate(parts, 1))


def gap_mm(est: Estimate) -> float:
    """Return the gap that the widest wheel of a load needs beside an outline [mm].

    The wheel reaches as far out as its centre's offset plus its radius; beyond it the
    machine keeps its spacing.
    """
    load = est.load
    reach = max(
        (
            p.offset_mm + max(0.5 * est.plan.diameter_mm(p), p.reach_mm)
            for p in est.plan.passes
            if p.run.contour == 0
        ),
        default=0.0,
    )
    return reach + load.machine.spacing_mm


def table_parts(
    est: Estimate, gap: float, *, job: str, due: date | None = None
) -> tuple[TablePart, ...]:
    """Return the parts of an estimated load with the area each claims.

    Parameters
    ----------
    est : Estimate
        Of the load.
    gap : float
        Between parts, from edge to edge [mm].
    job : str
        Name of the job.
    due : date, optional
        When it must be done.
    """
    from shapely import Polygon  # noqa: PLC0415  only for this question

    load = est.load
    kind = f"{load.machine.name}, {load.stone.name} {load.nominal_mm:g} mm, {load.stack.name}"
    out = []
    for placed in load.parts:
        part = placed.part
        outline = Polygon(sampled(part.outline.path))
        out.append(
            TablePart(
                job=job,
                part_id=part.part_id,
                name=part.name,
                size_mm=part.size_mm,
                area_mm2=part.area_gross_mm2,
                claim_mm2=float(outline.buffer(0.5 * gap).area),
                kind=kind,
                due=due,
            )
        )
    return tuple(out)


def _lies(part: TablePart, table: tuple[float, float]) -> bool:
    """Return whether a part lies on the table, along it or across."""
    short, long = sorted(part.size_mm)
    return short <= min(table) and long <= max(table)


def _first_fit(parts: Iterable[TablePart], offer: float) -> list[list[TablePart]]:
    """Put each part into the first load that has area for it; jobs stay together if they can."""
    loads: list[list[TablePart]] = []
    for part in parts:
        most = offer - part.claim_mm2 + _SLACK_MM2
        alike = (held for held in loads if held[0].kind == part.kind)
        room = [held for held in alike if sum(p.claim_mm2 for p in held) <= most]
        with_job = [held for held in room if any(p.job == part.job for p in held)]
        if room:
            (with_job or room)[0].append(part)
        else:
            loads.append([part])
    return loads


def fill_table(parts: Sequence[TablePart], table_mm: tuple[float, float], gap: float) -> Filling:
    """Put waiting parts together to loads by area, the most urgent first.

    Parameters
    ----------
    parts : sequence of TablePart
        Waiting.
    table_mm : (float, float)
        Length and width of the table or zone [mm].
    gap : float
        Between parts, from edge to edge [mm].

    Returns
    -------
    Filling
        An upper estimate of what a table holds, a lower one of the loads needed.

    Notes
    -----
    Parts that lie a gap g apart do not overlap when each grows by g/2 all round, nor do they
    leave the table grown likewise. So their grown areas cannot exceed
    ``L W + (L + W) g + pi g²/4``, the table's (Steiner's formula); what fits by area may yet
    not fit by shape.
    """
    length, width = table_mm
    offer = length * width + (length + width) * gap + 0.25 * math.pi * gap * gap
    fitting = [p for p in parts if _lies(p, table_mm)]
    findings = tuple(
        Finding(
            codes.PART_LARGER_THAN_TABLE,
            f"{p.part_id} ({p.name}) of {p.job} measures {p.size_mm[0]:.0f} × "
            f"{p.size_mm[1]:.0f} mm; the table measures {length:.0f} × {width:.0f} mm.",
            Where(part=p.part_id),
        )
        for p in parts
        if not _lies(p, table_mm)
    )
    jobs = list(dict.fromkeys(p.job for p in fitting))
    ordered = sorted(
        fitting, key=lambda p: (p.due or date.max, jobs.index(p.job), -p.claim_mm2, p.part_id)
    )
    by_kind: dict[str, float] = {}
    for p in fitting:
        by_kind[p.kind] = by_kind.get(p.kind, 0.0) + p.claim_mm2
    return Filling(
        loads=tuple(
            TableLoad(parts=tuple(held), filled=sum(p.claim_mm2 for p in held) / offer)
            for held in _first_fit(ordered, offer)
        ),
        at_least=sum(math.ceil(total / offer - 1e-9) for total in by_kind.values()),
        table_mm=table_mm,
        gap_mm=gap,
        findings=findings,
    )
