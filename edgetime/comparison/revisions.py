"""Two revisions of a drawing: what changed in parts, edges, openings, lengths, time and price."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import replace
from typing import Final

from edgetime.comparison.revisions_costs import prices_of, times_of
from edgetime.comparison.revisions_parts import Comparer
from edgetime.comparison.revisions_records import (
    Counted,
    Displacement,
    ProfileChange,
    RevisedDrawing,
    Revision,
)
from edgetime.comparison.revisions_sides import sides_of
from edgetime.errors import UsageError, Where
from edgetime.estimating import Estimate
from edgetime.takeoff import TakeOff

TOLERANCE_MM: Final = 0.1
"""Lines nearer than this are one line [mm]: coordinates of a drawing saved in inches with three
decimals are rounded by 0.013 mm, and nobody moves an edge by a tenth on purpose."""

_MOST_MM: Final = 5.0
"""With a greater tolerance, edges would be taken for their neighbours."""


def compare_revisions(
    new: TakeOff | Estimate,
    old: TakeOff | Estimate,
    *,
    tolerance_mm: float = TOLERANCE_MM,
    price: bool = False,
    seams: Collection[str] = ("seam",),
) -> Revision:
    """Find what changed from one revision of a load's drawings to the next.

    A drawing saved anew, with other handles, start points, directions, units or order, has not
    changed. A part that lies elsewhere or is turned has moved; its mirror image is another part.

    Parameters
    ----------
    new, old : TakeOff or Estimate
        Both revisions; from estimates, of one shop and with one set of options, times are
        compared too.
    tolerance_mm : float
        Lines this near coincide, above 0 and up to 5 [mm].
    price : bool
        Whether prices are compared; needs estimates.
    seams : collection of str
        Profiles that are joints.

    Returns
    -------
    Revision
        Parts, edges, openings, lengths, and times and prices where there are any.

    Raises
    ------
    UsageError
        The tolerance is out of range, or prices are asked for without estimates.
    CatalogueInvalid
        Prices are in two currencies.

    Examples
    --------
    >>> from edgetime import compare_revisions, estimate
    >>> revision = compare_revisions(estimate(["b.dxf"]), estimate(["a.dxf"]))  # doctest: +SKIP
    >>> [part.title for part in revision.parts if part.edges]  # doctest: +SKIP
    """
    if not 0.0 < tolerance_mm <= _MOST_MM:
        raise UsageError(
            f"{tolerance_mm:g} mm is not a tolerance above 0 and up to {_MOST_MM:g} mm.",
            where=Where(key="--tolerance"),
            remedy="0.1 mm serves drawings that were saved anew.",
        )
    estimates = (new, old) if isinstance(new, Estimate) and isinstance(old, Estimate) else None
    if price and estimates is None:
        raise UsageError(
            "A price needs the times of both revisions.",
            where=Where(key="--price"),
            remedy="Give estimates, not take-offs.",
        )
    after, before = (s.take_off if isinstance(s, Estimate) else s for s in (new, old))
    parts, frame = Comparer(before, after, tolerance_mm).changes()
    made = Revision(
        tolerance_mm=tolerance_mm,
        drawings=_drawings(after),
        old_drawings=_drawings(before),
        frame=Displacement(frame.shift.real, frame.shift.imag, frame.rotation_rad),
        parts=parts,
        profiles=_profiles(before, after),
        seams=_seams(before, after, seams),
        cutouts=_counted(
            [[c.perimeter_mm for p in t.parts for c in p.cutouts] for t in (after, before)]
        ),
        holes=_counted(
            [[h.perimeter_mm for p in t.parts for h in p.holes] for t in (after, before)]
        ),
        findings=after.findings,
        old_findings=before.findings,
        take_offs=(before, after),
    )
    return made if estimates is None else with_times(made, *estimates, price=price)


def with_times(revision: Revision, new: Estimate, old: Estimate, *, price: bool) -> Revision:
    """Return two revisions with their times, and their prices if asked for.

    Parameters
    ----------
    revision : Revision
        Of the take-offs of both estimates.
    new, old : Estimate
        Of one shop and with one set of options.
    price : bool
        Whether prices are compared.
    """
    return replace(revision, times=times_of(new, old), price=prices_of(new, old) if price else None)


def _drawings(take_off: TakeOff) -> tuple[RevisedDrawing, ...]:
    return tuple(RevisedDrawing(d.path, d.units, d.digest) for d in take_off.drawings)


def _profiles(before: TakeOff, after: TakeOff) -> tuple[ProfileChange, ...]:
    sums: list[dict[str, float]] = []
    for take_off in (after, before):
        lengths: dict[str, float] = defaultdict(float)
        for drawing in take_off.drawings:
            for profile, length in drawing.lengths_by_profile_mm.items():
                lengths[profile] += length
        sums.append(lengths)
    return tuple(
        ProfileChange(name, sums[0].get(name, 0.0), sums[1].get(name, 0.0))
        for name in sorted({*sums[0], *sums[1]})
    )


def _seams(before: TakeOff, after: TakeOff, names: Collection[str]) -> Counted:
    return _counted(
        [
            [
                side.length_mm
                for part in take_off.parts
                for contour in part.contours()
                if any(e.profile in names for e in contour.edges)
                for side in sides_of(contour)
                if side.profile in names
            ]
            for take_off in (after, before)
        ]
    )


def _counted(lengths: Sequence[Sequence[float]]) -> Counted:
    new, old = lengths
    return Counted(len(new), len(old), float(sum(new)), float(sum(old)))
