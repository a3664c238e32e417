"""A shop's own folder: copies of the shipped files to be edited."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from tempfile import NamedTemporaryFile

from edgetime.errors import InputError, Where
from edgetime.tooling.shop_files import KINDS, shipped_folder


@dataclass(frozen=True)
class InitResult:
    """What became of each file of a shop folder. Iterating yields the files written.

    Attributes
    ----------
    folder : Path
        The shop.
    written : tuple of Path
        New files.
    same : tuple of Path
        Files that were there with the same content.
    kept : tuple of Path
        Files that were there with other content, left as they are.
    """

    folder: Path
    written: tuple[Path, ...]
    same: tuple[Path, ...]
    kept: tuple[Path, ...]

    def __iter__(self) -> Iterator[Path]:
        return iter(self.written)

    def __len__(self) -> int:
        return len(self.written)


def _refuse(error: OSError, path: Path) -> InputError:
    return InputError(
        f"The shop folder cannot be written: {error.strerror or error}.",
        where=Where(path=str(error.filename or path)),
        remedy="Name a folder where you may write.",
    )


def init_shop(folder: Path) -> InitResult:
    """Write editable copies of all shipped files into a shop folder.

    An existing file is never changed. Each file appears whole
    or not at all.

    Parameters
    ----------
    folder : Path
        Made, with its parents, when it is not there.

    Returns
    -------
    InitResult
        Files written, found the same, and kept.

    Raises
    ------
    InputError
        The folder is a file, or cannot be written to.
    """
    if folder.exists() and not folder.is_dir():
        raise InputError(
            "This is a file, not a folder.",
            where=Where(path=str(folder)),
            remedy="Name a folder, or one that does not exist yet.",
        )
    shipped = shipped_folder()
    names = ["shop.toml", "layers.toml"]
    names += [f"{kind}/{p.name}" for kind in KINDS for p in sorted((shipped / kind).glob("*.toml"))]
    written: list[Path] = []
    same: list[Path] = []
    kept: list[Path] = []
    for name in names:
        target = folder / name
        content = (shipped / name).read_bytes()
        try:
            target.parent.mkdir(parents=True, exist_ok=True)
            if not target.exists() and _write_new(target, content):
                written.append(target)
            elif target.is_file() and target.read_bytes() == content:
                same.append(target)
            else:
                kept.append(target)
        except OSError as error:
            raise _refuse(error, target) from error
    return InitResult(folder, tuple(written), tuple(same), tuple(kept))


def _write_new(target: Path, content: bytes) -> bool:
    # A hard link to a finished file fails when the name is taken: whole, and never over
    # another's file. Where there are no hard links, the file is moved into place.
    with NamedTemporaryFile(
        dir=target.parent, prefix=f".{target.name}.", suffix=".new", delete=False
    ) as scratch:
        fresh = Path(scratch.name)
        try:
            scratch.write(content)
            scratch.flush()
            fresh.chmod(0o666 & ~_umask())
            try:
                os.link(fresh, target)
            except FileExistsError:
                return False
            except OSError:
                fresh.rename(target)
        finally:
            with suppress(FileNotFoundError):
                fresh.unlink()
    return True


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
