"""One DXF file to one :class:`Drawing`: the only place where the DXF library is loaded."""

from __future__ import annotations

import io
import logging
import os
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from edgetime.drawing import codes
from edgetime.drawing.affine import Affine, scaling, trace
from edgetime.drawing.assembly import assemble, size_of
from edgetime.drawing.blocks import Blocks, read_layout
from edgetime.drawing.drawing import Drawing, LayerState
from edgetime.drawing.mending import mend_always, mend_decimal_commas, strip_to_geometry
from edgetime.drawing.place import Builder, Place, whole
from edgetime.drawing.source import Source, load_source, to_ascii
from edgetime.errors import (
    DrawingUnitsUnknown,
    DrawingUnreadable,
    EdgetimeError,
    UsageError,
    Where,
)
from edgetime.findings import Finding, Severity
from edgetime.units import DRAWING_UNIT_NAMES, INSUNITS


def read_drawing(path: str | os.PathLike[str], *, drawing_units: str | None = None) -> Drawing:
    """Read a DXF file into world coordinates and millimetres.

    Parameters
    ----------
    path : str or path-like
        ASCII or binary DXF, R10 to R2018.
    drawing_units : str, optional
        What a drawing unit is: ``mm``, ``cm``, ``m``, ``in`` or ``ft``. Overrides the
        drawing's own $INSUNITS, and is needed where that is missing or 0.

    Returns
    -------
    Drawing
        Curves, texts, layers and what reading found. A drawing without any curve is returned
        too, with an error finding.

    Raises
    ------
    DrawingUnreadable
        Missing, no DXF, damaged beyond use, cut off, or a block inserts itself.
    DrawingUnitsUnknown
        Neither the drawing nor the option says what its numbers mean.
    LimitExceeded
        The file or what its inserts show is larger than the stated limits.
    UsageError
        ``drawing_units`` is none of the five.
    """
    name = os.fspath(path)
    if drawing_units is not None and drawing_units not in DRAWING_UNIT_NAMES:
        raise UsageError(
            f"{drawing_units!r} is not a drawing unit.",
            where=Where(key="--drawing-units"),
            remedy=f"Choose one of {', '.join(DRAWING_UNIT_NAMES)}.",
        )
    source = load_source(name)
    with _quiet():
        document = _open(source)
        units, mm_per_unit, found = _units(document, name, drawing_units)
        try:
            builder = _extract(document, source, mm_per_unit or 1.0)
        except EdgetimeError:
            raise
        except Exception as error:
            raise _unreadable(name, error) from error
    known = mm_per_unit is not None
    drawing = assemble(
        builder,
        digest=source.digest,
        units=units if known else "mm",
        mm_per_unit=mm_per_unit or 1.0,
        first=[*_repairs(source), *found],
    )
    if not known and drawing.entities:
        raise _units_unknown(drawing)
    return drawing


@contextmanager
def _quiet() -> Iterator[None]:
    """Keep the library's log and warnings off the screen."""
    log = logging.getLogger("ezdxf")
    before = log.disabled
    log.disabled = True
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            yield
    finally:
        log.disabled = before


def _unreadable(path: str, error: BaseException) -> DrawingUnreadable:
    said = " ".join(str(error).split()) or type(error).__name__
    return DrawingUnreadable(
        f"The file is damaged beyond reading: {said}.",
        where=Where(path=path),
        remedy="Open it in the drawing program, repair it there and export it again.",
    )


def _open(source: Source) -> Any:
    """Return the library's document: read as it is, else mended, else recovered."""
    from ezdxf import filemanagement, recover  # noqa: PLC0415  heavy

    mend_always(source)
    reason = "sections of one name occur several times"
    if source.sections == 1:
        for mend in (None, mend_decimal_commas):
            if mend is not None and not mend(source):
                break
            try:
                return filemanagement.read(io.StringIO(source.text))
            except Exception as error:  # noqa: BLE001  the library lets much more through than its own
                reason = " ".join(str(error).split()) or type(error).__name__
    else:
        mend_decimal_commas(source)
    try:
        document, auditor = recover.read(io.BytesIO(to_ascii(source.text)))
    except Exception as first:  # noqa: BLE001
        strip_to_geometry(source)
        try:
            document, auditor = recover.read(io.BytesIO(to_ascii(source.text)))
        except Exception as error:
            raise _unreadable(source.path, first) from error
        source.repairs.append("all but curves, texts, layers and blocks was passed over")
    if source.sections == 1:
        source.repairs.append(f"the file was recovered ({reason.rstrip('.')})")
    told = [*auditor.fixes, *auditor.errors]
    for entry in told[:5]:
        source.repairs.append(" ".join(entry.message.split()).rstrip("."))
    if len(told) > 5:
        source.repairs.append(f"{len(told) - 5} more repairs")
    return document


def _repairs(source: Source) -> Iterator[Finding]:
    where = Where(path=source.path)
    if source.repairs:
        message = f"Mended on reading: {'; '.join(source.repairs)}."
        yield Finding(codes.DRAWING_REPAIRED, message, where)
    if source.remarks:
        message = f"Odd, but read: {'; '.join(source.remarks)}."
        yield Finding(codes.DRAWING_REPAIRED, message, where, Severity.NOTE)


def _units(document: Any, path: str, option: str | None) -> tuple[str, float | None, list[Finding]]:
    """Return name and size of a drawing unit (None if unknown), and findings."""
    code = document.header.get("$INSUNITS", 0) if "$INSUNITS" in document.header else 0
    try:
        header, header_mm = INSUNITS.get(int(code), ("unitless", None))
    except (TypeError, ValueError):
        header, header_mm = "unitless", None
    if option is None:
        return header, header_mm, []
    mm = DRAWING_UNIT_NAMES[option]
    if header_mm is None or header_mm == mm:
        return option, mm, []
    message = f"$INSUNITS says {header}, --drawing-units says {option}: {option} is used."
    return option, mm, [Finding(codes.UNITS_OVERRIDDEN, message, Where(path=path))]


def _units_unknown(drawing: Drawing) -> DrawingUnitsUnknown:
    width, height = size_of(drawing)
    return DrawingUnitsUnknown(
        "The drawing has no units ($INSUNITS is missing or 0). In mm it "
        f"would measure {width:.1f} x {height:.1f} mm, in inches "
        f"{width * 25.4:.0f} x {height * 25.4:.0f} mm.",
        where=Where(path=drawing.path),
        remedy="State them: --drawing-units mm|cm|m|in|ft.",
    )


def _extract(document: Any, source: Source, mm_per_unit: float) -> Builder:
    layers: dict[str, LayerState] = {}
    for layer in document.layers:
        state = LayerState.SHOWN
        if layer.is_frozen():
            state = LayerState.FROZEN
        elif layer.is_off():
            state = LayerState.OFF
        layers[whole(layer.dxf.name)] = state
    builder = Builder(source.path, layers, {name.lower(): name for name in layers})
    blocks = Blocks(source.path, document.blocks)
    model = list(document.modelspace())
    blocks.check(model)
    world: Affine = scaling(mm_per_unit)
    read_layout(builder, blocks, model, Place(world, trace(world, None, 0.0)))
    return builder
