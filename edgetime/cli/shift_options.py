"""Options of ``edgetime shift``, declared once, and how their texts become jobs and choices."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

from edgetime.choices import Paper
from edgetime.cli.ask import ask, choose, switch
from edgetime.cli.ledger.options import read_day
from edgetime.cli.options import factor_option, length_option
from edgetime.cli.output import check_page
from edgetime.durations import H_MIN, MIN_S, parse_duration
from edgetime.errors import UnitInvalid, UsageError, Where
from edgetime.tooling.defaults import LastLoad

if TYPE_CHECKING:
    from datetime import date

    from edgetime.cli.load_options import LoadOptions
    from edgetime.jobs import Job
    from edgetime.shift import ShiftOptions
    from edgetime.tooling import Catalogue


SeedOption = Annotated[int | None, ask("NUMBER", "Random seed.", min=0)]
ExplainOption = Annotated[bool, switch("--explain", "Show how the throughput is calculated.")]


@dataclass(frozen=True, kw_only=True)
class ShiftChoices:
    """The options of a shift, as typed; None means the shop's value."""

    jobs: Annotated[
        str | None,
        ask(
            "FILE",
            "CSV or TOML list of waiting jobs, instead of drawings: name, drawing, quantity, "
            "due, ready, stone, thickness, stack, cycle, area, parts.",
        ),
    ] = None
    repeat: Annotated[
        int | None,
        ask(
            "TIMES",
            "Number of rounds of the drawings; until the shift is full if omitted.",
            min=1,
            max=1000,
        ),
    ] = None
    together: Annotated[bool, switch("--together", "All drawings are one load.")] = False
    fit: Annotated[bool, switch("--fit", "Choose the waiting jobs that fill the shift best.")] = (
        False
    )
    pocket_plan: Annotated[
        bool, switch("--pocket-plan", "Order the loads for the fewest tool swaps.")
    ] = False
    table_filling: Annotated[
        bool,
        switch("--table-filling", "Group the parts into table loads by area: an upper estimate."),
    ] = False
    hours: Annotated[
        str | None,
        ask(
            "TIME",
            "Length of the shift: 8, '8 h 30 min', 8:30 (h:min); breaks of the shop that end "
            "later are dropped.",
        ),
    ] = None
    breaks: Annotated[
        list[str] | None,
        ask(
            "AFTER+LENGTH",
            "Break, instead of the shop's: '4 h+30 min', 4:00+0:30 (h:min); may be repeated.",
            flag="--break",
        ),
    ] = None
    no_breaks: Annotated[bool, switch("--no-breaks", "No breaks.")] = False
    zones: Annotated[int | None, ask("NUMBER", "Number of table zones, loaded in turn.")] = None
    zone_length: Annotated[
        str | None,
        ask("LENGTH", "Length of a zone; the table's length divided by the zones if omitted."),
    ] = None
    last_load: Annotated[
        LastLoad | None,
        choose(
            "runs-on: a cycle that starts in the shift and runs unattended finishes after it and "
            "is unloaded the next day. [default: the shop's, in-shift]",
            show_default=False,
        ),
    ] = None
    pockets: Annotated[
        int | None, ask("NUMBER", "Number of pockets in the rack; otherwise the machine's.")
    ] = None
    cycle_time: Annotated[
        str | None,
        ask(
            "TIME",
            "Measured machine cycle of each drawing: 108 (minutes), '1 h 48 min', 108:00 "
            "(min:s, as the tables print cycles); estimated if omitted.",
        ),
    ] = None
    used: Annotated[
        list[str] | None,
        ask("TOOL=SHARE", "Tool life already used, such as polish-1=80%; may be repeated."),
    ] = None
    day: Annotated[
        str | None, ask("DATE", "Date of the shift, for --fit [default: today] and --board.")
    ] = None
    time_limit: Annotated[
        float,
        ask(
            "SECONDS",
            "Longest search, for --fit and --pocket-plan each.",
            show_default=True,
            min=0.1,
            max=3600.0,
        ),
    ] = 10.0
    replications: Annotated[
        int | None,
        ask("NUMBER", "Shifts simulated with variation; 0 for the plan alone.", min=0, max=100_000),
    ] = None
    seed: SeedOption = None
    explain: ExplainOption = False
    what_if: Annotated[
        list[str] | None,
        ask(
            "CHANGES",
            "Also the plan with another stone=, stack=, profile=, thickness=, machine=, "
            "feed-override= or rate= (machine, per hour), beside today's; may be repeated.",
        ),
    ] = None
    board: Annotated[
        Path | None,
        ask(
            "FILE",
            "Also write the shift board for the wall, .html or .pdf: loads by zone and clock, "
            "what the operator does when, bars over the clock, space for actual times.",
        ),
    ] = None
    paper: Annotated[Paper, choose("Paper of the board, landscape; the board fits one sheet.")] = (
        Paper.A4
    )

    def check_files(self) -> None:
        """Refuse a board that is neither a page nor a PDF, before anything is planned."""
        check_page(self.board, "--board")
        if self.paper is not Paper.A4 and self.board is None:
            raise UsageError(
                "--paper is only used with --board.",
                where=Where(key="--paper"),
                remedy="Add --board FILE, or leave out --paper.",
            )

    def read_jobs(self, drawings: list[str], catalogue: Catalogue) -> tuple[Job, ...]:
        """Return the jobs of the list, or of the drawings."""
        if self.jobs is None:
            return self._drawn_jobs(drawings)
        given = {
            "drawings": drawings,
            "--repeat": self.repeat,
            "--cycle-time": self.cycle_time,
            "--together": self.together,
        }
        other = next((name for name, value in given.items() if value), None)
        if other is not None:
            raise UsageError(
                f"--jobs cannot be combined with {other}.",
                where=Where(key="--jobs"),
                remedy="Put the drawings, their quantity and their cycle into the list, or leave "
                "out --jobs.",
            )
        from edgetime.shift import read_waiting  # noqa: PLC0415  of no use to --help

        return read_waiting(self.jobs, catalogue)

    def _drawn_jobs(self, drawings: list[str]) -> tuple[Job, ...]:
        from edgetime.jobs import Job  # noqa: PLC0415  of no use to --help

        if not drawings:
            raise UsageError(
                "Neither a drawing nor a job list was named.",
                where=Where(key="DRAWING"),
                remedy="Name at least one DXF file, or a list with --jobs.",
            )
        cycle_s = None
        if self.cycle_time is not None:
            cycle_s = _time(self.cycle_time, "--cycle-time", "min", MIN_S)
            if not 0.0 < cycle_s < float("inf"):
                raise UsageError(
                    f"The cycle time is {self.cycle_time!r}; it must be above zero.",
                    where=Where(key="--cycle-time"),
                    remedy="Write minutes, such as 108, or '1 h 48 min'; 1:48 is min:s.",
                )
        groups = [tuple(drawings)] if self.together else [(d,) for d in drawings]
        once = tuple(
            Job(
                name=" + ".join(Path(d).stem for d in group),
                drawings=group,
                cycle_s=cycle_s,
                places={} if cycle_s is None else {"cycle": Where(key="--cycle-time")},
            )
            for group in groups
        )
        return once * (self.repeat or 1)

    def options(self, load: LoadOptions, jobs: tuple[Job, ...]) -> ShiftOptions:
        """Return the settings read from the options' texts."""
        from edgetime.shift import ShiftOptions  # noqa: PLC0415  of no use to --help

        several = max((job.drawings for job in jobs), key=len)
        return ShiftOptions(
            load=load.options(list(several)),
            hours_s=None if self.hours is None else _time(self.hours, "--hours", "h"),
            breaks=self._breaks(),
            zones=self.zones,
            zone_length_mm=length_option(self.zone_length, "--zone-length"),
            last_load=None if self.last_load is None else self.last_load.value,
            pockets=self.pockets,
            used=read_used(self.used or ()),
            fill=self.jobs is None and self.repeat is None,
            fit=self.fit,
            day=self._day(),
            pocket_plan=self.pocket_plan,
            table_filling=self.table_filling,
            time_limit_s=self.time_limit,
            replications=self.replications,
            seed=self.seed,
            explain=self.explain,
        )

    def _breaks(self) -> tuple[tuple[float, float], ...] | None:
        if self.breaks and self.no_breaks:
            raise UsageError(
                "--break and --no-breaks contradict each other.",
                where=Where(key="--no-breaks"),
                remedy="Leave out one of --break and --no-breaks.",
            )
        if not self.breaks and not self.no_breaks:
            return None
        return tuple(_break(text) for text in self.breaks or ())

    def _day(self) -> date | None:
        if self.day is None:
            return None
        day = read_day(self.day, "--day")
        if not self.fit and self.board is None:
            raise UsageError(
                "--day is only used with --fit and --board.",
                where=Where(key="--day"),
                remedy="Add one of them, or leave out --day.",
            )
        return day


AS_THE_SHOP_RUNS: Final = ShiftChoices()
"""No option given."""


def _time(text: str, option: str, bare: str, clock: str = H_MIN) -> float:
    """Read a time; a bare number is in the option's usual unit."""
    try:
        return parse_duration(text, clock=clock, bare=bare, where=Where(key=option))
    except UnitInvalid as error:
        # The same fault in a file is an input error; on the command line it is wrong use.
        raise UsageError(error.what, where=error.where, remedy=error.remedy) from error


def _break(text: str) -> tuple[float, float]:
    after, sign, length = text.partition("+")
    if not sign:
        raise UsageError(
            f"{text!r} is not a break.",
            where=Where(key="--break"),
            remedy="Write when it begins and how long it lasts: --break '4 h+30 min'.",
        )
    return _time(after.strip(), "--break", "h"), _time(length.strip(), "--break", "min")


def read_used(texts: list[str] | tuple[str, ...]) -> dict[str, float]:
    """Read ``TOOL=SHARE`` pairs.

    Parameters
    ----------
    texts : sequence of str
        As given with ``--used``.

    Returns
    -------
    dict of str to float
        Share of its life that each tool has used [-].
    """
    place = Where(key="--used")
    out: dict[str, float] = {}
    for text in texts:
        tool, sign, value = (bit.strip() for bit in text.partition("="))
        if not sign or not value:
            raise UsageError(
                f"{text!r} has no share.",
                where=place,
                remedy=f"Write TOOL=SHARE, such as {tool or 'polish-1'}=80%.",
            )
        if tool in out:
            raise UsageError(
                f"The life used of {tool} is given twice.",
                where=place,
                remedy="Leave out one of them.",
            )
        out[tool] = factor_option(value, "--used")
        if not 0.0 <= out[tool] <= 1.0:
            raise UsageError(
                f"The life used of {tool} is {value}; allowed is 0 to 100 %.",
                where=place,
                remedy="Write a share, such as 80%.",
            )
    return out
