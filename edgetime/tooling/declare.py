"""How a record of the shop's files is declared: each figure once.

A machine, tool or step is a frozen dataclass. A field made by :func:`key` says all there is to
say about a figure: how it is written in the file, its kind (unit and range), its default and its
meaning. The reader, the checks, the list of defaults, the catalogue's screens and the reference
pages all follow from it. A field made by :func:`own` is not in the file: the record's name, or
the place it was read from.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, ClassVar, Final

from edgetime.errors import CatalogueInvalid
from edgetime.tooling.kinds import Choice, Kind, Text
from edgetime.tooling.sources import Sources
from edgetime.tooling.toml_file import Spot

REQUIRED: Final = dataclasses.MISSING
"""The default of a key that must be given."""

_KEY: Final = "edgetime.key"
_OWN: Final = "edgetime.own"
_PLACE: Final = "place"


@dataclass(frozen=True, slots=True)
class OldName:
    """An older form of a key that is still read.

    Attributes
    ----------
    key : str
        Its name.
    values : mapping
        What each of its words is in the new form.
    """

    key: str
    values: Mapping[str, str]

    @property
    def kind(self) -> Kind:
        """The words it allows."""
        return Choice(self.values)

    def meaning(self, new: str) -> str:
        """Return what its words mean in terms of the new key."""
        said = "; ".join(f"{word} is {new} {value}" for word, value in self.values.items())
        return f"Old key, still read: {said}."


@dataclass(frozen=True)
class OldKey:
    """A key under an older name that a file still has.

    Attributes
    ----------
    key : str
        As it is written there.
    line : int or None
        Where.
    instead : str
        What to write instead, key and value.
    """

    key: str
    line: int | None
    instead: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """A key of a file and the figure it gives.

    Attributes
    ----------
    name : str
        As the file has it.
    kind : Kind
        How it is read, checked and described.
    meaning : str
        One or two sentences.
    default : any
        As a file would write it; :data:`REQUIRED`, or None where the absence says something.
    make : callable or None
        Turns the parsed value into what the field holds.
    fill : callable or None
        Gives the value from the rest of the record where the key is absent.
    currency : str
        Field that takes the currency of an amount of money.
    only : frozenset of str
        The words of the record's ``SCOPE`` field it applies to; empty for all.
    old : OldName or None
        An older form of it.
    measures : mapping
        Names of the keys of which one gives the figure, each with its kind and meaning; the
        record's field ``by`` takes which.
    """

    name: str = ""
    kind: Kind
    meaning: str
    default: Any = None
    make: Callable[[Any], Any] | None = None
    fill: Callable[[Any], Any] | None = None
    currency: str = ""
    only: frozenset[str] = frozenset()
    old: OldName | None = None
    measures: Mapping[str, tuple[Kind, str]] = dataclasses.field(default_factory=dict)

    @property
    def required(self) -> bool:
        """Whether it must be given."""
        return self.default is REQUIRED

    def default_text(self) -> str:
        """Return the default as it would be written; empty where there is none to write."""
        if self.required or self.default is None or isinstance(self.default, dict):
            return ""
        if isinstance(self.default, bool):
            return "true" if self.default else "false"
        return str(self.default)

    def names(self) -> tuple[str, ...]:
        """Return every name it may have in a file."""
        if self.measures:
            return tuple(self.measures)
        return (self.name,) if self.old is None else (self.name, self.old.key)


def _field(metadata: dict[str, Any], value: Any, *, compare: bool = True) -> Any:
    given: dict[str, Any] = {} if value is REQUIRED else {"default": value}
    # Dataclasses refuse a default that can change: what has no hash is taken for one.
    if type(value).__hash__ is None:
        given = {"default_factory": lambda: value}
    return dataclasses.field(metadata=metadata, compare=compare, **given)


def key(
    kind: Kind,
    meaning: str,
    *,
    name: str = "",
    default: Any = REQUIRED,
    value: Any = REQUIRED,
    make: Callable[[Any], Any] | None = None,
    fill: Callable[[Any], Any] | None = None,
    currency: str = "",
    only: Collection[str] = (),
    old: OldName | None = None,
    json: dict[str, Any] | None = None,
) -> Any:
    """Declare a field that a key of the file gives.

    Parameters
    ----------
    kind : Kind
        How it is read, checked and described.
    meaning : str
        One or two sentences for the reference.
    name : str
        The key, where it is not the field's name without its unit.
    default : any
        As a file would write it: ``"2 m/min"``. None where the key may be left out and nothing
        could be written instead, which ``value`` or ``fill`` says as well; an empty dict for a
        table that is read as if it were empty.
    value : any
        What the field then holds, where ``default`` does not say.
    make : callable, optional
        Turns the parsed value into what the field holds.
    fill : callable, optional
        Gives the value from the rest of the record where it is absent.
    currency : str
        For money: the field that takes its currency. The key gives an amount and a currency.
    only : collection of str
        The words of the record's ``SCOPE`` field it applies to; all when empty.
    old : OldName, optional
        An older form of the key that is still read.
    json : dict, optional
        Metadata of :mod:`edgetime.records`.

    Returns
    -------
    dataclasses.Field
        Typed as anything, as :func:`dataclasses.field` is.
    """
    if default is REQUIRED and (fill is not None or value is not REQUIRED):
        default = None
    if value is REQUIRED and default is not REQUIRED:
        value = default
        if default is not None:
            value = kind.parse(default)
            value = value if make is None else make(value)
    if currency and value and value is not REQUIRED:
        meaning = f"{meaning} {value} is assumed if absent."
    declared = Key(
        name=name,
        kind=kind,
        meaning=meaning,
        default=default,
        make=make,
        fill=fill,
        currency=currency,
        only=frozenset(only),
        old=old,
    )
    return _field({_KEY: declared, **(json or {})}, value)


def one_of(measures: Mapping[str, tuple[Kind, str]], meaning: str) -> Any:
    """Declare a field that exactly one of several keys gives.

    The record's field ``by`` takes the key's name, with hyphens.
    """
    kind, _ = next(iter(measures.values()))
    return _field({_KEY: Key(kind=kind, meaning=meaning, measures=measures)}, REQUIRED)


def own(
    meaning: str,
    value: Any = REQUIRED,
    *,
    fill: Callable[[Any], Any] | None = None,
    compare: bool = True,
) -> Any:
    """Declare a field that is not in the file.

    Parameters
    ----------
    meaning : str
        What it holds.
    value : any
        Its default.
    fill : callable, optional
        Gives the value from the rest of the record where it is None.
    compare : bool
        Whether records that differ in it alone differ.
    """
    return _field({_OWN: (meaning, fill)}, value, compare=compare)


def place(
    meaning: str, where: Callable[[Spot], str] = lambda spot: spot.at, *, compare: bool = True
) -> Any:
    """Declare a field that holds where the record was read.

    Parameters
    ----------
    meaning : str
        What it holds.
    where : callable
        Returns it; by default the key of the table in its file: ``step[3]``.
    compare : bool
        Whether records that differ in it alone differ.
    """
    return _field({_OWN: (meaning, None), _PLACE: where}, "", compare=compare)


class Record:
    """What the declared records have in common."""

    SCOPE: ClassVar[tuple[str, str]] = ("", "")
    """Field whose word decides which keys apply, and how a record is called by that word:
    ``operation`` and ``a step of operation {}``."""

    def __post_init__(self) -> None:
        """Fill in what follows from the other figures."""
        for name, fill in fills_of(type(self)):
            if getattr(self, name) is None:
                object.__setattr__(self, name, fill(self))

    def check(self, spot: Spot) -> Iterable[CatalogueInvalid]:  # noqa: ARG002  for those that override
        """Yield what contradicts itself in the record."""
        return ()


@dataclass(frozen=True, kw_only=True)
class Entry(Record):
    """A record that a whole file describes."""

    source: str = key(
        Sources(),
        "Where the figures come from: a published source, common practice, or an assumption to "
        "replace with your own figure. One sentence for the file, or a table of sentences "
        "by key with one named all for the rest.",
    )
    title: str = key(Text(), "Readable name.")
    name: str = own("Its name: that of its file, without the ending.")
    file: str = own("The TOML file it was read from.")


def _keys_of(cls: Any) -> dict[str, Key]:
    out = {}
    for field in dataclasses.fields(cls):
        found: Key | None = field.metadata.get(_KEY)
        if found is not None:
            name = found.name or field.name.removesuffix(found.kind.suffix)
            out[field.name] = dataclasses.replace(found, name=name)
    return out


def _fills(cls: Any) -> tuple[tuple[str, Callable[[Any], Any]], ...]:
    out = []
    for field in dataclasses.fields(cls):
        found = field.metadata.get(_KEY)
        fill = field.metadata.get(_OWN, ("", None))[1] if found is None else found.fill
        if fill is not None:
            out.append((field.name, fill))
    return tuple(out)


def _place_of(cls: Any) -> tuple[str, Callable[[Spot], str]] | None:
    fields = dataclasses.fields(cls)
    return next(((f.name, f.metadata[_PLACE]) for f in fields if _PLACE in f.metadata), None)


keys_of: Final[Callable[[type], dict[str, Key]]] = cache(_keys_of)
"""Return the keys of a record by the names of their fields, in order."""

fills_of: Final[Callable[[type], tuple[tuple[str, Callable[[Any], Any]], ...]]] = cache(_fills)
"""Return the fields of a record that are filled in from the others, and how."""

place_of: Final[Callable[[type], tuple[str, Callable[[Spot], str]] | None]] = cache(_place_of)
"""Return the field that holds where a record was read and what makes it, None for none."""


def meanings(cls: type) -> Iterator[tuple[str, str, str]]:
    """Yield each field of a declared record with its type and its meaning.

    Parameters
    ----------
    cls : class
        A :class:`Record`.
    """
    keys = keys_of(cls)
    for field in dataclasses.fields(cls):
        if field.name in keys:
            yield field.name, str(field.type), keys[field.name].meaning
        elif _OWN in field.metadata:
            yield field.name, str(field.type), field.metadata[_OWN][0]
