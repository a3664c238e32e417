"""The catalogue: every figure of profiles, tools, stacks, machines and stones, with its unit."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from edgetime.records import as_json
from edgetime.report.columns import COUNT, Column, Sheet, Unit
from edgetime.report.document import Block, Heading, Line, Table
from edgetime.report.layers import rule_parts
from edgetime.report.quantities import (
    FEET_FROM_MM,
    format_speed,
    format_thickness,
    speed_figure,
    speed_unit,
)
from edgetime.report.text import NONE, figure
from edgetime.tooling.declare import Record, keys_of
from edgetime.tooling.kinds import Each, Kind, Several, Tables
from edgetime.tooling.money_kinds import Rate
from edgetime.tooling.stacks import Step
from edgetime.tooling.tools import Life
from edgetime.unit_table import FT_MM, UNITS
from edgetime.units import UnitSystem, decimals

if TYPE_CHECKING:
    from edgetime.tooling import Catalogue

KINDS = ("profiles", "tools", "stacks", "machines", "stones")
"""What a catalogue holds, in the order it is shown."""


_IN = 25.4
_RPM = math.tau / 60.0


class Figure(NamedTuple):
    """One figure of the catalogue, as files have it; the key carries its unit."""

    kind: str
    name: str
    key: str
    value: Any
    file: str
    source: str


class Written(NamedTuple):
    """One key of a file, as it is written there."""

    key: str
    text: str
    source: str | None = None


FIGURES: Final = Sheet[Figure](tuple(Column(key=key) for key in Figure._fields))
"""Every figure of the catalogue, for files."""

ENTRIES: Final = Sheet[Any](
    (
        Column(heading="Name", get=lambda row: row[0]),
        Column(heading="What it is", get=lambda row: row[1]),
    )
)
"""The entries of one kind."""

INNER: Final = Sheet[Written](
    (
        Column(heading="Key", get=lambda w: w.key),
        Column(heading="As written", get=lambda w: w.text),
    )
)
"""The keys of a table within a file."""

KEYS: Final = Sheet[Written]((*INNER.columns, Column(heading="Source", get=lambda w: w.source)))
"""The keys of a file."""


def _rotation(value: float, _: UnitSystem) -> str:
    return f"{figure(round(value / _RPM, 3))} rpm"


def _steps(steps: Sequence[Step]) -> Sheet[tuple[int, Step]]:
    """Return the columns of the steps of a stack, numbered, their feeds in one unit."""
    feeds = [step.feed_mm_per_s for step in steps]
    columns: tuple[Column[tuple[int, Step]], ...] = (
        Column(heading="#", unit=COUNT, get=lambda row: row[0]),
        Column(heading="Step", get=lambda row: row[1].name),
        Column(heading="Operation", get=lambda row: row[1].operation),
        Column(
            heading="Feed",
            unit=Unit(
                "_mm_per_s",
                lambda value, system: speed_figure(value, speed_unit(feeds, system)),
                lambda system: speed_unit(feeds, system),
            ),
            get=lambda row: row[1].feed_mm_per_s,
        ),
        Column(
            heading="Spindle",
            unit=COUNT,
            get=lambda row: row[1].rotation_rad_per_s,
            show=_rotation,
        ),
        Column(heading="Passes", unit=COUNT, get=lambda row: row[1].passes),
        Column(
            heading="Share",
            unit=COUNT,
            get=lambda row: row[1].share or None,
            show=lambda value, _: f"{100.0 * value:g} %",
        ),
        Column(heading="Profiles", get=lambda row: ", ".join(row[1].applies_to) or "all"),
    )
    return Sheet(columns)


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


_WRITE: dict[str, Callable[[float, UnitSystem], str]] = {
    "_mm3_per_s": _rate("l/min", 1e6 / 60.0, "gal/min", UNITS["flow"]["gal/min"]),
    "_mm_per_s3": _rate("m/s3", 1e3, "in/s3", _IN),
    "_mm_per_s2": _rate("m/s2", 1e3, "in/s2", _IN),
    "_mm_per_s": format_speed,
    "_rad_per_s": _rotation,
    "_kg_per_m3": _rate("kg/m3", 1.0, "lb/ft3", UNITS["density"]["lb/ft3"]),
    "_mm3": _rate("cm3", 1e3, "in3", _IN**3),
    "_mm2": _area,
    "s_per_mm": _rate("min/m", 0.06, "min/ft", 60.0 / FT_MM),
    "_mm": _length,
    "_s": lambda v, _: f"{figure(v)} s",
    "_d": lambda v, _: f"{figure(v)} d",
    "_w": lambda v, _: f"{figure(v / 1e3)} kW",
}
"""Unit of a kind of figure, as its suffix → how a value is written."""

_ALL = {"stones", "applies_to", "thicknesses"}
"""Keys whose empty list means no limit."""

_APART = {"title", "source", "step", "section"}
"""Keys that have a place of their own on the screen."""


def _value(kind: Kind, value: Any, system: UnitSystem) -> str:
    """Return one figure as its kind is written; several, separated by commas."""
    if isinstance(value, Record):
        return _inner(value, system)
    if isinstance(value, tuple):
        inner = kind.kind if isinstance(kind, (Each, Several)) else kind
        joint = "; " if isinstance(kind, Tables) else ", "
        return joint.join(_value(inner, v, system) for v in value) or NONE
    if value is None:
        return NONE
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        if math.isinf(value):
            return "no limit"
        write = _WRITE.get(kind.suffix)
        return figure(value) if write is None else write(value, system)
    return str(value)


def _inner(record: Record, system: UnitSystem) -> str:
    """Return a record within another on one line."""
    if isinstance(record, Life):
        return _life(record, system)
    listed = [(label, text) for label, text in figures(record, system) if text != NONE]
    return " ".join(text if label == "name" else f"{label} {text}" for label, text in listed)


def _life(life: Life, system: UnitSystem) -> str:
    kind, _ = keys_of(Life)["value"].measures[life.by.replace("-", "_")]
    text = _value(kind, life.value, system)
    text = f"{text} holes" if life.by == "holes" else text
    text = f"G-ratio {text}" if life.by == "g-ratio" else text
    only = [str(life.stone)] if life.stone is not None else []
    if life.thickness_mm is not None:
        only.append(format_thickness(life.thickness_mm, system))
    return f"{text} ({', '.join(only)})" if only else text


def figures(record: Record, system: UnitSystem) -> list[tuple[str, str]]:
    """Return every figure of a catalogue record, written with its unit.

    Returns
    -------
    list of (str, str)
        Key and text, in the order of the reference; title, source, steps and sections are left
        to the caller.
    """
    found: list[tuple[str, str]] = []
    for name, key in keys_of(type(record)).items():
        if key.name in _APART or key.measures:
            continue
        value = getattr(record, name)
        if key.name == "thicknesses":
            text = ", ".join(format_thickness(v, system) for v in value) or NONE
        elif key.currency:
            per = f"/{key.kind.per}" if isinstance(key.kind, Rate) else ""
            text = NONE if not value else f"{value} {getattr(record, key.currency)}{per}"
        else:
            text = _value(key.kind, value, system)
        if text == NONE and key.name in _ALL:
            text = "all"
        found.append((key.name.replace("_", " "), text))
    return found


def _records(catalogue: Catalogue, kind: str) -> Mapping[str, Any]:
    records: Mapping[str, Any] = getattr(catalogue, kind)
    return records


def catalogue_table(catalogue: Catalogue, chosen: Iterable[tuple[str, str]]) -> Table[Figure]:
    """Return the figures of some entries, for files.

    Parameters
    ----------
    catalogue : Catalogue
        Everything the shop has.
    chosen : iterable of (kind, name)
        What to list.
    """
    rows = []
    for kind, name in chosen:
        record = _records(catalogue, kind)[name]
        rows += [
            Figure(kind, name, key, value, record.file, record.source)
            for key, value in _flat(as_json(record))
            if key not in {"name", "file", "source"}
        ]
    return Table(FIGURES, rows)


def _flat(value: Any, prefix: str = "") -> Iterable[tuple[str, Any]]:
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from _flat(inner, f"{prefix}.{key}" if prefix else key)
    elif isinstance(value, list):
        for number, inner in enumerate(value, 1):
            yield from _flat(inner, f"{prefix}[{number}]")
    else:
        yield prefix, value


COUNTS: Final = Sheet[tuple[str, int]](
    (
        Column(key="kind", get=lambda row: row[0]),
        Column(key="entries", get=lambda row: row[1]),
    )
)
"""How many entries of each kind there are."""


def count_table(catalogue: Catalogue) -> Table[tuple[str, int]]:
    """Return how many entries of each kind a catalogue has."""
    return Table(COUNTS, [(kind, len(_records(catalogue, kind))) for kind in KINDS])


def check_parts(shop: str, catalogue: Catalogue) -> Iterator[Block]:
    """Make the document of a shop folder without errors."""
    listed = ", ".join(f"{number} {kind}" for kind, number in count_table(catalogue).rows)
    yield Line(f"{shop}: no errors.")
    yield Line(f"With the shipped entries it does not replace: {listed}.")
    rules = catalogue.layers.rules
    if len({rule.source.rpartition(":")[0] for rule in rules}) > 1:
        yield from rule_parts(rules)


def catalogue_parts(catalogue: Catalogue) -> list[Block]:
    """Return the overview: what there is of each kind."""
    shop = catalogue.shop
    defaults = {"machines": shop.machine, "stacks": shop.stack, "stones": shop.stone}
    parts: list[Block] = []
    for kind in KINDS:
        records = _records(catalogue, kind)
        parts += [
            Heading(f"{kind.capitalize()} ({len(records)})"),
            Table(
                ENTRIES,
                [
                    (name, record.title + (" (default)" if defaults.get(kind) == name else ""))
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
            parts.append(Table(_steps(record.steps), list(enumerate(record.steps, 1))))
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
    groups: dict[str, list[Written]] = {"": []}
    for key, text in written.items():
        if key == "title" or key.partition(".")[0] == "source":
            continue
        # step[3].feed goes under step[3]; so does section[1].points[2].u under section[1].
        group, inside, inner = key.partition("].")
        name_of_group = f"{group}]" if inside else ""
        groups.setdefault(name_of_group, []).append(
            Written(inner, text) if inside else Written(key, text, sources.pop(key, None))
        )
    top = groups.pop("")
    parts: list[Block] = [
        Heading(f"{name}: {record.title}"),
        Table(KEYS, top),
    ]
    for group, rows in groups.items():
        parts += [Heading(group), Table(INNER, rows)]
    parts.append(Line(""))
    rest = sources.pop("all", record.source)
    parts += [Line(f"Source of {key}: {text}", hang=2) for key, text in sources.items()]
    parts.append(Line(f"Source of the rest: {rest}", hang=2))
    parts.append(Line(f"File: {record.file}", hang=2))
    return parts


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
