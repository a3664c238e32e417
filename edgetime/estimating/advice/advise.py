"""Advice: each change is made, the load estimated again, and the difference stated."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from edgetime.errors import EdgetimeError, UsageError
from edgetime.estimating.advice.drawing import WORTH_HAND_MM, drawing_advice, drawing_proposals
from edgetime.estimating.advice.proposal import Advice, Change, Proposal, Setup
from edgetime.estimating.advice.shop import setup_proposals
from edgetime.estimating.pipeline import Estimate
from edgetime.findings import Severity
from edgetime.passes import codes as planned
from edgetime.toolpath.codes import INSIDE_RADIUS, OPENING_NARROW

WORTH_S: Final = 5.0
"""A saving below this is not worth a line [s]."""

UNDONE: Final = frozenset(
    code.name
    for code in (
        planned.NO_ROUGH_STEP,
        planned.NO_SEAM_STEP,
        planned.NO_GAUGE_STEP,
        planned.NO_SECTION,
    )
)
"""Warnings of work that is left out: time saved that way is not a saving."""

HOW: Final = "the difference to a second estimate with this change"


@dataclass(frozen=True, kw_only=True)
class Together:
    """What several pieces of advice save when followed together.

    Attributes
    ----------
    numbers : tuple of int
        Which of the advice, from 1, in the order followed: each that still saves something after
        those before it.
    saving_s, saving_attended_s, saving_hand_mm : float
        As in :class:`Advice`, of all of them [s, s, mm].
    """

    numbers: tuple[int, ...]
    saving_s: float
    saving_attended_s: float
    saving_hand_mm: float


ONE_OF: Final = frozenset({"smaller-wheel", "other-stack"})
"""Kinds of which one piece of advice excludes the next."""

BY_HAND: Final = frozenset({INSIDE_RADIUS.name, OPENING_NARROW.name})
"""Warnings that the saving of hand work counts already."""


def _counts(est: Estimate, least: Severity) -> Counter[str]:
    return Counter(f.code for f in est.findings if f.severity.rank >= least.rank)


def _sound(est: Estimate, other: Estimate) -> bool:
    """Return whether a change leaves no work out and makes no new error."""
    errors = _counts(other, Severity.ERROR) - _counts(est, Severity.ERROR)
    warnings = _counts(other, Severity.WARNING) - _counts(est, Severity.WARNING)
    more_by_hand = other.cycle.hand_mm - est.cycle.hand_mm
    return not errors and UNDONE.isdisjoint(warnings) and more_by_hand <= WORTH_HAND_MM


def _worth(est: Estimate, other: Estimate) -> bool:
    """Return whether a change saves enough to be reported."""
    time = est.cycle.total_s + est.cycle.attended_s - other.cycle.total_s - other.cycle.attended_s
    return time > WORTH_S or est.cycle.hand_mm - other.cycle.hand_mm > WORTH_HAND_MM


def _new_warnings(est: Estimate, other: Estimate) -> tuple[str, ...]:
    more = _counts(other, Severity.WARNING) - _counts(est, Severity.WARNING)
    known = {(f.code, f.message) for f in est.findings}
    return tuple(
        f.message
        for f in other.findings
        if f.severity is Severity.WARNING
        and f.code in more
        and f.code not in BY_HAND
        and (f.code, f.message) not in known
    )


def _tried(setup: Setup, change: Change) -> tuple[Setup, Estimate] | None:
    """Return set-up and estimate after a change, None where the change or the estimate fails."""
    try:
        changed = change(setup)
        return None if changed is None else (changed, changed.estimate())
    except EdgetimeError:
        return None


def _advised(est: Estimate, proposal: Proposal) -> Advice | None:
    tried = _tried(Setup.of(est), proposal.change)
    if tried is None:
        return None
    other = tried[1]
    if not _sound(est, other) or not _worth(est, other):
        return None
    what = proposal.say if isinstance(proposal.say, str) else proposal.say(other)
    if what is None:
        return None
    return Advice(
        kind=proposal.kind,
        what=what,
        saving_s=est.cycle.total_s - other.cycle.total_s,
        saving_attended_s=est.cycle.attended_s - other.cycle.attended_s,
        saving_hand_mm=est.cycle.hand_mm - other.cycle.hand_mm,
        how=HOW,
        where=proposal.where,
        brings=_new_warnings(est, other),
        change=proposal.change,
    )


def _once(found: Iterable[Advice]) -> list[Advice]:
    """Return advice without what another kind says already: the same savings at one place."""
    out: dict[object, Advice] = {}
    for each in found:
        key = (each.where, each.saving_s, each.saving_attended_s, each.saving_hand_mm)
        out.setdefault(key if each.computed else each.what, each)
    return list(out.values())


def advise(est: Estimate) -> tuple[Advice, ...]:
    """Return what to change, the greatest saving first.

    Every saving that is stated is the difference to a second estimate. What leaves work undone,
    adds work that the drawing does not ask for, or makes a new error is not advised.

    Parameters
    ----------
    est : Estimate
        The load as drawn and set up.

    Returns
    -------
    tuple of Advice
        Machine and attended time saved count first, then hand work; last what states no saving.
    """
    proposals = [*drawing_proposals(est), *setup_proposals(est)]
    found = [a for a in (_advised(est, p) for p in proposals) if a is not None]
    return tuple(
        sorted(
            [*_once(found), *drawing_advice(est)],
            key=lambda a: (
                not a.computed,
                -(a.saving_s + a.saving_attended_s),
                -a.saving_hand_mm,
                a.what,
            ),
        )
    )


def follow(est: Estimate, *advice: Advice) -> Estimate:
    """Return the estimate of a load after some advice was followed.

    Parameters
    ----------
    est : Estimate
        The load as drawn and set up.
    *advice : Advice
        What is followed, in this order.

    Raises
    ------
    UsageError
        Advice that states no saving, or that cannot be followed after what comes before it.
    """
    setup = Setup.of(est)
    for each in advice:
        changed = None if each.change is None else each.change(setup)
        if changed is None:
            raise UsageError(
                f"The advice cannot be followed here: {each.what}",
                remedy="Leave it out, or follow it before the others.",
            )
        setup = changed
    return setup.estimate()


def together(est: Estimate, advice: Sequence[Advice]) -> Together:
    """Return what advice saves when as much of it as possible is followed.

    It is followed from the first to the last, smaller wheels after all that changes the drawing.
    What saves nothing more after those before it, or cannot be followed then, is passed over;
    of stacks and of wheels one is taken.

    Parameters
    ----------
    est : Estimate
        The load as drawn and set up.
    advice : sequence of Advice
        The greatest saving first.
    """
    setup, now = Setup.of(est), est
    numbers: list[int] = []
    kinds: set[str] = set()
    for number, each in sorted(
        enumerate(advice, 1), key=lambda item: item[1].kind == "smaller-wheel"
    ):
        if each.change is None or each.kind in ONE_OF & kinds:
            continue
        tried = _tried(setup, each.change)
        if tried is None or not _sound(now, tried[1]) or not _worth(now, tried[1]):
            continue
        setup, now = tried
        numbers.append(number)
        kinds.add(each.kind)
    return Together(
        numbers=tuple(numbers),
        saving_s=est.cycle.total_s - now.cycle.total_s,
        saving_attended_s=est.cycle.attended_s - now.cycle.attended_s,
        saving_hand_mm=est.cycle.hand_mm - now.cycle.hand_mm,
    )
