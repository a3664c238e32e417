"""Lists that the ledger's commands read and write: deliveries, orders and rack plans."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from edgetime.cli.ledger.options import read_day, read_price
from edgetime.cli.options import length_option
from edgetime.errors import EdgetimeError, PipelineInvalid, UsageError, Where
from edgetime.safe_text import read_cell

if TYPE_CHECKING:
    from datetime import date

    from edgetime.jobs.rows import Row
    from edgetime.ledger.orders import OrderRequest
    from edgetime.ledger.rack import Delivery, RackPocket
    from edgetime.tooling import Catalogue
    from edgetime.tooling.tools import Tool

DELIVERY = (
    "tool", "profile", "count", "serial", "diameter", "price", "currency", "supplier", "batch",
    "order",
)  # fmt: skip
"""Columns of a delivery, named as the options are."""
ORDER = ("tool", "profile", "count", "number", "expected", "price", "currency", "supplier")
"""Columns of an order, named as the options are."""
FORECAST = {"piece": "tool", "order_pieces": "count"}
"""Columns of a forecast's order list by what they are in an order; its others are of no use here:"""
_UNUSED = (
    "order_by",
    "late_d",
    "title",
    "packs",
    "cost",
    "set",
    "needed_pieces",
    "wanted_on",
    "life_rests_on",
)
RACK = ("pocket", "serial", "tool")
"""Columns of a rack plan."""
_NUMBERS = ("price", "diameter")
_COMMA = re.compile(r"(\d+),(\d{1,2})(?!\d)(?!.*[.,])")


def known_tool(catalogue: Catalogue, tool: str, profile: str | None) -> Tool:
    """Return a tool of the catalogue; refuse one it does not have, or a wrong profile."""
    from difflib import get_close_matches  # noqa: PLC0415  only for a slip

    if tool not in catalogue.tools:
        close = get_close_matches(tool, catalogue.tools, n=3)
        raise UsageError(
            f"There is no tool {tool!r} in the catalogue.",
            where=Where(key="TOOL"),
            remedy=(f"Did you mean {' or '.join(close)}? " if close else "")
            + "'edgetime catalogue tools' lists them.",
        )
    model = catalogue.tools[tool]
    if model.profiled != (profile is not None):
        raise UsageError(
            f"{tool} is ground to a profile; name it."
            if model.profiled
            else f"{tool} is not ground to a profile.",
            where=Where(key="--profile"),
            remedy=f"Write: edgetime ledger receive {tool}"
            + (" --profile NAME" if model.profiled else ""),
        )
    if profile is not None and profile not in catalogue.profiles:
        close = get_close_matches(profile, catalogue.profiles, n=3)
        raise UsageError(
            f"There is no profile {profile!r} in the catalogue.",
            where=Where(key="--profile"),
            remedy=(f"Did you mean {' or '.join(close)}? " if close else "")
            + "'edgetime catalogue profiles' lists them.",
        )
    return model


def delivery(
    catalogue: Catalogue,
    tool: str,
    *,
    profile: str | None,
    diameter: str | None,
    price: str | None,
    **more: Any,
) -> Delivery:
    """Return a delivery; price and diameter default to the catalogue's."""
    from edgetime.ledger.rack import Delivery  # noqa: PLC0415  brings the database

    model = known_tool(catalogue, tool, profile)
    paid, currency = read_price(price)
    # What comes of an order is paid as the order says.
    if paid is None and more.get("order") is None and model.currency:
        paid, currency = model.price, model.currency
    size = length_option(diameter, "--diameter")
    return Delivery(
        tool=tool,
        profile=profile,
        diameter_mm=model.diameter_mm if size is None else size,
        price=paid,
        currency=currency,
        **more,
    )


def _each(
    file: str,
    keys: tuple[str, ...],
    needed: tuple[str, ...],
    read: Callable[[Row, dict[str, str]], Any],
) -> list[Any]:
    """Read each row of a CSV file; all that is wrong is said at once, by line."""
    from edgetime.jobs.rows import read_rows  # noqa: PLC0415  of no use to --help

    found = read_rows(Path(file), file, keys=keys, needed=needed)
    wrong: list[EdgetimeError] = list(found.errors)
    made: list[Any] = []
    for row in () if wrong else found.rows:
        try:
            cells = {k: read_cell(str(v)) for k, v in row.values.items()}
            if found.decimal_comma:
                cells |= {k: _COMMA.sub(r"\1.\2", cells[k]) for k in _NUMBERS if k in cells}
            made.append(read(row, cells))
        except EdgetimeError as error:
            key = (error.where.key or "").removeprefix("--").lower() or None
            where = Where(path=file, line=row.where.line, key=key)
            wrong.append(PipelineInvalid(error.what, where=where, remedy=error.remedy))
    if wrong:
        first = wrong[0]
        raise PipelineInvalid(first.what, where=first.where, remedy=first.remedy, others=wrong[1:])
    if not made:
        raise PipelineInvalid(
            "There is no line below the names of the columns.",
            where=Where(path=file, line=1),
            remedy="Write a line for each.",
        )
    return made


def _whole(values: dict[str, str], key: str) -> int:
    text = values.get(key, "1")
    if not (text.isascii() and text.isdigit() and len(text) <= 5):
        raise UsageError(
            f"{text!r} is not a whole number.", where=Where(key=key), remedy="Write 1, 2, 3 ..."
        )
    return int(text)


def _given(values: dict[str, str], key: str) -> str:
    if key not in values:
        raise UsageError(f"The {key} is missing.", where=Where(key=key), remedy="Fill the cell.")
    return values[key]


def read_deliveries(file: str, catalogue: Catalogue) -> list[Delivery]:
    """Read a delivery from CSV, with a line for each tool.

    Raises
    ------
    PipelineInvalid
        The file cannot be read, or cells are wrong; all are told, by line.
    """

    def read(row: Row, values: dict[str, str]) -> Delivery:
        serials = [s for s in values.get("serial", "").split() if s]
        count = _whole(values, "count")
        if serials and "count" in values and count != len(serials):
            raise UsageError(
                f"The count {count} does not agree with {len(serials)} serials.",
                where=Where(key="count"),
                remedy="Give a serial for each tool, separated by spaces, or leave the count out.",
            )
        price = values.get("price")
        if price is not None:
            price = f"{price} {values.get('currency', '')}".strip()
        return delivery(
            catalogue,
            _given(values, "tool"),
            profile=values.get("profile"),
            diameter=values.get("diameter"),
            price=price,
            count=count,
            serials=serials or None,
            supplier=values.get("supplier"),
            batch=values.get("batch"),
            order=values.get("order"),
            where=row.where,
        )

    return _each(file, DELIVERY, ("tool",), read)


def order_request(
    catalogue: Catalogue,
    tool: str,
    *,
    profile: str | None,
    price: str | None,
    supplier: str | None,
    expected: Callable[[Tool], date],
    **more: Any,
) -> OrderRequest:
    """Return a line of an order; price and supplier default to the catalogue's."""
    from edgetime.ledger.orders import OrderRequest  # noqa: PLC0415  brings the database

    model = known_tool(catalogue, tool, profile)
    paid, currency = read_price(price)
    if paid is None and model.currency:
        paid, currency = model.price, model.currency
    return OrderRequest(
        tool=tool,
        profile=profile,
        price=paid,
        currency=currency,
        supplier=supplier or model.supplier or None,
        expected=expected(model),
        **more,
    )


def read_order(
    file: str, catalogue: Catalogue, *, number: str | None, expected: Callable[[Tool], date]
) -> list[OrderRequest]:
    """Read an order from CSV, with a line for each tool; a forecast's order list is one too.

    Parameters
    ----------
    file : str
        The file.
    catalogue : Catalogue
        Gives prices and suppliers that the file does not.
    number : str or None
        Order number of the lines that have none.
    expected : callable
        Returns the day on which a tool is expected where the line does not say.

    Raises
    ------
    PipelineInvalid
        The file cannot be read, or cells are wrong; all are told, by line.
    """

    def read(row: Row, values: dict[str, str]) -> OrderRequest:
        for name, own in FORECAST.items():
            if name in values:
                values.setdefault(own, values[name])
        tool, sign, profile = _given(values, "tool").partition("/")
        price = values.get("price")
        if price is not None:
            price = f"{price} {values.get('currency', '')}".strip()
        day = read_day(values["expected"], "expected") if "expected" in values else None
        return order_request(
            catalogue,
            tool,
            profile=profile if sign else values.get("profile"),
            price=price,
            supplier=values.get("supplier"),
            expected=lambda model: day or expected(model),
            count=_whole(values, "count"),
            number=values.get("number", number),
            where=row.where,
        )

    return _each(file, (*ORDER, *FORECAST, *_UNUSED), (), read)


def read_rack(file: str, most: int | None) -> list[RackPocket]:
    """Read a rack plan from CSV, with a line for each pocket.

    Parameters
    ----------
    file : str
        The file.
    most : int or None
        How many pockets the machine has; None where that is not known.

    Raises
    ------
    PipelineInvalid
        The file cannot be read, or cells are wrong; all are told, by line.
    """
    from edgetime.ledger.rack import RackPocket  # noqa: PLC0415  brings the database

    def read(row: Row, values: dict[str, str]) -> RackPocket:
        _given(values, "pocket")
        pocket = _whole(values, "pocket")
        if not 1 <= pocket <= (most or 9999):
            raise UsageError(
                f"The machine has {most} pockets, not {pocket}."
                if most
                else f"The pocket is {pocket}; pockets count from 1.",
                where=Where(key="pocket"),
                remedy="Give the number that the machine's rack shows.",
            )
        return RackPocket(
            pocket=pocket,
            serial=values.get("serial"),
            tool=values.get("tool"),
            where=row.where,
        )

    return _each(file, RACK, ("pocket",), read)
