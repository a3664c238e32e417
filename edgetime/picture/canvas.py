"""Pen and paper of one picture: how shapes and texts are written as SVG, and what is shown."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Final
from xml.sax.saxutils import escape, quoteattr

from edgetime.picture.curves import number
from edgetime.picture.scene import Group, Scene, Show, groups_of
from edgetime.picture.styles import Stroke, letter, profile_strokes

LengthText = Callable[[float], str]
"""Writes a length of edge [mm] in the units of the reader."""

WIDE: Final = 1000.0
"""The longer side of a picture in its own line widths: a line of 1 is a pixel on a small screen."""

TEXT: Final = 11.0
"""Height of the text, in line widths."""

GLYPH: Final = 0.56
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
class Pen:
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
        return f'fill="none" {self.line(style)}'

    def line(self, style: Stroke) -> str:
        """Return the attributes of a line around a shape that is filled."""
        width = style.width * self.unit
        out = f'stroke="{style.colour}" stroke-width="{self.n(width)}"'
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

    def sign(self, x: float, y: float, said: str) -> str:
        """Return white words on a black lozenge around a place [mm]."""
        r = 0.55 * TEXT * self.unit
        wide = r * max(1.0, 0.62 * len(said))
        return (
            f'<rect x="{self.n(x - wide)}" y="{self.n(-y - r)}" '
            f'width="{self.n(2.0 * wide)}" height="{self.n(2.0 * r)}" '
            f'rx="{self.n(r)}" fill="#1a1a1a"/>'
        ) + self.text(x, y - 0.5 * r, said, size=0.8, anchor="middle", more=' fill="#ffffff"')


def group(name: str, rows: Iterable[str], more: str = "") -> Iterator[str]:
    """Return shapes as one group of a class; nothing where there are none."""
    listed = [row for row in rows if row]
    if listed:
        yield f'<g class="{name}"{more}>'
        yield from listed
        yield "</g>"


def document(
    pen: Pen, box: tuple[float, float, float, float], title: str, what: str, body: Iterable[str]
) -> str:
    """Return a self-contained SVG document.

    Parameters
    ----------
    pen : Pen
        Of the picture.
    box : 4 floats
        Left, top (both with Y down), width and height [mm].
    title, what : str
        For those who hear the picture, and as its name.
    body : iterable of str
        Its shapes.
    """
    view = " ".join(pen.n(v) for v in box)
    left, top, wide, high = (pen.n(v) for v in box)
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{view}" role="img" '
        'font-family="system-ui, Helvetica, Arial, sans-serif" fill="#1a1a1a">'
    )
    paper = (
        f'<rect class="paper" x="{left}" y="{top}" width="{wide}" height="{high}" fill="#ffffff"/>'
    )
    said = (f"<title>{clean(title)}</title>", f"<desc>{clean(what)}</desc>")
    return "\n".join([head, *said, paper, *body, "</svg>", ""])


@dataclass(frozen=True, eq=False)
class Canvas:
    """One picture of a scene: what every part of it needs to know.

    Attributes
    ----------
    scene : Scene
        What there is.
    show : frozenset of Show
        What is shown of it.
    tools : tuple of str
        Tools or pieces whose starts and paths are shown; all when empty.
    length : callable
        Writes lengths of edge.
    """

    scene: Scene
    show: frozenset[Show]
    tools: tuple[str, ...]
    length: LengthText
    listed: bool = True

    @cached_property
    def unit(self) -> float:
        """A line width [mm]."""
        x0, y0, x1, y1 = self.scene.box_mm
        return max(x1 - x0, y1 - y0, 1.0) / WIDE

    @cached_property
    def pen(self) -> Pen:
        """Writes its shapes."""
        return Pen(self.unit)

    @cached_property
    def groups(self) -> tuple[Group, ...]:
        """The findings by kind, the worst first."""
        return groups_of(self.scene)

    @cached_property
    def strokes(self) -> dict[str, Stroke]:
        """The line of each profile, in the order of the legend."""
        return profile_strokes(self.scene.lengths_mm, set(self.scene.seams))

    @cached_property
    def letters(self) -> dict[str, str]:
        """The letter of each profile."""
        return {name: letter(k) for k, name in enumerate(self.strokes)}

    @cached_property
    def visits(self) -> list[int]:
        """The visits that are shown, by index."""
        est = self.scene.est
        if est is None:
            return []
        return [
            v for v, visit in enumerate(est.cycle.visits)
            if not self.tools or visit.tool in self.tools or visit.piece in self.tools
        ]  # fmt: skip

    @cached_property
    def numbered(self) -> list[int]:
        """The visits whose starts are numbered: without a choice the one that takes longest."""
        est = self.scene.est
        if est is None or Show.STARTS not in self.show:
            return []
        if self.tools or not self.visits:
            return self.visits
        return [max(self.visits, key=lambda v: est.cycle.visits[v].time.total_s)]
