"""``--dxf-out``: what a command read or planned, as a drawing to lay over the original."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from edgetime.cli.ask import ask
from edgetime.cli.output import write_whole
from edgetime.errors import UsageError, Where

if TYPE_CHECKING:
    from edgetime.estimating import Estimate
    from edgetime.takeoff import TakeOff

DxfOutOption = Annotated[
    Path | None,
    ask(
        "FILE",
        "Also write edges by profile, tool-centre paths by tool (estimate only), starts and "
        "findings to a .dxf, each on a layer of its own, to lay over the drawing.",
    ),
]


def dxf_target(target: Path | None, drawings: Sequence[str]) -> None:
    """Refuse a file that is not a DXF, or is one of the drawings.

    Raises
    ------
    UsageError
        Either of them.
    """
    if target is None:
        return
    if target.suffix.lower() != ".dxf":
        raise UsageError(
            f"{target} does not end with .dxf.",
            where=Where(key="--dxf-out"),
            remedy="End the name of the file with .dxf.",
        )
    refuse_overwriting(target, drawings, "--dxf-out")


def refuse_overwriting(target: Path, drawings: Sequence[str], option: str) -> None:
    """Refuse to write over a drawing that was read.

    Raises
    ------
    UsageError
        The file is one of the drawings.
    """
    if any(target.resolve() == Path(d).resolve() for d in drawings):
        raise UsageError(
            f"{target} is the drawing itself.",
            where=Where(key=option),
            remedy="Write to another file.",
        )


def write_dxf(target: Path, source: TakeOff | Estimate, tools: Sequence[str] = ()) -> None:
    """Write a take-off or an estimate, whole or not at all."""
    from edgetime.picture.dxf import plan_dxf  # noqa: PLC0415  brings ezdxf

    write_whole(target, plan_dxf(source, tools))
