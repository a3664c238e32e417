"""Every key of every TOML file, for the reference page and for screens."""

from __future__ import annotations

from dataclasses import dataclass

from pydantic import BaseModel

from edgetime.tooling.schema import FILES, FOLDERS, STEP_KEYS_OF, StepTable
from edgetime.tooling.validate import default_text, kind_of, table_of


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


def schema_reference() -> list[KeyReference]:
    """Return every key of every TOML file, in the order of the files and of their keys.

    Returns
    -------
    list of KeyReference
        One per key; a key that holds tables comes before the keys inside them.
    """
    out: list[KeyReference] = []
    for folder, model in FOLDERS.items():
        _collect(model, f"{folder}/*.toml", "", out)
    for name, table in FILES.items():
        _collect(table, name, "", out)
    return out


def _collect(model: type[BaseModel], file: str, prefix: str, out: list[KeyReference]) -> None:
    for name, info in model.model_fields.items():
        inner = table_of(info)
        is_list = "list" in str(info.annotation)
        key = f"{prefix}{name}"
        kind = kind_of(info)
        if kind is not None:
            allowed = f"a list, each {kind.allowed()}" if is_list else kind.allowed()
        else:
            allowed = "a list of tables" if is_list else "a table"
        meaning = info.description or ""
        if model is StepTable and name in STEP_KEYS_OF:
            meaning += f" For: {', '.join(sorted(STEP_KEYS_OF[name]))}."
        default = ""
        if info.is_required():
            default = "required"
        elif info.default_factory is None and info.default not in {None, ()}:
            default = default_text(info.default)
        out.append(
            KeyReference(
                file=file,
                key=key,
                unit=kind.unit() if kind is not None else "",
                allowed=allowed,
                default=default,
                meaning=meaning,
            )
        )
        if inner is not None:
            _collect(inner, file, f"{key}{'[]' if is_list else ''}.", out)
