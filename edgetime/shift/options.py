"""What a user may choose for a shift."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Final

from edgetime.load.options import Options
from edgetime.shift.workday import check_rules
from edgetime.tooling import Catalogue, ShiftDefaults

_RULES: Final = {
    "hours": "hours_s",
    "breaks": "breaks",
    "zones": "zones",
    "zone_length": "zone_length_mm",
    "last_load": "last_load",
    "replications": "replications",
    "seed": "seed",
}
"""Keys of ``[shift]`` in ``shop.toml`` that an option may replace, and the fields they are in."""


@dataclass(frozen=True, kw_only=True)
class ShiftOptions:
    """Choices for a shift; None is the shop's, in ``[shift]`` of ``shop.toml``.

    Attributes
    ----------
    load : Options
        How each load is estimated, and on which machine; a job's own stone, stack and
        thickness come first.
    hours_s : float or None
        Length of the shift [s]. Breaks of the shop that do not end within it are dropped.
    breaks : tuple of (float, float) or None
        Begin and length of each break [s].
    zones : int or None
        Zones of the table.
    zone_length_mm : float or None
        Length of a zone [mm].
    last_load : str or None
        ``in-shift`` or ``runs-on``.
    pockets : int or None
        Tools the rack holds; None is the machine's.
    used : mapping of str to float
        Share of its life that a tool has used at the beginning [-].
    fill : bool
        Repeat the jobs in turn until the shift is full.
    fit : bool
        Choose the jobs that fill the shift best.
    day : date or None
        Date of the shift, which ``fit`` weighs due dates by; None is today.
    pocket_plan : bool
        Order the loads for the fewest tool swaps.
    table_filling : bool
        Group the parts into table loads by area.
    time_limit_s : float
        For ``fit`` and ``pocket_plan`` each [s].
    replications : int or None
        Shifts simulated with variation; 0 is the plan alone.
    seed : int or None
        Random seed.
    explain : bool
        Whether to give every value with its source.
    """

    load: Options = field(default_factory=Options)
    hours_s: float | None = None
    breaks: tuple[tuple[float, float], ...] | None = None
    zones: int | None = None
    zone_length_mm: float | None = None
    last_load: str | None = None
    pockets: int | None = None
    used: Mapping[str, float] = field(default_factory=dict)
    fill: bool = False
    fit: bool = False
    day: date | None = None
    pocket_plan: bool = False
    table_filling: bool = False
    time_limit_s: float = 10.0
    replications: int | None = None
    seed: int | None = None
    explain: bool = False

    @property
    def replaced(self) -> tuple[str, ...]:
        """The keys of ``[shift]`` that these choices replace."""
        given = {key: getattr(self, name) for key, name in _RULES.items()}
        if self.replications == 0:
            # Nothing is simulated: the shop's number of replications stays as it is.
            del given["replications"]
        return tuple(key for key, value in given.items() if value is not None)

    def rules(self, catalogue: Catalogue) -> ShiftDefaults:
        """Return the shop's rules with these choices put in.

        Parameters
        ----------
        catalogue : Catalogue
            Read from files.

        Raises
        ------
        CatalogueInvalid, UsageError
            The shop's rules, or the choices, contradict one another.
        """
        rules = check_rules(catalogue.shop.shift, catalogue.shop.file)
        hours = self.hours_s
        if hours is not None and self.breaks is None:
            rules = replace(rules, breaks=tuple(b for b in rules.breaks if sum(b) <= hours))
        chosen = {_RULES[key]: getattr(self, _RULES[key]) for key in self.replaced}
        return check_rules(replace(rules, **chosen))
