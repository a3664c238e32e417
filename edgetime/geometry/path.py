"""The one planar curve of the project: a chain of straight and circular segments.

A segment runs from one vertex to the next with a *bulge*, the tangent of a quarter of
the angle it turns (0 straight, 1 a half circle to the left, negative to the right; the
DXF reference's definition of group code 42). The form is closed under everything a tool
path needs: reversal swaps ends and negates the bulge, a parallel curve moves the ends
along their normals and keeps the bulge.

Ellipses and splines are carried as arcs within a tolerance *with their own exact length
per segment*, so that no length ever comes from an approximation.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]


def segment_lengths(points: FloatArray, bulges: FloatArray) -> FloatArray:
    """Return the exact length of each segment [mm].

    The arc over a chord c with bulge b has length ``c (1 + b²) atan(b) / b``.

    Parameters
    ----------
    points : (n + 1, 2) array
        Vertices [mm].
    bulges : (n,) array
        Tangent of a quarter of the turned angle [-].

    Returns
    -------
    (n,) array
        Lengths [mm].
    """
    step = np.diff(points, axis=0)
    chord = np.hypot(step[:, 0], step[:, 1])
    b = np.abs(bulges)
    # atan(b)/b loses nothing for small b, but 0/0 must be 1.
    ratio = np.divide(np.arctan(b), b, out=np.ones_like(b), where=b > 0.0)
    return np.asarray(chord * (1.0 + b * b) * ratio)


_WANDERS: Final = 1e-4
"""An arc within a hundredth of a millimetre of a curve is as long as it to better than this [-]."""


def travelled(drawn: FloatArray, followed: FloatArray) -> FloatArray:
    """Return how far a tool goes along segments that represent a drawn curve.

    Parameters
    ----------
    drawn : (n,) array
        Length of the curve each segment represents [mm].
    followed : (n,) array
        Length of the segment itself [mm].

    Returns
    -------
    (n,) array
        The curve's own length, which is exact, but where it differs by more than a fit within
        hundredths can: there chords or a digitiser's noise were drawn, and the tool follows the
        line or arc [mm].
    """
    wanders = np.abs(drawn - followed) > _WANDERS * followed
    return np.asarray(np.where(wanders, followed, drawn))


@dataclass(frozen=True, eq=False)
class Path:
    """A chain of n straight or circular segments.

    Attributes
    ----------
    points : (n + 1, 2) array
        Vertices [mm]. A closed path repeats its first vertex at the end.
    bulges : (n,) array
        Tangent of a quarter of the angle each segment turns, positive to the left [-].
    lengths : (n,) array
        Exact length of the curve each segment represents [mm]. For true lines and arcs
        this equals :func:`segment_lengths`; for a piece of a spline or ellipse it is the
        length of the original.
    closed : bool
        Whether the path returns to its start.
    tags : (n,) integer array
        One number a segment for the owner's use (entity index, edge index); it is carried
        through reversal, splitting and offsetting.
    """

    points: FloatArray
    bulges: FloatArray
    lengths: FloatArray
    closed: bool
    tags: IntArray

    @classmethod
    def from_bulges(
        cls,
        points: object,
        bulges: object = None,
        *,
        closed: bool = False,
        lengths: object = None,
        tags: object = None,
    ) -> Path:
        """Build a path from anything array-like.

        Parameters
        ----------
        points : (m, 2) array_like
            Vertices [mm]. With ``closed`` the first vertex need not be repeated; it is
            appended when the last vertex differs from it.
        bulges : (n,) array_like, optional
            One per segment; zero when omitted.
        closed : bool
            Whether the path returns to its start.
        lengths : (n,) array_like, optional
            Exact lengths [mm]; from the segments when omitted.
        tags : (n,) array_like, optional
            Integer per segment; zero when omitted.
        """
        pts = np.array(points, dtype=np.float64).reshape(-1, 2)
        if closed and len(pts) and not np.array_equal(pts[0], pts[-1]):
            pts = np.vstack([pts, pts[:1]])
        n = max(len(pts) - 1, 0)
        bul = np.zeros(n) if bulges is None else np.array(bulges, dtype=np.float64).reshape(n)
        length = (
            segment_lengths(pts, bul)
            if lengths is None
            else np.array(lengths, dtype=np.float64).reshape(n)
        )
        tag = (
            np.zeros(n, dtype=np.int64)
            if tags is None
            else np.array(tags, dtype=np.int64).reshape(n)
        )
        return cls(pts, bul, length, closed, tag)

    def __len__(self) -> int:
        return len(self.bulges)

    @property
    def length_mm(self) -> float:
        """Total exact length [mm]."""
        return float(self.lengths.sum())

    def reversed(self) -> Path:
        """Return the path run the other way."""
        return Path(
            self.points[::-1].copy(),
            -self.bulges[::-1],
            self.lengths[::-1].copy(),
            self.closed,
            self.tags[::-1].copy(),
        )

    def slice(self, first: int, stop: int) -> Path:
        """Return segments ``first`` to ``stop - 1`` as an open path (the whole if it is all)."""
        whole = self.closed and first == 0 and stop == len(self)
        return Path(
            self.points[first : stop + 1],
            self.bulges[first:stop],
            self.lengths[first:stop],
            whole,
            self.tags[first:stop],
        )
