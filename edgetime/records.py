"""The JSON form of a record, from its own declaration.

A record is a dataclass or a named tuple. Its JSON form follows from its fields:

* a field is written under its own name, so a field is named as its key is, with its unit
  (``total_s``, ``edge_mm``);
* a property marked with :func:`figure` is written after the fields;
* ``field(metadata=HIDDEN)`` leaves a field out, ``field(metadata=written(...))`` gives it another
  key, another form, or merges the record it holds into this one;
* a class with a ``SCHEMA`` begins with ``"schema"``.

Nested records, tuples, mappings, arrays, enumerations, dates and decimals are written alike
everywhere, by :func:`as_json`.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator, Mapping
from datetime import date
from decimal import Decimal
from enum import Enum
from fractions import Fraction
from functools import cache, cached_property
from pathlib import PurePath
from typing import Any, Final, TypeVar

Json = dict[str, Any] | list[Any] | str | int | float | bool | None

_FORM: Final = "edgetime_json"


@dataclasses.dataclass(frozen=True, slots=True)
class _Form:
    """How a field is written."""

    key: str | None = None
    write: Callable[[Any], Any] | None = None
    merged: bool = False
    hidden: bool = False
    optional: bool = False


def written(
    *,
    key: str | None = None,
    write: Callable[[Any], Any] | None = None,
    merged: bool = False,
    optional: bool = False,
) -> dict[str, Any]:
    """Return the metadata of a field that is not written as it is.

    Parameters
    ----------
    key : str, optional
        Its key, where that is not its name.
    write : callable, optional
        Turns the value, other than None, into what is written; it is walked in turn.
    merged : bool
        The keys of the record in this field are written among those of the record around it.
    optional : bool
        The key is absent where the value is None or empty.
    """
    return {_FORM: _Form(key=key, write=write, merged=merged, optional=optional)}


HIDDEN: Final[dict[str, Any]] = {_FORM: _Form(hidden=True)}
"""Metadata of a field that is not part of the JSON form."""


_Get = TypeVar("_Get", bound=Callable[..., Any])


def figure(get: _Get) -> _Get:
    """Mark the getter of a property as a figure of its record's JSON form.

    It goes below ``@property`` or ``@cached_property``, so that type checkers see a property.
    """
    get.__dict__[_FORM] = _Form()
    return get


def figure_named(
    key: str | None = None, write: Callable[[Any], Any] | None = None, *, optional: bool = False
) -> Callable[[_Get], _Get]:
    """Return :func:`figure` for a property that is written under another key or otherwise.

    Parameters
    ----------
    key, write, optional
        As of :func:`written`.
    """

    def mark(get: _Get) -> _Get:
        get.__dict__[_FORM] = _Form(key=key, write=write, optional=optional)
        return get

    return mark


def figure_merged(get: _Get) -> _Get:
    """Mark a property like :func:`figure`; the record's keys are written among the others."""
    get.__dict__[_FORM] = _Form(merged=True)
    return get


def exact(value: Decimal) -> str:
    """Write a decimal with all its digits, no exponent, and no zeros behind them."""
    text = f"{value:f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in {"-0", ""} else text


def _marked(value: object) -> _Form | None:
    """Return the form of a property that is a figure, None for anything else."""
    if isinstance(value, property):
        return getattr(value.fget, _FORM, None)
    return getattr(value.func, _FORM, None) if isinstance(value, cached_property) else None


def _public(cls: type) -> Iterator[tuple[str, _Form]]:
    names = (
        [(f.name, f.metadata.get(_FORM, _Form())) for f in dataclasses.fields(cls)]
        if dataclasses.is_dataclass(cls)
        else [(name, _Form()) for name in cls._fields]  # type: ignore[attr-defined]
    )
    derived = {
        name: form
        for base in reversed(cls.__mro__)
        for name, value in vars(base).items()
        if (form := _marked(value)) is not None
    }
    yield from (pair for pair in names if not pair[1].hidden)
    yield from derived.items()


@cache
def _forms(cls: type) -> tuple[tuple[str, _Form], ...]:
    return tuple(_public(cls))


def keys(cls: type) -> tuple[str, ...]:
    """Return the keys of a record's own JSON form, in order, without merged ones."""
    return tuple(form.key or name for name, form in _forms(cls) if not form.merged)


def _record(value: Any) -> dict[str, Any]:
    cls: Any = type(value)
    schema = getattr(cls, "SCHEMA", None)
    out: dict[str, Any] = {} if schema is None else {"schema": schema}
    for name, form in _forms(cls):
        inner = getattr(value, name)
        if form.optional and (inner is None or (hasattr(inner, "__len__") and not len(inner))):
            continue
        if form.write is not None and inner is not None:
            inner = form.write(inner)
        said = as_json(inner)
        if form.merged:
            out |= said or {}
        else:
            out[form.key or name] = said
    return out


def as_json(value: Any) -> Any:
    """Return the JSON form of a record, or of anything made of records.

    Parameters
    ----------
    value : any
        A record, a mapping, a sequence, an array, a number, a text, a date or None.

    Returns
    -------
    dict, list, str, int, float, bool or None
        Nothing but what JSON knows. Decimals are texts, exact to the last digit; fractions are
        floats; infinities and not-a-number become None.

    Raises
    ------
    TypeError
        A value of a type that has no JSON form.
    """
    if value is None or isinstance(value, (bool, int)):
        return value
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, str):
        return value
    if isinstance(value, float):
        return float(value) if abs(value) < float("inf") else None
    if dataclasses.is_dataclass(value) or hasattr(value, "_fields"):
        return _record(value)
    if isinstance(value, Mapping):
        return {str(as_json(key)): as_json(inner) for key, inner in value.items()}
    if isinstance(value, (tuple, list)):
        return [as_json(inner) for inner in value]
    if isinstance(value, (set, frozenset)):
        return sorted(as_json(inner) for inner in value)
    return _scalar(value)


def _scalar(value: Any) -> Any:
    if isinstance(value, Decimal):
        return exact(value)
    if isinstance(value, Fraction):
        return float(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, PurePath):
        return str(value)
    if hasattr(value, "tolist"):  # arrays and their scalars
        return as_json(value.tolist())
    message = f"{type(value).__name__} has no JSON form"
    raise TypeError(message)
