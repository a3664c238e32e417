"""What one unit of a job takes out of each tool: from its drawing, or from metres of edge."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import Final

from edgetime.errors import EdgetimeError, NothingToCut, PipelineInvalid, Where
from edgetime.estimating.pipeline import estimate_take_off
from edgetime.estimating.reading import read_take_off
from edgetime.findings import Finding
from edgetime.forecast import codes
from edgetime.forecast.pipeline import Pipeline
from edgetime.geometry.path import Path
from edgetime.jobs import Job, named_by_row
from edgetime.load import make_load
from edgetime.load.options import Options
from edgetime.passes import PassPlan, plan_passes
from edgetime.places import Place
from edgetime.takeoff.parts import (
    Contour,
    DrawingTakeOff,
    Edge,
    Part,
    TakeOff,
)
from edgetime.tooling import Catalogue
from edgetime.wear.life import lives_for, measure

METRE_MM: Final = 1000.0
_DEPTH_MM: Final = 600.0


@dataclass(frozen=True, slots=True, kw_only=True)
class MetreWear:
    """What one metre of straight edge takes out of one tool piece.

    Attributes
    ----------
    tool, piece : str
        Tool, and article: with ``/profile`` for a profiled wheel.
    contact_mm : float
        Edge in contact, each pass counted [mm].
    volume_mm3 : float
        Stone removed [mm³].
    cut_s : float
        Time in the cut at the programmed feed [s].
    area_mm2 : float
        Contact times the thickness [mm²].
    share : float or None
        Of a life of the tool's file, by the measure that ends first; None when it states no
        life for the stone [-].
    """

    tool: str
    piece: str
    contact_mm: float
    volume_mm3: float
    cut_s: float
    area_mm2: float
    share: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Rates:
    """Use per unit of each job.

    Attributes
    ----------
    shares : tuple of dict
        One per job of the pipeline: article → lives of the tool's file per unit [-].
    findings : tuple of Finding
        Tools without a life.
    """

    shares: tuple[dict[str, float], ...]
    findings: tuple[Finding, ...] = ()


def _straight(profile: str) -> TakeOff:
    """Return a part with one metre of the profile, its other edges left as sawn."""
    corners = [(0.0, 0.0), (METRE_MM, 0.0), (METRE_MM, _DEPTH_MM), (0.0, _DEPTH_MM)]
    path = Path.from_bulges(corners, closed=True)
    edges = tuple(
        Edge(profile if k == 0 else "unfinished", "", "", k, k + 1, float(length))
        for k, length in enumerate(path.lengths)
    )
    part = Part(
        part_id="p01",
        name="metre",
        drawing="",
        outline=Contour(path=path, edges=edges, place=Place.OUTER, layer="", handle=""),
        cutouts=(),
        holes=(),
        recesses=(),
        area_gross_mm2=METRE_MM * _DEPTH_MM,
        area_mm2=METRE_MM * _DEPTH_MM,
        size_mm=(METRE_MM, _DEPTH_MM),
    )
    drawing = DrawingTakeOff(
        path="",
        units="mm",
        mm_per_unit=1.0,
        digest="",
        size_mm=part.size_mm,
        lengths_by_layer_mm={},
        lengths_by_profile_mm={profile: METRE_MM},
        parts=(part,),
        findings=(),
    )
    return TakeOff((drawing,))


def metre_wear(
    profile: str,
    catalogue: Catalogue,
    *,
    stone: str | None = None,
    stack: str | None = None,
    thickness_mm: float | None = None,
    machine: str | None = None,
) -> tuple[MetreWear, ...]:
    """Calculate what a metre of straight edge of a profile takes out of each tool.

    The passes are those the planner gives a straight edge of one metre: which steps of the
    stack apply, how often they pass, and the cross-section each pass removes. Contact is
    metres times passes, volume that cross-section times the length, time the length by the
    feed; ramps and corners, which a drawing would show, are left out.

    Parameters
    ----------
    profile : str
        Name in the catalogue.
    catalogue : Catalogue
        Tools, stacks, stones, machines.
    stone, stack, machine : str, optional
        Names in the catalogue; the shop's when omitted.
    thickness_mm : float, optional
        Nominal; the shop's when omitted [mm].

    Returns
    -------
    tuple of MetreWear
        In running order; empty for a profile that needs no work on this machine.
    """
    load = make_load(
        _straight(profile),
        catalogue,
        machine=machine,
        stone=stone,
        stack=stack,
        thickness_mm=thickness_mm,
    )
    try:
        plan = plan_passes(load)
    except NothingToCut:
        return ()
    used: dict[str, dict[str, float]] = {}
    for number, visit in enumerate(plan.visits):
        row = used.setdefault(visit.piece, dict.fromkeys(_MEASURES, 0.0))
        _add_passes(row, plan, number)
    tools = {visit.piece: visit.tool for visit in plan.visits}
    found = []
    for piece, row in used.items():
        tool = catalogue.tools[tools[piece]]
        lives = lives_for(tool, load.stone, load.nominal_mm)
        shares = [measure(tool, life, load.stone, row).share for life in lives]
        found.append(
            MetreWear(
                tool=tool.name,
                piece=piece,
                contact_mm=row["length"],
                volume_mm3=row["volume"],
                cut_s=row["time"],
                area_mm2=row["area"],
                share=max(shares, default=None),
            )
        )
    return tuple(found)


_MEASURES: Final = ("length", "volume", "g-ratio", "time", "holes", "area")


def _add_passes(row: dict[str, float], plan: PassPlan, visit: int) -> None:
    for p in plan.passes:
        if p.visit != visit:
            continue
        length = p.run.path.length_mm
        volume = sum(
            p.removed_mm2[tag] * segment
            for tag, segment in zip(
                p.run.path.tags.tolist(), p.run.path.lengths.tolist(), strict=True
            )
        )
        row["length"] += length
        row["volume"] += volume
        row["g-ratio"] += volume
        row["time"] += length / p.feed_mm_per_s
        row["area"] += length * plan.load.parts[p.run.part].actual_mm


@dataclass(frozen=True, slots=True)
class _Wears:
    """Articles with their tool and share; the share is None without a life."""

    rows: tuple[tuple[str, str, float | None], ...]


class _Calculator:
    """The wear of drawings and metres, each calculated once however many jobs ask for it."""

    def __init__(self, catalogue: Catalogue, machine: str | None) -> None:
        self.catalogue, self.machine = catalogue, machine
        self._known: dict[tuple[object, ...], _Wears | EdgetimeError] = {}

    def _once(self, key: tuple[object, ...], make: partial[_Wears]) -> _Wears:
        if key not in self._known:
            try:
                self._known[key] = make()
            except EdgetimeError as error:
                self._known[key] = error
        found = self._known[key]
        if isinstance(found, EdgetimeError):
            raise found
        return found

    def of(self, job: Job) -> list[tuple[str, str, float | None]]:
        """Return article, tool and share of a unit of a job, drawing and metres one by one."""
        context = (job.stone, job.stack, job.thickness_mm)
        rows: list[tuple[str, str, float | None]] = []
        if job.drawings:
            rows += self._once((*context, job.drawings), partial(self._drawn, job)).rows
        for profile, metres in job.metres:
            wears = self._once((*context, profile), partial(self._metre, job, profile))
            rows += [
                (piece, tool, None if share is None else share * metres)
                for piece, tool, share in wears.rows
                if metres > 0.0
            ]
        return rows

    def _drawn(self, job: Job) -> _Wears:
        options = Options(
            machine=self.machine, stone=job.stone, stack=job.stack, thickness_mm=job.thickness_mm
        )
        parts = read_take_off(job.drawings, self.catalogue)
        wear = estimate_take_off(parts, self.catalogue, options).wear
        return _Wears(tuple((t.piece, t.tool, t.share) for t in wear.tools))

    def _metre(self, job: Job, profile: str) -> _Wears:
        wears = metre_wear(
            profile,
            self.catalogue,
            stone=job.stone,
            stack=job.stack,
            thickness_mm=job.thickness_mm,
            machine=self.machine,
        )
        return _Wears(tuple((w.piece, w.tool, w.share) for w in wears))


def wear_rates(pipeline: Pipeline, catalogue: Catalogue, *, machine: str | None = None) -> Rates:
    """Calculate what one unit of each job of a pipeline takes out of each tool.

    Parameters
    ----------
    pipeline : Pipeline
        The jobs.
    catalogue : Catalogue
        What they are cut with.
    machine : str, optional
        The shop's when omitted.

    Returns
    -------
    Rates
        One row of shares per job.

    Raises
    ------
    PipelineInvalid
        Drawings that cannot be used, each with the line of its job; all at once.
    """
    calculator = _Calculator(catalogue, machine)
    errors: list[PipelineInvalid] = []
    findings: dict[tuple[str, str | None], Finding] = {}
    shares: list[dict[str, float]] = []
    for job in pipeline.jobs:
        own: dict[str, float] = {}
        try:
            rows = calculator.of(job)
        except EdgetimeError as error:
            errors.append(_named(job, error))
            continue
        for piece, tool, share in rows:
            if share is None:
                findings.setdefault(
                    (tool, job.stone),
                    Finding(
                        codes.NO_LIFE,
                        f"{tool} has no life stated for {job.stone} {job.thickness_mm:g} mm thick.",
                        Where(path=catalogue.tools[tool].file or None, key="life"),
                    ),
                )
            else:
                own[piece] = own.get(piece, 0.0) + share
        shares.append(own)
    if errors:
        first = errors[0]
        raise PipelineInvalid(first.what, where=first.where, remedy=first.remedy, others=errors[1:])
    return Rates(shares=tuple(shares), findings=tuple(findings.values()))


def _named(job: Job, error: EdgetimeError) -> PipelineInvalid:
    named = named_by_row(error, job.at("drawing" if job.drawings else "metres"))
    return PipelineInvalid(named.what, where=named.where, remedy=named.remedy)
