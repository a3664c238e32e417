"""Writing the demo: a second time nothing that was edited is overwritten."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from edgetime.demo.drawings import demo_drawings
from edgetime.demo.jobs import PIPELINE_NAME, WAITING_NAME, demo_pipeline, demo_waiting
from edgetime.demo.trial import TRIED_TOOL, with_trial
from edgetime.errors import InputError, Where
from edgetime.records import HIDDEN

REPORT_NAME: Final = "load.html"
"""Name of the page in the demo's folder."""


@dataclass(frozen=True)
class Written:
    """What became of each file.

    Attributes
    ----------
    folder : Path
        The demo's folder, which is also its shop folder.
    drawings : tuple of Path
        The demo's drawings.
    report : Path
        Where the page of the load goes, which is made of it.
    new, same, kept : tuple of str
        Files written now, files already there as they would be written, and files that
        differ and were left alone; relative to the folder. The page is not among them: it is
        written anew each time.
    """

    folder: Path
    drawings: tuple[Path, ...] = field(metadata=HIDDEN)
    report: Path
    new: tuple[str, ...]
    same: tuple[str, ...]
    kept: tuple[str, ...]


def write_demo(folder: Path) -> Written:
    """Write the shop folder, the drawings and the job lists of the demo.

    Parameters
    ----------
    folder : Path
        Made when it is not there.

    Returns
    -------
    Written
        What became of each file.

    Raises
    ------
    InputError
        The folder is a file, or cannot be written to.
    """
    from edgetime.tooling import init_shop, shipped_folder  # noqa: PLC0415  of no use to --help

    drawings = demo_drawings()
    lists = {PIPELINE_NAME: demo_pipeline(), WAITING_NAME: demo_waiting()}
    found: dict[str, list[Path]] = {"new": [], "same": [], "kept": []}
    shop = init_shop(folder)
    found["new"] += shop.written
    found["same"] += shop.same
    found["kept"] += shop.kept
    try:
        tried = with_trial((shipped_folder() / TRIED_TOOL).read_text(encoding="utf-8"))
        # As shipped it is new from a moment ago; what else it holds is looked at below.
        for paths in found.values():
            if folder / TRIED_TOOL in paths:
                paths.remove(folder / TRIED_TOOL)
                if paths is found["new"]:
                    (folder / TRIED_TOOL).unlink()
        for name, text in {**drawings, **lists, TRIED_TOOL: tried}.items():
            target = folder / name
            content = text.encode("utf-8")
            if not target.exists():
                target.write_bytes(content)
                found["new"].append(target)
            else:
                found["same" if target.read_bytes() == content else "kept"].append(target)
    except OSError as error:
        raise InputError(
            f"The demo cannot be written: {error.strerror or error}.",
            where=Where(path=str(error.filename or folder)),
            remedy="Name another folder with --into.",
        ) from error
    names = {
        state: tuple(path.relative_to(folder).as_posix() for path in paths)
        for state, paths in found.items()
    }
    return Written(
        folder=folder,
        drawings=tuple(folder / name for name in drawings),
        report=folder / REPORT_NAME,
        **names,
    )
