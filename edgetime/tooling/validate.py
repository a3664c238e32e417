"""From a parsed TOML file to its checked table, with our own errors."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from edgetime.errors import CatalogueInvalid
from edgetime.tooling.kinds import Kind
from edgetime.tooling.toml_file import TomlFile
from edgetime.tooling.words import closest, shown

_T = TypeVar("_T", bound=BaseModel)


def dotted(loc: tuple[int | str, ...]) -> str:
    """Write pydantic's location as a dotted key with list entries counted from 1.

    Parameters
    ----------
    loc : tuple
        Names and list indices from 0.

    Returns
    -------
    str
        Such as ``section[2].points[3].radius``.
    """
    text = ""
    for part in loc:
        if isinstance(part, int):
            text += f"[{part + 1}]"
        else:
            text += f".{part}" if text else part
    return text


def kind_of(info: Any) -> Kind | None:
    """Return the kind of figure of a field, None for tables and lists of tables.

    Parameters
    ----------
    info : pydantic.fields.FieldInfo
        A field of a schema class.
    """
    found = next((m for m in info.metadata if isinstance(m, Kind)), None)
    if found is None:
        args = getattr(info.annotation, "__args__", ())
        inner = [m for a in args for m in getattr(a, "__metadata__", ()) if isinstance(m, Kind)]
        return inner[0] if inner else None
    return found


def table_of(info: Any) -> type[BaseModel] | None:
    """Return the schema class of a table, or of the entries of a list of tables.

    Parameters
    ----------
    info : pydantic.fields.FieldInfo
        A field of a schema class.
    """
    for candidate in (info.annotation, *getattr(info.annotation, "__args__", ())):
        if isinstance(candidate, type) and issubclass(candidate, BaseModel):
            return candidate
    return None


def _model_at(model: type[BaseModel], loc: tuple[int | str, ...]) -> type[BaseModel]:
    for part in loc:
        if isinstance(part, str) and part in model.model_fields:
            inner = table_of(model.model_fields[part])
            if inner is not None:
                model = inner
    return model


def _translate(file: TomlFile, model: type[BaseModel], detail: ErrorDetails) -> CatalogueInvalid:
    loc = detail["loc"]
    key = dotted(loc)
    kind = detail["type"]
    name = str(loc[-1]) if loc else ""
    owner = _model_at(model, loc[:-1])
    if kind == "edgetime":
        context = detail.get("ctx", {})
        remedy = context["in_inches" if file.in_inches else "remedy"]
        return file.error(context["what"], key=key, remedy=remedy)
    if kind == "extra_forbidden":
        known = list(owner.model_fields)
        near = closest(name, known)
        hint = f"Did you mean {near}? " if near else ""
        return file.error(
            f"{name} is not a key that is known here.",
            key=key,
            remedy=f"{hint}Known keys: {', '.join(known)}.",
        )
    if kind == "missing":
        info = owner.model_fields[name]
        figure = kind_of(info)
        form = figure.allowed() if figure is not None else "one or more tables"
        return file.error(
            f"{name} is missing.",
            key=key,
            remedy=f"Add it: {form}. {info.description or ''}".strip(),
        )
    needed = "a list" if kind == "list_type" else "a table"
    return file.error(
        f"Found {shown(detail['input'])} where {needed} belongs.",
        key=key,
        remedy=f"Write {needed}.",
    )


def validate(model: type[_T], file: TomlFile) -> tuple[_T | None, list[CatalogueInvalid]]:
    """Check a parsed file against its schema.

    Parameters
    ----------
    model : class
        A class of :mod:`edgetime.tooling.schema`.
    file : TomlFile
        The parsed file.

    Returns
    -------
    checked : instance of model, or None
        None when there are errors.
    errors : list of CatalogueInvalid
        All of the file, in its order.
    """
    try:
        return model.model_validate(file.data), []
    except ValidationError as error:
        errors = [_translate(file, model, detail) for detail in error.errors(include_url=False)]
        errors.sort(key=lambda e: e.where.line or 0)
        return None, errors


def _names(model: type[BaseModel]) -> Iterator[str]:
    for name, info in model.model_fields.items():
        yield name
        inner = table_of(info)
        if inner is not None:
            yield from _names(inner)


def check_sources(
    model: type[BaseModel], file: TomlFile, sources: dict[str, str]
) -> list[CatalogueInvalid]:
    """Check that a table of sources speaks of keys that exist.

    Parameters
    ----------
    model : class
        Schema of the file.
    file : TomlFile
        The parsed file.
    sources : dict
        Sentence by key.

    Returns
    -------
    list of CatalogueInvalid
        One per unknown key.
    """
    known = sorted(set(_names(model)) - {"source"})
    out = []
    for key in sources:
        if key and key not in known:
            near = closest(key, known)
            out.append(
                file.error(
                    f"The source of {key} is given, but there is no such key in this file.",
                    key=f"source.{key}",
                    remedy=f"Did you mean {near}?" if near else f"Keys: {', '.join(known)}.",
                )
            )
    return out


def defaults_of(model: BaseModel, key: str = "") -> Iterator[tuple[str, str]]:
    """Yield the figures a file does not give, as its schema has them.

    Parameters
    ----------
    model : instance of a schema class
        A checked table.
    key : str
        Where it stands.

    Yields
    ------
    key, text : str
        The text begins with ``default:``.
    """
    for name, info in type(model).model_fields.items():
        at = f"{key}.{name}" if key else name
        value = getattr(model, name)
        if isinstance(value, BaseModel):
            yield from defaults_of(value, at)
        elif isinstance(value, list) and value and isinstance(value[0], BaseModel):
            for number, item in enumerate(value, 1):
                yield from defaults_of(item, f"{at}[{number}]")
        elif (
            name not in model.model_fields_set
            and info.default_factory is None
            and info.default not in {None, ()}
        ):
            yield at, f"default: {default_text(info.default)}"


def default_text(value: Any) -> str:
    """Return a default as it would be written, for messages and the reference.

    Parameters
    ----------
    value : bool, number or str
        The schema's default.

    Returns
    -------
    str
        The text.
    """
    return ("true" if value else "false") if isinstance(value, bool) else str(value)
