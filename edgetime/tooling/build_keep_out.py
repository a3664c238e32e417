"""From the tables of a machine's file to its keep-out areas."""

from __future__ import annotations

from collections.abc import Sequence

from edgetime.errors import CatalogueInvalid
from edgetime.geometry.measure import is_simple
from edgetime.geometry.path import Path
from edgetime.takeoff.keepouts import KeepOut, KeepOutKind
from edgetime.tooling.schema import KeepOutTable
from edgetime.tooling.toml_file import TomlFile

_FORMS = (("centre", "diameter"), ("corner", "size"), ("points",))


def build_keep_outs(
    tables: Sequence[KeepOutTable], file: TomlFile, errors: list[CatalogueInvalid]
) -> tuple[KeepOut, ...]:
    """Return the keep-out areas of a machine; append what contradicts itself to ``errors``.

    Parameters
    ----------
    tables : sequence of KeepOutTable
        As checked.
    file : TomlFile
        The machine's file.
    errors : list of CatalogueInvalid
        Takes areas that are no circle, rectangle or polygon.
    """
    out = []
    for number, table in enumerate(tables, 1):
        key = f"keep_out[{number}]"
        path = _path(table)
        if path is None:
            errors.append(
                file.error(
                    f"The area {table.name!r} is no circle, rectangle or polygon.",
                    key=key,
                    remedy="Give centre and diameter, or corner and size, or three points or more.",
                )
            )
        elif not is_simple(path):
            errors.append(
                file.error(
                    f"The polygon {table.name!r} crosses itself.",
                    key=f"{key}.points",
                    remedy="List its vertices in order around it.",
                )
            )
        else:
            kind = KeepOutKind.CUP if table.kind == "cup" else KeepOutKind.SOLID
            out.append(KeepOut(f"{table.kind} {table.name}", kind, (path,), file.name))
    return tuple(out)


def _path(table: KeepOutTable) -> Path | None:
    """Return the outline of an area, None unless exactly one form is given, whole."""
    given = {name for form in _FORMS for name in form if getattr(table, name)}
    if given == {"centre", "diameter"} and table.centre and table.diameter:
        (x, y), r = table.centre, 0.5 * table.diameter
        return Path.from_bulges([(x + r, y), (x - r, y)], [1.0, 1.0], closed=True)
    if given == {"corner", "size"} and table.corner and table.size:
        (x, y), (w, h) = table.corner, table.size
        return Path.from_bulges([(x, y), (x + w, y), (x + w, y + h), (x, y + h)], closed=True)
    if given == {"points"} and len(table.points) >= 3:
        return Path.from_bulges(table.points, closed=True)
    return None
