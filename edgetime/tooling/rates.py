"""What the shop charges: rates, shares and rules of the table ``[price]``."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

ASSUMED: Final[dict[str, Decimal]] = {
    "machine_rate": Decimal("42.00"),
    "labour_rate": Decimal("45.00"),
    "hand_rate": Decimal("60.00"),
    "electricity": Decimal("0.25"),
    "water": Decimal("4.00"),
    "minimum": Decimal("80.00"),
    "round_to": Decimal("0.01"),
}
"""Amounts taken where the shop states none, in the currency of its other figures: assumptions,
to be replaced by the shop's own."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MachineHour:
    """What a machine hour is built up of.

    Attributes
    ----------
    purchase, residual : Decimal
        Price of the machine, and what it is worth at the end of its life.
    life_years, hours_per_year : Decimal
        Life [year] and hours it runs [h/year].
    interest : Decimal
        On the mean of purchase and residual, per year [-].
    maintenance, insurance, other : Decimal
        Per year.
    floor_area_m2 : Decimal
        Room it takes with its surroundings [m²].
    floor_rent : Decimal
        Per square metre and year.
    """

    purchase: Decimal
    residual: Decimal
    life_years: Decimal
    hours_per_year: Decimal
    interest: Decimal
    maintenance: Decimal
    insurance: Decimal
    other: Decimal
    floor_area_m2: Decimal
    floor_rent: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceRates:
    """The table ``[price]`` of ``shop.toml``; money is exact, in one currency.

    Attributes
    ----------
    stated : bool
        Whether the shop has the table at all.
    currency : str
        ISO 4217 code, ``""`` when no figure of the table names one.
    machine_rate : Decimal
        Per hour the machine is taken up; not used where ``machine_hour`` stands.
    machine_hour : MachineHour or None
        What the rate is built up of.
    electricity, water : Decimal
        Per kWh and per m³.
    labour_rate : Decimal
        Per hour of a person.
    setup_h : Decimal
        Attended work once per load, beside what the machine's file states per part [h].
    attendance : Decimal
        Share of the machine's cycle a person is needed for [-].
    machine_waits : bool
        The machine is taken up while parts are loaded, turned and unloaded.
    setup_share : str
        How the set-up of a load is shared over its parts: ``time``, ``parts``, ``length``, or
        ``line`` for a line of its own.
    hand_rate : Decimal
        Per metre finished by hand.
    overhead, margin, tax : Decimal
        Shares [-].
    margin_on : str
        ``cost``: added to it. ``price``: that share of the price.
    minimum : Decimal
        Least net price of a load.
    round_to : Decimal
        Step prices are rounded to.
    rounding : str
        ``half-up``, ``half-even`` or ``up``.
    round_at, tax_at : str
        ``total`` or ``line``.
    tax_included : bool
        Prices are shown with the tax in them.
    locale : str
        Language and country whose way of writing numbers is used.
    """

    stated: bool = False
    currency: str = ""
    machine_rate: Decimal = ASSUMED["machine_rate"]
    machine_hour: MachineHour | None = None
    electricity: Decimal = ASSUMED["electricity"]
    water: Decimal = ASSUMED["water"]
    labour_rate: Decimal = ASSUMED["labour_rate"]
    setup_h: Decimal = Decimal("0.25")
    attendance: Decimal = Decimal(0)
    machine_waits: bool = True
    setup_share: str = "time"
    hand_rate: Decimal = ASSUMED["hand_rate"]
    overhead: Decimal = Decimal("0.15")
    margin: Decimal = Decimal("0.20")
    margin_on: str = "cost"
    minimum: Decimal = ASSUMED["minimum"]
    round_to: Decimal = ASSUMED["round_to"]
    rounding: str = "half-up"
    round_at: str = "total"
    tax: Decimal = Decimal(0)
    tax_included: bool = False
    tax_at: str = "total"
    locale: str = "en"
