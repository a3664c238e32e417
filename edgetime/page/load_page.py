"""The page of a load, in one file that asks the network for nothing."""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from importlib.resources import files
from pathlib import PurePath
from typing import TYPE_CHECKING, Any

from edgetime.cycle import WallClock
from edgetime.page.data import page_data
from edgetime.page.html import blocks_html, sections
from edgetime.page.plan_section import plan_rows
from edgetime.page.timeline import timeline_svg
from edgetime.picture.plan import attribute, clean
from edgetime.picture.scene import EdgeShape, Scene, scene_of_estimate
from edgetime.picture.styles import letter, profile_strokes
from edgetime.report.columns import EDGE, Column, Sheet
from edgetime.report.cycle import estimate_parts
from edgetime.report.document import Block, Line, Table
from edgetime.report.findings import finding_parts, kinds_text
from edgetime.report.load import CAUTIONS, assumption_parts, spent_parts
from edgetime.report.takeoff import size_parts
from edgetime.units import UnitSystem

if TYPE_CHECKING:
    from edgetime.drawing import Drawing
    from edgetime.estimating import Estimate
    from edgetime.findings import Finding

Chapter = tuple[str, Sequence[Block]]
"""A title, and blocks whose own headings stand below it."""


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
    chapters: Sequence[Chapter] = (),
    findings: Sequence[Finding] | None = None,
    without: Collection[str] = ("price", "shift"),
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
    chapters : sequence of (str, blocks)
        What is shown beside the estimate, such as wear and price.
    findings : sequence of Finding, optional
        All of the page; those of the estimate when omitted.
    without : collection of str
        Tables of ``shop.toml`` that play no part in it.
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
    scene, timeline = scene_of_estimate(est, drawings), timeline_svg(est)
    found = est.findings if findings is None else findings
    style, script = _asset("page.css"), _asset("page.js")
    policy = (
        f"default-src 'none'; style-src '{_digest(style)}'; script-src '{_digest(script)}'; "
        "base-uri 'none'; form-action 'none'"
    )
    names = ", ".join(PurePath(d.path).name for d in est.take_off.drawings)
    name = clean(title or names)
    # What stands before the first heading is the head of the page; the findings come later, all
    # together.
    (_, head), *told = sections(estimate_parts(est, system, wall=wall)[: -_tail(est, system)])
    shown: list[tuple[str, Iterable[str]]] = [
        ("Plan", plan_rows(est, scene, system, wall)),
        (
            "Timeline by tool",
            [
                f'<div class="wide" tabindex="0" role="group" aria-label="Timeline">{timeline}</div>',
                *_blocks(spent_parts(est), scene, system),
            ],
        ),
        *((heading, _blocks(held, scene, system, heading)) for heading, held in told),
        _titled(size_parts(scene.parts, system), scene, system),
        ("Edges", _blocks([Table(edge_sheet(scene), scene.edges)], scene, system, "Edges")),
        *((heading, _blocks(held, scene, system)) for heading, held in chapters),
        _titled(finding_parts(found, system), scene, system),
        _titled(assumption_parts(est, without=without), scene, system),
        ("Cautions", _blocks(map(Line, CAUTIONS), scene, system)),
    ]
    return "\n".join(
        [
            '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">',
            f'<meta http-equiv="Content-Security-Policy" content={attribute(policy)}>',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            f"<title>{name}</title>\n<style>{style}</style>\n</head>\n<body>",
            f"<header><h1>{name}</h1>",
            *blocks_html([*head, Line(f"Findings: {kinds_text(found)}.")], system),
            *_contents([heading for heading, _ in shown]),
            "</header>\n<main>",
            *(row for heading, rows in shown for row in _section(heading, rows)),
            "</main>",
            f'<script type="application/json" id="data">{page_data(est, scene, wall)}</script>',
            f"<script>{script}</script>\n</body>\n</html>\n",
        ]
    )


def _tail(est: Estimate, system: UnitSystem) -> int:
    """Return how many blocks the findings and the caution of an estimate take."""
    return len(finding_parts(est.findings, system)) + 1


def _short(heading: str) -> str:
    return re.split(r"[(:,]", heading)[0].strip()


def _anchor(heading: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", _short(heading).lower()).strip("-")


def _contents(headings: Iterable[str]) -> Iterator[str]:
    links = "".join(f'<a href="#s-{_anchor(h)}">{clean(_short(h))}</a>' for h in headings)
    yield f'<nav class="screen" aria-label="Sections">{links}</nav>'


def _section(title: str, rows: Iterable[str]) -> Iterator[str]:
    yield f'<section id="s-{_anchor(title)}"><h2>{clean(title)}</h2>'
    yield from rows
    yield "</section>"


def _titled(blocks: Sequence[Block], scene: Scene, system: UnitSystem) -> tuple[str, Iterator[str]]:
    """Return blocks under the one heading that they begin with."""
    ((title, held),) = sections(blocks)
    return title, _blocks(held, scene, system, title)


def _blocks(
    blocks: Iterable[Block], scene: Scene, system: UnitSystem, caption: str = ""
) -> Iterator[str]:
    for heading, held in sections(blocks):
        if heading:
            yield f"<h3>{clean(heading)}</h3>"
        yield from blocks_html(
            held, system, marks=lambda row: _marks(scene, row), caption=heading or caption
        )
