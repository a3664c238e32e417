"""The plan of a shift with something changed, beside today's."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import TYPE_CHECKING

from edgetime.comparison.changes import Change, estimates_with
from edgetime.comparison.what_if import without_purchase
from edgetime.errors import PlanError
from edgetime.price import Quote, price_load
from edgetime.price.money import EXACT
from edgetime.records import HIDDEN, figure
from edgetime.shift import Job, ShiftLoad, ShiftOptions, ShiftPlan, estimate_key, plan_shift

if TYPE_CHECKING:
    from edgetime.estimating import Estimate


@dataclass(frozen=True, eq=False, kw_only=True)
class ShiftCase:
    """A shift as it is, or with something changed. Money is before overhead and margin.

    Attributes
    ----------
    what_if : str
        As asked; empty for today's plan.
    refused : str or None
        Why it cannot be planned so.
    plan : ShiftPlan or None
        None where it is refused.
    cost : Decimal or None
        Of all loads that run, each as ``edgetime price`` has it; None where the shop has no
        rates of its own, or a job is not drawn.
    currency : str or None
        Of the cost.
    locale : str
        Whose way of writing numbers tables use.
    """

    what_if: str
    refused: str | None = None
    plan: ShiftPlan | None = field(default=None, metadata=HIDDEN)
    cost: Decimal | None = None
    currency: str | None = None
    locale: str = field(default="en", metadata=HIDDEN)

    def _of_shift(self, name: str) -> float | None:
        return None if self.plan is None else getattr(self.plan.shift.figures, name)

    @property
    @figure
    def loads(self) -> float | None:
        """Loads as planned."""
        return self._of_shift("loads")

    @property
    @figure
    def parts(self) -> float | None:
        """Parts of these."""
        return self._of_shift("parts")

    @property
    @figure
    def area_mm2(self) -> float | None:
        """Area of these, gross of cutouts [mm²]."""
        return self._of_shift("area_mm2")

    @property
    @figure
    def makespan_s(self) -> float | None:
        """From the beginning of the shift until the last load is unloaded [s]."""
        return None if self.plan is None else self.plan.shift.makespan_s

    @property
    @figure
    def operator_s(self) -> float | None:
        """Time of the operator [s]."""
        return self._of_shift("operator_s")

    @property
    @figure
    def unattended_s(self) -> float | None:
        """Time the machine runs unattended [s]."""
        return self._of_shift("unattended_s")

    @property
    @figure
    def mean_loads(self) -> float | None:
        """Loads on average with variation; None when nothing was simulated."""
        return None if self.plan is None else self.plan.shift.promise.mean

    @property
    @figure
    def cost_per_load(self) -> Decimal | None:
        """The cost by the loads that run."""
        if self.plan is None or self.cost is None:
            return None
        return EXACT.divide(self.cost, Decimal(len(self.plan.shift.runs)))


def _cost(jobs: Sequence[Job], plan: ShiftPlan) -> tuple[Decimal | None, str | None]:
    """Return what the loads that run cost, and in which currency."""
    if not all(est.load.catalogue.shop.price.stated for est in plan.estimates.values()):
        return None, None
    jobs_of = (job for job in jobs for _ in range(job.quantity))
    estimates: Mapping[ShiftLoad, Estimate | None] = {
        load: plan.estimates.get(estimate_key(job))
        for load, job in zip(plan.waiting, jobs_of, strict=True)
    }
    quotes: dict[int, Quote] = {}
    out = Decimal(0)
    currency = None
    for run in plan.shift.runs:
        est = estimates[run.load]
        if est is None:
            return None, None
        quote = quotes.setdefault(id(est), quotes.get(id(est)) or price_load(est))
        out = EXACT.add(out, quote.figures["cost"].value)
        currency = quote.currency
    return out, currency


def _planned(
    change: Change, jobs: Sequence[Job], base: ShiftPlan, asked: ShiftOptions
) -> ShiftPlan:
    """Plan the same jobs with a change.

    A cycle that was measured is changed in proportion to its estimate: nobody has measured
    the other one.
    """
    made = {key: estimates_with([est], change)[0] for key, est in base.estimates.items()}
    changed = []
    for job in jobs:
        key = estimate_key(job)
        cycle_s = job.cycle_s
        if cycle_s is not None and key in made:
            cycle_s *= made[key].cycle.total_s / base.estimates[key].cycle.total_s
        changed.append(replace(job, cycle_s=cycle_s))
    pieces = {v.piece for est in made.values() for v in est.cycle.visits}
    machine = change.machine or asked.load.machine
    options = replace(
        asked,
        load=replace(asked.load, machine=machine),
        # What is known of a tool that does not run then has no bearing.
        used={tool: share for tool, share in asked.used.items() if tool in pieces},
        explain=False,
    )
    catalogue = next(iter(made.values())).load.catalogue
    return plan_shift(changed, catalogue, options, estimates=made)


def shift_what_ifs(
    texts: Sequence[str], jobs: Sequence[Job], plan: ShiftPlan, options: ShiftOptions
) -> tuple[ShiftCase, ...]:
    """Plan a shift again with each of some changes.

    Parameters
    ----------
    texts : sequence of str
        As :func:`edgetime.comparison.changes.read_change` takes them, without ``purchase``.
    jobs : sequence of Job
        As the plan was made of.
    plan : ShiftPlan
        The shift as it is.
    options : ShiftOptions
        As the plan was made with.

    Returns
    -------
    tuple of ShiftCase
        The shift as it is, then each change.

    Raises
    ------
    UsageError
        A key, or the profile, stone, machine or stack named, is not known, or no job is drawn.
    """
    changes = [without_purchase(text, "A shift") for text in texts]
    if not plan.estimates:
        raise changes[0].wrong(
            "No job has a drawing, so nothing is estimated that could change.",
            "Name drawings, or a list with drawings.",
        )
    locale = next(iter(plan.estimates.values())).load.catalogue.shop.price.locale
    cost, currency = _cost(jobs, plan)
    out = [ShiftCase(what_if="", plan=plan, cost=cost, currency=currency, locale=locale)]
    for change in changes:
        if currency is not None:
            change.check_currency(currency)
        try:
            made = _planned(change, jobs, plan, options)
        except PlanError as error:
            out.append(ShiftCase(what_if=change.text, refused=error.what))
            continue
        cost, paid = _cost(jobs, made)
        out.append(ShiftCase(what_if=change.text, plan=made, cost=cost, currency=paid))
    return tuple(out)
