"""What the page's script needs: the tool's track, the order of work, times at each edge."""

from __future__ import annotations

import base64
import json
import zlib
from collections import defaultdict
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from edgetime.cycle import WallClock
from edgetime.moves import NO_INDEX
from edgetime.picture.scene import EdgeShape, Scene
from edgetime.picture.track import Track, tool_track

if TYPE_CHECKING:
    from edgetime.estimating import Estimate

PLACE_UNITS: Final = 10.0
"""Places are carried in tenths of a millimetre."""

TIME_UNITS: Final = 1000.0
"""Moments are carried in milliseconds: at traverse speed a tool moves a millimetre in one."""

PAGE_OFF_MM: Final = 0.5
"""With both roundings the page's tool is within a millimetre of the motion model's [mm]."""


def deflated(content: bytes) -> str:
    """Return bytes deflated and as base64, as the page's script inflates them."""
    return base64.b64encode(zlib.compress(content, 9)).decode("ascii")


def packed(track: Track) -> str:
    """Return a track as deflated columns of 32-bit differences.

    The columns are time, x, y, z, kind, visit. Differences of neighbours are small numbers,
    which deflate well.
    """
    columns = [
        np.rint(track.time_s * TIME_UNITS),
        *(np.rint(track.place_mm[:, axis] * PLACE_UNITS) for axis in range(3)),
        track.kind.astype(np.float64),
        track.visit.astype(np.float64),
    ]
    # All lowest bytes of a column side by side, then the next: zeros make long runs.
    planes = [
        np.diff(column, prepend=0.0).astype("<i4").view(np.uint8).reshape(-1, 4).T.tobytes()
        for column in columns
    ]
    return deflated(b"".join(planes))


def edge_times(est: Estimate, scene: Scene) -> dict[tuple[int, int, int], list[list[Any]]]:
    """Return the seconds each tool spends at each edge.

    A pass runs over several edges in one go; its time at a profile of a contour is divided
    among the edges of that profile there by their length.

    Returns
    -------
    dict
        (part, contour, number of the edge) → list of [visit from 1, seconds].
    """
    moves, plan = est.paths.moves, est.plan
    own = (moves.pass_index != NO_INDEX) & (moves.profile != NO_INDEX)
    contour_of = np.array([p.run.contour for p in plan.passes], dtype=np.int64)
    spent = est.motion.seconds + moves.dwell
    at: defaultdict[tuple[int, int, str], defaultdict[int, float]] = defaultdict(
        lambda: defaultdict(float)
    )
    rows = np.flatnonzero(own)
    for part, contour, profile, visit, seconds in zip(
        moves.part[rows].tolist(),
        contour_of[moves.pass_index[rows]].tolist(),
        moves.profile[rows].tolist(),
        moves.visit[rows].tolist(),
        spent[rows].tolist(),
        strict=True,
    ):
        at[part, contour, plan.profiles[profile]][visit + 1] += seconds
    whole: defaultdict[tuple[int, int, str], float] = defaultdict(float)
    for edge in scene.edges:
        whole[_key(edge)] += edge.length_mm
    return {
        (edge.part, edge.contour, edge.number): [
            [visit, round(seconds * edge.length_mm / whole[_key(edge)], 2)]
            for visit, seconds in sorted(at[_key(edge)].items())
        ]
        for edge in scene.edges
        if whole[_key(edge)] > 0.0 and _key(edge) in at
    }


def _key(edge: EdgeShape) -> tuple[int, int, str]:
    return edge.part, edge.contour, edge.profile


def page_data(est: Estimate, scene: Scene, wall: WallClock | None) -> str:
    """Return the page's data as JSON that may be put inside a script element.

    The order of work and the times at edges are long and repeat themselves: they are deflated.
    """
    visits = est.cycle.visits
    total = est.cycle.total_s
    ids = [p.part_id for p in scene.parts]
    stops = [
        {
            "at": visits[s.before_visit].starts_s if s.before_visit < len(visits) else total,
            "reason": s.reason,
            "seconds": s.seconds,
        }
        for s in est.plan.stops
    ]
    more = {
        "rows": [
            [round(r.starts_s, 3), r.visit, r.kind,
             _row_text(r.part_id, r.place, r.profile, r.pass_number, r.passes),
             *([] if r.x_mm is None or r.y_mm is None else [round(r.x_mm), round(r.y_mm)])]
            for r in est.order
        ],
        "edges": {
            f"{ids[part]}/{contour}/{number}": times
            for (part, contour, number), times in edge_times(est, scene).items()
        },
    }  # fmt: skip
    data = {
        "total": total,
        "track": packed(tool_track(est, off_mm=PAGE_OFF_MM)),
        "tools": [
            {
                "name": v.piece,
                "operation": v.operation,
                "start": v.starts_s,
                "diameter": est.load.diameter_mm(v.piece),
            }
            for v in visits
        ],
        "stops": stops,
        "start": None if wall is None else [wall.start.isoformat(), wall.dated],
        "more": deflated(_compact(more)),
    }
    # "</script>" and "<!--" in a name would end the element.
    return _compact(data).decode().replace("<", "\\u003c")


def _compact(data: Any) -> bytes:
    return json.dumps(data, separators=(",", ":")).encode()


def _row_text(
    part: str | None, place: str | None, profile: str | None, number: int | None, passes: int | None
) -> str:
    if not part:
        return ""
    of = f", pass {number} of {passes}" if number is not None and passes != 1 else ""
    return f"{part} {place}{f' {profile}' if profile else ''}{of}"
