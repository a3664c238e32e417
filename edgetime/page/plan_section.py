"""The plan of the page with its switches, and the controls of the replay."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from edgetime.cycle import WallClock
from edgetime.labour import KINDS
from edgetime.picture.plan import clean, draw_scene
from edgetime.picture.scene import Scene, Show
from edgetime.report.quantities import format_edge
from edgetime.report.text import clock
from edgetime.units import UnitSystem

if TYPE_CHECKING:
    from edgetime.estimating import Estimate

_SWITCHES: Final = (
    ("labels", "names and letters"),
    ("findings", "findings"),
    ("hand", "finished by hand"),
    ("table", "table"),
)
_SPEEDS: Final = (1, 10, 30, 60, 120, 300)


def plan_rows(
    est: Estimate, scene: Scene, system: UnitSystem, wall: WallClock | None
) -> Iterator[str]:
    """Yield the HTML below the heading of the plan.

    Parameters
    ----------
    est : Estimate
        Any.
    scene : Scene
        What lies on its table.
    system : UnitSystem
        Units of the lengths in the legend and at the edges.
    wall : WallClock or None
        To show times of day.
    """
    svg = draw_scene(
        scene,
        # The script draws the tools that are switched on: all of them would be most of the page.
        show=frozenset(Show) - {Show.PATHS, Show.STARTS},
        length_text=lambda length: format_edge(length, system),
    )
    switches = "".join(
        f'<label><input type="checkbox" data-show="{name}" checked>{said}</label>'
        for name, said in _SWITCHES
    )
    visits = est.cycle.visits
    slowest = max(range(len(visits)), key=lambda v: visits[v].time.total_s, default=-1)
    tools = "".join(
        f'<label><input type="checkbox" data-visit="{v + 1}"{" checked" if v == slowest else ""}>'
        f"{v + 1} {clean(visit.piece)}</label>"
        for v, visit in enumerate(visits)
    )
    speeds = "".join(
        f'<option value="{s}"{" selected" if s == 30 else ""}>{s} x</option>' for s in _SPEEDS
    )
    yield (
        '<div class="controls screen" role="group" aria-label="Replay">'
        '<button id="play" type="button" aria-pressed="false" disabled>Play</button>'
        '<label for="moment">Moment</label>'
        f'<input id="moment" type="range" min="0" max="{est.cycle.total_s:.3f}" step="any" '
        'value="0" disabled>'
        f'<label for="speed">Speed</label><select id="speed">{speeds}</select></div>'
    )
    yield from _stops(est, wall)
    yield '<p id="now" class="now screen"></p>'
    yield (
        '<div class="plan" tabindex="0" role="group" aria-label="Plan of the load">'
        f'<div class="paper">{svg}</div></div>'
    )
    yield (
        '<p id="edge" class="edge" role="status">Point at an edge or tap it, or choose a row of '
        "the table of edges.</p>"
    )
    yield f'<fieldset class="controls screen"><legend>Shown</legend>{switches}</fieldset>'
    yield (
        '<fieldset class="controls screen"><legend>Paths and starts of tools</legend>'
        '<button id="all-tools" type="button">All</button>'
        f'<button id="no-tools" type="button">None</button>{tools}</fieldset>'
    )


def _stops(est: Estimate, wall: WallClock | None) -> Iterator[str]:
    """Yield a button for each attended stop, which takes the replay there."""
    visits = est.cycle.visits
    begins = {} if wall is None else {id(s): wall.show(b) for s, b, _ in wall.stop_times()}
    buttons = []
    for stop in est.plan.stops:
        ahead = stop.before_visit < len(visits)
        at_s = visits[stop.before_visit].starts_s if ahead else est.cycle.total_s
        buttons.append(
            f'<button type="button" data-seek-s="{at_s:.3f}">'
            f"{begins.get(id(stop), clock(at_s))} "
            f"{clean(KINDS[stop.reason].do)}</button>"
        )
    if buttons:
        yield (
            '<div class="controls screen" role="group" aria-label="Attended stops">'
            f"Attended stops {''.join(buttons)}</div>"
        )
