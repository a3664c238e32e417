"""The pipeline: jobs to come, with what the shop's defaults make of them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from edgetime.errors import PipelineInvalid
from edgetime.findings import Finding
from edgetime.forecast import codes
from edgetime.jobs import Job, Wrong, read_jobs
from edgetime.jobs.columns import DAY_REMEDY
from edgetime.load.make_load import stack_serves
from edgetime.tooling import Catalogue


@dataclass(frozen=True, slots=True, kw_only=True)
class Pipeline:
    """The jobs to come.

    Attributes
    ----------
    path : str
        File as the user named it.
    jobs : tuple of Job
        In the order of the file, each with its day, stone, thickness and stack.
    findings : tuple of Finding
        What was decided for the user on reading it.
    """

    path: str
    jobs: tuple[Job, ...]
    findings: tuple[Finding, ...] = ()


def read_pipeline(path: str | Path, catalogue: Catalogue) -> Pipeline:
    """Read the jobs to come from a CSV or TOML file.

    Parameters
    ----------
    path : path
        The file; the drawings it names are looked for from its folder.
    catalogue : Catalogue
        Gives the names of profiles, stones and stacks, and the shop's defaults.

    Returns
    -------
    Pipeline
        Its jobs, in the order of the file.

    Raises
    ------
    PipelineInvalid
        The first thing wrong, with all others beside it: each with file, line, column or
        key, the value found and what is allowed.
    """
    shop = catalogue.shop
    errors: list[PipelineInvalid] = []
    findings: list[Finding] = []
    jobs = []
    for read in read_jobs(path, catalogue, needed=("date",), refuse=_wrongs):
        job = replace(
            read,
            stone=read.stone or shop.stone,
            thickness_mm=shop.thickness_mm if read.thickness_mm is None else read.thickness_mm,
        )
        try:
            stack, finding = _stack(job, catalogue)
        except PipelineInvalid as error:
            errors.append(error)
            continue
        findings += [] if finding is None else [finding]
        jobs.append(replace(job, stack=stack))
    if errors:
        first, *others = errors
        raise PipelineInvalid(first.what, where=first.where, remedy=first.remedy, others=others)
    return Pipeline(path=str(path), jobs=tuple(jobs), findings=tuple(findings))


def _wrongs(job: Job) -> Iterator[Wrong]:
    if "date" not in job.places:
        yield Wrong("date", "The job has no date.", DAY_REMEDY)
    if not {"drawing", "metres"} & job.places.keys():
        yield Wrong(
            "drawing",
            "The job has neither a drawing nor metres of a profile.",
            "Give a DXF file in drawing, or lengths in metres such as eased=12.5.",
        )


def _stack(job: Job, catalogue: Catalogue) -> tuple[str, Finding | None]:
    """Return the stack of a job: as named, else the shop's, else the first that serves."""
    shop = catalogue.shop
    stone = catalogue.stones[job.stone or shop.stone]
    thickness_mm = shop.thickness_mm if job.thickness_mm is None else job.thickness_mm
    own = job.stack or shop.stack
    # The column is named also where it is not given: that is where to name another one.
    key = "stack" if job.where.key is None else f"{job.where.key}.stack"
    where = job.places.get("stack", replace(job.where, key=key))
    if stack_serves(catalogue.stacks[own], stone, thickness_mm):
        return own, None
    fitting = sorted(
        s.name for s in catalogue.stacks.values() if stack_serves(s, stone, thickness_mm)
    )
    if job.stack is None and fitting:
        return fitting[0], Finding(
            codes.STACK_CHOSEN,
            f"Stack {own} does not serve {stone.name} of {thickness_mm:g} mm; {fitting[0]} is "
            "used.",
            where,
        )
    raise PipelineInvalid(
        f"Stack {own!r} does not serve {stone.name} of {thickness_mm:g} mm.",
        where=where,
        remedy=f"Stacks that do: {', '.join(fitting)}."
        if fitting
        else "No stack does; add one to the shop's stacks folder.",
    )
