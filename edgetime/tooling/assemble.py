"""All files of a catalogue together: read, check, and look up what refers to what."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

from edgetime.errors import CatalogueInvalid
from edgetime.takeoff.rules import LayerRules
from edgetime.tooling.build import (
    build_shop,
    build_stack,
    build_stone,
    build_tool,
)
from edgetime.tooling.build_machine import build_machine
from edgetime.tooling.build_profile import build_profile
from edgetime.tooling.crosscheck import cross_check
from edgetime.tooling.layer_rules import add_shipped, build_layers
from edgetime.tooling.loader import KINDS, SHIPPED, Sheet, shipped_folder
from edgetime.tooling.model import Catalogue, ShopDefaults
from edgetime.tooling.schema import FOLDERS, LayersFile, ShopFile
from edgetime.tooling.toml_file import TomlFile, flatten, read_toml
from edgetime.tooling.validate import check_sources, defaults_of, validate

_BUILDERS: Final[dict[str, Callable[..., Any]]] = {
    "profiles": build_profile,
    "tools": build_tool,
    "stacks": build_stack,
    "machines": build_machine,
    "stones": build_stone,
}


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
        names = {kind: tuple(n for k, n in sheets if k == kind) for kind in KINDS}
        for kind in KINDS:
            for name in names[kind]:
                self._read_item(sheets[kind, name])
        self._read_shop(sheets["shop.toml", ""])
        self._read_layers(sheets["layers.toml", ""], names["profiles"])
        self.errors.extend(cross_check(self.items, self.shop, names, self._files))

    def _load(self, sheet: Sheet, model: Any) -> tuple[Any, TomlFile | None]:
        try:
            file = read_toml(sheet.path, sheet.shown)
        except CatalogueInvalid as error:
            self.errors.append(error)
            return None, None
        table, errors = validate(model, file)
        self.errors.extend(errors)
        if table is None:
            return None, None
        self.contents[file.name] = file.content
        self._files[file.name] = file
        self._raw.update(((file.name, key), text) for key, text in flatten(file.data))
        self._raw.update(((file.name, key), text) for key, text in defaults_of(table))
        self.errors.extend(check_sources(model, file, table.source))
        self._sources.update(((file.name, key), text) for key, text in table.source.items())
        return table, file

    def _read_item(self, sheet: Sheet) -> None:
        model = FOLDERS[sheet.kind]
        table, file = self._load(sheet, model)
        if file is None:
            return
        errors: list[CatalogueInvalid] = []
        record = _BUILDERS[sheet.kind](sheet.name, table, file, errors)
        self.errors.extend(errors)
        if not errors:
            self.items[sheet.kind][sheet.name] = record

    def _read_shop(self, sheet: Sheet) -> None:
        table, file = self._load(sheet, ShopFile)
        if file is not None:
            errors: list[CatalogueInvalid] = []
            self.shop = build_shop(table, file, errors)
            self.errors.extend(errors)

    def _read_layers(self, sheet: Sheet, profiles: tuple[str, ...] | None) -> None:
        table, file = self._load(sheet, LayersFile)
        if file is None:
            return
        errors: list[CatalogueInvalid] = []
        self.layers = build_layers(table, file, errors, profiles)
        self.errors.extend(errors)
        if table.add_to_shipped and sheet.own:
            own = self.layers
            self.sheets["layers.toml", SHIPPED] = _shipped_layers()
            # A shop may have taken a profile away that a shipped rule names: the take-off
            # reports it when a drawing uses the rule.
            self._read_layers(self.sheets["layers.toml", SHIPPED], None)
            self.layers = None if self.layers is None else add_shipped(own, self.layers)

    def catalogue(self, digest: str) -> Catalogue:
        """Return the catalogue of a set of files without errors.

        Parameters
        ----------
        digest : str
            SHA-256 of the files.

        Returns
        -------
        Catalogue
            All records.
        """
        if self.shop is None or self.layers is None:  # pragma: no cover  errors come first
            raise CatalogueInvalid("The catalogue has errors.")
        return Catalogue(
            profiles=self.items["profiles"],
            tools=self.items["tools"],
            stacks=self.items["stacks"],
            machines=self.items["machines"],
            stones=self.items["stones"],
            shop=self.shop,
            layers=self.layers,
            digest=digest,
            raw=self._raw,
            sources=self._sources,
        )


def _shipped_layers() -> Sheet:
    name = "layers.toml"
    return Sheet(name, "", shipped_folder() / name, f"{SHIPPED}/{name}", own=False)


def read_layers(sheet: Sheet, errors: list[CatalogueInvalid]) -> LayerRules | None:
    """Read layer rules by themselves.

    Parameters
    ----------
    sheet : Sheet
        The file.
    errors : list of CatalogueInvalid
        Takes what is wrong.

    Returns
    -------
    LayerRules or None
        None when the file does not hold together.
    """
    try:
        file = read_toml(sheet.path, sheet.shown)
    except CatalogueInvalid as error:
        errors.append(error)
        return None
    table, found = validate(LayersFile, file)
    errors.extend(found)
    if table is None:
        return None
    rules = build_layers(table, file, errors, None)
    if table.add_to_shipped and sheet.own:
        shipped = read_layers(_shipped_layers(), errors)
        return None if shipped is None else add_shipped(rules, shipped)
    return rules
