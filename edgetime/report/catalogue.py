"""The catalogue: every figure of profiles, tools, stacks, machines and stones, with its unit."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import fields, is_dataclass
from decimal import Decimal
from enum import Enum
from typing import TYPE_CHECKING, Any

from edgetime.report.document import Grid, Heading, Line
from edgetime.report.quantities import (
    FEET_FROM_MM,
    format_speed,
    format_thickness,
    speed_figure,
    speed_unit,
)
from edgetime.report.text import NONE, figure
from edgetime.unit_table import FT_MM, UNITS
from edgetime.units import UnitSystem, decimals

if TYPE_CHECKING:
    from edgetime.report.document import Block
    from edgetime.tooling import Catalogue

KINDS = ("profiles", "tools", "stacks", "machines", "stones")
"""What a catalogue holds, in the order it is shown."""

CATALOGUE_HEADER = ("kind", "name", "key", "value", "file", "source")
"""Columns of the CSV form, one row per figure; the keys carry their units."""

_IN = 25.4


def _length(value: float, system: UnitSystem) -> str:
    if system is UnitSystem.METRIC:
        # Lives of tools and dressing intervals run to kilometres.
        return f"{figure(value)} mm" if abs(value) < 1e5 else f"{figure(value / 1e3)} m"
    if abs(value) < FEET_FROM_MM:
        return f"{figure(round(value / _IN, 4))} in"
    return f"{decimals(value / FT_MM)} ft"


def _rate(name: str, per: float, imperial: str, per_imperial: float) -> Any:
    """Return how a figure is written in either system: the unit's name, and how many make one."""

    def write(value: float, system: UnitSystem) -> str:
        if system is UnitSystem.METRIC:
            return f"{figure(round(value / per, 6))} {name}"
        return f"{decimals(value / per_imperial)} {imperial}"

    return write


def _area(value: float, system: UnitSystem) -> str:
    if system is UnitSystem.METRIC:
        return f"{figure(round(value, 3))} mm2"
    return f"{decimals(value / _IN**2)} sq in"


# Suffix of a field → how a value is written; the longest suffix first.
_SUFFIXES: tuple[tuple[str, Any], ...] = (
    ("_mm3_per_s", _rate("l/min", 1e6 / 60.0, "gal/min", UNITS["flow"]["gal/min"])),
    ("_mm_per_s3", _rate("m/s3", 1e3, "in/s3", _IN)),
    ("_mm_per_s2", _rate("m/s2", 1e3, "in/s2", _IN)),
    ("_mm_per_s", format_speed),
    ("_rad_per_s2", lambda v, _: f"{figure(v * 60.0 / math.tau)} rpm/s"),
    ("_rad_per_s", lambda v, _: f"{figure(round(v * 60.0 / math.tau, 3))} rpm"),
    ("_kg_per_m3", _rate("kg/m3", 1.0, "lb/ft3", UNITS["density"]["lb/ft3"])),
    ("_mm3", _rate("cm3", 1e3, "in3", _IN**3)),
    ("_mm2", _area),
    ("_mm", _length),
    ("_s", lambda v, _: f"{figure(v)} s"),
    ("_d", lambda v, _: f"{figure(v)} d"),
    ("_w", lambda v, _: f"{figure(v / 1e3)} kW"),
)
_LIFE_SUFFIX = {"length": "_mm", "volume": "_mm3", "time": "_s", "holes": "", "area": "_mm2"}
_ALL = {"stones", "applies_to", "places"}
"""Fields whose empty list is no limit."""

_APART = {"name", "title", "file", "source", "steps", "sections", "corner", "old_keys"}


def _scalar(value: Any, suffix: str, system: UnitSystem) -> str:
    if value is None:
        return NONE
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        if math.isinf(value):
            return "no limit"
        write = dict(_SUFFIXES).get(suffix)
        return write(value, system) if write is not None else figure(value)
    return str(value)


def _suffix(name: str) -> str:
    return next((s for s, _ in _SUFFIXES if name.endswith(s)), "")


def _life(life: Any, system: UnitSystem) -> str:
    text = _scalar(life.value, _LIFE_SUFFIX.get(life.by, ""), system)
    text = f"{text} holes" if life.by == "holes" else text
    text = f"G-ratio {text}" if life.by == "g-ratio" else text
    only = [str(life.stone)] if life.stone is not None else []
    if life.thickness_mm is not None:
        only.append(format_thickness(life.thickness_mm, system))
    return f"{text} ({', '.join(only)})" if only else text


def figures(record: Any, system: UnitSystem) -> list[tuple[str, str]]:
    """Return every figure of a catalogue record, written with its unit.

    Parameters
    ----------
    record : dataclass
        A profile, tool, stack, step, machine or stone.
    system : UnitSystem
        Units of lengths and feeds.

    Returns
    -------
    list of (str, str)
        Label and text, in the order of the fields; name, title, source, file, steps and
        sections are left to the caller.
    """
    found: list[tuple[str, str]] = []
    for field in fields(record):
        if field.name in _APART:
            continue
        value = getattr(record, field.name)
        suffix = _suffix(field.name)
        label = field.name.removesuffix(suffix).replace("_", " ")
        if field.name == "thicknesses_mm":
            text = ", ".join(format_thickness(v, system) for v in value) or "all"
        elif field.name == "life":
            text = "; ".join(_life(life, system) for life in value) or NONE
        elif isinstance(value, (tuple, list)):
            none = "all" if field.name in _ALL else NONE
            text = ", ".join(_scalar(v, suffix, system) for v in value) or none
        else:
            text = _scalar(value, suffix, system)
        found.append((label, text))
    return found


def as_plain(value: Any) -> Any:
    """Return a record as plain JSON values.

    Parameters
    ----------
    value : any
        Dataclasses become objects, tuples lists, decimals texts, infinities null.
    """
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: as_plain(getattr(value, f.name)) for f in fields(value)}
    if isinstance(value, Mapping):
        return {_key(k): as_plain(v) for k, v in value.items()}
    if isinstance(value, (tuple, list)):
        return [as_plain(v) for v in value]
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, Decimal):
        return str(value)
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value


def _key(key: Any) -> str:
    return figure(key) if isinstance(key, float) else str(key)


def _records(catalogue: Catalogue, kind: str) -> Mapping[str, Any]:
    records: Mapping[str, Any] = getattr(catalogue, kind)
    return records


def catalogue_rows(catalogue: Catalogue, chosen: Iterable[tuple[str, str]]) -> list[list[object]]:
    """Return the rows of the CSV form.

    Parameters
    ----------
    catalogue : Catalogue
        Everything the shop has.
    chosen : iterable of (kind, name)
        What to list.

    Returns
    -------
    list of list
        As :data:`CATALOGUE_HEADER`.
    """
    rows: list[list[object]] = []
    for kind, name in chosen:
        record = _records(catalogue, kind)[name]
        plain = as_plain(record)
        rows += [
            [kind, name, key, value, record.file, record.source]
            for key, value in _flat(plain)
            if key not in {"name", "file", "source"}
        ]
    return rows


def _flat(value: Any, prefix: str = "") -> Iterable[tuple[str, Any]]:
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from _flat(inner, f"{prefix}.{key}" if prefix else key)
    elif isinstance(value, list):
        for number, inner in enumerate(value, 1):
            yield from _flat(inner, f"{prefix}[{number}]")
    else:
        yield prefix, value


def catalogue_parts(catalogue: Catalogue) -> list[Block]:
    """Return the overview: what there is of each kind.

    Parameters
    ----------
    catalogue : Catalogue
        Everything the shop has.
    """
    shop = catalogue.shop
    defaults = {"machines": shop.machine, "stacks": shop.stack, "stones": shop.stone}
    parts: list[Block] = []
    for kind in KINDS:
        records = _records(catalogue, kind)
        parts += [
            Heading(f"{kind.capitalize()} ({len(records)})"),
            Grid(
                [("Name", "<"), ("What it is", "<")],
                [
                    [name, record.title + (" (default)" if defaults.get(kind) == name else "")]
                    for name, record in records.items()
                ],
            ),
        ]
    return parts


def kind_parts(catalogue: Catalogue, kind: str, system: UnitSystem) -> list[Block]:
    """Return all entries of one kind: a paragraph of figures each, a table for a stack.

    Parameters
    ----------
    catalogue : Catalogue
        Everything the shop has.
    kind : str
        One of :data:`KINDS`.
    system : UnitSystem
        Units of lengths and feeds.
    """
    parts: list[Block] = []
    for name, record in _records(catalogue, kind).items():
        parts.append(Heading(f"{name}: {record.title}"))
        parts.append(_paragraph(figures(record, system)))
        parts += _sections(record, system)
        if kind == "stacks":
            parts.append(_step_table(record, system))
        parts.append(Line(f"Source: {record.source}", indent=2, hang=4))
        parts.append(Line(f"File: {record.file}", indent=2, hang=4))
    return parts


def entry_parts(catalogue: Catalogue, kind: str, name: str) -> list[Block]:
    """Return one entry as its file writes it, each figure with its own source.

    Parameters
    ----------
    catalogue : Catalogue
        Everything the shop has.
    kind : str
        One of :data:`KINDS`.
    name : str
        Which.
    """
    record = _records(catalogue, kind)[name]
    written = {key: text for (file, key), text in catalogue.raw.items() if file == record.file}
    sources = {
        key.removeprefix("source."): text
        for key, text in written.items()
        if key.startswith("source.")
    }
    groups: dict[str, list[tuple[str, str]]] = {"": []}
    for key, text in written.items():
        if key == "title" or key.partition(".")[0] == "source":
            continue
        # step[3].feed stands under step[3]; so does section[1].points[2].u under section[1].
        group, inside, inner = key.partition("].")
        name_of_group = f"{group}]" if inside else ""
        groups.setdefault(name_of_group, []).append((inner if inside else key, text))
    top = groups.pop("")
    columns = [("Key", "<"), ("As written", "<"), ("Source", "<")]
    parts: list[Block] = [
        Heading(f"{name}: {record.title}"),
        Grid(columns, [[key, text, sources.pop(key, "")] for key, text in top]),
    ]
    for group, rows in groups.items():
        parts += [Heading(group), Grid(columns[:2], rows)]
    parts.append(Line(""))
    rest = sources.pop("all", record.source)
    parts += [Line(f"Source of {key}: {text}", hang=2) for key, text in sources.items()]
    parts.append(Line(f"Source of the rest: {rest}", hang=2))
    parts.append(Line(f"File: {record.file}", hang=2))
    return parts


def _step_table(stack: Any, system: UnitSystem) -> Block:
    unit = speed_unit((step.feed_mm_per_s for step in stack.steps), system)
    return Grid(
        [
            ("#", ">"),
            ("Step", "<"),
            ("Does", "<"),
            (f"Feed {unit}", ">"),
            ("Spindle", ">"),
            ("Passes", ">"),
            ("Share", ">"),
            ("Profiles", "<"),
        ],
        [
            [
                number,
                step.name,
                step.operation,
                speed_figure(step.feed_mm_per_s, unit),
                _scalar(step.rotation_rad_per_s, "_rad_per_s", system),
                step.passes,
                f"{100.0 * step.share:g} %" if step.share else NONE,
                ", ".join(step.applies_to) or "all",
            ]
            for number, step in enumerate(stack.steps, 1)
        ],
    )


def _paragraph(listed: Iterable[tuple[str, str]]) -> Block:
    text = "; ".join(f"{label} {value}" for label, value in listed if value not in {NONE, ""})
    return Line(text, indent=2, hang=4)


def _sections(record: Any, system: UnitSystem) -> list[Block]:
    return [
        Line(
            f"at {format_thickness(thickness, system)}: removes {_area(section.removed_mm2, system)} "
            f"of cross-section, finished contour {_length(round(section.contour_mm, 3), system)}",
            indent=2,
            hang=4,
        )
        for thickness, section in getattr(record, "sections", {}).items()
    ]
