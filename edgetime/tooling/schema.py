"""What may stand in each TOML file: keys, kinds of values, defaults and their meaning.

The descriptions are the text of the generated reference
(:func:`edgetime.tooling.reference.schema_reference`). Nothing outside this package sees
these classes: :mod:`edgetime.tooling.build` turns them into the records of
:mod:`edgetime.tooling.model`.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Any, Final

from pydantic import BaseModel, ConfigDict, Field

from edgetime.moves import MODE_OF_CORNER, PATH_MODES
from edgetime.takeoff.rules import CUTOUT_METHODS, MEANINGS, NOTCH_METHODS, Meaning
from edgetime.tolerances import CONTOUR_MM, GAP_MM
from edgetime.tooling.kinds import (
    Choice,
    Count,
    Flag,
    Money,
    Names,
    Quantity,
    Several,
    Sources,
    Text,
)
from edgetime.tooling.money import Rate
from edgetime.tooling.price_table import PriceTable

Str = Annotated[str, Text()]
Length = Annotated[float, Quantity("length", above="0 mm", at_most="20 m")]
Room = Annotated[float, Quantity("length", at_least="0 mm", at_most="20 m")]
Place2 = Annotated[
    tuple[float, float],
    Several(Quantity("length", at_least="-20 m", at_most="20 m"), "X", "Y"),
]
_Spot = Quantity("length", at_least="-20 m", at_most="20 m")
Feed = Annotated[float, Quantity("speed", above="0 mm/min", at_most="60 m/min")]
Rotation = Annotated[float, Quantity("rotation", above="0 rpm", at_most="60000 rpm")]
Seconds = Annotated[float, Quantity("time", at_least="0 s", at_most="8 h")]
Handling = Annotated[float, Quantity("time", at_least="0 s", at_most="8 h", usual="handling")]
Fraction = Annotated[float, Quantity("ratio", at_least="0 %", at_most="100 %")]
Accel = Quantity("acceleration", above="0 m/s2", at_most="50 m/s2")
Traverse = Quantity("speed", above="0 m/min", at_most="200 m/min", usual="traverse")
XYZ = tuple[float, float, float]


def _key(meaning: str, default: Any = ...) -> Any:
    if default is ...:
        return Field(description=meaning)
    return Field(default=default, description=meaning, validate_default=True)


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class _File(_Table):
    source: Annotated[dict[str, str], Sources()] = _key(
        "Where the figures come from: a published source, common practice, or an assumption "
        "to be replaced by the shop's own. One sentence for the file, or a table of sentences "
        "by key with one named all for the rest."
    )


class PointTable(_Table):
    """A vertex of a cross-section."""

    u: Annotated[float, Quantity("length", at_least="0 mm", at_most="200 mm")] = _key(
        "Distance from the sawn edge into the stone."
    )
    v: Annotated[float, Quantity("length", at_least="0 mm", at_most="200 mm")] = _key(
        "Depth below the top face."
    )
    arc: Annotated[str | None, Choice("convex", "concave")] = Field(
        default=None,
        description="Reaches this vertex by an arc instead of a straight line: convex where "
        "the stone bulges out, concave for a hollow. Needs radius.",
    )
    radius: Annotated[float | None, Quantity("length", above="0 mm", at_most="2 m")] = Field(
        default=None,
        description="Radius of the arc, at least half the distance of its ends.",
    )


class SectionTable(_Table):
    """The finished cross-section at one nominal thickness."""

    thickness: Length = _key("Nominal thickness of the slab.")
    height: Annotated[float | None, Quantity("length", above="0 mm", at_most="200 mm")] = Field(
        default=None,
        description="Height of the edge where an apron is glued under the slab; the thickness "
        "otherwise.",
    )
    points: list[PointTable] = _key(
        "Vertices from the top face (v = 0) to the bottom face (v = height)."
    )


class PreparationTable(_Table):
    """A step of work on an edge at the bench, before the part comes to the router."""

    name: Str = _key("What is done, such as glue-up.")
    time: Annotated[float, Quantity("time per length", at_least="0 min/m", at_most="4 h/m")] = _key(
        "A person's time per length of edge.", "0 min/m"
    )
    material: Annotated[tuple[Decimal, str] | None, Rate("m")] = Field(
        default=None, description="What is used up per length of edge; nothing if absent."
    )


class ProfileFile(_File):
    """What an edge becomes."""

    title: Str = _key("Readable name.")
    family: Annotated[
        str,
        Choice("flat", "arris", "round", "shaped", "mitred", "laminated", "seam", "none"),
    ] = _key("Family that the steps of a stack refer to.")
    face_up: Annotated[str, Choice("up", "down", "either")] = _key(
        "Which face of the stone lies up while it is made: the polished one (up), the back "
        "(down), or either.",
        "up",
    )
    made_here: Annotated[bool, Flag()] = _key(
        "false when it is made elsewhere, such as sawn mitres: listed, not timed.", True
    )
    sides: Annotated[int, Count(1, 2)] = _key(
        "2 when the piece is turned over half way through, each side with its own traverse.", 1
    )
    gauge_strip: Room = _key(
        "Width of the strip on the back that is ground to gauge thickness first; 0 mm for none.",
        "0 mm",
    )
    section: list[SectionTable] = _key(
        "One table per nominal thickness, the thinnest first.",
    )
    preparation: list[PreparationTable] = Field(
        default_factory=list,
        description="Work before the router: strip, glue-up and clamping of a laminated edge. "
        "Priced and counted as labour, not as machine time.",
    )


class LifeTable(_Table):
    """How long a tool lasts, by one measure. Give exactly one of the measures."""

    length: Annotated[float | None, Quantity("length", above="0 m", usual="edge")] = Field(
        default=None, description="Edge in contact: the edge length, counted once per pass."
    )
    volume: Annotated[float | None, Quantity("volume", above="0 cm3")] = Field(
        default=None, description="Stone removed."
    )
    g_ratio: Annotated[float | None, Quantity("ratio", above="0 %", at_most="1000000")] = Field(
        default=None,
        description="G-ratio: volume of stone removed per volume of wheel worn. Needs "
        "usable_depth or usable_volume; the life is G times the usable volume.",
    )
    time: Annotated[float | None, Quantity("time", above="0 s", usual="tool life")] = Field(
        default=None, description="Time in the cut."
    )
    holes: Annotated[int | None, Count(1, 10_000_000)] = Field(
        default=None, description="Holes drilled; core bits only."
    )
    area: Annotated[float | None, Quantity("area", above="0 mm2")] = Field(
        default=None, description="Area of the cut: its length times the thickness."
    )
    stone: Annotated[str | None, Text()] = Field(
        default=None,
        description="Stone, or family of stones, it holds for. If absent, stated for granite: it "
        "holds for all others, divided by their abrasiveness.",
    )
    thickness: Annotated[float | None, Quantity("length", above="0 mm", at_most="20 m")] = Field(
        default=None, description="Nominal thickness it holds for; all others if absent."
    )


class TaylorTable(_Table):
    """How the life falls as the feed rises: feed times a power of the time in the cut is constant.

    Feeds are those of the stack's step, before the stone's feed factor.
    """

    exponent: Annotated[float, Quantity("ratio", at_least="0.02", at_most="0.98")] = _key(
        "n of v T^n = C. From two trials: ln(v2/v1) / ln(T1/T2), v the feed and T the time in "
        "the cut a piece lasted; `edgetime feed --trial` reckons it."
    )
    reference_feed: Annotated[
        float | None, Quantity("speed", above="0 mm/min", at_most="60 m/min")
    ] = Field(
        default=None,
        description="The feed the tool's lives hold for, within the range; the feed of the step if absent.",
    )
    range: Annotated[
        tuple[float, float],
        Several(Quantity("speed", above="0 mm/min", at_most="60 m/min"), "lowest", "highest"),
    ] = _key("The feeds the relation was found between; it is not used outside of them.")


class ToolFile(_File):
    """A wheel, pad or bit."""

    title: Str = _key("Readable name.")
    kind: Annotated[
        str,
        Choice("core-bit", "finger-bit", "drum", "gauge-wheel", "profile-wheel", "polish-pad"),
    ] = _key("Shape.")
    diameter: Annotated[float, Quantity("length", above="0 mm", at_most="1 m")] = _key(
        "Working diameter when new: what follows the finished edge."
    )
    shaft: Annotated[float | None, Quantity("length", above="0 mm", at_most="1 m")] = Field(
        default=None,
        description="Largest diameter above or below the working part; the working diameter "
        "if absent.",
    )
    clearance: Room = _key("Extra radius an inside corner must have for this tool.", "1 mm")
    width: Length = _key("Axial height of the working part.")
    profiled: Annotated[bool, Flag()] = _key(
        "true when the wheel is ground to one profile, so that each profile needs its own.",
        False,
    )
    max_speed: Annotated[float | None, Quantity("rotation", above="0 rpm", at_most="60000 rpm")] = (
        Field(default=None, description="Maximum speed marked on the tool.")
    )
    max_peripheral: Annotated[
        float | None, Quantity("speed", above="0 m/s", at_most="150 m/s", usual="rim speed")
    ] = Field(default=None, description="Maximum peripheral speed marked on the tool.")
    life: list[LifeTable] = Field(
        default_factory=list,
        description="One table per measure; the earliest end governs.",
    )
    usable_depth: Annotated[float | None, Quantity("length", above="0 mm", at_most="200 mm")] = (
        Field(
            default=None,
            description="How far the radius may wear before the tool is spent.",
        )
    )
    usable_volume: Annotated[float | None, Quantity("volume", above="0 cm3", usual="bond")] = Field(
        default=None,
        description="Volume of bond that may wear; otherwise the ring of usable_depth over "
        "the whole width.",
    )
    price: Annotated[tuple[Decimal, str] | None, Money()] = Field(
        default=None, description="Price of one piece."
    )
    pack: Annotated[int, Count(1, 10_000)] = _key("Pieces in a pack.", 1)
    supplier: Annotated[str | None, Text()] = Field(
        default=None, description="The shop's own name for whom it is bought from."
    )
    lead_time: Annotated[
        float, Quantity("time", at_least="0 s", at_most="730 d", usual="delivery")
    ] = _key("From the order to the delivery.", "14 d")
    lead_time_spread: Annotated[
        float, Quantity("time", at_least="0 s", at_most="365 d", usual="delivery")
    ] = _key("Standard deviation of the lead time.", "0 d")
    minimum_order: Annotated[int, Count(1, 10_000)] = _key("Fewest pieces in an order.", 1)
    set: Annotated[str | None, Text()] = Field(
        default=None,
        description="Name of a set: tools of one set are ordered together, as many of each.",
    )
    dress_every: Annotated[float, Quantity("length", at_least="0 m", usual="edge")] = _key(
        "Path in the cut after which the tool is dressed; 0 m for never.", "0 m"
    )
    dress_time: Seconds = _key("Time one dressing takes.", "0 s")
    max_feed: Annotated[float | None, Quantity("speed", above="0 mm/min", at_most="60 m/min")] = (
        Field(
            default=None,
            description="Greatest feed the tool bears; `edgetime feed` does not go beyond it.",
        )
    )
    taylor: TaylorTable | None = Field(
        default=None, description="How the life depends on the feed, for `edgetime feed`."
    )


class StepTable(_Table):
    """One step of a stack. Which keys apply depends on the operation."""

    operation: Annotated[
        str, Choice("core", "cut", "rough", "seam", "gauge", "profile", "fine", "polish")
    ] = _key("What the step does.")
    tool: Str = _key("Name of the tool.")
    name: Annotated[str | None, Text()] = Field(
        default=None,
        description="Name of the step, unique in the stack; the tool's name if absent, "
        "numbered when the tool is used again.",
    )
    feed: Feed = _key("Feed of the tool centre; the vertical feed of a core bit.")
    spindle: Rotation = _key("Spindle speed.")
    plunge: Feed = _key("Vertical feed going down.", "2 m/min")
    retract: Feed = _key("Vertical feed coming up.", "6 m/min")
    applies_to: Annotated[tuple[str, ...] | None, Names()] = Field(
        default=None,
        description="Profiles or families of profiles; all finished profiles if absent, the "
        "family seam for the operation seam.",
    )
    places: Annotated[tuple[str, ...] | None, Names("outer", "cutout", "hole")] = Field(
        default=None,
        description="Where it applies; outer and cutout if absent (hole for core, cutout for "
        "cut, outer for seam).",
    )
    passes: Annotated[int, Count(1, 100)] = _key("Traverses of each run.", 1)
    engagement: Annotated[float, Quantity("length", above="0 mm", at_most="200 mm")] = _key(
        "Rough and seam: greatest stock one pass takes, square to the edge. Gauge: width of a "
        "lane.",
        "2 mm",
    )
    depth_step: Annotated[float, Quantity("length", above="0 mm", at_most="200 mm")] = _key(
        "Cut and gauge: greatest depth of one pass. Core: depth of one peck.", "10 mm"
    )
    share: Fraction = _key(
        "Share of the profile's removed cross-section that this step takes. The shares of the "
        "steps that apply to a profile add up to 100 %.",
        "0 %",
    )
    stock_left: Room = _key("What the finger bit leaves on the edge for roughing.", "1 mm")
    lead: Annotated[str, Choice("arc", "straight", "plunge")] = _key(
        "How the tool comes to the edge: on an arc, on a straight line, or down on the edge "
        "line itself.",
        "arc",
    )
    lead_length: Room = _key("Radius of the lead arc, or length of the straight lead.", "20 mm")
    overrun: Room = _key("How far the tool centre runs past a free end of a run.", "10 mm")
    overlap: Room = _key("How far a closed run is run over again at its end.", "20 mm")
    hold_contact_feed: Annotated[bool, Flag()] = _key(
        "true slows the centre on inside arcs so that the feed along the edge holds.", False
    )
    feed_floor: Annotated[float, Quantity("ratio", above="0 %", at_most="100 %")] = _key(
        "Least part of the feed the centre keeps then.", "30 %"
    )
    edge_feed_cap: Annotated[
        float, Quantity("speed", above="0 mm/min", at_most="100 m/min", word="none")
    ] = _key("Greatest feed along the edge on outer arcs and rolled corners.", "none")
    dwell: Seconds = _key("Wait at the start of each run, for water or the spindle.", "0 s")
    finish_feed: Annotated[
        float | None, Quantity("speed", above="0 mm/min", at_most="60 m/min")
    ] = Field(
        default=None,
        description="Greatest feed at which the finish is still right; `edgetime feed` does not go "
        "beyond it. If absent, fine and polish steps are not run faster than today.",
    )


_WHEEL: Final = frozenset({"rough", "seam", "gauge", "profile", "fine", "polish"})
_FINISH: Final = frozenset({"profile", "fine", "polish"})
_PATH: Final = _WHEEL | {"cut"}
STEP_KEYS_OF: Final[dict[str, frozenset[str]]] = {
    "applies_to": _WHEEL,
    "passes": _FINISH | {"seam"},
    "engagement": frozenset({"rough", "seam", "gauge"}),
    "depth_step": frozenset({"core", "cut", "gauge"}),
    "share": _FINISH,
    "stock_left": frozenset({"cut"}),
    "lead": _WHEEL,
    "lead_length": _WHEEL,
    "overrun": _WHEEL,
    "overlap": _WHEEL,
    "hold_contact_feed": _PATH,
    "feed_floor": _PATH,
    "edge_feed_cap": _PATH,
    "finish_feed": _FINISH,
}
"""Key of a step → operations it applies to; keys not listed apply to all."""


class StackFile(_File):
    """The ordered steps for some stones."""

    title: Str = _key("Readable name.")
    stones: Annotated[tuple[str, ...], Names()] = Field(
        default=(), description="Stones, or families of stones, it serves; all if empty."
    )
    thicknesses: list[Length] = Field(
        default_factory=list, description="Nominal thicknesses it serves; all if empty."
    )
    gauge_below_nominal: Room = _key(
        "Gauge thickness is the nominal thickness less this.", "0.5 mm"
    )
    step: list[StepTable] = _key("One table per step, in running order.")


class KeepOutTable(_Table):
    """An area of the table where no tool may come: a circle, a rectangle or a polygon.

    Give centre with diameter, corner with size, or points.
    """

    name: Str = _key("What stands there, for messages.")
    kind: Annotated[str, Choice("clamp", "stop", "cup")] = _key(
        "clamp and stop are in the way of every tool; a cup lies under the slab, in the way of "
        "tools that reach the slab's underside."
    )
    centre: Annotated[tuple[float, float] | None, Several(_Spot, "X", "Y")] = Field(
        default=None, description="Centre of a circle, in table coordinates."
    )
    diameter: Annotated[float | None, Quantity("length", above="0 mm", at_most="20 m")] = Field(
        default=None, description="Diameter of the circle."
    )
    corner: Annotated[tuple[float, float] | None, Several(_Spot, "X", "Y")] = Field(
        default=None, description="Corner of a rectangle with least X and Y."
    )
    size: Annotated[
        tuple[float, float] | None, Several(Quantity("length", above="0 mm"), "X", "Y")
    ] = Field(default=None, description="Length in X and width in Y of the rectangle.")
    points: list[Place2] = Field(
        default_factory=list, description="Vertices of a polygon, at least three."
    )


class MachineFile(_File):
    """A router."""

    title: Str = _key("Readable name.")
    table: Annotated[tuple[float, float], Several(Quantity("length", above="0 mm"), "X", "Y")] = (
        _key("Length and width of the table; its corner is at (0, 0).")
    )
    travel_min: Place2 = _key("Least X and Y the tool centre reaches, in table coordinates.")
    travel_max: Place2 = _key("Greatest X and Y the tool centre reaches.")
    axis_speed: Annotated[XYZ, Several(Traverse, "X", "Y", "Z")] = _key(
        "Greatest speed of each axis while feeding."
    )
    rapid: Annotated[XYZ, Several(Traverse, "X", "Y", "Z")] = _key("Traverse speed of each axis.")
    axis_acceleration: Annotated[XYZ, Several(Accel, "X", "Y", "Z")] = _key(
        "Greatest acceleration of each axis."
    )
    axis_jerk: Annotated[
        XYZ,
        Several(Quantity("jerk", above="0 m/s3", at_most="5000 m/s3", word="none"), "X", "Y", "Z"),
    ] = _key('Greatest jerk of each axis; "none" when the controller does not limit it.')
    path_acceleration: Annotated[float, Accel] = _key("Greatest acceleration along the path.")
    centripetal: Annotated[float, Accel] = _key("Greatest acceleration across the path, on arcs.")
    path_mode: Annotated[str | None, Choice(*PATH_MODES)] = Field(
        default=None,
        description="The controller's path control mode, after RS-274/NGC. exact-path (G61): "
        "moves that meet smoothly are run through, the tool stops in every corner. exact-stop "
        "(G61.1): it stops after every move. continuous (G64 P): it rounds corners within "
        "corner_tolerance. Required, unless the old key corner is there.",
    )
    corner: Annotated[str | None, Choice(*MODE_OF_CORNER)] = Field(
        default=None,
        description="Old key, still read: "
        + "; ".join(f"{old} is path_mode {new}" for old, new in MODE_OF_CORNER.items())
        + ".",
    )
    corner_tolerance: Annotated[float, Quantity("length", at_least="0 mm", at_most="5 mm")] = _key(
        "How far a rounded corner may leave the programmed path: P of G64.", "0.05 mm"
    )
    blend_share: Annotated[float, Quantity("ratio", above="0 %", at_most="50 %")] = _key(
        "Greatest share of a move that the rounding of a corner may take the place of; its time "
        "is that of the arc. Half by default, since the corner at the other end needs the rest.",
        "50 %",
    )
    stop_at_rapids: Annotated[bool, Flag()] = _key(
        "Whether the tool stands still between a feed and a rapid, even in line. true by "
        "default: controllers commonly finish a positioning move before they begin to cut; "
        "false for one that runs through.",
        True,
    )
    block_time: Annotated[float, Quantity("time", at_least="0 s", at_most="1 s", usual="block")] = (
        _key("Least time the controller needs for one move.", "2 ms")
    )
    look_ahead: Annotated[int | None, Count(1, 1_000_000, word="unlimited")] = _key(
        "Moves the controller reads in advance: it keeps to speeds from which it can stop "
        "within them. It matters for curves drawn as short chords. unlimited by default: "
        "controllers of this class read hundreds of moves, and edge paths have few and long ones.",
        "unlimited",
    )
    arc_shares: Annotated[
        tuple[float, float],
        Several(
            Quantity("ratio", above="0 %", at_most="100 %", word="by-direction"), "along", "across"
        ),
    ] = _key(
        "Shares of the weakest axis' acceleration that the controller uses along and across the "
        "path on arcs; their squares add up to 100 % at most. by-direction by default: as much "
        "of both as no axis exceeds in the directions swept, which asks nothing of the "
        "controller.",
        "by-direction",
    )
    corner_share: Annotated[float, Quantity("ratio", above="0 %", at_most="100 %")] = _key(
        "Share of the acceleration that the controller uses on a move beside a corner in which "
        "it stops. All of it by default: holding some back is a habit of few.",
        "100 %",
    )
    last_move_share: Annotated[float, Quantity("ratio", above="0 %", at_most="100 %")] = _key(
        "Share of the acceleration that the controller uses, when continuous, on the last move "
        "before the program ends or waits. All of it by default: holding some back is a habit "
        "of few.",
        "100 %",
    )
    pockets: Annotated[int, Count(1, 500)] = _key("Tools that fit in the rack.")
    rack: Place2 = _key("Where the tool is exchanged, in table coordinates.")
    safe_z: Length = _key("Height of rapids above the slab's top face.", "80 mm")
    approach_z: Room = _key("Height above the top face where a vertical feed begins.", "10 mm")
    exchange: Seconds = _key("Putting one tool away and taking the next.")
    measure: Seconds = _key("Measuring a tool's length after the exchange.", "0 s")
    spindle_up: Annotated[float, Quantity("time", above="0 s", at_most="10 min")] = _key(
        "Time from standstill to the greatest spindle speed; slowing down takes as long."
    )
    max_speed: Rotation = _key("Greatest spindle speed.")
    probe: Seconds = _key("Probing the thickness of one part.", "0 s")
    water_on: Seconds = _key("Wait for the water after each tool change.", "0 s")
    flip: Handling = _key("Attended: turning one part over.", "5 min")
    cup_move: Handling = _key("Attended: moving the cups under one part.", "3 min")
    slug: Handling = _key("Attended: taking out the slug of one cutout.", "1 min")
    load_part: Handling = _key(
        "Attended: bringing and fixing one part, before the cycle.", "2.5 min"
    )
    unload_part: Handling = _key("Attended: taking one part off, after the cycle.", "1.5 min")
    stop: Handling = _key("Attended: stopping and starting the program again, each time.", "1 min")
    water_flow: Annotated[
        float | None, Quantity("flow", at_least="0 l/min", at_most="1000 l/min")
    ] = Field(default=None, description="Water at the tool while it is in the cut.")
    spindle_power: Annotated[float | None, Quantity("power", at_least="0 W", at_most="200 kW")] = (
        Field(default=None, description="Drawn by the spindle on average while in the cut.")
    )
    base_power: Annotated[float | None, Quantity("power", at_least="0 W", at_most="200 kW")] = (
        Field(
            default=None,
            description="Drawn on average throughout the cycle by axes, control and pumps.",
        )
    )
    spacing: Room = _key("Room kept between the swept wheel and anything else.", "5 mm")
    min_hold: Room = _key("A part narrower than this cannot be held.", "80 mm")
    keep_out: list[KeepOutTable] = Field(
        default_factory=list,
        description="Clamps, stops and cups that stand on the table, one table each.",
    )


class StoneFile(_File):
    """A kind of stone."""

    title: Str = _key("Readable name.")
    family: Str = _key("Family that stacks and tool lives may refer to.")
    density: Annotated[float, Quantity("density", above="0 kg/m3", at_most="10 t/m3")] = _key(
        "For weights."
    )
    abrasiveness: Annotated[float, Quantity("ratio", above="0 %", at_most="100")] = _key(
        "How fast it wears tools; granite is 1.", 1.0
    )
    feed_factor: Annotated[float, Quantity("ratio", above="0 %", at_most="10")] = _key(
        "Multiplies the feeds of every stack that serves this stone.", 1.0
    )
    thickness_spread: Annotated[float, Quantity("length", at_least="0 mm", at_most="20 mm")] = _key(
        "How far the real thickness may exceed the nominal one; added to it when the thickness "
        "is not probed.",
        "0 mm",
    )


class StockTable(_Table):
    """Stone to remove down to the finished edge, by what made the raw edge."""

    saw: Room = _key("Sawn edges.", "2 mm")
    waterjet: Room = _key("Edges cut by water jet.", "1 mm")
    router: Room = _key("Edges cut by the router's own finger bit, elsewhere or before.", "1 mm")


class _OwnFile(_Table):
    source: Annotated[dict[str, str], Sources()] = Field(
        default_factory=dict,
        description="Where the figures come from, as in the other files; may be left out.",
    )


class BreakTable(_Table):
    """A break of the person at the machine; the machine runs on."""

    after: Annotated[float, Quantity("time", at_least="0 s", at_most="24 h", usual="shift")] = _key(
        "When it begins, counted from the beginning of the shift."
    )
    length: Annotated[float, Quantity("time", above="0 s", at_most="8 h", usual="handling")] = _key(
        "How long it lasts."
    )


class ShiftTable(_Table):
    """How a shift runs."""

    starts: Annotated[float, Quantity("time", at_least="0 h", at_most="24 h", usual="shift")] = (
        _key("Time of the day it begins, counted from midnight.", "7 h")
    )
    hours: Annotated[float, Quantity("time", above="0 h", at_most="24 h", usual="shift")] = _key(
        "Length, breaks included.", "8 h"
    )
    breaks: list[BreakTable] = Field(
        default_factory=lambda: [
            BreakTable.model_validate({"after": "4 h", "length": "30 min"}),
        ],
        description="Breaks, one table each; an empty list for none.",
    )
    zones: Annotated[int, Count(1, 8)] = _key(
        "Zones of the table: one is loaded while another is worked.", 1
    )
    zone_length: Annotated[float | None, Quantity("length", above="0 mm", at_most="20 m")] = Field(
        default=None,
        description="Length of a zone in X; the table's length divided by the zones if absent.",
    )
    warm_up: Handling = _key("The machine by itself, before the first cycle.", "10 min")
    measure: Handling = _key("Attended: measuring a load after its cycle, on the table.", "2 min")
    tool_swap: Handling = _key(
        "Attended, the machine stands: changing one tool piece in the rack.", "3 min"
    )
    used: Fraction = _key(
        "Share of its life each tool piece has behind it when the shift begins.", "50 %"
    )
    scrap: Fraction = _key("Share of the parts that are spoiled.", "1 %")
    stoppage_every: Annotated[float, Quantity("time", above="0 h", word="never", usual="shift")] = (
        _key("Running time from one stoppage to the next, on average.", "20 h")
    )
    stoppage: Handling = _key("Attended: ending one stoppage, on average.", "10 min")
    cycle_spread: Fraction = _key(
        "How far cycles differ from the estimate: standard deviation by mean.", "5 %"
    )
    handling_spread: Fraction = _key(
        "How far attended tasks differ from their time: standard deviation by mean.", "30 %"
    )
    last_load: Annotated[str, Choice("in-shift", "runs-on")] = _key(
        "in-shift: every load is unloaded within the shift, for nobody looks after the machine at "
        "night. runs-on: a cycle that begins within the shift and needs nobody after it goes on, "
        "and is unloaded on the next day.",
        "in-shift",
    )
    service_level: Annotated[float, Quantity("ratio", at_least="50 %", at_most="99.9 %")] = _key(
        "A number of loads is promised if at least this share of the shifts makes it.", "90 %"
    )
    replications: Annotated[int, Count(30, 100000)] = _key("Shifts that are simulated.", 200)
    seed: Annotated[int, Count(0, 2147483647)] = _key("Of the random numbers.", 1)


class ShopFile(_OwnFile):
    """The shop's defaults."""

    machine: Str = _key("Machine.", "medium")
    stone: Str = _key("Stone.", "granite")
    thickness: Length = _key("Nominal thickness.", "30 mm")
    stack: Str = _key("Tool stack.", "standard")
    units: Annotated[str, Choice("metric", "imperial")] = _key("Units of printed tables.", "metric")
    cutout_method: Annotated[str, Choice(*CUTOUT_METHODS)] = _key(
        "milled: the router cuts the opening out. precut: it was opened before.", "milled"
    )
    notch_method: Annotated[str, Choice(*NOTCH_METHODS)] = _key(
        "A cutout that reaches the edge. outline: made with the outline, by whatever made that. "
        "milled: by the cut step, entered from outside.",
        "outline",
    )
    order: Annotated[str, Choice("short-travel", "as-drawn")] = _key(
        "Order of the runs of one tool.", "short-travel"
    )
    outer_source: Annotated[str, Choice("saw", "waterjet", "router")] = _key(
        "What made the outer edges.", "saw"
    )
    seam_source: Annotated[str, Choice("saw", "waterjet", "router")] = _key(
        "What made the seam edges.", "saw"
    )
    precut_source: Annotated[str, Choice("saw", "waterjet", "router")] = _key(
        "What made the edges of precut openings.", "waterjet"
    )
    contour_tolerance: Annotated[float, Quantity("length", at_least="0 mm", at_most="1 mm")] = _key(
        "Stone that may be left where a wheel does not quite reach; within it, short chords "
        "count as the line or arc they follow.",
        f"{CONTOUR_MM:g} mm",
    )
    stock: StockTable = Field(
        default_factory=lambda: StockTable.model_validate({}),
        description="Stone left to remove, by source.",
    )
    price: PriceTable | None = Field(
        default=None, description="What the shop charges; assumed figures if absent."
    )
    shift: ShiftTable = Field(
        default_factory=lambda: ShiftTable.model_validate({}),
        description="How a shift runs.",
    )


class LayerTable(_Table):
    """What the geometry on some layers means."""

    match: Str = _key("Layer name; * stands for any characters, ? for one; case is ignored.")
    means: Annotated[str, Choice(*Meaning)] = _key(
        "What the geometry stands for. "
        + "; ".join(f"{m}: {what}" for m, what in MEANINGS.items())
        + "."
    )
    profile: Annotated[str | None, Text()] = Field(
        default=None, description="Profile of an edge or cutout."
    )
    method: Annotated[str | None, Choice(*CUTOUT_METHODS)] = Field(
        default=None, description="For a cutout: how it is opened; the shop's default if absent."
    )
    notch: Annotated[str | None, Choice(*NOTCH_METHODS)] = Field(
        default=None,
        description="For a cutout that reaches the edge: how the notch is made; the shop's "
        "default if absent.",
    )


class LayersFile(_OwnFile):
    """What layers mean; the first match wins."""

    add_to_shipped: Annotated[bool, Flag()] = _key(
        "true: the rules of this file come first, those that come with edgetime after them. "
        "false: this file replaces them, so that it holds all the rules there are.",
        default=False,
    )
    default_profile: Annotated[str | None, Text()] = Field(
        default=None,
        description="Profile of outlines that neither an overlay nor a text gives one; "
        "unfinished, with a finding, if absent.",
    )
    cutout_profile: Annotated[str | None, Text()] = Field(
        default=None,
        description="Profile of openings that neither a rule nor an overlay gives one; "
        "unfinished, with a finding, if absent.",
    )
    gap: Annotated[float, Quantity("length", at_least="0 mm", at_most="10 mm")] = _key(
        "Ends of curves that lie no further apart are joined.", f"{GAP_MM:g} mm"
    )
    layer: list[LayerTable] = Field(
        default_factory=list, description="One table per rule, in order."
    )


FOLDERS: Final[dict[str, type[_File]]] = {
    "profiles": ProfileFile,
    "tools": ToolFile,
    "stacks": StackFile,
    "machines": MachineFile,
    "stones": StoneFile,
}
"""Folder of a shop → what its files hold."""

FILES: Final[dict[str, type[_Table]]] = {"shop.toml": ShopFile, "layers.toml": LayersFile}
"""File of a shop → what it holds."""
