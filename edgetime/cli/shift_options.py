"""Options of ``edgetime shift``: how their texts become rules, jobs and shares."""

from __future__ import annotations

from dataclasses import replace
from enum import StrEnum
from typing import TYPE_CHECKING, Any

from edgetime.cli.options import factor_option, length_option
from edgetime.durations import H_MIN, MIN_S, parse_duration
from edgetime.errors import UnitInvalid, UsageError, Where

if TYPE_CHECKING:
    from datetime import date

    from edgetime.cli.load_options import LoadOptions
    from edgetime.findings import Finding
    from edgetime.shift import Fit, Job, ShiftLoad
    from edgetime.tooling.model import Catalogue, ShiftDefaults


class LastLoad(StrEnum):
    """What becomes of a cycle that is not over when the shift is."""

    IN_SHIFT = "in-shift"
    RUNS_ON = "runs-on"


def _time(text: str, option: str, bare: str, clock: str = H_MIN) -> float:
    """Read a time; a bare number is in the unit the option is spoken of in."""
    try:
        return parse_duration(text, clock=clock, bare=bare, where=Where(key=option))
    except UnitInvalid as error:
        # The same fault in a file is an input error; on the command line it is wrong use.
        raise UsageError(error.what, where=error.where, remedy=error.remedy) from error


def _break(text: str) -> tuple[float, float]:
    after, sign, length = text.partition("+")
    if not sign:
        raise UsageError(
            f"{text!r} is no break.",
            where=Where(key="--break"),
            remedy="Write when it begins and how long it lasts: --break '4 h+30 min'.",
        )
    return _time(after.strip(), "--break", "h"), _time(length.strip(), "--break", "min")


def read_rules(
    rules: ShiftDefaults,
    hours: str | None,
    breaks: list[str] | None,
    no_breaks: bool,  # noqa: FBT001
    zones: int | None,
    zone_length: str | None,
    replications: int | None,
    seed: int | None,
    last_load: LastLoad | None,
) -> tuple[ShiftDefaults, set[str]]:
    """Return the rules with the options put in, and the keys they replace."""
    from edgetime.shift.workday import check_rules  # noqa: PLC0415  of no use to --help

    given: dict[str, tuple[str, Any]] = {}
    if hours is not None:
        given["hours"] = ("hours_s", _time(hours, "--hours", "h"))
    if breaks or no_breaks:
        if breaks and no_breaks:
            raise UsageError(
                "Breaks are given and forbidden.",
                where=Where(key="--no-breaks"),
                remedy="Leave out one of --break and --no-breaks.",
            )
        given["breaks"] = ("breaks", tuple(_break(b) for b in breaks or ()))
    elif hours is not None:
        # A shorter shift than the shop's: breaks that do not end within it fall away.
        rules = replace(rules, breaks=tuple(b for b in rules.breaks if sum(b) <= given["hours"][1]))
    if zones is not None:
        given["zones"] = ("zones", zones)
    if zone_length is not None:
        given["zone_length"] = ("zone_length_mm", length_option(zone_length, "--zone-length"))
    if replications:
        given["replications"] = ("replications", replications)
    if seed is not None:
        given["seed"] = ("seed", seed)
    if last_load is not None:
        given["last_load"] = ("last_load", last_load.value)
    return check_rules(replace(rules, **dict(given.values()))), set(given)


def read_job_options(
    drawings: list[str],
    jobs: str | None,
    catalogue: Catalogue,
    repeat: int | None,
    *,
    together: bool,
    cycle_time: str | None,
) -> tuple[Job, ...]:
    """Return the jobs that drawings and options, or a list, speak of.

    Parameters
    ----------
    drawings : list of str
        As named.
    jobs : str or None
        As given with ``--jobs``.
    catalogue : Catalogue
        Knows the names of a list.
    repeat : int or None
        As given with ``--repeat``.
    together : bool
        All drawings are one load.
    cycle_time : str or None
        As given with ``--cycle-time``; a bare number is minutes.
    """
    from pathlib import Path  # noqa: PLC0415  of no use to --help

    from edgetime.shift import Job, read_waiting  # noqa: PLC0415  as above

    if jobs is not None:
        given = {"drawings": drawings, "--repeat": repeat, "--cycle-time": cycle_time}
        other = next((name for name, value in given.items() if value), None)
        if other is not None or together:
            raise UsageError(
                f"A job list is given, and {other or '--together'} beside it.",
                where=Where(key="--jobs"),
                remedy="Name the drawings, their quantity and their cycle in the list, or leave "
                "out --jobs.",
            )
        return read_waiting(jobs, catalogue)
    if not drawings:
        raise UsageError(
            "Neither a drawing nor a job list was named.",
            where=Where(key="DRAWING"),
            remedy="Name at least one DXF file, or a list with --jobs.",
        )
    cycle_s = None if cycle_time is None else _time(cycle_time, "--cycle-time", "min", MIN_S)
    if cycle_s is not None and not 0.0 < cycle_s < float("inf"):
        raise UsageError(
            f"The cycle time is {cycle_time!r}; it must be above zero.",
            where=Where(key="--cycle-time"),
            remedy="Write minutes, such as 108, or '1 h 48 min'; 1:48 is min:s.",
        )
    groups = [tuple(drawings)] if together else [(d,) for d in drawings]
    once = tuple(
        Job(
            name=" + ".join(Path(d).stem for d in group),
            drawings=group,
            cycle_s=cycle_s,
            places={} if cycle_s is None else {"cycle": Where(key="--cycle-time")},
        )
        for group in groups
    )
    return once * (repeat or 1)


def own_places(places: list[str], drawings: tuple[str, ...], loads: int) -> list[str]:
    """Return the places that speak of a load's drawings."""
    if loads == 1 or len(drawings) > 1:
        return places
    return [p for p in places if p.rpartition("=")[0] in {"", *drawings}]


def of_job(choices: LoadOptions, job: Job, place: list[str]) -> LoadOptions:
    """Return the options of a load with what the list says of a job put in."""
    thickness = choices.thickness if job.thickness_mm is None else str(job.thickness_mm)
    return replace(
        choices,
        stone=job.stone or choices.stone,
        stack=job.stack or choices.stack,
        thickness=thickness,
        place=place,
    )


def not_drawn(job: Job, *, pocket_plan: bool, table_filling: bool) -> Finding:
    """Return the finding on a job without a drawing."""
    from edgetime.findings import Finding, Severity  # noqa: PLC0415  rarely needed
    from edgetime.shift.codes import JOB_NOT_DRAWN  # noqa: PLC0415  as above

    lacks = ["it has no attended stop", "wears no tool in the plan"]
    lacks += ["needs none in the pocket plan"] * pocket_plan
    lacks += ["is in no table filling"] * table_filling
    text = ", ".join(lacks[:-1]) + " and " + lacks[-1] if len(lacks) > 1 else lacks[0]
    return Finding(
        JOB_NOT_DRAWN,
        f"{job.name} has no drawing: {text}.",
        job.where,
        Severity.WARNING if pocket_plan or table_filling else None,
    )


def not_proved(choice: Fit) -> Finding:
    """Return the finding on a choice that may not be the best."""
    from edgetime.findings import Finding  # noqa: PLC0415  rarely needed
    from edgetime.shift.codes import FIT_STOPPED  # noqa: PLC0415  as above

    gaps = [g for g in (choice.due_gap, choice.gap) if g]
    more = f" by up to {100.0 * max(gaps):.1f} %" if gaps else ""
    return Finding(FIT_STOPPED, f"A better choice{more} may exist.", Where(key="--time-limit"))


def read_used(texts: list[str], loads: list[ShiftLoad]) -> dict[str, float]:
    """Read ``PIECE=SHARE`` pairs.

    Parameters
    ----------
    texts : list of str
        As given with ``--used``.
    loads : list of ShiftLoad
        The pieces must run in one of them.
    """
    pieces = sorted({p for x in loads for p, _ in x.pieces})
    out: dict[str, float] = {}
    for text in texts:
        piece, sign, value = (bit.strip() for bit in text.partition("="))
        if not sign or not value:
            raise UsageError(
                f"{text!r} tells no share.",
                where=Where(key="--used"),
                remedy=f"Write PIECE=SHARE, such as {piece or 'polish-1'}=80%.",
            )
        if piece in out:
            raise UsageError(
                f"The life behind {piece} is told twice.",
                where=Where(key="--used"),
                remedy="Leave out one of them.",
            )
        if piece not in pieces:
            raise UsageError(
                f"No tool piece {piece!r} runs in these loads.",
                where=Where(key="--used"),
                remedy=f"Write PIECE=SHARE, such as {pieces[0] if pieces else 'polish-1'}=80%. "
                f"Pieces: {', '.join(pieces) or 'none'}.",
            )
        out[piece] = factor_option(value, "--used")
        if not 0.0 <= out[piece] <= 1.0:
            raise UsageError(
                f"The life behind {piece} is {value}; it is from 0 to 100 %.",
                where=Where(key="--used"),
                remedy="Write a share, such as 80%.",
            )
    return out


def read_day(text: str | None, *, fit: bool) -> date:
    """Return the day given with ``--day``, today for None.

    Parameters
    ----------
    text : str or None
        As given.
    fit : bool
        Whether loads are chosen, which is all the day is for.
    """
    from datetime import date, datetime  # noqa: PLC0415  rarely needed

    if text is None:
        return datetime.now().astimezone().date()
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise UsageError(
            f"{text!r} is no day.",
            where=Where(key="--day"),
            remedy="Write it as year-month-day, such as 2027-03-15.",
        ) from None
    if not fit:
        raise UsageError(
            "A day is given, and nothing is chosen by it.",
            where=Where(key="--day"),
            remedy="Add --fit, or leave out --day.",
        )
    return day
