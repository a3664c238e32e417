"""Every key of every TOML file, for the reference page."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from edgetime.tooling.assemble import RECORDS
from edgetime.tooling.declare import Key, keys_of
from edgetime.tooling.kinds import Kind, Table, Tables


@dataclass(frozen=True)
class KeyReference:
    """One key.

    Attributes
    ----------
    file : str
        ``profiles/*.toml``, …, ``shop.toml``, ``layers.toml``.
    key : str
        Dotted key; ``[]`` marks a list of tables: ``step[].feed``.
    unit : str
        Units it is written in, empty for none.
    allowed : str
        Form and range.
    default : str
        As it would be written; ``required``, or empty when it may be left out.
    meaning : str
        One or two sentences.
    """

    file: str
    key: str
    unit: str
    allowed: str
    default: str
    meaning: str


def key_reference() -> list[KeyReference]:
    """Return every key of every TOML file, in the order of the files and of their keys.

    Returns
    -------
    list of KeyReference
        One per key; a key that holds tables comes before the keys inside them.
    """
    out: list[KeyReference] = []
    for name, record in RECORDS.items():
        file = name if name.endswith(".toml") else f"{name}/*.toml"
        out.extend(_keys(record, file, ""))
    return out


def _keys(record: type, file: str, prefix: str) -> Iterator[KeyReference]:
    for key in keys_of(record).values():
        for name, kind, default, meaning in _forms(key):
            yield KeyReference(
                file=file,
                key=f"{prefix}{name}",
                unit=kind.unit(),
                allowed=kind.allowed(),
                default=default,
                meaning=meaning,
            )
        if isinstance(key.kind, Table):
            many = "[]" if isinstance(key.kind, Tables) else ""
            yield from _keys(key.kind.record, file, f"{prefix}{key.name}{many}.")


def _forms(key: Key) -> Iterator[tuple[str, Kind, str, str]]:
    """Yield the names a key may have, each with its kind, default and meaning."""
    if key.measures:
        for name, (kind, meaning) in key.measures.items():
            yield name, kind, "", meaning
        return
    meaning = key.meaning + (f" For: {', '.join(sorted(key.only))}." if key.only else "")
    yield key.name, key.kind, "required" if key.required else key.default_text(), meaning
    if key.old is not None:
        yield key.old.key, key.old.kind, "", key.old.meaning(key.name)
