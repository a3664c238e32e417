"""One field declares a figure: the reader, its errors and the descriptions follow."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Literal

import pytest

from edgetime.records import as_json
from edgetime.tooling.assemble import RECORDS
from edgetime.tooling.declare import OldName, Record, key, keys_of, meanings, own, place
from edgetime.tooling.kinds import Choice, Count, Quantity, Table, Tables
from edgetime.tooling.money_kinds import Money
from edgetime.tooling.read_record import defaults_of, read_record
from edgetime.tooling.toml_file import TomlFile


@dataclass(frozen=True, kw_only=True)
class Door(Record):
    """Something with figures of every sort."""

    SCOPE = ("kind", "a door that is a {}")

    kind: str = key(
        Choice(Literal["gate", "hatch"]),
        "What it is.",
        old=OldName("form", {"big": "gate", "small": "hatch"}),
    )
    width_mm: float = key(Quantity("length", above="0 mm"), "Its width.")
    height_mm: float = key(
        Quantity("length", above="0 mm"),
        "Its height; the width if absent.",
        default=None,
        fill=lambda door: door.width_mm,
    )
    opens_s: float = key(Quantity("time", at_least="0 s"), "To open it.", default="2 min")
    leaves: int = key(Count(1, 4), "Leaves.", default=1, only=("gate",))
    price: object = key(Money(), "Its price.", default=None, currency="currency")
    paint: object = key(Money(), "Its paint.", default=None, currency="currency")
    currency: str = own("Of its amounts.", "")
    old_keys: tuple = own("Older keys.", ())


@dataclass(frozen=True, kw_only=True)
class Wall(Record):
    """Something with doors."""

    door: tuple[Door, ...] = key(Tables(Door), "Doors.", default=None, value=())
    main: Door | None = key(Table(Door), "The first.", default=None)
    at: str = place("Where it was read.")


def read(cls, data):
    """Read a parsed file without a text of its own."""
    return read_record(cls, TomlFile("house.toml", "", b"", data))


DOOR = {"kind": "gate", "width": "2 m"}


def test_keys_are_the_names_without_units_and_values_are_internal():
    """``width = "2 m"`` is ``width_mm`` 2000; what is absent is its default or filled in."""
    door, errors = read(Door, {**DOOR, "price": "80.00 EUR"})
    assert errors == []
    assert (door.width_mm, door.height_mm, door.opens_s, door.leaves) == (2000, 2000, 120, 1)
    assert (str(door.price), door.currency) == ("80.00", "EUR")
    assert as_json(door)["width_mm"] == 2000


def test_records_made_in_python_have_the_same_defaults():
    """A default is declared once, for files and for callers."""
    assert Door(kind="gate", width_mm=2000) == read(Door, DOOR)[0]


@pytest.mark.parametrize(
    ("change", "place_of", "what"),
    [
        ({"width": None}, "width", "width is missing"),
        ({"width": "2"}, "width", "has no unit"),
        ({"width": "-2 m"}, "width", "out of range"),
        ({"widht": "2 m"}, "widht", "not a known key"),
        ({"kind": "door"}, "kind", "not known here"),
        ({"kind": "hatch", "leaves": 2}, "leaves", "does not apply to a door that is a hatch"),
        ({"form": "big"}, "form", "Both kind and its old form form"),
        ({"price": "8 EUR", "paint": "2 USD"}, "paint", "is in USD"),
    ],
)
def test_each_fault_is_one_error_at_its_key(change, place_of, what):
    """Nested tables have the place of their list before the key."""
    data = {k: v for k, v in (DOOR | change).items() if v is not None}
    (error,) = read(Door, data)[1]
    assert error.where.key == place_of
    assert what in error.what
    (error,) = read(Wall, {"door": [DOOR, data]})[1]
    assert error.where.key == f"door[2].{place_of}"
    (error,) = read(Wall, {"main": data})[1]
    assert error.where.key == f"main.{place_of}"


def test_old_forms_are_read_and_noted():
    """``form = "small"`` is a hatch, and the record says what to write instead."""
    door, errors = read(Door, {"form": "small", "width": "2 m"})
    assert (errors, door.kind) == ([], "hatch")
    (old,) = door.old_keys
    assert (old.key, old.instead) == ("form", 'kind = "hatch"')


def test_defaults_are_listed_where_they_apply():
    """What a file leaves out is told as its default, but no key that does not apply."""
    assert dict(defaults_of(Wall, {"main": DOOR})) == {
        "main.opens": "default: 2 min",
        "main.leaves": "default: 1",
    }
    assert dict(defaults_of(Door, {"kind": "hatch"})) == {"opens": "default: 2 min"}


def _all(record):
    yield record
    for declared in keys_of(record).values():
        if isinstance(declared.kind, Table):
            yield from _all(declared.kind.record)


@pytest.mark.parametrize(
    "record",
    dict.fromkeys(r for top in RECORDS.values() for r in _all(top)),
    ids=lambda r: r.__name__,
)
def test_every_field_of_a_shops_records_is_described(record):
    """Each says what it means, and a figure's name ends with its unit."""
    told = {name: meaning for name, _, meaning in meanings(record)}
    assert set(told) == {f.name for f in dataclasses.fields(record) if f.name[0] != "_"}
    assert all(meaning.endswith(".") for meaning in told.values())
    for name, declared in keys_of(record).items():
        assert declared.measures or name.endswith(declared.kind.suffix), name
