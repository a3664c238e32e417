"""From a parsed TOML file to its record, with every error at its place."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Generic, TypeVar

from edgetime.errors import CatalogueInvalid
from edgetime.tooling.declare import Key, OldKey, Record, keys_of, place_of
from edgetime.tooling.kinds import Each, Kind, Refused, Table, Tables
from edgetime.tooling.sources import sentences
from edgetime.tooling.suggest import closest, shown, suggest
from edgetime.tooling.toml_file import Spot, TomlFile

_T = TypeVar("_T", bound=Record)

_FAILED = object()


def read_record(
    cls: type[_T], source: TomlFile, /, **own: Any
) -> tuple[_T | None, list[CatalogueInvalid]]:
    """Make the record that a file describes.

    Parameters
    ----------
    cls : class
        A declared record.
    source : TomlFile
        The parsed file.
    **own
        Fields that are not in the file, such as ``name``.

    Returns
    -------
    record : instance of cls, or None
        None when a key cannot be read or is missing.
    errors : list of CatalogueInvalid
        All of the file, by line; also what contradicts itself in a record that can be read.
    """
    errors: list[CatalogueInvalid] = []
    record = _Table(cls, Spot(source, source.data), errors).read(own)
    errors.sort(key=lambda e: e.where.line or 0)
    return record, errors


class _Table(Generic[_T]):
    """Reads one table of a file into one record."""

    def __init__(self, cls: type[_T], spot: Spot, errors: list[CatalogueInvalid]) -> None:
        self.cls, self.spot, self.errors = cls, spot, errors
        self.table = spot.table
        self.broken = False
        self.currencies: dict[str, tuple[str, str]] = {}  # field → key that was first, its currency

    def read(self, own: dict[str, Any]) -> _T | None:
        values = dict(own)
        place = place_of(self.cls)
        if place is not None:
            field, where = place
            values[field] = where(self.spot)
        for field, key in keys_of(self.cls).items():
            if key.measures:
                self._measure(key, values)
            else:
                self._key(field, key, values)
        self._unknown()
        if self.broken:
            return None
        record = self.cls(**values)
        self.errors.extend(self._scope(record))
        self.errors.extend(record.check(self.spot))
        return record

    def _key(self, field: str, key: Key, values: dict[str, Any]) -> None:
        if key.old is not None and key.old.key in self.table:
            value = self._old(key, values)
        elif key.name in self.table:
            value = self._value(key.kind, self.table[key.name], self.spot.key(key.name))
        else:
            if key.required:
                remedy = f"Add it: {key.kind.allowed()}. {key.meaning}"
                self._error(f"{key.name} is missing.", key.name, remedy)
            return
        if value is _FAILED:
            self.broken = True
            return
        if key.currency:
            value = self._amount(key, value, values)
        values[field] = value if key.make is None else key.make(value)

    def _amount(self, key: Key, value: Any, values: dict[str, Any]) -> Any:
        """Return the amount; its currency must be that of the table's other amounts."""
        amount, code = value
        first, currency = self.currencies.setdefault(key.currency, (key.name, code))
        values[key.currency] = currency
        if code != currency:
            self._error(
                f"{self.spot.key(key.name)} is in {code}, {self.spot.key(first)} in {currency}.",
                key.name,
                f"Write all figures of [{self.spot.at}] in one currency.",
            )
        return amount

    def _old(self, key: Key, values: dict[str, Any]) -> Any:
        """Return the value of the new key from its older form; note that it was there."""
        old = key.old
        assert old is not None  # noqa: S101  the caller has looked
        word = self._value(old.kind, self.table[old.key], self.spot.key(old.key))
        if key.name in self.table:
            self._value(key.kind, self.table[key.name], self.spot.key(key.name))
            self._error(
                f"Both {key.name} and its old form {old.key} are given.",
                old.key,
                f"Remove {old.key}.",
            )
        if word is _FAILED:
            return word
        line = self.spot.file.lines.get(self.spot.key(old.key))
        note = OldKey(old.key, line, f'{key.name} = "{old.values[word]}"')
        values["old_keys"] = (*values.get("old_keys", ()), note)
        return old.values[word]

    def _measure(self, key: Key, values: dict[str, Any]) -> None:
        """Read the one of several keys that is given."""
        given = [name for name in key.measures if name in self.table]
        if len(given) != 1:
            found = " and ".join(given) or "none"
            what = f"Exactly one of {', '.join(key.measures)} belongs here; found {found}."
            self._error(what, "", f"Write one {self.spot.header()} table for each.")
        for name in given:
            kind, _ = key.measures[name]
            value = self._value(kind, self.table[name], self.spot.key(name))
            if value is _FAILED:
                self.broken = True
            else:
                values |= {"by": name.replace("_", "-"), "value": float(value)}
                values["key"] = self.spot.key(name)

    def _value(self, kind: Kind, value: Any, at: str) -> Any:
        """Return a parsed value, or a mark that there is an error in it."""
        if isinstance(kind, (Each, Tables)):
            if not isinstance(value, list):
                return self._misplaced(value, at, "a list")
            inner: Kind = kind.kind if isinstance(kind, Each) else Table(kind.record)
            items = [self._value(inner, v, f"{at}[{n}]") for n, v in enumerate(value, 1)]
            return _FAILED if _FAILED in items else tuple(items)
        if isinstance(kind, Table):
            if not isinstance(value, dict):
                return self._misplaced(value, at, "a table")
            spot = Spot(self.spot.file, value, at)
            found = _Table(kind.record, spot, self.errors).read({})
            return _FAILED if found is None else found
        try:
            return kind.parse(value)
        except Refused as refused:
            file = self.spot.file
            remedy = refused.in_inches if file.in_inches else refused.remedy
            self.errors.append(file.error(refused.what, key=at, remedy=remedy))
            return _FAILED

    def _misplaced(self, value: Any, at: str, needed: str) -> Any:
        what = f"Found {shown(value)} where {needed} belongs."
        self.errors.append(self.spot.file.error(what, key=at, remedy=f"Write {needed}."))
        return _FAILED

    def _unknown(self) -> None:
        known = [name for key in keys_of(self.cls).values() for name in key.names()]
        for name in self.table:
            if name not in known:
                remedy = suggest(name, known, "Known keys")
                self._error(f"{name} is not a known key here.", name, remedy)

    def _scope(self, record: _T) -> Iterator[CatalogueInvalid]:
        """Yield the keys that are given but do not apply to such a record."""
        field, called = record.SCOPE
        for key in keys_of(self.cls).values():
            if key.only and key.name in self.table and getattr(record, field) not in key.only:
                yield self.spot.error(
                    f"{key.name} does not apply to {called.format(getattr(record, field))}.",
                    key=key.name,
                    remedy=f"Remove it; it applies to: {', '.join(sorted(key.only))}.",
                )

    def _error(self, what: str, key: str, remedy: str) -> None:
        self.broken = True
        self.errors.append(self.spot.error(what, key=key, remedy=remedy))


def check_sources(cls: type[Record], file: TomlFile) -> Iterator[CatalogueInvalid]:
    """Yield the sources that are given for keys there are none of."""
    known = sorted(set(_names(cls)) - {"source"})
    for key in sources_of(file):
        if key and key not in known:
            near = closest(key, known)
            yield file.error(
                f"The source of {key} is given, but there is no such key in this file.",
                key=f"source.{key}",
                remedy=f"Did you mean {near}?" if near else f"Keys: {', '.join(known)}.",
            )


def sources_of(file: TomlFile) -> dict[str, str]:
    """Return the sentences on where the figures of a file come from, by key.

    Returns
    -------
    dict
        The sentence for all other keys under ``""``; empty where the file has no source.
    """
    return sentences(file.data["source"]) if "source" in file.data else {}


def _names(cls: type) -> Iterator[str]:
    for key in keys_of(cls).values():
        yield from key.names()
        if isinstance(key.kind, Table):
            yield from _names(key.kind.record)


def defaults_of(
    cls: type[Record], table: dict[str, Any], at: str = ""
) -> Iterator[tuple[str, str]]:
    """Yield the figures that a file leaves to their defaults.

    Yields
    ------
    key, text : str
        The text begins with ``default:``.
    """
    word = table.get(cls.SCOPE[0])
    for key in keys_of(cls).values():
        if key.only and word not in key.only:
            continue
        name = f"{at}.{key.name}" if at else key.name
        value = table.get(key.name, key.default)
        if isinstance(key.kind, Tables):
            for number, inner in enumerate(value if isinstance(value, list) else (), 1):
                yield from defaults_of(key.kind.record, inner, f"{name}[{number}]")
        elif isinstance(key.kind, Table):
            if isinstance(value, dict):
                yield from defaults_of(key.kind.record, value, name)
        elif key.name not in table and key.default_text():
            yield name, f"default: {key.default_text()}"
