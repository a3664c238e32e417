"""Profiles, tools, stacks, machines and stones, in internal units (mm, s, rad).

The TOML files of ``tooling_profiles/`` and of a shop's own folder are validated by
:mod:`edgetime.tooling.schema` and turned into these frozen records. Every record keeps the
file it comes from and a ``source`` sentence per file: a published source, common practice,
or an assumption to be replaced by the shop's own figure.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum
from typing import Literal

from edgetime.moves import PathMode
from edgetime.takeoff.keepouts import KeepOut
from edgetime.takeoff.model import Place
from edgetime.takeoff.rules import LayerRules
from edgetime.tolerances import CONTOUR_MM
from edgetime.tooling.rates import PriceRates


class Operation(StrEnum):
    """What a step does, in the order of a usual stack."""

    CORE = "core"
    CUT = "cut"
    ROUGH = "rough"
    SEAM = "seam"
    GAUGE = "gauge"
    PROFILE = "profile"
    FINE = "fine"
    POLISH = "polish"

    @property
    def takes_stock(self) -> bool:
        """Whether it takes off the stock that is on an edge."""
        return self in {Operation.ROUGH, Operation.SEAM}

    @property
    def finishing(self) -> bool:
        """Whether the step shapes or polishes a profile (hand work replaces it)."""
        return self in {Operation.PROFILE, Operation.FINE, Operation.POLISH}


class FaceUp(StrEnum):
    """Which face of the stone must lie up while the profile is made."""

    UP = "up"
    DOWN = "down"
    EITHER = "either"


class ToolKind(StrEnum):
    """The shape of a tool, as far as paths and life need it."""

    CORE_BIT = "core-bit"
    FINGER_BIT = "finger-bit"
    DRUM = "drum"
    GAUGE_WHEEL = "gauge-wheel"
    PROFILE_WHEEL = "profile-wheel"
    POLISH_PAD = "polish-pad"


@dataclass(frozen=True, slots=True)
class Section:
    """The finished cross-section of an edge at one nominal thickness.

    The contour runs from the top face to the bottom face. ``u`` is the distance from the
    sawn edge plane into the stone, ``v`` the depth below the top face [mm]; ``bulge`` turns
    each segment as in :mod:`edgetime.geometry.path`. What lies between the contour and the
    plane ``u = 0`` is removed.

    Attributes
    ----------
    thickness_mm : float
        Nominal thickness of the slab [mm].
    points_mm : tuple of (u, v)
        Vertices [mm].
    bulges : tuple of float
        One per segment [-].
    removed_mm2 : float
        Exact area removed [mm²].
    contour_mm : float
        Length of the finished contour [mm].
    height_mm : float
        Height of the edge: the thickness, or more where an apron is glued on [mm].
    """

    thickness_mm: float
    points_mm: tuple[tuple[float, float], ...]
    bulges: tuple[float, ...]
    removed_mm2: float
    contour_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PreparationStep:
    """Work on an edge at the bench, before the part comes to the router.

    Attributes
    ----------
    name : str
        What is done.
    s_per_mm : float
        A person's time per length of edge [s/mm].
    material_per_m : Decimal
        What is used up per metre of edge, in ``currency``.
    currency : str
        ISO 4217 code, ``""`` where no material is stated.
    """

    name: str
    s_per_mm: float
    material_per_m: Decimal
    currency: str


@dataclass(frozen=True)
class Profile:
    """What an edge becomes.

    Attributes
    ----------
    name, title, family : str
        Key, readable title, and the family that stacks refer to (``flat``, ``arris``,
        ``round``, ``shaped``, ``mitred``, ``laminated``, ``none``).
    face_up : FaceUp
        Which face must lie up.
    made_here : bool
        False when it is made elsewhere (sawn mitres): listed, not timed.
    sides : int
        1, or 2 when the piece is turned over half way through.
    gauge_strip_mm : float
        Width of the strip on the back that is ground to gauge thickness [mm]; 0 for none.
    sections : dict
        Section per nominal thickness [mm].
    source : str
        Where the shape comes from.
    file : str
        Path of the TOML file.
    preparation : tuple of PreparationStep
        What is done before the router.
    """

    name: str
    title: str
    family: str
    face_up: FaceUp
    made_here: bool
    sides: int
    gauge_strip_mm: float
    sections: dict[float, Section]
    source: str
    file: str
    preparation: tuple[PreparationStep, ...] = ()

    @property
    def finished(self) -> bool:
        """Whether any finishing is done on this edge (not a seam, not left as sawn)."""
        return self.family not in {"none", "seam"}


@dataclass(frozen=True, slots=True)
class Life:
    """How long a tool lasts, by one measure.

    Attributes
    ----------
    by : str
        ``length`` [mm], ``volume`` [mm³], ``g-ratio`` [-], ``time`` [s], ``holes`` [-] or
        ``area`` [mm²].
    value : float
        In the unit above.
    stone : str or None
        Stone name or family it holds for, None for all others.
    thickness_mm : float or None
        Nominal thickness it holds for [mm], None for all others.
    key : str
        Where it stands in the tool's file, counted from 1: ``life[2].length``.
    """

    by: str
    value: float
    stone: str | None = None
    thickness_mm: float | None = None
    key: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Taylor:
    """How a tool's life falls as its feed rises: ``v T^n = C``, T the time in the cut.

    Feeds are those of a stack's step times the feed override; a stone's feed factor is not in
    them.

    Attributes
    ----------
    exponent : float
        n, between 0 and 1 [-].
    reference_mm_per_s : float or None
        The feed the stated life holds for; None for the feed of the step [mm/s].
    low_mm_per_s, high_mm_per_s : float
        The feeds the relation was found between [mm/s].
    """

    exponent: float
    reference_mm_per_s: float | None
    low_mm_per_s: float
    high_mm_per_s: float


@dataclass(frozen=True)
class Tool:
    """A model of wheel, pad or bit.

    Attributes
    ----------
    name, title : str
        Key and readable title.
    kind : ToolKind
        Shape.
    diameter_mm : float
        Working diameter when new [mm].
    shaft_mm : float
        Diameter of the shaft or hub above or below the working part [mm].
    clearance_mm : float
        Extra radius an inside corner must have for this tool [mm].
    width_mm : float
        Axial height of the working part [mm].
    profiled : bool
        The wheel is ground to one profile: each profile needs a piece of its own.
    max_rotation_rad_per_s : float or None
        Marked maximum speed [rad/s].
    max_peripheral_mm_per_s : float or None
        Marked maximum peripheral speed [mm/s].
    life : tuple of Life
        The earliest end governs.
    price : Decimal or None
        Price of one piece in ``currency``.
    currency : str
        ISO 4217 code, ``""`` when there is no price.
    pack : int
        Pieces in a pack.
    dress_every_mm, dress_s : float
        Dressing interval [mm of path], 0 for never, and the time one dressing takes [s].
    source, file : str
        Where the figures come from; TOML file.
    supplier : str
        Whom it is bought from, ``""`` when the file does not say.
    lead_time_d, lead_time_spread_d : float
        From order to delivery: mean and standard deviation [d].
    minimum_order : int
        Fewest pieces in an order.
    set_name : str
        Tools with the same name here are ordered together, ``""`` for none.
    usable_depth_mm : float or None
        How far the radius may wear before the tool is spent [mm].
    usable_volume_mm3 : float or None
        Volume of bond that may wear; where the file gives none, the ring of the usable depth
        over the whole width [mm³].
    max_feed_mm_per_s : float or None
        The greatest feed the tool bears [mm/s].
    taylor : Taylor or None
        How its life depends on the feed.
    """

    name: str
    title: str
    kind: ToolKind
    diameter_mm: float
    shaft_mm: float
    clearance_mm: float
    width_mm: float
    profiled: bool
    max_rotation_rad_per_s: float | None
    max_peripheral_mm_per_s: float | None
    life: tuple[Life, ...]
    price: Decimal | None
    currency: str
    pack: int
    dress_every_mm: float
    dress_s: float
    source: str
    file: str
    supplier: str = ""
    lead_time_d: float = 14.0
    lead_time_spread_d: float = 0.0
    minimum_order: int = 1
    set_name: str = ""
    usable_depth_mm: float | None = None
    usable_volume_mm3: float | None = None
    max_feed_mm_per_s: float | None = None
    taylor: Taylor | None = None


@dataclass(frozen=True)
class Step:
    """One entry of a stack.

    Attributes
    ----------
    name : str
        Unique in the stack; defaults to the tool's name (numbered when used twice).
    operation : Operation
        What it does.
    tool : str
        Tool name.
    feed_mm_per_s : float
        Programmed feed of the tool centre [mm/s]; vertical feed for ``core``.
    plunge_mm_per_s, retract_mm_per_s : float
        Vertical feeds [mm/s].
    rotation_rad_per_s : float
        Spindle speed [rad/s].
    applies_to : tuple of str
        Profile names or families; empty for all finished profiles.
    places : tuple of Place
        Where it applies.
    passes : int
        Traverses of each run (finishing, seam).
    engagement_mm : float
        Rough and seam: greatest radial stock one pass takes [mm]. Gauge: lane width [mm].
    depth_step_mm : float
        Cut and gauge: greatest depth of one pass [mm]. Core: peck depth [mm].
    share : float
        Share of the profile's removed cross-section this step takes [-].
    stock_left_mm : float
        Cut: what the finger bit leaves for roughing [mm].
    lead : str
        ``arc``, ``straight`` or ``plunge`` (down on the edge line itself).
    lead_mm : float
        Radius of the lead arc or length of the straight lead [mm].
    overrun_mm : float
        How far the tool centre runs past a free end of a run [mm].
    overlap_mm : float
        Overlap of a closed run [mm of edge].
    hold_contact_feed : bool
        On inside arcs the centre slows so that the contact feed holds.
    feed_floor : float
        Least fraction of the feed the centre keeps then [-].
    edge_feed_cap_mm_per_s : float
        Greatest feed at the contact on outer arcs and rolled corners [mm/s]; ``inf`` for none.
    dwell_s : float
        Wait at the start of each run (water, spindle settling) [s].
    key : str
        Where it stands in the stack's file, counted from 1: ``step[3]``.
    finish_feed_mm_per_s : float or None
        The greatest feed at which the finish is still right [mm/s].
    """

    name: str
    operation: Operation
    tool: str
    feed_mm_per_s: float
    plunge_mm_per_s: float
    retract_mm_per_s: float
    rotation_rad_per_s: float
    applies_to: tuple[str, ...]
    places: tuple[Place, ...]
    passes: int
    engagement_mm: float
    depth_step_mm: float
    share: float
    stock_left_mm: float
    lead: str
    lead_mm: float
    overrun_mm: float
    overlap_mm: float
    hold_contact_feed: bool
    feed_floor: float
    edge_feed_cap_mm_per_s: float
    dwell_s: float
    key: str = ""
    finish_feed_mm_per_s: float | None = None


@dataclass(frozen=True)
class Stack:
    """The ordered steps for one family of stones.

    Attributes
    ----------
    name, title : str
        Key and readable title.
    stones : tuple of str
        Stone names or families it serves; empty for all.
    thicknesses_mm : tuple of float
        Nominal thicknesses it serves [mm]; empty for all.
    gauge_below_nominal_mm : float
        Gauge thickness = nominal − this [mm].
    steps : tuple of Step
        In running order.
    source, file : str
        Where the figures come from; TOML file.
    """

    name: str
    title: str
    stones: tuple[str, ...]
    thicknesses_mm: tuple[float, ...]
    gauge_below_nominal_mm: float
    steps: tuple[Step, ...]
    source: str
    file: str


@dataclass(frozen=True)
class OldKey:
    """A key of an older file that is still read.

    Attributes
    ----------
    key : str
        As it is written there.
    line : int or None
        Where.
    instead : str
        What to write instead, key and value.
    """

    key: str
    line: int | None
    instead: str


@dataclass(frozen=True)
class Machine:
    """A router: table, axes, controller, tool rack.

    Attributes
    ----------
    name, title : str
        Key and readable title.
    table_mm : (float, float)
        Table length in X and width in Y [mm], its corner at (0, 0).
    travel_min_mm, travel_max_mm : (float, float)
        Reach of the tool centre in table coordinates, X and Y [mm].
    axis_speed_mm_per_s, axis_acceleration_mm_per_s2, axis_jerk_mm_per_s3 : 3 floats
        Limits of X, Y, Z; jerk ``inf`` when the controller does not limit it.
    rapid_mm_per_s : 3 floats
        Traverse speed of X, Y, Z [mm/s].
    path_acceleration_mm_per_s2, centripetal_mm_per_s2 : float
        Along the path and across it [mm/s²].
    path_mode : str
        ``exact-path``, ``exact-stop`` or ``continuous``.
    corner : str
        The older and coarser word for it, kept in JSON: ``blend`` when continuous, else
        ``exact-stop``.
    corner_tolerance_mm : float
        Path tolerance of blending [mm].
    block_time_s : float
        Least time the controller needs for one move [s].
    pockets : int
        Tools in the rack.
    rack_mm : (float, float)
        Where the exchange happens in X and Y [mm].
    safe_z_mm, approach_z_mm : float
        Height of rapids above the slab's top face, and height above it where a plunge
        begins [mm].
    exchange_s, measure_s : float
        Exchanging a tool; measuring its length [s].
    spindle_up_rad_per_s2 : float
        Run-up and run-down of the spindle [rad/s²].
    max_rotation_rad_per_s : float
        Spindle limit [rad/s].
    probe_s : float
        Probing the thickness of one part [s].
    water_on_s : float
        Wait for the water after each tool change [s].
    flip_s, cup_move_s, slug_s : float
        Attended: turning one part over, moving the cups of one part, taking out one slug [s].
    load_part_s, unload_part_s : float
        Attended, before and after the cycle, per part [s].
    stop_s : float
        Attended: stopping and restarting the program at one attended stop [s].
    spacing_mm : float
        Clearance kept between the swept wheel and anything else [mm].
    min_hold_mm : float
        A part narrower than this cannot be held [mm].
    source, file : str
        Where the figures come from; TOML file.
    water_mm3_per_s : float or None
        Water at the tool while it is in the cut [mm³/s].
    spindle_w, base_w : float or None
        Power drawn on average by the spindle while in the cut, and by axes, control and pumps
        throughout the cycle [W].
    keep_outs : tuple of KeepOut
        Where no tool may come, on this table.
    blend_share : float
        Greatest share of a move that the rounding of a corner takes the place of [-].
    stop_at_rapids : bool
        The tool stands still between a feed and a rapid.
    look_ahead_moves : int or None
        Moves the controller reads in advance; None for no limit.
    arc_shares : (float, float) or None
        Shares of the weakest axis' acceleration along and across the path on arcs [-]; None
        for as much as the directions swept allow.
    corner_share, last_move_share : float
        Share of the acceleration beside a corner in which the tool stops, and on a program's
        last move [-].
    old_keys : tuple of OldKey
        Keys under older names that its file still has.
    """

    name: str
    title: str
    table_mm: tuple[float, float]
    travel_min_mm: tuple[float, float]
    travel_max_mm: tuple[float, float]
    axis_speed_mm_per_s: tuple[float, float, float]
    axis_acceleration_mm_per_s2: tuple[float, float, float]
    axis_jerk_mm_per_s3: tuple[float, float, float]
    rapid_mm_per_s: tuple[float, float, float]
    path_acceleration_mm_per_s2: float
    centripetal_mm_per_s2: float
    path_mode: PathMode
    corner_tolerance_mm: float
    block_time_s: float
    pockets: int
    rack_mm: tuple[float, float]
    safe_z_mm: float
    approach_z_mm: float
    exchange_s: float
    measure_s: float
    spindle_up_rad_per_s2: float
    max_rotation_rad_per_s: float
    probe_s: float
    water_on_s: float
    flip_s: float
    cup_move_s: float
    slug_s: float
    load_part_s: float
    unload_part_s: float
    stop_s: float
    spacing_mm: float
    min_hold_mm: float
    source: str
    file: str
    water_mm3_per_s: float | None = None
    spindle_w: float | None = None
    base_w: float | None = None
    keep_outs: tuple[KeepOut, ...] = ()
    blend_share: float = 0.5
    stop_at_rapids: bool = True
    look_ahead_moves: int | None = None
    arc_shares: tuple[float, float] | None = None
    corner_share: float = 1.0
    last_move_share: float = 1.0
    old_keys: tuple[OldKey, ...] = ()
    corner: Literal["exact-stop", "blend"] = field(init=False)

    def __post_init__(self) -> None:
        corner = "blend" if self.path_mode == "continuous" else "exact-stop"
        object.__setattr__(self, "corner", corner)


@dataclass(frozen=True)
class Stone:
    """A kind of stone.

    Attributes
    ----------
    name, title, family : str
        Key, title, and family (``granite``, ``quartz``, ``marble``, ``sintered``).
    density_kg_per_m3 : float
        For weights.
    abrasiveness : float
        Wear relative to granite = 1 [-].
    feed_factor : float
        Multiplies every cutting feed [-].
    thickness_spread_mm : float
        How far the real thickness may exceed nominal [mm]; taken as the actual thickness
        when none is probed.
    source, file : str
        Where the figures come from; TOML file.
    """

    name: str
    title: str
    family: str
    density_kg_per_m3: float
    abrasiveness: float
    feed_factor: float
    thickness_spread_mm: float
    source: str
    file: str


@dataclass(frozen=True, kw_only=True)
class ShiftDefaults:
    """``[shift]`` of ``shop.toml``: how a shift runs.

    Attributes
    ----------
    starts_s : float
        Time of the day it begins, from midnight [s].
    hours_s : float
        Length, breaks included [s].
    breaks : tuple of (float, float)
        Begin, from the beginning of the shift, and length of each break [s].
    zones : int
        Zones of the table: one is loaded while another is worked.
    zone_length_mm : float or None
        Length of a zone in X; None for the table's length divided by the zones [mm].
    warm_up_s : float
        The machine by itself, before the first cycle [s].
    measure_s : float
        Attended: measuring a load after its cycle [s].
    tool_swap_s : float
        Attended, the machine stands: changing one tool piece in the rack [s].
    used : float
        Share of its life each piece has behind it at the beginning [-].
    scrap : float
        Share of the parts that are spoiled [-].
    stoppage_every_s : float
        Mean running time from one stoppage to the next, ``inf`` for never [s].
    stoppage_s : float
        Attended: ending one stoppage, mean [s].
    cycle_spread, handling_spread : float
        Standard deviation by mean of cycles and of attended tasks [-].
    replications, seed : int
        Shifts that are simulated, and the seed of their random numbers.
    last_load : str
        ``in-shift``: every load is unloaded within the shift. ``runs-on``: a cycle that began
        within it and needs nobody after it goes on, and is unloaded on the next day.
    service_level : float
        Share of the shifts in which a number of loads is made that can be promised [-].
    """

    starts_s: float
    hours_s: float
    breaks: tuple[tuple[float, float], ...]
    zones: int
    zone_length_mm: float | None
    warm_up_s: float
    measure_s: float
    tool_swap_s: float
    used: float
    scrap: float
    stoppage_every_s: float
    stoppage_s: float
    cycle_spread: float
    handling_spread: float
    replications: int
    seed: int
    last_load: str = "in-shift"
    service_level: float = 0.9

    @property
    def runs_on(self) -> bool:
        """Whether a cycle may go on by itself after the shift."""
        return self.last_load == "runs-on"


@dataclass(frozen=True)
class ShopDefaults:
    """``shop.toml``.

    Attributes
    ----------
    machine, stone, stack : str
        Names.
    thickness_mm : float
        Nominal [mm].
    units : str
        ``metric`` or ``imperial``, for tables.
    cutout_method : str
        ``milled`` or ``precut``.
    notch_method : str
        ``outline`` or ``milled``: what makes cutouts that reach the edge.
    stock_mm : dict
        Stock to remove per source: ``saw``, ``waterjet``, ``router`` [mm].
    outer_source, seam_source, precut_source : str
        Which of the sources made these edges.
    order : str
        ``short-travel`` or ``as-drawn``.
    file : str
        TOML file.
    price : PriceRates
        What the shop charges.
    shift : ShiftDefaults or None
        How a shift runs; None only in a catalogue that no file stands behind.
    contour_tolerance_mm : float
        By so much the worked contour may differ from the drawn one [mm].
    """

    machine: str
    stone: str
    stack: str
    thickness_mm: float
    units: str
    cutout_method: str
    stock_mm: dict[str, float]
    outer_source: str
    seam_source: str
    precut_source: str
    order: str
    file: str
    price: PriceRates = field(default_factory=PriceRates)
    shift: ShiftDefaults | None = None
    contour_tolerance_mm: float = CONTOUR_MM
    notch_method: str = "outline"


@dataclass(frozen=True)
class Catalogue:
    """Everything the shop has: the shipped files, overlaid by the shop's own.

    Attributes
    ----------
    profiles, tools, stacks, machines, stones : dict
        By name.
    shop : ShopDefaults
        Defaults.
    layers : LayerRules
        ``layers.toml``.
    digest : str
        SHA-256 over all files read, hexadecimal.
    raw : dict
        ``(file, dotted key) -> text as written``, for ``--explain``; list entries are counted
        from 1 (``step[3].feed``), and a figure the file leaves to the schema reads
        ``default: …``.
    sources : dict
        ``(file, key) -> sentence``, where a figure comes from; ``""`` for all other keys.
    """

    profiles: dict[str, Profile]
    tools: dict[str, Tool]
    stacks: dict[str, Stack]
    machines: dict[str, Machine]
    stones: dict[str, Stone]
    shop: ShopDefaults
    layers: LayerRules
    digest: str
    raw: dict[tuple[str, str], str] = field(default_factory=dict, repr=False)
    sources: dict[tuple[str, str], str] = field(default_factory=dict, repr=False)

    def core_diameters_mm(self) -> tuple[float, ...]:
        """Return the diameters of all core bits, ascending [mm]."""
        return tuple(
            sorted({t.diameter_mm for t in self.tools.values() if t.kind is ToolKind.CORE_BIT})
        )

    def source_of(self, file: str, key: str) -> str:
        """Return the sentence that says where a figure comes from.

        Parameters
        ----------
        file, key : str
            As in ``raw``.

        Returns
        -------
        str
            The sentence for the innermost name of the key that has one, else the file's own;
            empty when there is none.
        """
        names = [part.partition("[")[0] for part in key.split(".")]
        found = (self.sources.get((file, name)) for name in [*reversed(names), ""])
        return next((sentence for sentence in found if sentence), "")
