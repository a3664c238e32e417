"""What the shop charges: rates, shares and rules of the table ``[price]``."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal

from edgetime.errors import CatalogueInvalid
from edgetime.tooling.declare import Record, key, keys_of, own, place
from edgetime.tooling.kinds import Choice, Count, Table
from edgetime.tooling.money_kinds import Duration, Money, Percent, Rate
from edgetime.tooling.shared_kinds import FLAG, TEXT
from edgetime.tooling.toml_file import Spot

SetupShare = Literal["time", "parts", "length", "line"]
MarginOn = Literal["cost", "price"]
Rounding = Literal["half-up", "half-even", "up"]
RoundAt = Literal["total", "line"]


def _money(kind: Money | Rate, meaning: str, assumed: str = "0") -> Decimal:
    """Declare an amount that is assumed where the shop does not state it."""
    amount: Decimal = key(kind, meaning, value=Decimal(assumed), currency="currency")
    return amount


@dataclass(frozen=True, kw_only=True)
class MachineHour(Record):
    """What a machine hour is built up of, instead of machine_rate."""

    purchase: Decimal = key(Money(), "Price of the machine, installed.", currency="currency")
    residual: Decimal = _money(
        Money(), "What it is worth at the end of its life; nothing if absent."
    )
    life_years: Decimal = key(Count(1, 60), "Years of use.", make=Decimal)
    hours_per_year: Decimal = key(Count(1, 8784), "Running hours per year.", make=Decimal)
    interest: Decimal = key(
        Percent(at_most="50"),
        "Per year, on the mean of purchase and residual.",
        default="0 %",
    )
    maintenance: Decimal = _money(Rate("year"), "Repairs and maintenance.")
    insurance: Decimal = _money(Rate("year"), "Insurance.")
    floor_area_m2: Decimal = key(
        Count(0, 10_000),
        "Floor area of the machine and its surroundings, in square metres.",
        name="floor_area",
        default=0,
        make=Decimal,
    )
    floor_rent: Decimal = _money(Rate("m2 year"), "Rent of that area.")
    other: Decimal = _money(
        Rate("year"), "Other yearly costs of the machine: supervision, light, programs, training."
    )
    currency: str = own("ISO 4217 code of its amounts.", "")

    def check(self, spot: Spot) -> Iterator[CatalogueInvalid]:
        """Yield a machine that is worth more at its end than when new."""
        if self.residual > self.purchase:
            yield spot.error(
                f"The machine is worth {self.residual} at the end and {self.purchase} new.",
                key="residual",
                remedy="Give a residual value below the purchase price.",
            )


@dataclass(frozen=True, kw_only=True)
class PriceRates(Record):
    """What the shop charges. All figures are in one currency."""

    machine_rate: Decimal = _money(
        Rate("h"), "Machine rate, without power, water, tools and labour.", "42.00"
    )
    machine_hour: MachineHour | None = key(
        Table(MachineHour),
        "Costs the machine rate is calculated from; instead of machine_rate.",
        default=None,
    )
    electricity: Decimal = _money(Rate("kWh"), "Price of power.", "0.25")
    water: Decimal = _money(Rate("m3"), "Price of water, or of recycling it.", "4.00")
    labour_rate: Decimal = _money(Rate("h"), "Labour rate, all on-costs included.", "45.00")
    setup_h: Decimal = key(
        Duration(),
        "Setup time once per load, in addition to the times per part in the machine's file.",
        default="15 min",
    )
    setup_share: SetupShare = key(
        Choice(SetupShare),
        "How the setup of a load is shared over its parts: by their machine time, equally, by "
        "their worked edge, or not at all: a separate line.",
        default="time",
    )
    attendance: Decimal = key(
        Percent(at_most="100"),
        "Share of the machine's cycle that needs an operator.",
        default="0 %",
    )
    machine_waits: bool = key(
        FLAG,
        "true: the machine is occupied while parts are loaded, turned and unloaded. false: a "
        "second table is loaded meanwhile.",
        default=True,
    )
    hand_rate: Decimal = _money(Rate("m"), "Finishing by hand.", "60.00")
    overhead: Decimal = key(
        Percent(at_most="500"),
        "Overhead added to the cost: office, sales, building.",
        default="15 %",
    )
    margin: Decimal = key(Percent(below="100"), "Profit.", default="20 %")
    margin_on: MarginOn = key(
        Choice(MarginOn),
        "cost: that share of the cost is added to it. price: it is that share of the price.",
        default="cost",
    )
    minimum: Decimal = _money(
        Money(),
        "Least net price of a job; what would be rounded below it is rounded up.",
        "80.00",
    )
    round_to: Decimal = _money(Money(), "Step that prices are rounded to.", "0.01")
    rounding: Rounding = key(
        Choice(Rounding),
        "half-up: half a step goes up. half-even: to the even step. up: every part of a step. "
        "The tax is always rounded half up to the smallest coin.",
        default="half-up",
    )
    round_at: RoundAt = key(
        Choice(RoundAt),
        "total: the total is rounded and shared out over the lines to the cent. line: each line "
        "is rounded, the total is their sum.",
        default="total",
    )
    tax: Decimal = key(Percent(at_most="100"), "Sales or value-added tax.", default="0 %")
    tax_included: bool = key(FLAG, "Prices are shown with the tax in them.", default=False)
    tax_at: RoundAt = key(
        Choice(RoundAt),
        "Where the tax is rounded: once on the total, or line by line.",
        default="total",
    )
    locale: str = key(
        TEXT,
        "Locale of the numbers in tables, such as en_US, en_GB, de_DE, fr_FR.",
        default="en",
    )
    currency: str = own(
        "ISO 4217 code, empty when no figure of the table names one.",
        None,
        fill=lambda rates: "" if rates.machine_hour is None else rates.machine_hour.currency,
    )
    key: str = place("Where the shop's file has the table, empty when it has none.")

    @property
    def stated(self) -> bool:
        """Whether the shop has the table at all."""
        return bool(self.key)

    def check(self, spot: Spot) -> Iterator[CatalogueInvalid]:
        """Yield rates that contradict one another."""
        hour = self.machine_hour
        if hour is not None and hour.currency != self.currency:
            yield spot.error(
                f"{spot.key('machine_hour')} is in {hour.currency}, {spot.at} in {self.currency}.",
                key="machine_hour",
                remedy=f"Write all figures of [{spot.at}] in one currency.",
            )
        if hour is not None and spot.has("machine_rate"):
            yield spot.error(
                "The machine rate is both given and built up.",
                key="machine_rate",
                remedy="Keep machine_rate or the table [price.machine_hour].",
            )
        if self.round_to <= 0:
            yield spot.error(
                "Prices cannot be rounded to steps of zero.",
                key="round_to",
                remedy='Give a step above zero, such as "0.01 EUR".',
            )


ASSUMED: Final = frozenset(name for name, k in keys_of(PriceRates).items() if k.currency)
"""The amounts that are assumed where the shop does not state them, in the currency of its other
figures."""
