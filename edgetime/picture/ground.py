"""What lies under the edges of a plan: table, rack, keep-outs, stone, curves that are in no part."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

import numpy as np

from edgetime.picture.canvas import TEXT, Canvas, attribute, clean, group
from edgetime.picture.curves import edge_data, moves_data
from edgetime.picture.scene import Show
from edgetime.picture.styles import DRAWN, LOOSE, UNMATCHED, Stroke

if TYPE_CHECKING:
    from edgetime.geometry.path import Path
    from edgetime.takeoff import Part
    from edgetime.tooling.keep_out import KeepOut

_MEANING: Final = {"unknown": "no layer rule", "recess": "listed, not timed"}
_STYLE: Final = {"unknown": UNMATCHED, "recess": DRAWN}


def table(canvas: Canvas) -> Iterator[str]:
    """Draw the machine's table with what stands on it."""
    est = canvas.scene.est
    if est is None or Show.TABLE not in canvas.show:
        return
    pen, machine, unit = canvas.pen, est.load.machine, canvas.unit
    wide, deep = machine.table_mm
    top = (
        f'<rect x="0" y="{pen.n(-deep)}" width="{pen.n(wide)}" height="{pen.n(deep)}" '
        f'fill="#f4f1ea" stroke="#8a8373" stroke-width="{pen.n(0.8 * unit)}"/>'
    )
    rows = [
        top,
        pen.text(
            4.0 * unit,
            -(TEXT + 3.0) * unit,
            f"Table of {machine.name}, {wide:.0f} x {deep:.0f} mm; X to the right, Y up",
            size=0.85,
        ),
    ]
    rows += [_keep_out(canvas, k, path) for k in est.load.keep_outs for path in k.paths]
    x, y = machine.rack_mm
    r = 6.0 * unit
    left, low, right, high = canvas.scene.box_mm
    if left - r <= x <= right + r and low - r <= y <= high + r:
        rows.append(
            f'<path d="M{pen.n(x - r)} {pen.n(-y)}H{pen.n(x + r)}M{pen.n(x)} '
            f'{pen.n(-y - r)}V{pen.n(-y + r)}" {pen.stroke(Stroke("#5c5749", (), 1.2))}/>'
        )
        rows.append(pen.text(x + 1.4 * r, y - 0.4 * r, "rack", size=0.85))
    yield from group("table", rows)


def _keep_out(canvas: Canvas, keep: KeepOut, path: Path) -> str:
    return (
        f'<path d="{edge_data(path)}" fill="#d9d4c7" '
        f"{canvas.pen.line(Stroke('#5c5749', (2, 1), 0.8))}>"
        f"<title>{clean(f'Keep-out {keep.name} ({keep.kind})')}</title></path>"
    )


def stones(canvas: Canvas) -> Iterator[str]:
    """Draw the parts without their edges."""

    def outline(part: Part) -> str:
        loops = [edge_data(c.path) + "Z" for c in part.contours()]
        size = canvas.unit * 0.3
        return (
            f'<path d="{"".join(loops)}" data-part={attribute(part.part_id)} '
            f'stroke="#9a9a9a" stroke-width="{canvas.pen.n(size)}">'
            f"<title>{clean(f'{part.part_id} {part.name}')}</title></path>"
        )

    yield from group(
        "parts", map(outline, canvas.scene.parts), ' fill="#ffffff" fill-rule="evenodd"'
    )


def drawn(canvas: Canvas) -> Iterator[str]:
    """Draw the curves that are in no part, as they were drawn."""
    rows = []
    for layer in canvas.scene.drawn:
        flat = np.zeros((len(layer.start), 1))
        data = moves_data(np.hstack([layer.start, flat]), np.hstack([layer.end, flat]), layer.bulge)
        told = f"layer {layer.layer}: {_MEANING.get(layer.means, f'{layer.means}, in no part')}"
        rows.append(
            f'<path d="{data}" data-layer={attribute(layer.layer)} '
            f"{canvas.pen.stroke(_STYLE.get(layer.means, LOOSE))}><title>{clean(told)}</title></path>"
        )
    yield from group("drawn", rows)
