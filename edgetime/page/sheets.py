"""Sheets to print: what goes to the machine, to the supplier, on the wall."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from pathlib import PurePath
from typing import TYPE_CHECKING, Final, NamedTuple

from edgetime.choices import Paper
from edgetime.cycle import WallClock
from edgetime.estimating.settings import ToolSetting, tool_settings
from edgetime.geometry.measure import bounds
from edgetime.labour import KINDS
from edgetime.page.html import blocks_html, sections
from edgetime.picture.legend import group_text
from edgetime.picture.plan import clean, draw_scene
from edgetime.picture.scene import Scene, Show, groups_of, scene_of_estimate
from edgetime.report.columns import CLOCK, COUNT, Column, Sheet, Unit
from edgetime.report.cycle import CAUTION
from edgetime.report.document import Block, Fact, Heading, Line, Table, Tone
from edgetime.report.findings import cannot_run_parts
from edgetime.report.quantities import format_edge, format_length, format_thickness, speed_figure
from edgetime.report.quantities import speed_unit as unit_of_speeds
from edgetime.report.text import clock
from edgetime.report.wording import in_units
from edgetime.unit_table import IN_MM
from edgetime.units import UnitSystem, format_time

if TYPE_CHECKING:
    from edgetime.drawing import Drawing
    from edgetime.estimating import Estimate
    from edgetime.load.load import PlacedPart

_STYLE: Final = """
@page { margin: 12mm 12mm 16mm;
  @bottom-right { content: counter(page) " of " counter(pages); font: 8pt sans-serif; } }
body { font: 9.5pt/1.35 system-ui, Helvetica, Arial, sans-serif; color: #000; margin: 0 auto;
  max-width: 190mm; padding: 4mm; }
@media print { body { padding: 0; } }
h1 { font-size: 15pt; margin: 0 0 2mm; } h2 { font-size: 11pt; margin: 5mm 0 1.5mm;
  border-bottom: .4pt solid #777; break-after: avoid; }
p { margin: .8mm 0; } .strong { font-weight: bold; } .error { font-weight: bold; color: #a61c00; }
.in1 { margin-left: 4mm; } .in2 { margin-left: 8mm; }
dl { display: grid; grid-template-columns: max-content 1fr; gap: .5mm 4mm; margin: 1mm 0; }
dt { color: #444; } dd { margin: 0; }
table { border-collapse: collapse; width: 100%; font-size: 8pt; font-variant-numeric: tabular-nums; }
caption { display: none; } th, td { padding: .6mm 1.1mm; text-align: left; font-weight: normal;
  border-bottom: .3pt solid #bbb; vertical-align: top; }
thead th { font-weight: bold; border-bottom: .6pt solid #000; } thead { display: table-header-group; }
tr { break-inside: avoid; }
tbody tr:first-child, tbody tr:nth-last-child(2) { break-after: avoid; } .n { text-align: right; white-space: nowrap; }
thead th.n { white-space: normal; vertical-align: bottom; } thead th { vertical-align: bottom; }
.plan svg { width: 100%; height: auto; max-height: 105mm; }
section { break-inside: avoid; }
.box { display: inline-block; width: 3.2mm; height: 3.2mm; border: .6pt solid #000; margin-right: 2mm; }
.sign { display: grid; grid-template-columns: 1.4fr 1fr 1fr 1fr; gap: 6mm; margin-top: 11mm; }
.sign div { border-top: .5pt solid #000; padding-top: 1mm; }
"""

CHECKS: Final = (
    "Water on at every tool; never grind dry.",
    "Each tool in its pocket; the maximum speed marked on it is not below its speed in the table.",
    "Diameter of each tool measured and as in the table.",
    "Guards closed, vacuum holding, cups and clamps clear of every path.",
    "Thickness of each slab measured and as stated above.",
    "Zero point set; parts placed as in the plan and the table of parts.",
)
"""What is looked at before cycle start; the shop's own list and local codes come first."""


def sheet_html(title: str, rows: Iterable[str], *, paper: Paper = Paper.A4, style: str = "") -> str:
    """Return a sheet as one HTML file without script; ``style`` is added to that of all sheets."""
    return "\n".join(
        [
            '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">',
            (
                '<meta http-equiv="Content-Security-Policy" content="default-src \'none\'; '
                "style-src 'unsafe-inline'\">"
            ),
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            f"<title>{clean(title)}</title>\n<style>{_STYLE}@page {{ size: {paper}; }}{style}</style>\n</head>\n<body>",
            f"<h1>{clean(title)}</h1>",
            *rows,
            "</body>\n</html>\n",
        ]
    )


def _size(value_mm: float, system: UnitSystem) -> str:
    if system is UnitSystem.IMPERIAL:
        return f"{value_mm / IN_MM:.3f}"
    return f"{value_mm:.1f}".removesuffix(".0")


SIZE: Final = Unit("_mm", _size, lambda s: "in" if s is UnitSystem.IMPERIAL else "mm")
"""Diameters and depths, with the unit in the heading."""


def _rpm(value: float, _: UnitSystem) -> str:
    return f"{value * 30.0 / math.pi:.0f}"


_FIGURES: Final = Unit("", lambda value, _: str(value))

RPM: Final = Unit("_rad_per_s", _rpm, lambda _: "rpm")


def _settings_sheet(
    settings: Sequence[ToolSetting], system: UnitSystem, wall: WallClock | None
) -> Sheet[ToolSetting]:
    unit = unit_of_speeds([s.high_feed_mm_per_s for s in settings], system)

    def feed(s: ToolSetting) -> str:
        low, high = (speed_figure(v, unit) for v in (s.low_feed_mm_per_s, s.high_feed_mm_per_s))
        return low if low == high else f"{low} to {high}"

    def offset(s: ToolSetting) -> str:
        low, high = (_size(v, system) for v in (s.near_mm, s.far_mm))
        return low if low == high else f"{low} to {high}"

    def starts(s: ToolSetting) -> str:
        return "" if wall is None else wall.show(wall.at(s.visit - 1, s.starts_s))

    start = (
        Column[ToolSetting](
            key="starts_s",
            heading="Start",
            unit=CLOCK,
            show=lambda value, _: clock(value) if value > 0.0 else "0:00",
        )
        if wall is None
        else Column[ToolSetting](heading="Start", unit=_FIGURES, get=starts)
    )
    return Sheet(
        (
            Column(key="visit", heading="#", unit=COUNT),
            Column(heading="Pocket", unit=_FIGURES, get=lambda s: s.pocket or "by hand"),
            # A wheel may be divided from its profile at the end of a line.
            Column(heading="Tool", get=lambda s: s.piece.replace("/", " / ")),
            Column(key="operation", heading="Work"),
            Column(key="diameter_mm", heading="Dia.", unit=SIZE),
            Column(key="rotation_rad_per_s", heading="Speed", unit=RPM),
            Column(key="max_rotation_rad_per_s", heading="Max.", unit=RPM),
            # A word joiner: a unit is not divided at its stroke.
            Column(heading=f"Feed {unit}".replace("/", "/\u2060"), unit=_FIGURES, get=feed),
            Column(key="runs", heading="Edge runs", unit=COUNT),
            Column(key="passes_per_run", heading="Passes", unit=COUNT),
            Column(heading=f"Offset {SIZE.heading(system)}", unit=_FIGURES, get=offset),
            Column(key="depth_mm", heading="Depth", unit=SIZE),
            start,
        )
    )  # fmt: skip


def setup_sheet(
    est: Estimate,
    *,
    system: UnitSystem = UnitSystem.METRIC,
    wall: WallClock | None = None,
    drawings: Sequence[Drawing] = (),
) -> str:
    """Return the set-up sheet of a load, for use at the machine.

    Parameters
    ----------
    est : Estimate
        The load.
    system : UnitSystem
        Units of the tables.
    wall : WallClock, optional
        The cycle by the clock of the day.
    drawings : sequence of Drawing
        The drawings as read, for the lines that are in no part.

    Returns
    -------
    str
        HTML: plan, tools by pocket, attended stops, checks before cycle start, room for a
        signature and the measured time.
    """
    names = ", ".join(PurePath(d.path).name for d in est.take_off.drawings)
    settings = tool_settings(est)
    scene = scene_of_estimate(est, drawings)
    svg = draw_scene(
        scene,
        show={Show.LABELS, Show.HAND, Show.TABLE, Show.FINDINGS, Show.LEGEND},
        length_text=lambda length: format_edge(length, system),
        listed=False,  # too small to read on paper; they follow as text
    )
    tools: list[Block] = [
        Heading("Tools"),
        Table(_settings_sheet(settings, system, wall), settings),
        Line(
            "Edge runs: unbroken edges, or holes; passes: over each of them. Offset: tool centre from the "
            "finished edge. Depth: tip below the top face."
        ),
        *_by_hand(settings),
        Heading("Attended stops"),
        *_stops(est, wall),
        Heading("Parts on the table"),
        Table(_parts_sheet(system), est.load.parts),
        Line("X, Y: lower left corner of the part's bounding box, from the table's zero point."),
        *_to_know(est, scene, system),
    ]
    rows = [
        *blocks_html([*cannot_run_parts(est.findings, system), *_head(est, system, wall)], system),
        f'<div class="plan">{svg}</div>',
    ]
    for heading, held in sections(tools):
        rows += [f"<h2>{clean(heading)}</h2>", *blocks_html(held, system, caption=heading)]
    rows.append("<section><h2>Before cycle start</h2>")
    rows += [f'<p><span class="box"></span>{clean(check)}</p>' for check in CHECKS]
    rows.append(f"<p>{clean(CAUTION)}</p>")
    rows.append(
        '<div class="sign"><div>Checked by, date</div><div>Cycle start</div><div>Cycle end</div>'
        "<div>Measured cycle time</div></div></section>"
    )
    return sheet_html(f"Set-up sheet: {names}", rows)


def _head(est: Estimate, system: UnitSystem, wall: WallClock | None) -> Iterable[Block]:
    load = est.load
    actual = max((p.actual_mm for p in load.parts), default=load.nominal_mm)
    yield Fact("Machine", f"{load.machine.name}: {load.machine.title}")
    yield Fact(
        "Stone",
        f"{load.stone.title}, {format_thickness(load.nominal_mm, system)} nominal, timed as "
        f"{format_length(actual, system)} thick",
    )
    yield Fact("Stack", f"{load.stack.name}: {load.stack.title}")
    cycle = f"{format_time(est.cycle.total_s)} by estimate"
    if wall is not None:
        cycle += f", {wall.show(wall.start)} to {wall.show(wall.end)}"
    yield Fact("Cycle", cycle)
    yield Fact("Estimate", est.digest[:12])


def _by_hand(settings: Sequence[ToolSetting]) -> Iterable[Block]:
    missing = [s.piece for s in settings if s.pocket is None]
    if missing:
        yield Line(
            f"No pocket, swapped by hand: {', '.join(dict.fromkeys(missing))}.", tone=Tone.STRONG
        )


def _parts_sheet(system: UnitSystem) -> Sheet[PlacedPart]:
    def size(p: PlacedPart) -> str:
        x0, y0, x1, y1 = bounds(p.part.outline.path)
        return f"{_size(x1 - x0, system)} × {_size(y1 - y0, system)}"

    unit = SIZE.heading(system)
    return Sheet(
        (
            Column(key="part_id", heading="Part"),
            Column(key="name", heading="Name"),
            Column(heading="X", unit=SIZE, get=lambda p: bounds(p.part.outline.path)[0]),
            Column(heading="Y", unit=SIZE, get=lambda p: bounds(p.part.outline.path)[1]),
            Column(heading=f"Size {unit}", unit=_FIGURES, get=size),
            Column(heading="Thickness", unit=SIZE, get=lambda p: p.actual_mm),
            Column(heading="Drawing", get=lambda p: PurePath(p.drawing).name),
        )
    )


def _to_know(est: Estimate, scene: Scene, system: UnitSystem) -> Iterable[Block]:
    """Yield what the plan marks: edges left for hand finishing, and findings by number."""
    groups = groups_of(scene)
    if est.cycle.hand_mm > 0.0 or groups:
        yield Heading("Marks in the plan")
    if est.cycle.hand_mm > 0.0:
        length = format_edge(est.cycle.hand_mm, system)
        yield Line(f"Left for finishing by hand, marked in the plan: {length}.", tone=Tone.STRONG)
    for kind in groups:
        parts = sorted({f.where.part for f in kind.findings if f.where.part})
        where = kind.findings[0].where
        names = (where.layer, where.part, where.path)
        about = f" Parts: {', '.join(parts)}." if len(parts) > 1 else ""
        yield Line(f"{in_units(group_text(kind), system, names=names)}{about}")


class _StopRow(NamedTuple):
    """An attended stop as the operator meets it."""

    begin: str
    end: str
    before: str
    do: str
    about: str
    seconds: float
    done: None = None


_STOPS: Final[Sheet[_StopRow]] = Sheet(
    (
        Column(key="begin", heading="At"),
        Column(key="end", heading="Until"),
        Column(key="before", heading="Before tool"),
        Column(key="do", heading="What to do"),
        Column(key="about", heading="Parts"),
        Column(key="seconds", heading="Time min:s", unit=Unit("", lambda value, _: clock(value))),
        Column(key="done", heading="Done"),
    )
)


def _stops(est: Estimate, wall: WallClock | None) -> Iterable[Block]:
    if not est.plan.stops:
        yield Line("None.")
        return
    visits, parts = est.cycle.visits, est.load.parts
    # Without a time of day the clock is the machine's, which stands still during a stop.
    times = wall.stop_times() if wall is not None else [(s, None, None) for s in est.plan.stops]
    rows = []
    for stop, begin, end in times:
        v = stop.before_visit
        at_s = visits[v].starts_s if v < len(visits) else est.cycle.total_s
        rows.append(
            _StopRow(
                f"{clock(at_s)} min" if wall is None or begin is None else wall.show(begin),
                "" if wall is None or end is None else wall.show(end),
                f"{v + 1} {visits[v].piece}" if v < len(visits) else "end of the cycle",
                KINDS[stop.reason].do,
                ", ".join(parts[p].part.part_id for p in stop.parts),
                stop.seconds,
            )
        )
    yield Table(_STOPS, rows)
    if wall is None:
        yield Line("At: time on the machine's clock, stops excluded.")
