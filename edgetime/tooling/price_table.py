"""The table ``[price]`` of ``shop.toml``: keys, ranges, meaning, and the record made of it."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field

from edgetime.errors import CatalogueInvalid
from edgetime.tooling.kinds import Choice, Count, Flag, Money, Text
from edgetime.tooling.money import Duration, Percent, Rate
from edgetime.tooling.rates import ASSUMED, MachineHour, PriceRates
from edgetime.tooling.toml_file import TomlFile

Amount = tuple[Decimal, str]


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


def _key(meaning: str, default: Any) -> Any:
    return Field(default=default, description=meaning, validate_default=True)


def _rate(meaning: str, assumed: str | None = None) -> Any:
    text = meaning if assumed is None else f"{meaning} {ASSUMED[assumed]} is assumed if absent."
    return Field(default=None, description=text)


class MachineHourTable(_Table):
    """What a machine hour is built up of, instead of machine_rate."""

    purchase: Annotated[Amount, Money()] = Field(description="Price of the machine, installed.")
    residual: Annotated[Amount | None, Money()] = _rate(
        "What it is worth at the end of its life; nothing if absent."
    )
    life_years: Annotated[int, Count(1, 60)] = Field(description="Years it is used.")
    hours_per_year: Annotated[int, Count(1, 8784)] = Field(description="Hours it runs in a year.")
    interest: Annotated[Decimal, Percent(at_most="50")] = _key(
        "Per year, on the mean of purchase and residual.", "0 %"
    )
    maintenance: Annotated[Amount | None, Rate("year")] = _rate("Repairs and maintenance.")
    insurance: Annotated[Amount | None, Rate("year")] = _rate("Insurance.")
    floor_area: Annotated[int, Count(0, 10_000)] = _key(
        "Room the machine takes with its surroundings, in square metres.", 0
    )
    floor_rent: Annotated[Amount | None, Rate("m2 year")] = _rate("Rent of that room.")
    other: Annotated[Amount | None, Rate("year")] = _rate(
        "What else the machine costs in a year: supervision, light, programs, training."
    )


class PriceTable(_Table):
    """What the shop charges. All figures are in one currency."""

    machine_rate: Annotated[Amount | None, Rate("h")] = _rate(
        "Of the machine, without power, water, tools and people.", "machine_rate"
    )
    machine_hour: MachineHourTable | None = Field(
        default=None, description="Builds the machine's rate up; instead of machine_rate."
    )
    electricity: Annotated[Amount | None, Rate("kWh")] = _rate("Price of power.", "electricity")
    water: Annotated[Amount | None, Rate("m3")] = _rate(
        "Price of water, or of recycling it.", "water"
    )
    labour_rate: Annotated[Amount | None, Rate("h")] = _rate(
        "Of a person, all on-costs included.", "labour_rate"
    )
    setup: Annotated[Decimal, Duration()] = _key(
        "Attended work once per load, beside what the machine's file states per part.", "15 min"
    )
    setup_share: Annotated[str, Choice("time", "parts", "length", "line")] = _key(
        "How the set-up of a load is shared over its parts: by their machine time, equally, by "
        "their worked edge, or not at all: a line of its own.",
        "time",
    )
    attendance: Annotated[Decimal, Percent(at_most="100")] = _key(
        "Share of the machine's cycle that a person is needed for.", "0 %"
    )
    machine_waits: Annotated[bool, Flag()] = _key(
        "true: the machine is taken up while parts are loaded, turned and unloaded. false: a "
        "second table is loaded meanwhile.",
        True,
    )
    hand_rate: Annotated[Amount | None, Rate("m")] = _rate("Finishing by hand.", "hand_rate")
    overhead: Annotated[Decimal, Percent(at_most="500")] = _key(
        "Added to the cost for what no load causes: office, sales, building.", "15 %"
    )
    margin: Annotated[Decimal, Percent(below="100")] = _key("Profit.", "20 %")
    margin_on: Annotated[str, Choice("cost", "price")] = _key(
        "cost: that share of the cost is added to it. price: it is that share of the price.",
        "cost",
    )
    minimum: Annotated[Amount | None, Money()] = _rate(
        "Least net price of a job; what would be rounded below it is rounded up.", "minimum"
    )
    round_to: Annotated[Amount | None, Money()] = _rate(
        "Step that prices are rounded to.", "round_to"
    )
    rounding: Annotated[str, Choice("half-up", "half-even", "up")] = _key(
        "half-up: half a step goes up. half-even: to the even step. up: every part of a step. "
        "The tax is rounded half up to the smallest coin, whatever stands here.",
        "half-up",
    )
    round_at: Annotated[str, Choice("total", "line")] = _key(
        "total: the total is rounded and shared out over the lines to the cent. line: each line "
        "is rounded, the total is their sum.",
        "total",
    )
    tax: Annotated[Decimal, Percent(at_most="100")] = _key("Sales or value-added tax.", "0 %")
    tax_included: Annotated[bool, Flag()] = _key("Prices are shown with the tax in them.", False)
    tax_at: Annotated[str, Choice("total", "line")] = _key(
        "Where the tax is rounded: once on the total, or line by line.", "total"
    )
    locale: Annotated[str, Text()] = _key(
        "Whose way of writing numbers tables use, such as en_US, en_GB, de_DE, fr_FR.", "en"
    )


def _currency(table: PriceTable, file: TomlFile, errors: list[CatalogueInvalid]) -> str:
    given: dict[str, str] = {}
    for prefix, one in (("price", table), ("price.machine_hour", table.machine_hour)):
        for name in () if one is None else type(one).model_fields:
            value = getattr(one, name)
            if isinstance(value, tuple):
                given[f"{prefix}.{name}"] = value[1]
    currency = next(iter(given.values()), "")
    for key, code in given.items():
        if code != currency:
            errors.append(
                file.error(
                    f"{key} is in {code}, {next(iter(given))} in {currency}.",
                    key=key,
                    remedy="Write all figures of [price] in one currency.",
                )
            )
            break
    return currency


def _machine_hour(table: MachineHourTable) -> MachineHour:
    def amount(value: Amount | None) -> Decimal:
        return Decimal(0) if value is None else value[0]

    return MachineHour(
        purchase=table.purchase[0],
        residual=amount(table.residual),
        life_years=Decimal(table.life_years),
        hours_per_year=Decimal(table.hours_per_year),
        interest=table.interest,
        maintenance=amount(table.maintenance),
        insurance=amount(table.insurance),
        other=amount(table.other),
        floor_area_m2=Decimal(table.floor_area),
        floor_rent=amount(table.floor_rent),
    )


def build_price(
    table: PriceTable | None, file: TomlFile, errors: list[CatalogueInvalid]
) -> PriceRates:
    """Make the rates of a shop; append what contradicts itself to ``errors``.

    Parameters
    ----------
    table : PriceTable or None
        As checked; None when the shop has none.
    file : TomlFile
        Where it stands.
    errors : list of CatalogueInvalid
        Takes what is wrong.
    """
    if table is None:
        return PriceRates()

    def amount(key: str) -> Decimal:
        value = getattr(table, key)
        found: Decimal = ASSUMED[key] if value is None else value[0]
        return found

    hour = table.machine_hour
    if hour is not None and table.machine_rate is not None:
        errors.append(
            file.error(
                "The machine's rate is both given and built up.",
                key="price.machine_rate",
                remedy="Keep machine_rate or the table [price.machine_hour].",
            )
        )
    if hour is not None and hour.residual is not None and hour.residual[0] > hour.purchase[0]:
        errors.append(
            file.error(
                f"The machine is worth {hour.residual[0]} at the end and {hour.purchase[0]} new.",
                key="price.machine_hour.residual",
                remedy="Give a residual value below the purchase price.",
            )
        )
    if amount("round_to") <= 0:
        errors.append(
            file.error(
                "Prices cannot be rounded to steps of nothing.",
                key="price.round_to",
                remedy='Give a step above zero, such as "0.01 EUR".',
            )
        )
    return PriceRates(
        stated=True,
        currency=_currency(table, file, errors),
        machine_rate=amount("machine_rate"),
        machine_hour=None if hour is None else _machine_hour(hour),
        electricity=amount("electricity"),
        water=amount("water"),
        labour_rate=amount("labour_rate"),
        setup_h=table.setup,
        attendance=table.attendance,
        machine_waits=table.machine_waits,
        setup_share=table.setup_share,
        hand_rate=amount("hand_rate"),
        overhead=table.overhead,
        margin=table.margin,
        margin_on=table.margin_on,
        minimum=amount("minimum"),
        round_to=amount("round_to"),
        rounding=table.rounding,
        round_at=table.round_at,
        tax=table.tax,
        tax_included=table.tax_included,
        tax_at=table.tax_at,
        locale=table.locale,
    )
