"""Writing the demo: a second time nothing that was edited is overwritten."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from edgetime.demo.scenario import demo_drawings
from edgetime.errors import InputError, Where

__all__ = ["Written", "write_demo"]


@dataclass(frozen=True)
class Written:
    """What became of each file.

    Attributes
    ----------
    folder : Path
        The demo's folder, which is also its shop folder.
    drawings : tuple of Path
        The demo's drawings.
    new, same, kept : tuple of str
        Files written now, files already there as they would be written, and files that
        differ and were left alone; relative to the folder.
    """

    folder: Path
    drawings: tuple[Path, ...]
    new: tuple[str, ...]
    same: tuple[str, ...]
    kept: tuple[str, ...]


def write_demo(folder: Path) -> Written:
    """Write the shop folder and the drawings of the demo.

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
    from edgetime.tooling import init_shop  # noqa: PLC0415  brings pydantic

    with TemporaryDirectory() as scratch:
        # What init writes elsewhere is what an untouched file here must look like.
        fresh = Path(scratch) / "shop"
        init_shop(fresh)
        wanted = {
            path.relative_to(fresh).as_posix(): path.read_bytes()
            for path in sorted(fresh.rglob("*"))
            if path.is_file()
        }
    drawings = demo_drawings()
    wanted |= {name: text.encode("ascii") for name, text in drawings.items()}
    new: list[str] = []
    same: list[str] = []
    kept: list[str] = []
    try:
        for name, content in wanted.items():
            target = folder / name
            if target.exists():
                (same if target.read_bytes() == content else kept).append(name)
                continue
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(content)
            new.append(name)
    except OSError as error:
        raise InputError(
            f"The demo cannot be written: {error.strerror or error}.",
            where=Where(path=str(error.filename or folder)),
            remedy="Name another folder with --into.",
        ) from error
    return Written(
        folder=folder,
        drawings=tuple(folder / name for name in drawings),
        new=tuple(new),
        same=tuple(same),
        kept=tuple(kept),
    )
