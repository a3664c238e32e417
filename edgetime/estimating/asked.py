"""An estimate with the answers to what was asked beside it, as one document."""

from __future__ import annotations

from dataclasses import dataclass, field

from edgetime.cycle import OrderRow
from edgetime.estimating.effects import Effect, sensitivity
from edgetime.estimating.explain import explain_tool
from edgetime.estimating.pipeline import Estimate
from edgetime.estimating.resume import Resume, resume_at
from edgetime.explained import Explained, factors_json
from edgetime.findings import Finding
from edgetime.records import written
from edgetime.wear import Wear


@dataclass(frozen=True, slots=True)
class Questions:
    """What may be asked beside an estimate.

    Attributes
    ----------
    explain : str or None
        Tool whose time is to be explained.
    sensitivity : bool
        Which assumptions change the cycle most.
    resume_at : (str, str or None) or None
        Tool and part at which the program is started again.
    wear : bool
        Shares of tool lives, and their cost.
    runs : bool
        The order of work.
    """

    explain: str | None = None
    sensitivity: bool = False
    resume_at: tuple[str, str | None] | None = None
    wear: bool = False
    runs: bool = False


@dataclass(frozen=True, slots=True)
class ToolTime:
    """How the time of one tool came about.

    Attributes
    ----------
    tool : str
        As asked for.
    factors : tuple of Explained
        Those with ``seconds`` add up to its time.
    """

    tool: str
    factors: tuple[Explained[float], ...] = field(metadata=written(write=factors_json))


@dataclass(frozen=True, eq=False, kw_only=True)
class Answer:
    """An estimate and what was asked beside it; its keys are added to those of the estimate.

    Attributes
    ----------
    estimate : Estimate
        The load.
    explain, sensitivity, resume, wear, runs
        The answers; None for what was not asked.
    """

    estimate: Estimate = field(metadata=written(merged=True))
    explain: ToolTime | None = field(default=None, metadata=written(optional=True))
    sensitivity: tuple[Effect, ...] | None = field(default=None, metadata=written(optional=True))
    resume: Resume | None = field(default=None, metadata=written(optional=True))
    wear: Wear | None = field(default=None, metadata=written(optional=True))
    runs: tuple[OrderRow, ...] | None = field(default=None, metadata=written(optional=True))

    @property
    def all_findings(self) -> tuple[Finding, ...]:
        """Findings of the estimate, and of the wear where it was asked for."""
        return (*self.estimate.findings, *(self.wear.findings if self.wear else ()))


def answer(est: Estimate, asked: Questions) -> Answer:
    """Answer questions about a load.

    Parameters
    ----------
    est : Estimate
        The load.
    asked : Questions
        What to answer.

    Raises
    ------
    UsageError
        The tool to explain or to resume at does not run in this load.
    """
    tool = asked.explain
    return Answer(
        estimate=est,
        explain=None if tool is None else ToolTime(tool, explain_tool(est, tool)),
        sensitivity=sensitivity(est) if asked.sensitivity else None,
        resume=None if asked.resume_at is None else resume_at(est, *asked.resume_at),
        wear=est.wear if asked.wear else None,
        runs=est.order if asked.runs else None,
    )
