"""The files of a shop folder and of the shipped catalogue: their names and where they are."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

KINDS = ("profiles", "tools", "stacks", "machines", "stones")
"""Folders of a shop, in the order they are read."""

SHOP = "shop.toml"
LAYERS = "layers.toml"

KNOWN = (SHOP, LAYERS, *KINDS)
"""All that is read in a shop folder."""

SHIPPED = "shipped"
"""How the folder of the shipped catalogue is named in messages."""


@dataclass(frozen=True)
class Sheet:
    """One TOML file to be read.

    Attributes
    ----------
    kind : str
        Its folder, or the file's name for ``shop.toml`` and ``layers.toml``.
    name : str
        Name of what it describes; empty for the two files.
    path : Path
        Where it is.
    shown : str
        How the user knows it.
    own : bool
        Whether it is the shop's.
    """

    kind: str
    name: str
    path: Path
    shown: str
    own: bool


def shipped_folder() -> Path:
    """Return the folder of the shipped catalogue, in an installed package or a checkout.

    Returns
    -------
    Path
        A folder with ``profiles/``, ``tools/`` …
    """
    package = Path(__file__).resolve().parent.parent
    inside = package / "_catalogue"
    return inside if inside.is_dir() else package.parent / "tooling_profiles"


def find_shop(start: Path) -> Path | None:
    """Find the shop folder that a folder belongs to.

    Parameters
    ----------
    start : Path
        Where to begin; then its parents.

    Returns
    -------
    Path or None
        The nearest folder with a ``shop.toml``; where there is none, the nearest with a
        ``layers.toml``.
    """
    here = start.resolve()
    folders = (here, *here.parents)
    return next((f for name in (SHOP, LAYERS) for f in folders if (f / name).is_file()), None)
