"""A piece of advice, and what it changes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from edgetime.errors import Where
from edgetime.estimating.pipeline import Estimate, estimate_take_off
from edgetime.load.options import Options
from edgetime.records import HIDDEN
from edgetime.takeoff import TakeOff
from edgetime.tooling import Catalogue


@dataclass(frozen=True)
class Setup:
    """All that an estimate is made of, open to changes.

    Attributes
    ----------
    take_off : TakeOff
        Parts and edges as drawn.
    catalogue : Catalogue
        What the shop has.
    options : Options
        What was asked.
    """

    take_off: TakeOff
    catalogue: Catalogue
    options: Options

    @classmethod
    def of(cls, est: Estimate) -> Setup:
        """Return what an estimate was made of."""
        return cls(est.take_off, est.load.catalogue, est.options)

    def estimate(self) -> Estimate:
        """Run all stages.

        Raises
        ------
        PlanError, UsageError
            As :func:`edgetime.estimating.estimate_take_off`.
        """
        return estimate_take_off(self.take_off, self.catalogue, self.options)


Change = Callable[[Setup], Setup | None]
"""Follows a piece of advice; None where that cannot be done."""


@dataclass(frozen=True, kw_only=True)
class Proposal:
    """Something to be tried by a second estimate.

    Attributes
    ----------
    kind : str
        As in :class:`Advice`.
    change : callable
        Follows it.
    say : str or callable
        What to change, in words; or a function of the estimate after the change that returns
        them, None where the change does not do what this kind is about.
    where : Where
        The place in the drawing or the file.
    """

    kind: str
    change: Change
    say: str | Callable[[Estimate], str | None]
    where: Where


@dataclass(frozen=True, kw_only=True)
class Advice:
    """One thing to change.

    Attributes
    ----------
    kind : str
        Stable slug: ``inside-radius``, ``wider-opening``, ``smaller-wheel``,
        ``precut-cutouts``, ``other-stack``, ``rare-profile``, ``turning-over``, ``spacing``,
        ``pockets``.
    what : str
        What to change, with its numbers.
    saving_s : float
        Machine time saved; negative when it costs some [s].
    saving_attended_s : float
        Attended time saved [s].
    saving_hand_mm : float
        Hand finishing saved [mm].
    how : str
        How the savings were computed, or why none is stated.
    where : Where
        The place in the drawing or the file.
    computed : bool
        Whether the savings are the difference to a second estimate; False where none is
        stated, and they are 0.
    brings : tuple of str
        Warnings that the load does not have today.
    change : callable or None
        Follows the advice; see :func:`edgetime.estimating.follow`.
    """

    kind: str
    what: str
    saving_s: float = 0.0
    saving_attended_s: float = 0.0
    saving_hand_mm: float = 0.0
    how: str
    where: Where
    computed: bool = True
    brings: tuple[str, ...] = ()
    change: Change | None = field(default=None, repr=False, compare=False, metadata=HIDDEN)
