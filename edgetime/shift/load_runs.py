"""Loads of a shift, and what happens to them."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import NamedTuple

from edgetime.errors import Where
from edgetime.records import HIDDEN, figure, figure_named, written
from edgetime.tooling import ShiftDefaults

ACCOUNT = ("run", "stop", "stoppage", "swap", "warm-up", "loading", "break", "rest")
"""What the machine does with the shift; the seconds of all of them make the shift.

``run``: the cycle runs. ``stop``: it waits for a person in the middle of a cycle. ``stoppage``:
something went wrong. ``swap``: tools are changed in the rack. ``warm-up``. ``loading``: nothing
is on the table that could run. ``break``: likewise, because the person has a break. ``rest``:
after the last cycle.
"""


SLACK_S = 1e-6
"""Sums of times in another order differ by less [s]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """A place in a cycle where the machine waits for a person.

    Attributes
    ----------
    at_s : float
        On the machine's clock, from cycle start, stops excluded [s].
    seconds : float
        Attended [s].
    reason : str
        ``flip``, ``cups``, ``slug``, or ``pocket`` for a tool the rack has no room for.
    on : tuple of str
        The parts that are handled, by their IDs; the tool for ``pocket``.
    """

    at_s: float
    seconds: float = field(metadata=written(key="attended_s"))
    reason: str
    on: tuple[str, ...] = ()


class PieceUse(NamedTuple):
    """A tool that a load uses.

    Attributes
    ----------
    piece : str
        The tool, or the tool and the profile it is ground to.
    share : float or None
        Share of its life that the load uses [-]; None when no life is stated.
    """

    piece: str
    share: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ShiftLoad:
    """What a shift must know of a load.

    Attributes
    ----------
    name : str
        Of the job.
    drawings : tuple of str
        Paths.
    cycle_s : float
        Machine cycle, stops excluded [s].
    setup_s : float
        Attended, once, before it is laid down; the machine may run another load meanwhile [s].
    attend_s : float
        Attended during the cycle, while the machine runs [s].
    parts : int
        Parts.
    area_mm2 : float
        Area of all parts, gross of cutouts [mm²].
    load_part_s, unload_part_s : float
        Attended, per part [s].
    stops : tuple of Stop
        In order of time.
    pieces : tuple of PieceUse
        Tools in order of first use.
    zones : int
        Zones of the table it lies on.
    due : date or None
        When it must be done.
    ready_s : float
        It cannot be loaded before, from the beginning of the shift [s].
    where : Where
        In the job list, for messages.
    cycle_at : Where or None
        Where the cycle is written that replaces the estimated one.
    """

    name: str
    drawings: tuple[str, ...] = ()
    cycle_s: float
    setup_s: float = 0.0
    attend_s: float = 0.0
    parts: int
    area_mm2: float
    load_part_s: float = field(metadata=HIDDEN)
    unload_part_s: float = field(metadata=HIDDEN)
    stops: tuple[Stop, ...] = ()
    pieces: tuple[PieceUse, ...] = ()
    zones: int = 1
    due: date | None = None
    ready_s: float = 0.0
    where: Where = field(default_factory=Where, compare=False, metadata=HIDDEN)
    cycle_at: Where | None = field(default=None, compare=False, metadata=HIDDEN)

    @property
    @figure
    def loading_s(self) -> float:
        """Attended time before the cycle [s]."""
        return self.load_part_s * self.parts

    @property
    @figure
    def unloading_s(self) -> float:
        """Attended time after the cycle, measuring excluded [s]."""
        return self.unload_part_s * self.parts

    @property
    def stop_s(self) -> float:
        """Attended time in the cycle [s]."""
        return sum(s.seconds for s in self.stops)

    @property
    def last_stop_s(self) -> float:
        """From cycle start to the end of its last stop, nothing being waited for [s]."""
        return self.stops[-1].at_s + self.stop_s if self.stops else 0.0


@dataclass(frozen=True, slots=True)
class Span:
    """Something that takes time.

    Attributes
    ----------
    kind : str
        For the machine as in :data:`ACCOUNT`; for the person a key of
        :data:`edgetime.labour.KINDS`, or ``stoppage``.
    start_s, stop_s : float
        From the beginning of the shift [s].
    load : int
        Index of the load, -1 for none.
    """

    kind: str
    start_s: float
    stop_s: float
    load: int = -1


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadRun:
    """What happened to one load.

    Attributes
    ----------
    load : ShiftLoad
        Which.
    on_zones : tuple of int
        Zones of the table it lies on, from 1.
    loading_at_s, loaded_at_s, starts_s, ends_s, done_s : float
        Loading begins and ends; the machine takes it up (tools are swapped first) and is
        done with it; it is unloaded, if somebody is there [s].
    needed_s : float
        From then on its cycle needs nobody: it began then, or was taken up again after its
        last stop or stoppage [s].
    swapped : tuple of str
        Tools changed before it.
    spoiled : int
        Parts.
    runs_on : bool
        It is made by the shift, but unloaded by the next one only.
    """

    load: ShiftLoad = field(metadata=HIDDEN)
    on_zones: tuple[int, ...] = (1,)
    loading_at_s: float
    loaded_at_s: float
    starts_s: float
    needed_s: float = field(metadata=HIDDEN)
    ends_s: float
    done_s: float = field(metadata=HIDDEN)
    swapped: tuple[str, ...]
    spoiled: int
    runs_on: bool = False

    @property
    @figure
    def name(self) -> str:
        """Name of the load."""
        return self.load.name

    @property
    @figure
    def parts(self) -> int:
        """Number of parts, spoiled ones included."""
        return self.load.parts

    @property
    @figure
    def area_mm2(self) -> float:
        """Area of these parts [mm²]."""
        return self.load.area_mm2

    @property
    @figure_named("done_s")
    def unloaded_s(self) -> float | None:
        """When it is unloaded [s]; None where the next shift does that, nobody knows when."""
        return None if self.runs_on else self.done_s

    def reached_s(self, rules: ShiftDefaults) -> float:
        """Return when a shift has made the load: unloaded, or running on alone [s]."""
        return self.needed_s if rules.runs_on else self.done_s

    def made(self, rules: ShiftDefaults) -> bool:
        """Return whether the shift made the load."""
        return self.reached_s(rules) <= rules.hours_s + SLACK_S

    @property
    def good_area_mm2(self) -> float:
        """Area of the parts that are not spoiled, each counted alike [mm²]."""
        if self.load.parts == 0:
            return self.load.area_mm2
        return self.load.area_mm2 * (1.0 - self.spoiled / self.load.parts)
