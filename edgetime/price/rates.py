"""The rates a job is priced with: currency checked, machine hour built up."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from functools import cached_property

from edgetime.errors import CatalogueInvalid
from edgetime.estimating import Estimate
from edgetime.explained import Explained, Source
from edgetime.price.formulas import Exact, figure, used
from edgetime.price.money import decimal_of, minor_unit
from edgetime.tooling import Catalogue, Tool
from edgetime.tooling.price_rates import ASSUMED, MachineHour, PriceRates
from edgetime.tooling.toml_file import error_in

DEFAULT_CURRENCY = "EUR"
"""Where neither rates nor tools name one."""


def _currency(catalogue: Catalogue, tools: Iterable[Tool]) -> str:
    """Return the currency of the rates, else that of the first tool with a price."""
    priced = (tool.currency for tool in tools if tool.price is not None)
    return catalogue.shop.price.currency or next(priced, "") or DEFAULT_CURRENCY


def _faults(catalogue: Catalogue, tools: Sequence[Tool]) -> Iterator[CatalogueInvalid]:
    """Yield why nothing can be priced with the rates of a shop and these tools."""
    own, file = catalogue.shop.price, catalogue.shop.file
    first = next((tool.file for tool in tools if tool.price is not None), "")
    said = f"{file}: price" if own.currency else first
    currency = _currency(catalogue, tools)
    for tool in tools:
        if tool.price is not None and tool.currency != currency:
            yield error_in(
                tool.file,
                f"{tool.name} is priced in {tool.currency}, but {said} is in {currency}; "
                f"money of two currencies cannot be added up.",
                key="price",
                remedy="Write the prices of all tools and the table [price] of "
                "shop.toml in one currency.",
            )
    unit = minor_unit(currency)
    if own.round_to % unit:
        yield error_in(
            file,
            f"Prices cannot be rounded to {own.round_to} {currency}; the smallest "
            f"amount of that currency is {unit}.",
            key="price.round_to",
            remedy=f"Give a multiple of {unit}.",
        )
    from babel import Locale, UnknownLocaleError  # noqa: PLC0415  only for prices

    try:
        Locale.parse(own.locale.replace("-", "_"))
    except (UnknownLocaleError, ValueError):
        yield error_in(
            file,
            f"{own.locale!r} is not a known locale.",
            key="price.locale",
            remedy="Write a language, or a language and a country: en, en_US, de_DE, fr_FR.",
        )


def _preparation_faults(
    catalogue: Catalogue, profiles: Iterable[str], currency: str
) -> Iterator[CatalogueInvalid]:
    """Yield the materials of preparation that are priced in another currency."""
    for name in sorted(profiles):
        profile = catalogue.profiles[name]
        for number, step in enumerate(profile.preparation, 1):
            if step.material_per_m and step.currency != currency:
                yield error_in(
                    profile.file,
                    f"The material for {step.name} is priced in {step.currency}, the job in "
                    f"{currency}; money of two currencies cannot be added up.",
                    key=f"preparation[{number}].material",
                    remedy="Copy the profile into the shop's profiles/ and write it in "
                    f"{currency}.",
                )


def price_errors(catalogue: Catalogue) -> list[CatalogueInvalid]:
    """Return why nothing can be priced with a shop, though all its files can be read.

    Returns
    -------
    list of CatalogueInvalid
        Two currencies, a rounding step finer than the smallest coin, a locale nobody knows; each
        with its file, key and line.
    """
    used = {step.tool for stack in catalogue.stacks.values() for step in stack.steps}
    return list(_faults(catalogue, [t for name, t in catalogue.tools.items() if name in used]))


class Rates:
    """The rates of a shop and the keys they are from.

    Parameters
    ----------
    catalogue : Catalogue
        Gives the table ``[price]``.
    estimates : iterable of Estimate
        Their tools' prices must be in the same currency.

    Raises
    ------
    CatalogueInvalid
        Two currencies are mixed, the rounding step is not a multiple of the smallest coin, or the
        locale is not known.
    """

    def __init__(self, catalogue: Catalogue, estimates: Sequence[Estimate]) -> None:
        self.own: PriceRates = catalogue.shop.price
        self.catalogue = catalogue
        self.file = catalogue.shop.file
        worn = dict.fromkeys(t.tool for est in estimates for t in est.wear.tools)
        tools = [catalogue.tools[name] for name in worn]
        for fault in _faults(catalogue, tools):
            raise fault
        self.currency = _currency(catalogue, tools)
        prepared = {p.profile for est in estimates for p in est.labour.preparation}
        for fault in _preparation_faults(catalogue, prepared, self.currency):
            raise fault
        self.unit = minor_unit(self.currency)
        self.machine = machine_hour_rate(self)

    def fact(self, name: str, at: str, value: Decimal, unit: str, note: str = "") -> Exact:
        """Return a figure of ``shop.toml`` as a factor."""
        written = self.catalogue.raw.get((self.file, at), "")
        stated = "assumed" if at.removeprefix("price.") in ASSUMED else "not stated"
        return Explained(name, value, unit, note, Source(self.file, at, written or stated))

    def money(self, name: str, key: str, per: str = "") -> Exact:
        """Return an amount of ``[price]`` as a factor."""
        unit = f"{self.currency}/{per}" if per else self.currency
        return self.fact(name, f"price.{key}", getattr(self.own, key), unit)

    @cached_property
    def by_name(self) -> dict[str, Exact]:
        """All that formulas name of the shop's rates."""

        def share(name: str, key: str) -> Exact:
            return self.fact(name, f"price.{key}", getattr(self.own, key), "-")

        scrap = decimal_of(self.catalogue.shop.shift.scrap)
        facts = [
            self.machine_fact,
            self.money("electricity", "electricity", "kWh"),
            self.money("water_rate", "water", "m3"),
            self.money("labour_rate", "labour_rate", "h"),
            share("attendance", "attendance"),
            self.money("hand_rate", "hand_rate", "m"),
            self.fact("scrap", "shift.scrap", scrap, "-", "share of the parts that is scrapped"),
            share("overhead_rate", "overhead"),
            share("margin", "margin"),
            share("tax_rate", "tax"),
            self.money("least", "minimum"),
            self.money("step", "round_to"),
            Explained("cent", self.unit, self.currency, "smallest amount"),
        ]
        return {fact.name: fact for fact in facts}

    @property
    def machine_fact(self) -> Exact:
        """The machine's rate as a factor of other figures."""
        if self.own.machine_hour is None:
            return self.machine.inputs[0]
        return used(self.machine, "machine_rate")


def machine_hour_rate(rates: Rates) -> Exact:
    """Return what an hour of the machine costs, without power, water, tools and people.

    Depreciation is in equal parts over the hours of the machine's life, ``(purchase −
    residual) / (life × hours per year)``; interest is on the mean of both. Every yearly charge
    is divided by the hours per year.

    Returns
    -------
    Exact
        Named ``machine-rate``.
    """
    per_h = f"{rates.currency}/h"
    hour = rates.own.machine_hour
    if hour is None:
        fact = rates.money("machine_rate", "machine_rate", "h")
        return figure("machine-rate", per_h, "machine_rate", [fact])
    per_year = f"{rates.currency}/year"
    units = {
        "purchase": rates.currency,
        "residual": rates.currency,
        "life_years": "year",
        "hours_per_year": "h/year",
        "interest": "1/year",
        "maintenance": per_year,
        "insurance": per_year,
        "other": per_year,
        "floor_area": "m2",
        "floor_rent": f"{rates.currency}/(m2 year)",
    }
    return figure(
        "machine-rate",
        per_h,
        "((purchase - residual) / life_years + interest * (purchase + residual) / 2"
        " + maintenance + insurance + floor_area * floor_rent + other) / hours_per_year",
        [
            rates.fact(name, f"price.machine_hour.{name}", _of(hour, name), unit)
            for name, unit in units.items()
        ],
        "straight-line depreciation; interest on the mean capital; yearly charges by the hour",
    )


def _of(hour: MachineHour, name: str) -> Decimal:
    value: Decimal = getattr(hour, "floor_area_m2" if name == "floor_area" else name)
    return value
