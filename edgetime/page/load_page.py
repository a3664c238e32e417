"""The page of a load, in one file that asks the network for nothing."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterable, Mapping, Sequence
from importlib.resources import files
from pathlib import PurePath
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from edgetime.cycle import WallClock
from edgetime.page.data import page_data
from edgetime.page.html import blocks_html, sections
from edgetime.page.timeline import timeline_svg
from edgetime.picture.plan import attribute, clean, draw_scene
from edgetime.picture.scene import EdgeShape, Scene, Show, scene_of_estimate
from edgetime.picture.styles import letter, profile_strokes
from edgetime.report.columns import EDGE, Column, Sheet
from edgetime.report.cycle import estimate_parts
from edgetime.report.document import Block, Table
from edgetime.report.quantities import format_edge
from edgetime.units import UnitSystem

if TYPE_CHECKING:
    from edgetime.drawing import Drawing
    from edgetime.estimating import Estimate

_SWITCHES: Final = (
    ("labels", "names and letters"),
    ("findings", "findings"),
    ("hand", "finished by hand"),
    ("table", "table"),
)
_SPEEDS: Final = (1, 10, 30, 60, 120, 300)


def _digest(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def _asset(name: str) -> str:
    return files("edgetime.page").joinpath(name).read_text(encoding="utf-8")


def edge_sheet(scene: Scene) -> Sheet[EdgeShape]:
    """Return the columns of the table of edges."""
    strokes = profile_strokes(scene.lengths_mm, set(scene.seams))
    letters = {name: letter(k) for k, name in enumerate(strokes)}
    return Sheet(
        (
            Column(key="part_id", heading="Part", get=lambda e: scene.parts[e.part].part_id),
            Column(key="name", heading="Name", get=lambda e: scene.parts[e.part].name),
            Column(key="place", heading="Place", get=_place),
            Column(key="edge", heading="Edge", get=lambda e: e.number),
            Column(
                key="profile", heading="Profile", get=lambda e: f"{letters[e.profile]} {e.profile}"
            ),
            Column(key="length_mm", heading="Length", unit=EDGE, get=lambda e: e.length_mm),
            Column(key="layer", heading="Layer", get=lambda e: e.layer),
        )
    )


def _place(edge: EdgeShape) -> str:
    return "outline" if edge.contour == 0 else f"cutout {edge.contour}"


def _marks(scene: Scene, row: Any) -> Mapping[str, str]:
    """Return what a row of any table is about, for the script to light it up in the plan."""
    if isinstance(row, EdgeShape):
        part = scene.parts[row.part].part_id
        return {"part": part, "contour": str(row.contour), "edge": str(row.number)}
    if isinstance(row, tuple) and len(row) == 2 and hasattr(row[1], "starts_s"):
        row = row[1]
    if hasattr(row, "starts_s") and hasattr(row, "piece"):
        return {"tool": row.piece, "start-s": f"{row.starts_s:.3f}"}
    for name in ("part_id", "profile", "piece"):
        value = getattr(row, name, None)
        if isinstance(value, str) and value:
            return {{"part_id": "part", "piece": "tool"}.get(name, name): value}
    return {}


def load_page(
    est: Estimate,
    *,
    system: UnitSystem = UnitSystem.METRIC,
    wall: WallClock | None = None,
    extra: Sequence[Block] = (),
    drawings: Sequence[Drawing] = (),
    title: str = "",
) -> str:
    """Return the page of an estimate as HTML.

    Parameters
    ----------
    est : Estimate
        Any.
    system : UnitSystem
        Units of what people read.
    wall : WallClock, optional
        To show times of day.
    extra : sequence of Block
        Sections beside the estimate, such as wear and price.
    drawings : sequence of Drawing
        To show what is in no part.
    title : str
        Of the page; the drawings' names when empty.

    Returns
    -------
    str
        One file: style, script and data are inside, and a content security policy that admits
        nothing else.
    """
    scene = scene_of_estimate(est, drawings)
    style, script = _asset("page.css"), _asset("page.js")
    policy = (
        f"default-src 'none'; style-src '{_digest(style)}'; script-src '{_digest(script)}'; "
        "base-uri 'none'; form-action 'none'"
    )
    names = ", ".join(PurePath(d.path).name for d in est.take_off.drawings)
    name = clean(title or names)
    told = sections(estimate_parts(est, system, extra, wall))
    head = told[0][1] if told and not told[0][0] else []
    rest = told[1:] if head else told
    return "\n".join(
        [
            '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">',
            f'<meta http-equiv="Content-Security-Policy" content={attribute(policy)}>',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            f"<title>{name}</title>\n<style>{style}</style>\n</head>\n<body>",
            f"<header><h1>{name}</h1>",
            *blocks_html(head, system),
            "</header>\n<main>",
            *_plan_section(est, scene, system),
            *_section("Timeline by tool", [timeline_svg(est)]),
            *_sections(rest[:-1], scene, system),
            *_section(
                "Edges",
                blocks_html(
                    [Table(edge_sheet(scene), scene.edges)],
                    system,
                    marks=lambda row: _marks(scene, row),
                    caption="Edges",
                ),
            ),
            *_sections(rest[-1:], scene, system),
            *_section("Assumptions", _assumptions(est, system)),
            "</main>",
            f'<script type="application/json" id="data">{page_data(est, scene, wall)}</script>',
            f"<script>{script}</script>\n</body>\n</html>\n",
        ]
    )


class _Source(NamedTuple):
    """Where the figures of one file come from."""

    what: str
    name: str
    file: str
    source: str


_SOURCES: Final[Sheet[_Source]] = Sheet(
    (
        Column(key="what", heading="What"),
        Column(key="name", heading="Name"),
        Column(key="file", heading="File"),
        Column(key="source", heading="Where its figures come from"),
    )
)


def _assumptions(est: Estimate, system: UnitSystem) -> Iterable[str]:
    """Yield where the figures come from that this load rests on."""
    load = est.load
    tools = dict.fromkeys(v.tool for v in est.cycle.visits)
    used: list[tuple[str, Any]] = [
        ("machine", load.machine),
        ("stack", load.stack),
        ("stone", load.stone),
        *(("tool", load.catalogue.tools[name]) for name in tools),
    ]
    rows = [
        _Source(
            what,
            thing.name,
            str(thing.file),
            thing.source.get("", "") if isinstance(thing.source, dict) else str(thing.source),
        )
        for what, thing in used
    ]
    yield from blocks_html([Table(_SOURCES, rows)], system, caption="Assumptions")


def _section(title: str, rows: Iterable[str]) -> Iterable[str]:
    yield f"<section><h2>{clean(title)}</h2>"
    yield from rows
    yield "</section>"


def _sections(
    told: Iterable[tuple[str, list[Block]]], scene: Scene, system: UnitSystem
) -> Iterable[str]:
    for title, blocks in told:
        yield from _section(
            title,
            blocks_html(blocks, system, marks=lambda row: _marks(scene, row), caption=title),
        )


def _plan_section(est: Estimate, scene: Scene, system: UnitSystem) -> Iterable[str]:
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
    yield from _section(
        "Plan",
        [
            (
                '<div class="controls screen" role="group" aria-label="Replay">'
                '<button id="play" type="button" aria-pressed="false" disabled>Play</button>'
                '<label for="moment">Moment</label>'
                f'<input id="moment" type="range" min="0" max="{est.cycle.total_s:.3f}" step="any" '
                'value="0" disabled>'
                f'<label for="speed">Speed</label><select id="speed">{speeds}</select></div>'
            ),
            '<p id="now" class="now screen"></p>',
            f'<div class="plan">{svg}</div>',
            (
                '<p id="edge" class="edge" role="status">Point at an edge, or choose a row of the '
                "table of edges.</p>"
            ),
            f'<fieldset class="controls screen"><legend>Shown</legend>{switches}</fieldset>',
            (
                '<fieldset class="controls screen"><legend>Paths and starts of tools</legend>'
                '<button id="all-tools" type="button">All</button>'
                f'<button id="no-tools" type="button">None</button>{tools}</fieldset>'
            ),
        ],
    )
