"""The planned shift load by load: where it lies, when what happens to it, when to be there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, NamedTuple

from edgetime.shift.load_runs import LoadRun, Span

if TYPE_CHECKING:
    from edgetime.shift.simulate import Shift

SHORT_S: Final = 300.0
"""Between two tasks the operator is not free for less than this [s]."""


class Errand(NamedTuple):
    """What the operator does while the machine waits.

    Attributes
    ----------
    kind : str
        ``swap``, or the reason of an attended stop: a key of :data:`edgetime.labour.KINDS`.
    start_s, stop_s : float
        From when to when the machine waits, from the beginning of the shift [s].
    on : tuple of str
        Parts by their IDs, or tools.
    """

    kind: str
    start_s: float
    stop_s: float
    on: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class TimetableRow:
    """A load of the shift.

    Attributes
    ----------
    number : int
        Its place, from 1.
    run : LoadRun
        The load.
    errands : tuple of Errand
        Tool changes before its cycle and attended stops in it, in order.
    bars : tuple of Span
        What happens to it from loading to unloading, without gaps: ``load``, ``wait``,
        ``swap``, ``run``, ``stop``, ``unload``.
    """

    number: int
    run: LoadRun
    errands: tuple[Errand, ...]
    bars: tuple[Span, ...]


def _errands(run: LoadRun, machine: Sequence[Span]) -> Iterator[Errand]:
    stops = iter([stop for stop in run.load.stops if stop.seconds > 0.0])
    for span in machine:
        if span.kind in {"swap", "stop"}:
            kind, on = ("swap", run.swapped)
            if span.kind == "stop":
                stop = next(stops)
                kind, on = stop.reason, stop.on
            yield Errand(kind, span.start_s, span.stop_s, on)


def _bars(run: LoadRun, machine: Sequence[Span], load: int) -> Iterator[Span]:
    ends = run.ends_s if run.runs_on else run.done_s
    held = ("load", run.loading_at_s, run.loaded_at_s), ("wait", run.loaded_at_s, run.starts_s)
    spans = [*held, *((s.kind, s.start_s, s.stop_s) for s in machine), ("unload", run.ends_s, ends)]
    yield from (Span(kind, a, b, load) for kind, a, b in spans if b > a)


def timetable(shift: Shift) -> tuple[TimetableRow, ...]:
    """Return the loads of a planned shift with all that happens to them.

    Parameters
    ----------
    shift : Shift
        As planned.
    """
    out = []
    for k, run in enumerate(shift.runs):
        machine = [s for s in shift.machine if s.load == k]
        out.append(
            TimetableRow(
                number=k + 1,
                run=run,
                errands=tuple(_errands(run, machine)),
                bars=tuple(_bars(run, machine, k)),
            )
        )
    return tuple(out)


def needed(shift: Shift) -> tuple[Span, ...]:
    """Return when the operator must be there; attending a cycle has no fixed time.

    Parameters
    ----------
    shift : Shift
        As planned.

    Returns
    -------
    tuple of Span
        In order, of kind ``needed``; pauses shorter than :data:`SHORT_S` are part of them.
    """
    out: list[Span] = []
    for span in shift.person:
        if span.kind == "attend":
            continue
        if out and span.start_s - out[-1].stop_s < SHORT_S:
            out[-1] = Span("needed", out[-1].start_s, max(out[-1].stop_s, span.stop_s))
        else:
            out.append(Span("needed", span.start_s, span.stop_s))
    return tuple(out)
