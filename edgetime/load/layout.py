"""What lies where: the parts that are wanted, apart, placed, and as often as wanted."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from edgetime.errors import UsageError, Where
from edgetime.findings import Finding
from edgetime.load import codes
from edgetime.load.apart import laid_apart, seam_pairs
from edgetime.load.choice import MOST_COPIES, Copies, chosen_parts, with_copies
from edgetime.load.place import Placement, drawing_index, placed_parts
from edgetime.load.room import clear_gap_mm
from edgetime.takeoff.parts import Part, TakeOff
from edgetime.tooling import Catalogue, Machine, Stack


@dataclass(frozen=True, slots=True, kw_only=True)
class PartChoice:
    """Which parts of the drawings are cut, how often, and how far apart the pieces lie.

    Attributes
    ----------
    only, without : tuple of str
        Ids or names of parts, ``*`` for any text; all parts where ``only`` is empty.
    copies : tuple of Copies
        Drawings that lie on the table more than once.
    apart_mm : float or None
        Gap to be laid between the pieces of a part divided by a seam [mm].
    """

    only: tuple[str, ...] = ()
    without: tuple[str, ...] = ()
    copies: tuple[Copies, ...] = ()
    apart_mm: float | None = None


ALL_AS_DRAWN = PartChoice()
"""Every part once, where it is drawn."""


def seam_names(catalogue: Catalogue) -> frozenset[str]:
    """Return the names of the profiles that are seams."""
    return frozenset({n for n, p in catalogue.profiles.items() if p.family == "seam"} | {"seam"})


def apart_findings(
    take_off: TakeOff, catalogue: Catalogue, choice: PartChoice
) -> tuple[Finding, ...]:
    """Return a finding where pieces are to be laid apart and there are none."""
    if choice.apart_mm is None or seam_pairs(take_off.parts, seam_names(catalogue)):
        return ()
    paths = ", ".join(d.path for d in take_off.drawings)
    return (
        Finding(
            codes.NO_SEAM_TO_LAY_APART,
            f"The parts are to be {choice.apart_mm:g} mm apart, but no parts meet in a seam.",
            Where(path=paths, key="--apart"),
        ),
    )


def _counts(take_off: TakeOff, copies: Iterable[Copies]) -> list[int]:
    """Return how often each drawing lies on the table."""
    asked: dict[int, int] = {}
    key = Where(key="--copies")
    for each in copies:
        index = drawing_index(take_off, each.drawing, "--copies", "copied")
        path = take_off.drawings[index].path
        if index in asked:
            raise UsageError(
                f"The copies of drawing {path} are given twice.",
                where=key,
                remedy="Give them once for each drawing.",
            )
        if not 1 <= each.count <= MOST_COPIES:
            raise UsageError(
                f"{each.count} copies of {path} are asked for; 1 to {MOST_COPIES} are allowed.",
                where=key,
                remedy="Give the number of copies on the table.",
            )
        asked[index] = each.count
    return [asked.get(k, 1) for k in range(len(take_off.drawings))]


def lay_parts(
    take_off: TakeOff,
    catalogue: Catalogue,
    stack: Stack,
    machine: Machine,
    *,
    diameters_mm: Mapping[str, float],
    place: Iterable[Placement],
    choice: PartChoice,
) -> tuple[Part, ...]:
    """Return the parts that are cut, in table coordinates.

    Pieces are laid apart where they are drawn; then drawings are placed; then parts are left
    out, whose places stay empty; then what is left is copied.

    Parameters
    ----------
    take_off : TakeOff
        Parts of all drawings.
    catalogue, stack, machine, diameters_mm
        For the room that wheels need between copies.
    place : iterable of Placement
        Drawings that do not lie where they are drawn.
    choice : PartChoice
        Which parts, how often, how far apart.

    Raises
    ------
    UsageError
        A drawing or part is unknown, or copies do not fit.
    NothingToCut
        No part is left.
    """
    counts = _counts(take_off, choice.copies)
    drawn = [d.parts for d in take_off.drawings]
    if choice.apart_mm is not None:
        seams = seam_names(catalogue)
        drawn = [laid_apart(parts, choice.apart_mm, seams) for parts in drawn]
    laid = placed_parts(take_off, tuple(place), drawn)
    kept = {
        p.part_id
        for p in chosen_parts([p for parts in laid for p in parts], choice.only, choice.without)
    }
    left = [[p for p in parts if p.part_id in kept] for parts in laid]
    for k, (parts, count) in enumerate(zip(left, counts, strict=True)):
        if count > 1 and not parts:
            path = take_off.drawings[k].path
            raise UsageError(
                f"{count} copies of {path} are asked for, but no part of it is to be cut.",
                where=Where(path=path, key="--copies"),
                remedy="Leave --copies out for it, or choose a part of it with --only or "
                "--without.",
            )
    if max(counts, default=1) == 1:
        return tuple(p for parts in left for p in parts)
    gap = clear_gap_mm(catalogue, stack, machine, diameters_mm)
    return with_copies(left, counts, machine.table_mm, gap)
