"""What people do for a load, and whether the machine waits for it."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from typing import Final, Literal, NamedTuple

from edgetime.records import HIDDEN, figure, figure_named

MachineWaits = Literal["always", "one-table", "never"]


@dataclass(frozen=True, slots=True)
class TaskKind:
    """One kind of attended work.

    Attributes
    ----------
    key : str
        In JSON and CSV.
    title : str
        On screens.
    do : str
        The instruction to the operator.
    waits : {"always", "one-table", "never"}
        Whether the machine waits meanwhile; ``one-table`` unless another table is loaded.
    """

    key: str
    title: str
    do: str
    waits: MachineWaits


KINDS: Final = {
    kind.key: kind
    for kind in (
        TaskKind("set-up", "set-up", "Prepare the load", "never"),
        TaskKind("load", "loading", "Load the parts", "one-table"),
        TaskKind("flip", "turning over", "Turn the parts over", "always"),
        TaskKind("cups", "moving cups", "Move the cups", "always"),
        TaskKind("slug", "taking out slugs", "Take out the slugs", "always"),
        TaskKind("pocket", "tools without a pocket", "Put in the tool by hand", "always"),
        TaskKind("attend", "attending the cycle", "Attend the cycle", "never"),
        TaskKind("swap", "replacing worn tools", "Change the tools", "always"),
        TaskKind("measure", "measuring", "Measure", "one-table"),
        TaskKind("unload", "unloading", "Unload the parts", "one-table"),
    )
}
"""Every kind of attended work at a load, in the order it comes up."""


@dataclass(frozen=True, slots=True)
class Task:
    """Attended work of one kind.

    Attributes
    ----------
    kind : str
        Key of :data:`KINDS`.
    seconds : float
        Attended [s].
    places : tuple of (int, int)
        Part and contour (0 for the whole part) that share it equally; empty for all parts.
    """

    kind: str
    seconds: float
    places: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True, slots=True)
class Preparation:
    """Work on the edges of one profile before the load comes to the machine.

    Attributes
    ----------
    part : int
        Index into the load's parts.
    profile, step : str
        Profile, and what is done: ``glue-up`` …
    length_mm : float
        Edge [mm].
    seconds : float
        Of a person at the bench [s].
    material : Decimal
        Money, in the currency of the profile's file.
    """

    part: int
    profile: str
    step: str
    length_mm: float
    seconds: float
    material: Decimal


class KindTime(NamedTuple):
    """Attended time of one kind of work."""

    kind: str
    attended_s: float


@dataclass(frozen=True, slots=True)
class Labour:
    """The attended time of a load.

    Attributes
    ----------
    tasks : tuple of Task
        At the load, in the order of :data:`KINDS`.
    preparation : tuple of Preparation
        At the bench, before.
    """

    tasks: tuple[Task, ...] = field(metadata=HIDDEN)
    preparation: tuple[Preparation, ...] = field(metadata=HIDDEN)

    @property
    def task_s(self) -> float:
        """Attended time at the load, setup and expected tool changes included [s]."""
        return sum(t.seconds for t in self.tasks)

    @property
    def preparation_s(self) -> float:
        """Time at the bench before [s]."""
        return sum(p.seconds for p in self.preparation)

    @property
    @figure
    def total_s(self) -> float:
        """All attended time [s]."""
        return self.task_s + self.preparation_s

    @property
    @figure_named("tasks")
    def by_kind(self) -> tuple[KindTime, ...]:
        """Time by kind, those with any; the bench last, by its steps [s]."""
        sums = dict.fromkeys(KINDS, 0.0)
        for t in self.tasks:
            sums[t.kind] += t.seconds
        for p in self.preparation:
            sums[p.step] = sums.get(p.step, 0.0) + p.seconds
        return tuple(KindTime(kind, seconds) for kind, seconds in sums.items() if seconds > 0.0)
