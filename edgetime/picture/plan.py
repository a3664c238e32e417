"""The plan of a load as SVG."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final
from xml.sax.saxutils import escape, quoteattr

import numpy as np

from edgetime.findings import Finding
from edgetime.geometry.measure import bounds, point_at
from edgetime.geometry.path import Path
from edgetime.moves import MoveKind
from edgetime.picture.curves import edge_data, extent, moves_data, number
from edgetime.picture.scene import (
    USUAL,
    EdgeShape,
    Group,
    Scene,
    Show,
    groups_of,
    label_place,
    scene_of_estimate,
    scene_of_take_off,
)
from edgetime.picture.styles import (
    CUT,
    DRAWN,
    HAND,
    LEAD,
    RAPID,
    SEVERITY,
    UNMATCHED,
    Stroke,
    letter,
    profile_strokes,
)

if TYPE_CHECKING:
    from edgetime.drawing import Drawing
    from edgetime.estimating import Estimate
    from edgetime.takeoff import Part, TakeOff
    from edgetime.tooling.keep_out import KeepOut

LengthText = Callable[[float], str]
"""Writes a length of edge [mm] in the units of the reader."""

WIDE: Final = 1000.0
"""The longer side of a picture in its own line widths: a line of 1 is a pixel on a small screen."""

TEXT: Final = 11.0
"""Height of the text, in line widths."""

_GLYPH: Final = 0.56
"""Width of a letter of a plain sans-serif in parts of its height, on the safe side."""

_CONTROL: Final = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")
"""What XML does not hold."""


def clean(text: str) -> str:
    """Return a text as XML content; what XML cannot hold becomes ``?``."""
    return escape(_CONTROL.sub("?", text))


def attribute(text: str) -> str:
    """Return a text as a quoted XML attribute."""
    return quoteattr(_CONTROL.sub("?", text))


def metres(length_mm: float) -> str:
    """Write a length of edge in metres."""
    return f"{length_mm / 1e3:.3f} m"


@dataclass(frozen=True, eq=False)
class _Pen:
    """Writes shapes in the measures of one picture.

    Attributes
    ----------
    unit : float
        A line width [mm].
    """

    unit: float

    def n(self, value: float) -> str:
        """Write a coordinate."""
        return number(value, 2)

    def stroke(self, style: Stroke) -> str:
        """Return the attributes of a line."""
        width = style.width * self.unit
        out = f'fill="none" stroke="{style.colour}" stroke-width="{self.n(width)}"'
        if style.dash:
            dashes = " ".join(self.n(d * width) for d in style.dash)
            out += f' stroke-dasharray="{dashes}"'
        return out

    def text(
        self, x: float, y: float, said: str, *, size: float = 1.0, anchor: str = "start",
        more: str = "",
    ) -> str:  # fmt: skip
        """Return a line of text; x and y with Y up [mm]."""
        height = self.n(size * TEXT * self.unit)
        place = f'x="{self.n(x)}" y="{self.n(-y)}"'
        turned = "" if anchor == "start" else f' text-anchor="{anchor}"'
        return f'<text {place} font-size="{height}"{turned}{more}>{clean(said)}</text>'


def draw_plan(
    source: TakeOff | Estimate,
    *,
    show: Collection[Show] = USUAL,
    tools: Collection[str] = (),
    drawings: Sequence[Drawing] = (),
    length_text: LengthText = metres,
) -> str:
    """Draw what is on the table, or in drawings, seen from above.

    Parameters
    ----------
    source : TakeOff or Estimate
        A take-off shows parts and edges; an estimate also the table, hand work, where tools
        start and the paths of their centres.
    show : collection of Show
        What to show.
    tools : collection of str
        Tools or pieces whose starts and paths are shown; all paths, and the starts of the tool
        that takes longest, when empty.
    drawings : sequence of Drawing
        The drawings read; where given, layers that no rule matches and other curves that are in
        no part are shown as drawn.
    length_text : callable
        Writes lengths of edge.

    Returns
    -------
    str
        A self-contained SVG document, in millimetres. Lines and arcs are exact; each edge is one
        path with ``data-part``, ``data-contour``, ``data-edge``, ``data-profile`` and
        ``data-length-mm``.
    """
    from edgetime.estimating.pipeline import Estimate as Whole  # noqa: PLC0415  loaded by now

    scene = (
        scene_of_estimate(source, drawings)
        if isinstance(source, Whole)
        else scene_of_take_off(source, drawings)
    )
    return draw_scene(scene, show=show, tools=tools, length_text=length_text)


def draw_scene(
    scene: Scene,
    *,
    show: Collection[Show] = USUAL,
    tools: Collection[str] = (),
    length_text: LengthText = metres,
) -> str:
    """Draw a scene; as :func:`draw_plan`.

    Parameters
    ----------
    scene : Scene
        What there is to show.
    show, tools, length_text
        As :func:`draw_plan` takes them.
    """
    return _Plan(scene, frozenset(show), tuple(tools), length_text).svg()


class _Plan:
    """One picture being drawn."""

    def __init__(
        self, scene: Scene, show: frozenset[Show], tools: tuple[str, ...], length: LengthText
    ) -> None:
        self.scene, self.show, self.tools, self.length = scene, show, tools, length
        self.groups = groups_of(scene)
        x0, y0, x1, y1 = scene.box_mm
        self.unit = max(x1 - x0, y1 - y0, 1.0) / WIDE
        self.pen = _Pen(self.unit)
        self.strokes = profile_strokes(scene.lengths_mm, set(scene.seams))
        self.letters = {name: letter(k) for k, name in enumerate(self.strokes)}

    def svg(self) -> str:
        """Return the document."""
        unit, scene = self.unit, self.scene
        x0, y0, x1, y1 = scene.box_mm
        margin = 24.0 * unit
        body = [
            *self._table(),
            *self._stones(),
            *self._drawn(),
            *self._paths(),
            *self._hand(),
            *self._edges(),
            *self._labels(),
            *self._starts(),
            *self._pins(),
        ]
        low = y0 - margin
        if Show.LEGEND in self.show:
            rows, low = self._legend(x0, low - 6.0 * unit, x1 - x0)
            body += rows
        box = (x0 - margin, -(y1 + margin), x1 - x0 + 2.0 * margin, y1 + margin - low)
        view = " ".join(self.pen.n(v) for v in box)
        what = f"{len(scene.parts)} parts, {len(scene.edges)} edges"
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{view}" role="img" '
            'font-family="system-ui, Helvetica, Arial, sans-serif" fill="#1a1a1a">'
        )
        left, top, wide, high = (self.pen.n(v) for v in box)
        paper = (
            f'<rect class="paper" x="{left}" y="{top}" width="{wide}" height="{high}" '
            'fill="#ffffff"/>'
        )
        said = (
            f"<title>Plan of {clean(scene.title)}</title>",
            f"<desc>Seen from above, in millimetres: {what}.</desc>",
        )
        return "\n".join([head, *said, paper, *body, "</svg>", ""])

    def _group(self, name: str, rows: Iterable[str], more: str = "") -> Iterator[str]:
        listed = [row for row in rows if row]
        if listed:
            yield f'<g class="{name}"{more}>'
            yield from listed
            yield "</g>"

    # What the stone lies on ------------------------------------------------------------

    def _table(self) -> Iterator[str]:
        est = self.scene.est
        if est is None or Show.TABLE not in self.show:
            return
        pen, machine = self.pen, est.load.machine
        wide, deep = machine.table_mm
        rows = [
            self._table_top(wide, deep),
            pen.text(
                4.0 * self.unit,
                -(TEXT + 3.0) * self.unit,
                f"Table of {machine.name}, {wide:.0f} x {deep:.0f} mm; X to the right, Y up",
                size=0.85,
            ),
        ]
        rows += [self._keep_out(k, path) for k in est.load.keep_outs for path in k.paths]
        x, y = machine.rack_mm
        r = 6.0 * self.unit
        left, low, right, high = self.scene.box_mm
        if left - r <= x <= right + r and low - r <= y <= high + r:
            rows.append(
                f'<path d="M{pen.n(x - r)} {pen.n(-y)}H{pen.n(x + r)}M{pen.n(x)} '
                f'{pen.n(-y - r)}V{pen.n(-y + r)}" {pen.stroke(Stroke("#5c5749", (), 1.2))}/>'
            )
            rows.append(pen.text(x + 1.4 * r, y - 0.4 * r, "rack", size=0.85))
        yield from self._group("table", rows)

    def _table_top(self, wide: float, deep: float) -> str:
        n = self.pen.n
        return (
            f'<rect x="0" y="{n(-deep)}" width="{n(wide)}" height="{n(deep)}" '
            f'fill="#f4f1ea" stroke="#8a8373" stroke-width="{n(0.8 * self.unit)}"/>'
        )

    def _keep_out(self, keep: KeepOut, path: Path) -> str:
        line = self.pen.stroke(Stroke("#5c5749", (2, 1), 0.8)).removeprefix(_NO_FILL)
        return (
            f'<path d="{edge_data(path)}" fill="#d9d4c7" {line}>'
            f"<title>{clean(f'Keep-out {keep.name} ({keep.kind})')}</title></path>"
        )

    def _stones(self) -> Iterator[str]:
        def outline(part: Part) -> str:
            loops = [edge_data(c.path) + "Z" for c in part.contours()]
            size = self.unit * 0.3
            return (
                f'<path d="{"".join(loops)}" data-part={attribute(part.part_id)} '
                f'stroke="#9a9a9a" stroke-width="{self.pen.n(size)}">'
                f"<title>{clean(f'{part.part_id} {part.name}')}</title></path>"
            )

        yield from self._group(
            "parts", map(outline, self.scene.parts), ' fill="#ffffff" fill-rule="evenodd"'
        )

    def _drawn(self) -> Iterator[str]:
        rows = []
        for layer in self.scene.drawn:
            flat = np.zeros((len(layer.start), 1))
            data = moves_data(
                np.hstack([layer.start, flat]), np.hstack([layer.end, flat]), layer.bulge
            )
            style = UNMATCHED if layer.means == "unknown" else DRAWN
            told = f"layer {layer.layer}: {_MEANING.get(layer.means, layer.means)}"
            rows.append(
                f'<path d="{data}" data-layer={attribute(layer.layer)} '
                f"{self.pen.stroke(style)}><title>{clean(told)}</title></path>"
            )
            if layer.means == "unknown" and len(layer.start):
                size = np.hypot(*(layer.end - layer.start).T)
                x, y = 0.5 * (layer.start + layer.end)[int(np.argmax(size))]
                rows.append(
                    self.pen.text(float(x), float(y) + 3.0 * self.unit, layer.layer, size=0.85,
                                  anchor="middle", more=f' fill="{UNMATCHED.colour}"')
                )  # fmt: skip
        yield from self._group("drawn", rows)

    # Edges -----------------------------------------------------------------------------

    def _edges(self) -> Iterator[str]:
        by_profile: dict[str, list[EdgeShape]] = {name: [] for name in self.strokes}
        for edge in self.scene.edges:
            by_profile[edge.profile].append(edge)
        for name, edges in by_profile.items():
            more = f" data-profile={attribute(name)} {self.pen.stroke(self.strokes[name])}"
            yield from self._group("edges", map(self._edge, edges), more)
        yield from self._group("holes", self._holes())

    def _edge(self, edge: EdgeShape) -> str:
        part = self.scene.parts[edge.part]
        closed = "Z" if edge.path.closed else ""
        told = (
            f"{self.letters[edge.profile]} {edge.profile}, {self.length(edge.length_mm)}, "
            f"{part.part_id} {part.name}, {edge.place}, layer {edge.layer}"
        )
        return (
            f'<path d="{edge_data(edge.path)}{closed}" data-part={attribute(part.part_id)} '
            f'data-contour="{edge.contour}" data-edge="{edge.number}" '
            f'data-length-mm="{edge.length_mm:.6f}"><title>{clean(told)}</title></path>'
        )

    def _holes(self) -> Iterator[str]:
        n, width = self.pen.n, self.pen.n(0.9 * self.unit)
        for part in self.scene.parts:
            for k, hole in enumerate(part.holes, 1):
                r = 0.5 * hole.diameter_mm
                yield (
                    f'<circle cx="{number(hole.x_mm, 4)}" cy="{number(-hole.y_mm, 4)}" '
                    f'r="{number(r, 4)}" fill="#ffffff" stroke="#1a1a1a" stroke-width="{width}">'
                    f"<title>{clean(f'Hole {k} of {part.part_id}, {2 * r:g} mm')}</title></circle>"
                    f'<path d="M{n(hole.x_mm - 0.4 * r)} {n(-hole.y_mm)}h{n(0.8 * r)}'
                    f'm{n(-0.4 * r)} {n(-0.4 * r)}v{n(0.8 * r)}" stroke="#1a1a1a" '
                    f'stroke-width="{self.pen.n(0.5 * self.unit)}"/>'
                )

    def _labels(self) -> Iterator[str]:
        if Show.LABELS not in self.show:
            return
        size = TEXT * self.unit
        rows = []
        for part in self.scene.parts:
            x, y = _inside(part)
            rows.append(self.pen.text(x, y, part.part_id, size=1.15, anchor="middle",
                                      more=' font-weight="bold"'))  # fmt: skip
            wide, high = part.size_mm
            if high < 2.5 * size or wide < 3.0 * size:
                rows.pop()  # it would cover its neighbours; the part's title names it
            elif part.name and len(part.name) * _GLYPH * size < wide and high > 4.0 * size:
                rows.append(self.pen.text(x, y - 1.25 * size, part.name, anchor="middle"))
            for k, cutout in enumerate(part.cutouts, 1):
                left, low, right, high = bounds(cutout.contour.path)
                rows.append(
                    self.pen.text(
                        0.5 * (left + right), 0.5 * (low + high) - 0.35 * size,
                        f"cutout {k}", size=0.85, anchor="middle",
                    )
                )  # fmt: skip
        for edge in self.scene.edges:
            # The letter of a short edge would cover it; its title and the legend name it.
            if edge.profile == "unfinished" or edge.path.length_mm < 3.0 * size:
                continue
            at, right_of = label_place(edge.path)
            x, y = at + right_of * 0.95 * size
            rows.append(
                self.pen.text(float(x), float(y) - 0.35 * size, self.letters[edge.profile],
                              size=0.95, anchor="middle", more=' font-weight="bold"')
            )  # fmt: skip
        yield from self._group("labels", rows, ' pointer-events="none"')

    def _hand(self) -> Iterator[str]:
        est = self.scene.est
        if est is None or Show.HAND not in self.show:
            return
        rows = []
        for work in est.paths.hand:
            part = self.scene.parts[work.part]
            contours = part.contours()
            if work.contour >= len(contours):
                continue
            path = contours[work.contour].path
            told = f"By hand: {work.profile}, {work.length_mm:.1f} mm, {part.part_id}"
            rows.append(
                f'<path d="{_stretch(path, work.begin_mm, work.end_mm)}">'
                f"<title>{clean(told)}</title></path>"
            )
        yield from self._group(
            "hand", rows, f' {self.pen.stroke(HAND)} stroke-opacity="0.45" stroke-linecap="round"'
        )

    # Tools -----------------------------------------------------------------------------

    def _visits(self) -> list[int]:
        """Return the visits that are shown, by index."""
        est = self.scene.est
        if est is None:
            return []
        rows = est.cycle.visits
        return [
            v for v, visit in enumerate(rows)
            if not self.tools or visit.tool in self.tools or visit.piece in self.tools
        ]  # fmt: skip

    def _paths(self) -> Iterator[str]:
        est = self.scene.est
        if est is None or Show.PATHS not in self.show:
            return
        moves = est.paths.moves
        styles = ((MoveKind.RAPID, RAPID), (MoveKind.LEAD, LEAD), (MoveKind.CUT, CUT))
        for v in self._visits():
            visit = est.cycle.visits[v]
            rows = []
            for kind, style in styles:
                mine = (moves.visit == v) & (moves.kind == kind)
                data = moves_data(moves.start[mine], moves.end[mine], moves.bulge[mine])
                if data:
                    rows.append(
                        f'<path class="{kind.name.lower()}" d="{data}" {self.pen.stroke(style)}/>'
                    )
            more = f' data-visit="{v + 1}" data-tool={attribute(visit.piece)}'
            yield from self._group("tool", rows, more)

    def _visits_with_starts(self) -> list[int]:
        est, visits = self.scene.est, self._visits()
        if est is None or self.tools or not visits:
            return visits
        return [max(visits, key=lambda v: est.cycle.visits[v].time.total_s)]

    def _starts(self) -> Iterator[str]:
        est = self.scene.est
        if est is None or Show.STARTS not in self.show:
            return
        for v in self._visits_with_starts():
            more = f' data-visit="{v + 1}" data-tool={attribute(est.cycle.visits[v].piece)}'
            yield from self._group("starts", self._starts_of(v), more)

    def _starts_of(self, v: int) -> Iterator[str]:
        est = self.scene.est
        assert est is not None  # noqa: S101  only called with one
        spots: dict[tuple[int, int], list[int]] = {}
        rows = [r for r in est.order if r.visit == v + 1 and r.x_mm is not None]
        for k, row in enumerate(rows, 1):
            spots.setdefault((round(row.x_mm or 0.0), round(row.y_mm or 0.0)), []).append(k)
        r = 0.55 * TEXT * self.unit
        for (x, y), numbers in spots.items():
            said = f"{numbers[0]}" if len(numbers) == 1 else f"{numbers[0]}-{numbers[-1]}"
            wide = r * max(1.0, 0.62 * len(said))
            yield (
                f'<rect x="{self.pen.n(x - wide)}" y="{self.pen.n(-y - r)}" '
                f'width="{self.pen.n(2.0 * wide)}" height="{self.pen.n(2.0 * r)}" '
                f'rx="{self.pen.n(r)}" fill="#1a1a1a"/>'
            )
            yield self.pen.text(x, y - 0.5 * r, said, size=0.8, anchor="middle",
                                more=' fill="#ffffff"')  # fmt: skip

    # Findings --------------------------------------------------------------------------

    def _pins(self) -> Iterator[str]:
        if Show.FINDINGS not in self.show:
            return
        # The worst are drawn last, above the others.
        rows = []
        for group in reversed(self.groups):
            # Marks that would hide one another are one.
            cell = 1.2 * TEXT * self.unit
            spots = {(round(x / cell), round(y / cell)): (x, y) for x, y in reversed(group.places)}
            first = group.findings[0]
            rows += [self._pin(x, y, group.number, first) for x, y in spots.values()]
        yield from self._group("findings", rows)

    def _pin(self, x: float, y: float, k: int, finding: Finding) -> str:
        colour, shape = SEVERITY[finding.severity]
        r = 0.75 * TEXT * self.unit
        told = f"{finding.severity} {finding.code}: {finding.message}"
        n = self.pen.n
        outline = {
            "triangle": f'<path d="M{n(x)} {n(-y - 1.3 * r)}L{n(x + 1.3 * r)} {n(-y + r)}'
            f'H{n(x - 1.3 * r)}Z"',
            "diamond": f'<path d="M{n(x)} {n(-y - 1.2 * r)}L{n(x + 1.2 * r)} {n(-y)}'
            f'L{n(x)} {n(-y + 1.2 * r)}L{n(x - 1.2 * r)} {n(-y)}Z"',
            "circle": f'<circle cx="{n(x)}" cy="{n(-y)}" r="{n(r)}"',
        }[shape]
        width = n(0.8 * self.unit)
        label = self.pen.text(
            x, y - 0.38 * r, str(k), size=0.75, anchor="middle", more=' fill="#ffffff"'
        )
        return (
            f'<g data-finding="{k}"><title>{clean(told)}</title>{outline} fill="{colour}" '
            f'stroke="#ffffff" stroke-width="{width}"/>{label}</g>'
        )

    # Legend ----------------------------------------------------------------------------

    def _legend(self, x: float, y: float, width: float) -> tuple[list[str], float]:
        """Return the rows of the legend and the place below it [mm]."""
        step = 1.6 * TEXT * self.unit
        rows, y = self._swatches(x, y, width, step)
        rows.append(self._scale(x, y))
        y -= step
        for said in self._notes():
            for k, line in enumerate(_wrapped(said, width / (self.unit * TEXT * _GLYPH))):
                rows.append(self.pen.text(x + (k > 0) * step, y, line))
                y -= 0.85 * step
        return list(self._group("legend", rows)), y

    def _swatches(self, x: float, y: float, width: float, step: float) -> tuple[list[str], float]:
        rows: list[str] = []
        at = x
        items = [
            (self.strokes[name], f"{self.letters[name]}  {name}  {self.length(length)}")
            for name, length in sorted(
                self.scene.lengths_mm.items(), key=lambda kv: list(self.strokes).index(kv[0])
            )
        ]
        if any(layer.means == "unknown" for layer in self.scene.drawn):
            items.append((UNMATCHED, "layers without a rule"))
        est = self.scene.est
        if est is not None and est.paths.hand and Show.HAND in self.show:
            items.append((HAND, f"by hand  {self.length(est.cycle.hand_mm)}"))
        swatch = 40.0 * self.unit
        for style, said in items:
            needs = swatch + (len(said) + 4) * TEXT * _GLYPH * self.unit
            if at + needs > x + width and at > x:
                at, y = x, y - step
            n = self.pen.n
            rows.append(
                f'<path d="M{n(at)} {n(-y - 0.3 * TEXT * self.unit)}h{n(swatch)}" '
                f"{self.pen.stroke(style)}/>"
            )
            rows.append(self.pen.text(at + 1.15 * swatch, y, said))
            at += needs
        return rows, y - step

    def _scale(self, x: float, y: float) -> str:
        """Return a bar of a round length."""
        size = 10.0 ** math.floor(math.log10(200.0 * self.unit))
        size *= max(k for k in (1, 2, 5) if k * size <= 200.0 * self.unit)
        n = self.pen.n
        bar = f"M{n(x)} {n(-y - 6 * self.unit)}v{n(6 * self.unit)}h{n(size)}v{n(-6 * self.unit)}"
        return f'<path d="{bar}" {self.pen.stroke(Stroke("#1a1a1a", (), 0.8))}/>' + self.pen.text(
            x + size + 6.0 * self.unit, y, f"{size:g} mm"
        )

    def _notes(self) -> Iterator[str]:
        est = self.scene.est
        visits = [] if est is None or Show.STARTS not in self.show else self._visits_with_starts()
        if est is not None and visits:
            names = ", ".join(est.cycle.visits[v].piece for v in visits)
            yield f"Black numbers: where {names} starts, in the order of work."
        if Show.FINDINGS not in self.show:
            return
        for group in self.groups[:_LISTED]:
            yield _group_text(group)
        if len(self.groups) > _LISTED:
            yield f"and {len(self.groups) - _LISTED} more kinds of findings."


_NO_FILL: Final = 'fill="none" '
_LISTED: Final = 12
"""Kinds of findings that are written out below a plan."""

_MEANING: Final = {"unknown": "no layer rule", "recess": "listed, not timed"}


def _group_text(group: Group) -> str:
    first = group.findings[0]
    times = f", {len(group.findings)} times" if len(group.findings) > 1 else ""
    first_of = " The first:" if times else ""
    return f"{group.number} {first.severity} {first.code}{times}:{first_of} {first.message}"


def _wrapped(text: str, columns: float) -> list[str]:
    import textwrap  # noqa: PLC0415  only for legends

    return textwrap.wrap(" ".join(text.split()), max(int(columns), 20)) or [""]


def _inside(part: Part) -> tuple[float, float]:
    """Return a place on the stone of a part, for its name [mm]."""
    from shapely import Polygon, maximum_inscribed_circle  # noqa: PLC0415  only for labels

    loops = [c.path.points for c in part.contours()]
    shape = Polygon(loops[0], loops[1:]) if len(loops[0]) > 3 else None
    if shape is None or not shape.is_valid or shape.is_empty:
        left, low, right, high = extent([bounds(part.outline.path)])
        return 0.5 * (left + right), 0.5 * (low + high)
    # The middle of the largest circle that fits: away from edges and openings.
    x, y = maximum_inscribed_circle(shape, 5.0).coords[0]
    return float(x), float(y)


def _stretch(path: Path, begin_mm: float, end_mm: float) -> str:
    """Return the path data of a stretch of a contour, by places along it; straight bits of 2 mm."""
    whole = path.length_mm
    count = max(int((end_mm - begin_mm) / 2.0), 1) + 1
    along = np.linspace(begin_mm, end_mm, count) % whole
    points = point_at(path, along)
    bits = " ".join(f"{number(px, 2)} {number(-py, 2)}" for px, py in points.tolist())
    return f"M{bits}"
