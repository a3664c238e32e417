"""Which of several curves on one stretch gives it its profile, and what to say of the others.

The entities of a sheet are in order of claim, so the smallest number on a stretch wins. Here
is kept which curve lost which stretch to which other, and which curves lie on which: the
latter still say that a loop is an opening and how it is made.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

import numpy as np

from edgetime.findings import Code, Severity
from edgetime.geometry.path import IntArray
from edgetime.takeoff import codes
from edgetime.takeoff.by_layer import SHAPES, Sheet
from edgetime.takeoff.coincide import Meetings, Stretches, label_stretches
from edgetime.takeoff.notes import Notes
from edgetime.takeoff.pieces import Pieces
from edgetime.tooling.layers import Meaning

_REASONS = {
    codes.PROFILE_CONFLICT.name: "its layer rule comes first",
    codes.WORKED_OVER_UNFINISHED.name: "worked edges come before unfinished ones",
    codes.SEAM_OVER_PROFILE.name: "an edge that is joined is not seen",
}

_Pair = tuple[int, int]
_Place = tuple[float, float]


class Claims:
    """Curves of one drawing that lie on one another.

    Parameters
    ----------
    sheet : Sheet
        The drawing's curves, in order of claim.
    """

    def __init__(self, sheet: Sheet) -> None:
        self._sheet = sheet
        self._length: dict[_Pair, float] = defaultdict(float)
        self._place: dict[_Pair, _Place] = {}
        self._on: dict[int, set[int]] = defaultdict(set)

    def lies_on(self, one: int, other: int) -> None:
        """Keep that one entity lies on another; lines of edges say nothing of openings."""
        if {self._sheet.meaning(one), self._sheet.meaning(other)} <= SHAPES:
            self._on[other].add(one)

    def with_covered(self, entities: Iterable[int]) -> list[int]:
        """Return entities and all that were found lying on them, in order of claim."""
        out: set[int] = set()
        todo = list(entities)
        while todo:
            one = todo.pop()
            if one not in out:
                out.add(one)
                todo += self._on.get(one, ())
        return sorted(out)

    def label(
        self,
        base: Pieces,
        found: Stretches,
        over: Pieces,
        *,
        copies: bool = True,
    ) -> tuple[Pieces, IntArray]:
        """Label a base by what lies on it, as :func:`label_stretches`, and keep who lost what.

        Without ``copies`` curves of one meaning and profile on each other are passed over.
        """
        pieces, parents, meetings = label_stretches(base, found, over)
        self.met(meetings, copies=copies)
        pairs = np.column_stack([base.entity[found.base], over.entity[found.other]])
        for one, other in np.unique(pairs, axis=0).tolist():
            self.lies_on(other, one)
        return pieces, parents

    def met(self, meetings: Meetings, *, copies: bool = True) -> None:
        """Keep the stretches at which one curve lost to another."""
        columns = (meetings.winner, meetings.loser, meetings.kept, meetings.lost)
        kinds, where = np.unique(np.column_stack(columns), axis=0, return_inverse=True)
        where = where.ravel()
        first = np.unique(where, return_index=True)[1]
        length = np.bincount(where, weights=meetings.length, minlength=len(kinds))
        for k, (winner, loser, kept, lost) in enumerate(kinds.tolist()):
            self.lies_on(lost, kept)
            # A copy with the same curve over it has the same claim; it is the copy that is told.
            pair = (kept, lost) if winner == loser else (winner, loser)
            if copies or self._verdict(*pair) is not codes.DUPLICATE_CURVE:
                x, y = meetings.place[first[k]].tolist()
                self.lost(*pair, float(length[k]), (x, y))

    def lost(self, winner: int, loser: int, length_mm: float, place: _Place) -> None:
        """Keep that a curve lost to another, if there is anything to be said of it."""
        pair = (winner, loser)
        if self._verdict(*pair) is not None:
            self._length[pair] += length_mm
            self._place[pair] = min(self._place.get(pair, place), place)

    def copied(self, kept: int, lost: int, length_mm: float, place: _Place) -> None:
        """Keep that a loop led by one entity lies on the loop of another of the same kind."""
        if self._verdict(kept, lost) is codes.DUPLICATE_CURVE:
            self.lost(kept, lost, length_mm, place)

    def _verdict(self, winner: int, loser: int) -> Code | None:
        """Return what is to be said of a curve on another one, None for nothing."""
        sheet = self._sheet
        one, two = sheet.profile(winner), sheet.profile(loser)
        if one == two:
            alike = sheet.meaning(winner) is sheet.meaning(loser)
            return codes.DUPLICATE_CURVE if alike else None
        if one is None or two is None:
            # A line without a profile under one that has it: the habit of overlays.
            return None
        if sheet.meaning(winner) is Meaning.SEAM:
            return codes.SEAM_OVER_PROFILE
        return codes.PROFILE_CONFLICT if sheet.worked(loser) else codes.WORKED_OVER_UNFINISHED

    def note(self, notes: Notes) -> None:
        """Write a finding for each pair of curves of which one does not count.

        What is only to be known is reported once for each two layers.
        """
        sheet = self._sheet
        told: dict[tuple[Code, object, object], list[_Pair]] = defaultdict(list)
        for winner, loser in sorted(self._length):
            code = self._verdict(winner, loser)
            if code is None:
                continue
            pair: tuple[object, object] = winner, loser
            if code.severity is Severity.NOTE:
                pair = sheet.entities[winner].layer, sheet.entities[loser].layer
            told[code, *pair].append((winner, loser))
        for (code, *_), own in told.items():
            self._tell(code, own, notes)

    def _tell(self, code: Code, pairs: list[_Pair], notes: Notes) -> None:
        sheet = self._sheet
        winner, loser = pairs[0]
        length = sum(self._length[pair] for pair in pairs)
        name = sheet.name(winner)
        one, two = sheet.profile(winner), sheet.profile(loser)
        if code is codes.DUPLICATE_CURVE:
            text = f"{length:.1f} mm lie on another curve ({name}); they count once."
        else:
            text = (
                f"{length:.1f} mm are drawn as {two} and as {one} ({name}); {one} counts, "
                f"since {_REASONS[code.name]}."
            )
        info = sheet.entities[loser]
        notes.add(code, text, of=info, at=self._place[winner, loser])
