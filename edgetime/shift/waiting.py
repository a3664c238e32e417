"""The list of jobs that wait for a shift."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Final

from edgetime.jobs import Job, Wrong, read_jobs
from edgetime.tooling import Catalogue

_MOST: Final = 1000
"""Most loads of one job; more is a slip."""


def read_waiting(path: str | Path, catalogue: Catalogue) -> tuple[Job, ...]:
    """Read the jobs that wait for a shift from a CSV or TOML file.

    Parameters
    ----------
    path : path
        The file; the drawings it names are looked for from its folder.
    catalogue : Catalogue
        Gives the names of stones, stacks and profiles.

    Returns
    -------
    tuple of Job
        In the order of the file. Each has drawings, or cycle, area and number of parts.

    Raises
    ------
    PipelineInvalid
        The first thing wrong, with all others beside it.
    """
    return read_jobs(path, catalogue, refuse=_wrongs)


def _wrongs(job: Job) -> Iterator[Wrong]:
    if not 1 <= job.quantity <= _MOST:
        yield Wrong(
            "quantity",
            f"The quantity is {job.quantity}, out of range.",
            f"Allowed: a whole number from 1 to {_MOST}.",
        )
    if "drawing" in job.places:
        for key in ("area", "parts"):
            if key in job.places:
                yield Wrong(
                    key,
                    f"The job has a drawing, which gives its {key}.",
                    f"Leave out {key}, or the drawing.",
                )
        return
    missing = [key for key in ("cycle", "area", "parts") if key not in job.places]
    if missing:
        yield Wrong(
            "drawing",
            f"The job has no drawing, and no {', no '.join(missing)}.",
            "Name a DXF file, or give cycle, area and parts: "
            'cycle = "95 min", area = "8 m2", parts = 6.',
        )
