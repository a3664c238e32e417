"""The catalogue: the shipped files, overlaid file by file with a shop's own.

A file of the shop replaces the shipped one of the same folder and name, whole; nothing is
merged inside a file, so what a file says is all there is.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

from edgetime.errors import CatalogueInvalid, Where
from edgetime.tooling.shop_files import (
    KINDS,
    KNOWN,
    LAYERS,
    SHIPPED,
    SHOP,
    Sheet,
    find_shop,
    shipped_folder,
)
from edgetime.tooling.suggest import NAME, closest

if TYPE_CHECKING:
    from edgetime.tooling.assemble import Assembly
    from edgetime.tooling.catalogue import Catalogue
    from edgetime.tooling.layers import LayerRule


@dataclass
class _Listing:
    sheets: dict[tuple[str, str], Sheet] = field(default_factory=dict)
    errors: list[CatalogueInvalid] = field(default_factory=list)

    def fault(self, shown: str, what: str, remedy: str) -> None:
        self.errors.append(CatalogueInvalid(what, where=Where(path=shown), remedy=remedy))


def _list_folder(folder: Path, shown: str, *, own: bool, into: _Listing) -> None:
    for kind in KINDS:
        place = folder / kind
        if not place.exists():
            continue
        if not place.is_dir():
            what = f"{kind} is a file; a folder of TOML files belongs here."
            into.fault(f"{shown}/{kind}", what, "Move it away.")
            continue
        try:
            paths = sorted(p for p in place.iterdir() if p.suffix.lower() == ".toml")
        except OSError as error:
            what = f"The folder cannot be read: {error.strerror or error}."
            into.fault(f"{shown}/{kind}", what, "Check its permissions.")
            continue
        for path in paths:
            sheet = Sheet(kind, path.stem, path, f"{shown}/{kind}/{path.name}", own)
            before = into.sheets.get((kind, path.stem))
            if NAME.fullmatch(path.stem) is None:
                remedy = "Name the file with small letters, digits and single hyphens."
                into.fault(sheet.shown, f"{path.stem!r} cannot be a name.", remedy)
            elif before is not None and before.own == own:
                what = f"{before.path.name} describes {path.stem!r} as well."
                into.fault(sheet.shown, what, "Keep one of them.")
            else:
                into.sheets[kind, path.stem] = sheet
    for name in (SHOP, LAYERS):
        path = folder / name
        if path.exists():
            into.sheets[name, ""] = Sheet(name, "", path, f"{shown}/{name}", own)


def _listing(shop: Path | None, layers: Path | None) -> _Listing:
    listing = _Listing()
    _list_folder(shipped_folder(), SHIPPED, own=False, into=listing)
    if shop is not None:
        shown = str(shop)
        if not shop.is_dir():
            what = "This is a file, not a shop folder."
            raise CatalogueInvalid(
                what if shop.exists() else "There is no such folder.",
                where=Where(path=shown),
                remedy="Name a shop folder; `edgetime init FOLDER` makes one.",
            )
        if not any((shop / name).exists() for name in KNOWN):
            # Somebody's other folder; the shipped catalogue must not serve in its place.
            raise CatalogueInvalid(
                "The folder contains no shop files.",
                where=Where(path=shown),
                remedy=f"A shop folder holds any of {', '.join(KNOWN)}; "
                "`edgetime init FOLDER` makes one.",
                others=tuple(_strays(shop)),
            )
        _list_folder(shop, shown, own=True, into=listing)
    if layers is not None:
        listing.sheets[LAYERS, ""] = Sheet(LAYERS, "", layers, str(layers), own=True)
    return listing


def _assemble(shop: Path | None, layers: Path | None) -> Assembly:
    from edgetime.tooling.assemble import Assembly  # noqa: PLC0415  the records, of no use to --help

    listing = _listing(shop, layers)
    assembly = Assembly(listing.sheets)
    assembly.errors[:0] = listing.errors
    return assembly


def load_catalogue(
    shop: Path | None = None,
    *,
    layers: Path | None = None,
    layer_rules: Sequence[str | LayerRule] = (),
    profile: str | None = None,
    cutout_profile: str | None = None,
) -> Catalogue:
    """Load the shipped catalogue, overlaid with a shop folder.

    Parameters
    ----------
    shop : Path, optional
        Shop folder; the shipped catalogue alone without one.
    layers : Path, optional
        Layer rules to use instead of ``layers.toml``.
    layer_rules : sequence of str or LayerRule
        Rules that come before those of the file, such as ``"0=outline"`` or
        ``"POL*=edge:flat-polish"``.
    profile, cutout_profile : str, optional
        Profile of edges of outlines, and of openings, that nothing else names.

    Returns
    -------
    Catalogue
        Checked, in internal units.

    Raises
    ------
    CatalogueInvalid
        The first error; all further ones are its ``others``.
    UsageError
        A rule or a profile of the options that cannot be.
    """
    from edgetime.tooling.layer_rules import with_layer_options  # noqa: PLC0415  as above

    assembly = _assemble(shop, layers)
    if assembly.errors:
        first, *others = assembly.errors
        raise CatalogueInvalid(first.what, where=first.where, remedy=first.remedy, others=others)
    catalogue = assembly.catalogue(_digest(assembly.sheets, assembly.contents))
    named = replace(catalogue.layers, options=_named_by(shop, layers))
    return with_layer_options(
        replace(catalogue, layers=named),
        layer_rules,
        profile=profile,
        cutout_profile=cutout_profile,
    )


def _named_by(shop: Path | None, layers: Path | None) -> tuple[str, ...]:
    if layers is not None:
        return ("--layers", str(layers))
    # The one that is found without being named need not be.
    found = find_shop(Path.cwd())
    if shop is None or (found is not None and found == shop.resolve()):
        return ()
    return ("--shop", str(shop))


def _digest(sheets: Mapping[tuple[str, str], Sheet], contents: Mapping[str, bytes]) -> str:
    # Over names inside the folder, not paths: a copied shop has the same digest.
    total = hashlib.sha256()
    for (kind, name), sheet in sorted(sheets.items()):
        content = contents[sheet.shown]
        total.update(f"{kind}/{name}\0{len(content)}\0".encode())
        total.update(content)
    return total.hexdigest()


def check_shop(folder: Path) -> list[CatalogueInvalid]:
    """Check every file of a shop folder.

    Parameters
    ----------
    folder : Path
        The shop.

    Returns
    -------
    list of CatalogueInvalid
        All errors of all files, in the order of folders and lines; empty when it is sound.
    """
    try:
        assembly = _assemble(folder, None)
    except CatalogueInvalid as error:
        return [error, *(_strays(folder) if folder.is_dir() else ())]
    return [*assembly.errors, *_strays(folder)]


def _strays(folder: Path) -> Iterator[CatalogueInvalid]:
    # A misspelt folder or file would be ignored without a word.
    for path in sorted(folder.iterdir()):
        near = closest(path.name, KNOWN)
        if path.name in KNOWN or near is None:
            continue
        if path.suffix.lower() == ".toml" or (path.is_dir() and any(path.glob("*.toml"))):
            yield CatalogueInvalid(
                f"{path.name} is not read; its name is not known.",
                where=Where(path=str(path)),
                remedy=f"Did you mean {near}? Known: {', '.join(KNOWN)}.",
            )
