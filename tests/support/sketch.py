"""A minimal DXF writer for tests: release 12, ASCII, millimetres, the same bytes every time.

Only what tests draw with: lines, arcs, circles, polylines with bulges, texts, blocks
and their insertions. Group codes as in the public DXF reference for release 12; the unit
variable ``$INSUNITS`` is newer, but every reader we know takes it from any release.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

Tag = tuple[int, str | int | float]


def _number(value: float) -> str:
    # repr keeps every digit; -0.0 would differ from 0.0 for no reason.
    return repr(float(value) + 0.0)


@dataclass
class Sketch:
    """Entities in the order they are drawn.

    Attributes
    ----------
    tags : list of (int, value)
        Group codes and values.
    layers : list of str
        Layers in order of first use.
    """

    tags: list[list[Tag]] = field(default_factory=list)
    layers: list[str] = field(default_factory=list)

    def _add(self, kind: str, layer: str, *tags: Tag) -> None:
        if layer not in self.layers:
            self.layers.append(layer)
        self.tags.append([(0, kind), (8, layer), *tags])

    def line(self, layer: str, start: Sequence[float], end: Sequence[float]) -> None:
        """Draw a straight line from start to end (x, y) [mm]."""
        self._add(
            "LINE", layer,
            (10, start[0]), (20, start[1]), (30, 0.0),
            (11, end[0]), (21, end[1]), (31, 0.0),
        )  # fmt: skip

    def arc(
        self, layer: str, centre: Sequence[float], radius: float, from_deg: float, to_deg: float
    ) -> None:
        """Draw an arc counter-clockwise between two angles [deg]; lengths [mm]."""
        self._add(
            "ARC", layer,
            (10, centre[0]), (20, centre[1]), (30, 0.0),
            (40, radius), (50, from_deg), (51, to_deg),
        )  # fmt: skip

    def circle(self, layer: str, centre: Sequence[float], diameter: float) -> None:
        """Draw a circle [mm]."""
        self._add(
            "CIRCLE", layer, (10, centre[0]), (20, centre[1]), (30, 0.0), (40, diameter / 2.0)
        )

    def polyline(
        self, layer: str, points: Iterable[Sequence[float]], *, closed: bool = True
    ) -> None:
        """Draw a polyline through (x, y) or (x, y, bulge) [mm, -]."""
        self._add(
            "POLYLINE", layer, (66, 1), (10, 0.0), (20, 0.0), (30, 0.0), (70, 1 if closed else 0)
        )
        for x, y, *rest in points:
            bulge: list[Tag] = [(42, rest[0])] if rest and rest[0] else []
            self._add("VERTEX", layer, (10, x), (20, y), (30, 0.0), *bulge)
        self._add("SEQEND", layer)

    def text(self, layer: str, at: Sequence[float], height: float, text: str) -> None:
        """Write a text with its lower left end at a place [mm]."""
        self._add("TEXT", layer, (10, at[0]), (20, at[1]), (30, 0.0), (40, height), (1, text))

    def insert(
        self, layer: str, block: str, at: Sequence[float], *, mirrored: bool = False
    ) -> None:
        """Insert a block with its base point at a place [mm], mirrored left to right or not."""
        self._add(
            "INSERT", layer,
            (2, block), (10, at[0]), (20, at[1]), (30, 0.0),
            (41, -1.0 if mirrored else 1.0), (42, 1.0), (43, 1.0),
        )  # fmt: skip


def write_dxf(sketch: Sketch, blocks: dict[str, Sketch]) -> str:
    """Return the text of a DXF file in millimetres.

    Parameters
    ----------
    sketch : Sketch
        Model space.
    blocks : dict of str to Sketch
        Block definitions, base point at the origin.

    Returns
    -------
    str
        ASCII, lines ended by a newline.
    """
    layers = ["0"]
    for one in (*blocks.values(), sketch):
        layers += [name for name in one.layers if name not in layers]
    handle = 0x10

    def with_handles(entities: Iterable[list[Tag]]) -> list[Tag]:
        nonlocal handle
        out: list[Tag] = []
        for tags in entities:
            handle += 1
            out += [tags[0], (5, f"{handle:X}"), *tags[1:]]
        return out

    tags: list[Tag] = [
        (0, "SECTION"), (2, "HEADER"),
        (9, "$ACADVER"), (1, "AC1009"),
        (9, "$INSUNITS"), (70, 4),
        (9, "$HANDLING"), (70, 1),
        (0, "ENDSEC"),
        (0, "SECTION"), (2, "TABLES"),
        (0, "TABLE"), (2, "LAYER"), (70, len(layers)),
    ]  # fmt: skip
    for number, name in enumerate(layers):
        tags += [(0, "LAYER"), (2, name), (70, 0), (62, 1 + number % 7), (6, "CONTINUOUS")]
    tags += [(0, "ENDTAB"), (0, "ENDSEC"), (0, "SECTION"), (2, "BLOCKS")]
    for name, block in blocks.items():
        tags += with_handles(
            [
                [(0, "BLOCK"), (8, "0"), (2, name), (70, 0), (10, 0.0), (20, 0.0), (30, 0.0),
                 (3, name)],
                *block.tags,
                [(0, "ENDBLK"), (8, "0")],
            ]
        )  # fmt: skip
    tags += [(0, "ENDSEC"), (0, "SECTION"), (2, "ENTITIES")]
    tags += with_handles(sketch.tags)
    tags += [(0, "ENDSEC"), (0, "EOF")]
    return "".join(
        f"{code:>3}\n{_number(value) if isinstance(value, float) else value}\n"
        for code, value in tags
    )
