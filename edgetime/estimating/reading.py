"""From drawings to their take-off with a shop's rules; loads none of the stages after it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from edgetime.drawing import read_drawing
from edgetime.errors import UsageError, Where
from edgetime.progress import track
from edgetime.takeoff import TakeOff, take_off
from edgetime.takeoff.layer_use import layers_command
from edgetime.tooling import Catalogue


def read_take_off(
    drawings: Sequence[str | Path], catalogue: Catalogue, *, drawing_units: str | None = None
) -> TakeOff:
    """Read drawings and take off their parts with a shop's layer rules.

    Parameters
    ----------
    drawings : sequence of path
        DXF files of one load.
    catalogue : Catalogue
        Gives layer rules, profile names and core-bit diameters.
    drawing_units : str, optional
        What the drawings' numbers mean; from each file when omitted.

    Raises
    ------
    InputError
        Any drawing that cannot be used fails the whole load.
    UsageError
        The same file is named twice, or none is.
    """
    check_named_once(drawings)
    return take_off(
        [
            read_drawing(path, drawing_units=drawing_units)
            for path in track(drawings, "reading drawings")
        ],
        catalogue.layers,
        profiles=tuple(catalogue.profiles),
        core_diameters_mm=catalogue.core_diameters_mm(),
        contour_mm=catalogue.shop.contour_tolerance_mm,
        layers_command=_layers_command(drawings, catalogue, drawing_units),
    )


def check_named_once(drawings: Sequence[str | Path]) -> None:
    """Refuse a load of no drawings, or with one that is named twice."""
    if not drawings:
        raise UsageError("No drawing was named.", remedy="Name at least one DXF file.")
    seen: dict[Path, str] = {}
    for path in drawings:
        resolved = Path(path).resolve()
        if resolved in seen:
            raise UsageError(
                "The drawing is named twice; its parts would lie on top of one another.",
                where=Where(path=str(path)),
                remedy="Name each drawing once; copy the file to cut its parts twice.",
            )
        seen[resolved] = str(path)


def _layers_command(
    drawings: Sequence[str | Path], catalogue: Catalogue, drawing_units: str | None
) -> str:
    """Return the command that proposes rules for the layers of these drawings."""
    units = () if drawing_units is None else ("--drawing-units", drawing_units)
    return layers_command([str(d) for d in drawings], (*units, *catalogue.layers.options))
