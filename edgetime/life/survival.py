"""The answer to "do the mounted tools finish this load?"."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from edgetime.findings import Finding
from edgetime.life.distribution import Interval, Trust
from edgetime.life.posterior import LifeFit
from edgetime.records import HIDDEN, figure, figure_named, written


@dataclass(frozen=True, slots=True, kw_only=True)
class EndAt:
    """A part of the load, and the chance that a tool piece ends on it.

    Attributes
    ----------
    part_id, name : str
        The part.
    stay : int
        Which of the tool's visits to this part, from 1.
    chance : float
        Chance that the piece ends there [-].
    """

    part_id: str
    name: str
    stay: int
    chance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ToolSurvival:
    """Whether one tool piece finishes the load.

    Attributes
    ----------
    tool, piece : str
        As in the wear.
    serial : str or None
        The piece in the ledger; None when a new one is assumed.
    pocket : int or None
        Where it is mounted.
    spares : int or None
        Unused pieces on hand; None without a ledger.
    spares_used : int or None
        Part-used pieces on the shelf; None without a ledger.
    spare : str or None
        Serial of the least used piece on hand that is not mounted.
    measure : str
        The measure of life that is limiting.
    used, share : float
        Life used before, and by this load [catalogue lives].
    chance : float
        That it finishes [-]; the product of the next two.
    chance_wear, chance_breakage : float
        That it is not worn out; that it does not break [-].
    chance_new : float
        That a new piece in its place would finish [-].
    chance_spare : float or None
        That ``spare`` in its place would finish [-].
    left : Interval
        Use until its end by wear or breakage: median and 90 % interval [catalogue lives].
    end : EndAt or None
        The part on which it is expected to end if it does not finish: by then half of that
        chance has accrued. None when the load does not wear it.
    by_part : tuple of EndAt
        Chance to end on each visit to a part, in running order.
    fit : LifeFit
        Of its tool.
    """

    tool: str
    piece: str
    serial: str | None
    pocket: int | None
    spares: int | None
    spares_used: int | None = field(default=None)
    spare: str | None = field(default=None)
    measure: str
    used: float = field(metadata=written(key="used_lives"))
    share: float = field(metadata=written(key="share_lives"))
    chance: float
    chance_wear: float
    chance_breakage: float
    chance_new: float
    chance_spare: float | None = None
    left: Interval = field(metadata=written(key="left_lives"))
    end: EndAt | None
    by_part: tuple[EndAt, ...]
    fit: LifeFit = field(metadata=HIDDEN)

    @property
    @figure
    def assumed_new(self) -> bool:
        """Whether a new piece is assumed because none is mounted."""
        return self.serial is None

    @property
    @figure_named("life_rests_on")
    def trust(self) -> Trust:
        """Whether its figures rest on the tool's file or on pieces of the shop's own."""
        return self.fit.trust

    @property
    @figure
    def left_loads(self) -> Interval | None:
        """Loads like this one until its end; None when this one does not wear it."""
        if self.share <= 0.0:
            return None
        left = self.left
        return Interval(*(use / self.share for use in (left.value, left.low, left.high)))


@dataclass(frozen=True, eq=False, kw_only=True)
class Survival:
    """Whether a load is finished without a tool ending.

    Attributes
    ----------
    tools : tuple of ToolSurvival
        In order of first use; pieces without a stated life are missing.
    unknown : tuple of str
        Those pieces.
    chance : float
        That all finish, each independent of the others [-].
    chance_swapped : float
        The same after every swap of ``swap`` [-].
    swap : tuple of str
        Pieces to swap before cycle start for one on hand, the one that raises the chance most
        first; only those below ``least_chance``.
    least_chance : float
        Minimum chance asked for [-].
    ledger : bool
        Whether there was a ledger.
    findings : tuple of Finding
        Of this stage only.
    """

    SCHEMA: ClassVar = "edgetime.survive/1"

    tools: tuple[ToolSurvival, ...]
    unknown: tuple[str, ...]
    chance: float
    chance_swapped: float
    swap: tuple[str, ...]
    least_chance: float
    ledger: bool
    findings: tuple[Finding, ...]

    @property
    @figure
    def fits(self) -> tuple[LifeFit, ...]:
        """The life of each tool, in order of first use."""
        return tuple({t.tool: t.fit for t in self.tools}.values())

    @property
    def low(self) -> tuple[ToolSurvival, ...]:
        """The pieces below the minimum chance."""
        return tuple(t for t in self.tools if t.chance < self.least_chance)
