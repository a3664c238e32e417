"""The shop's defaults: what ``shop.toml`` says."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Literal, get_args

from edgetime.choices import CutoutMethod, RunOrder
from edgetime.tolerances import CONTOUR_MM
from edgetime.tooling.declare import Record, key, own
from edgetime.tooling.kinds import Choice, Count, Quantity, Table, Tables
from edgetime.tooling.layers import NotchMethod
from edgetime.tooling.ordering import CalendarRules, OrderingRules
from edgetime.tooling.price_rates import PriceRates
from edgetime.tooling.shared_kinds import FRACTION, HANDLING, LENGTH, ROOM, TEXT
from edgetime.tooling.sources import Sources
from edgetime.units import UnitSystem

_SHIFT_TIME = Quantity("time", at_least="0 s", at_most="24 h", usual="shift")

StockSource = Literal["saw", "waterjet", "router"]


class LastLoad(StrEnum):
    """What becomes of a cycle that is not over when the shift is."""

    IN_SHIFT = "in-shift"
    RUNS_ON = "runs-on"


@dataclass(frozen=True, kw_only=True)
class Stock(Record):
    """Stone to remove down to the finished edge, by what made the raw edge."""

    saw_mm: float = key(ROOM, "Sawn edges.", default="2 mm")
    waterjet_mm: float = key(ROOM, "Edges cut by water jet.", default="1 mm")
    router_mm: float = key(
        ROOM, "Edges cut by the router's own finger bit, elsewhere or before.", default="1 mm"
    )

    def by_source(self) -> dict[str, float]:
        """Return the stock of each source [mm]."""
        return {source: getattr(self, f"{source}_mm") for source in get_args(StockSource)}


@dataclass(frozen=True, kw_only=True)
class Break(Record):
    """A break of the person at the machine; the machine runs on."""

    after_s: float = key(_SHIFT_TIME, "When it begins, counted from the beginning of the shift.")
    length_s: float = key(
        Quantity("time", above="0 s", at_most="8 h", usual="handling"), "How long it lasts."
    )


@dataclass(frozen=True, kw_only=True)
class ShiftDefaults(Record):
    """How a shift runs."""

    starts_s: float = key(
        Quantity("time", at_least="0 h", at_most="24 h", usual="shift"),
        "Time of the day it begins, counted from midnight.",
        default="7 h",
    )
    hours_s: float = key(
        Quantity("time", above="0 h", at_most="24 h", usual="shift"),
        "Length, breaks included.",
        default="8 h",
    )
    breaks: tuple[tuple[float, float], ...] = key(
        Tables(Break),
        "Breaks, one table each; an empty list for none.",
        value=((4 * 3600.0, 30 * 60.0),),
        make=lambda breaks: tuple((b.after_s, b.length_s) for b in breaks),
    )
    zones: int = key(
        Count(1, 8), "Number of table zones: one is loaded while another is worked.", default=1
    )
    zone_length_mm: float | None = key(
        LENGTH,
        "Length of a zone in X; the table's length divided by the zones if absent.",
        default=None,
    )
    warm_up_s: float = key(
        HANDLING, "Warm-up of the machine, before the first cycle.", default="10 min"
    )
    measure_s: float = key(
        HANDLING, "Operator time: measuring a load on the table after its cycle.", default="2 min"
    )
    tool_swap_s: float = key(
        HANDLING,
        "Operator time with the machine stopped: changing one tool in the rack.",
        default="3 min",
    )
    used: float = key(
        FRACTION,
        "Share of its life that each tool has used when the shift begins.",
        default="50 %",
    )
    scrap: float = key(FRACTION, "Scrap rate: share of the parts that are scrapped.", default="1 %")
    stoppage_every_s: float = key(
        Quantity("time", above="0 h", word="never", usual="shift"),
        "Mean running time between stoppages.",
        default="20 h",
    )
    stoppage_s: float = key(
        HANDLING, "Operator time: mean time to clear one stoppage.", default="10 min"
    )
    cycle_spread: float = key(
        FRACTION,
        "Coefficient of variation of cycle times: standard deviation divided by mean.",
        default="5 %",
    )
    handling_spread: float = key(
        FRACTION,
        "Coefficient of variation of operator times: standard deviation divided by mean.",
        default="30 %",
    )
    last_load: str = key(
        Choice(LastLoad),
        "in-shift: every load is unloaded within the shift. runs-on: a cycle that starts in the "
        "shift and runs unattended finishes after it and is unloaded the next day.",
        default="in-shift",
    )
    service_level: float = key(
        Quantity("ratio", at_least="50 %", at_most="99.9 %"),
        "Service level: a number of loads is promised if at least this share of the shifts "
        "reaches it.",
        default="90 %",
    )
    replications: int = key(Count(30, 100000), "Shifts that are simulated.", default=200)
    seed: int = key(Count(0, 2147483647), "Seed of the random numbers.", default=1)

    @property
    def runs_on(self) -> bool:
        """Whether a cycle may go on by itself after the shift."""
        return self.last_load == LastLoad.RUNS_ON


@dataclass(frozen=True, kw_only=True)
class ShopDefaults(Record):
    """The shop's defaults."""

    source: str = key(
        Sources(),
        "Where the figures come from, as in the other files; may be left out.",
        value="",
    )
    machine: str = key(TEXT, "Machine.", default="medium")
    stone: str = key(TEXT, "Stone.", default="granite")
    thickness_mm: float = key(LENGTH, "Nominal thickness.", default="30 mm")
    stack: str = key(TEXT, "Tool stack.", default="standard")
    units: str = key(Choice(UnitSystem), "Units of printed tables.", default="metric")
    cutout_method: CutoutMethod = key(
        Choice(CutoutMethod),
        "milled: the router cuts the opening out. precut: it was opened before.",
        default="milled",
    )
    notch_method: NotchMethod = key(
        Choice(NotchMethod),
        "A cutout that reaches the edge. outline: made with the outline, in the same way. "
        "milled: by the cut step, entered from outside.",
        default="outline",
    )
    order: RunOrder = key(
        Choice(RunOrder), "Order of the runs of one tool.", default="short-travel"
    )
    outer_source: StockSource = key(
        Choice(StockSource), "What made the outer edges.", default="saw"
    )
    seam_source: StockSource = key(Choice(StockSource), "What made the seam edges.", default="saw")
    precut_source: StockSource = key(
        Choice(StockSource), "What made the edges of precut openings.", default="waterjet"
    )
    contour_tolerance_mm: float = key(
        Quantity("length", at_least="0 mm", at_most="1 mm"),
        "Stone that may remain where a wheel does not quite reach; within it, short chords count "
        "as the line or arc they follow.",
        default=f"{CONTOUR_MM:g} mm",
    )
    stock_mm: Mapping[str, float] = key(
        Table(Stock),
        "Stone left to remove, by source.",
        name="stock",
        default={},
        value=Stock().by_source(),
        make=Stock.by_source,
    )
    price: PriceRates = key(
        Table(PriceRates),
        "Rates of the shop; assumed figures if absent.",
        value=PriceRates(),
    )
    shift: ShiftDefaults = key(
        Table(ShiftDefaults), "How a shift runs.", default={}, value=ShiftDefaults()
    )
    calendar: CalendarRules = key(
        Table(CalendarRules), "The shop's working days.", default={}, value=CalendarRules()
    )
    ordering: OrderingRules = key(
        Table(OrderingRules),
        "How much of a tool the shop keeps; a tool's own file comes first.",
        default={},
        value=OrderingRules(),
    )
    file: str = own("The TOML file it was read from.", "")
