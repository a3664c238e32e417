"""All files of a catalogue together: read, check, and look up what refers to what."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Final, TypeVar

from edgetime.errors import CatalogueInvalid
from edgetime.tooling.catalogue import Catalogue
from edgetime.tooling.crosscheck import cross_check, unknown_profiles
from edgetime.tooling.declare import Record
from edgetime.tooling.defaults import ShopDefaults
from edgetime.tooling.layers import LayerRules
from edgetime.tooling.machines import Machine
from edgetime.tooling.profiles import Profile
from edgetime.tooling.read_record import check_sources, defaults_of, read_record, sources_of
from edgetime.tooling.shop_files import KINDS, LAYERS, SHIPPED, SHOP, Sheet, shipped_folder
from edgetime.tooling.stacks import Stack
from edgetime.tooling.stones import Stone
from edgetime.tooling.toml_file import TomlFile, flatten, read_toml
from edgetime.tooling.tools import Tool

RECORDS: Final[dict[str, type[Record]]] = {
    "profiles": Profile,
    "tools": Tool,
    "stacks": Stack,
    "machines": Machine,
    "stones": Stone,
    SHOP: ShopDefaults,
    LAYERS: LayerRules,
}
"""Folder or file of a shop → the record its files describe."""

_T = TypeVar("_T", bound=Record)


class Assembly:
    """Everything read from a set of files.

    Parameters
    ----------
    sheets : mapping
        ``(kind, name)`` → the file that describes it.

    Attributes
    ----------
    items : dict
        Kind → name → record, those without errors.
    shop : ShopDefaults or None
        None when it has errors.
    layers : LayerRules or None
        None when they have errors.
    errors : list of CatalogueInvalid
        All of all files.
    contents : dict
        Name of the file as shown → its bytes.
    sheets : dict
        ``(kind, name)`` → every file that was read.
    """

    def __init__(self, sheets: Mapping[tuple[str, str], Sheet]) -> None:
        self.items: dict[str, dict[str, Any]] = {kind: {} for kind in KINDS}
        self.shop: ShopDefaults | None = None
        self.layers: LayerRules | None = None
        self.errors: list[CatalogueInvalid] = []
        self.contents: dict[str, bytes] = {}
        self.sheets = dict(sheets)
        self._raw: dict[tuple[str, str], str] = {}
        self._sources: dict[tuple[str, str], str] = {}
        self._files: dict[str, TomlFile] = {}
        # All names, broken files included: a reference to a broken file is not an error of its own.
        names = {kind: tuple(n for k, n in sheets if k == kind) for kind in KINDS}
        for kind in KINDS:
            for name in names[kind]:
                record, errors = self._load(RECORDS[kind], sheets[kind, name], name=name)
                if record is not None and not errors:
                    self.items[kind][name] = record
        self.shop, _ = self._load(ShopDefaults, sheets[SHOP, ""])
        self.layers = self._load_layers(sheets[LAYERS, ""], names["profiles"])
        self.errors.extend(cross_check(self.items, self.shop, names, self._files))

    def _load(
        self, cls: type[_T], sheet: Sheet, **own: Any
    ) -> tuple[_T | None, list[CatalogueInvalid]]:
        """Return the record of a file, None where it cannot be read, and its own errors."""
        try:
            file = read_toml(sheet.path, sheet.shown)
        except CatalogueInvalid as error:
            self.errors.append(error)
            return None, [error]
        record, errors = read_record(cls, file, file=file.name, **own)
        self.errors.extend(errors)
        if record is None:
            return None, errors
        self.contents[file.name] = file.content
        self._files[file.name] = file
        self._raw.update(((file.name, key), text) for key, text in flatten(file.data))
        self._raw.update(((file.name, key), text) for key, text in defaults_of(cls, file.data))
        self.errors.extend(check_sources(cls, file))
        self._sources.update(((file.name, key), text) for key, text in sources_of(file).items())
        return record, errors

    def _load_layers(
        self, sheet: Sheet, profiles: tuple[str, ...] | None = None
    ) -> LayerRules | None:
        rules, _ = self._load(LayerRules, sheet)
        if rules is None:
            return None
        if profiles is not None:
            self.errors.extend(unknown_profiles(rules, profiles, self._files[rules.file]))
        if not (rules.add_to_shipped and sheet.own):
            return rules
        self.sheets[LAYERS, SHIPPED] = _shipped_layers()
        # A shop may have taken a profile away that a shipped rule names: the take-off
        # reports it when a drawing uses the rule.
        shipped = self._load_layers(self.sheets[LAYERS, SHIPPED])
        if shipped is None:
            return None
        files = f"{rules.file} and {shipped.file}"
        return replace(rules, rules=(*rules.rules, *shipped.rules), file=files)

    def catalogue(self, digest: str) -> Catalogue:
        """Return the catalogue of a set of files without errors.

        Parameters
        ----------
        digest : str
            SHA-256 of the files.
        """
        if self.shop is None or self.layers is None:  # pragma: no cover  errors come first
            raise CatalogueInvalid("The catalogue has errors.")
        return Catalogue(
            **self.items,
            shop=self.shop,
            layers=self.layers,
            digest=digest,
            raw=self._raw,
            sources=self._sources,
        )


def _shipped_layers() -> Sheet:
    return Sheet(LAYERS, "", shipped_folder() / LAYERS, f"{SHIPPED}/{LAYERS}", own=False)
