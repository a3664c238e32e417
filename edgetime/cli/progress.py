"""A progress bar on standard error, for people at a terminal, once work takes over a second."""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, Final, TextIO

from edgetime.progress import listening

if TYPE_CHECKING:
    from rich.progress import Progress, TaskID

PATIENCE_S: Final = 1.0
"""Shorter work gets no bar: it would only flicker."""

FRAME_S: Final = 0.1
"""A bar is drawn anew at most so often."""


class Bars:
    """Draws what it hears as bars, one for each loop that is under way.

    Parameters
    ----------
    stream : text stream
        A terminal.
    """

    def __init__(self, stream: TextIO) -> None:
        self.stream = stream
        self.due = time.monotonic() + PATIENCE_S
        self.progress: Progress | None = None
        self.tasks: dict[str, TaskID] = {}

    def __call__(self, what: str, done: int, total: int) -> None:
        """Hear how far a loop has come."""
        now = time.monotonic()
        task = self.tasks.get(what)
        if done >= total:
            # What is done leaves its line to what goes on.
            if task is not None and self.progress is not None:
                self.progress.remove_task(self.tasks.pop(what))
            return
        if now < self.due:
            return
        self.due = now + FRAME_S
        if self.progress is None:
            self.progress = _made(self.stream)
        if task is None:
            task = self.tasks[what] = self.progress.add_task(what, total=total)
        self.progress.update(task, completed=done, total=total)
        self.progress.refresh()

    def close(self) -> None:
        """Wipe the bars away."""
        if self.progress is not None:
            self.progress.stop()


def _made(stream: TextIO) -> Progress:
    from rich.console import Console  # noqa: PLC0415  only for work that takes long
    from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn  # noqa: PLC0415

    columns: tuple[Any, ...] = (
        TextColumn("{task.description}", markup=False),
        BarColumn(30),
        TextColumn("{task.completed:.0f}/{task.total:.0f}", markup=False),
        TimeRemainingColumn(),
    )
    # No thread of its own draws: a bar moves when its loop does.
    made = Progress(*columns, console=Console(file=stream), auto_refresh=False, transient=True)
    made.start()
    return made


def wanted(stream: TextIO, *, quiet: bool) -> bool:
    """Return whether bars are drawn: on a terminal that can move its cursor, unless told not to."""
    return not quiet and stream.isatty() and os.environ.get("TERM", "") not in {"dumb", "unknown"}


@contextmanager
def shown(*, quiet: bool) -> Iterator[None]:
    """Show how far the work within has come."""
    if not wanted(sys.stderr, quiet=quiet):
        yield
        return
    bars = Bars(sys.stderr)
    try:
        with listening(bars):
            yield
    finally:
        bars.close()
