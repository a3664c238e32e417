"""``edgetime forecast``."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, Any

import typer

from edgetime.cli.layer_options import (
    CutoutProfileOption,
    LayerRuleOption,
    LayersOption,
    ProfileOption,
)
from edgetime.cli.ledger_options import LedgerIfThereOption
from edgetime.cli.load_options import MachineOption
from edgetime.cli.options import (
    FormatOption,
    ShopOption,
    StrictOption,
    UnitsOption,
    factor_option,
    find_shop_folder,
    load_shop,
)
from edgetime.cli.output import Format, Result, table_units
from edgetime.errors import UsageError, Where
from edgetime.records import as_json

if TYPE_CHECKING:
    from datetime import date

    from edgetime.forecast import Books, Forecast
    from edgetime.report.document import Block
    from edgetime.tooling import Catalogue
    from edgetime.units import UnitSystem


class Show(StrEnum):
    """What part of a forecast is shown, as a table or as CSV."""

    TOOLS = "tools"
    WEEKS = "weeks"
    ORDERS = "orders"


def forecast_command(
    pipeline: Annotated[
        str,
        typer.Option(
            "--pipeline",
            metavar="FILE",
            help="CSV or TOML file of the jobs to come.",
            show_default=False,
        ),
    ],
    service: Annotated[
        str,
        typer.Option(
            "--service",
            metavar="PER CENT",
            help="Service level: probability that a tool does not run out, 95 or 0.95.",
            show_default=True,
        ),
    ] = "95",
    ledger: LedgerIfThereOption = None,
    on_hand: Annotated[
        list[str] | None,
        typer.Option(
            "--on-hand",
            metavar="TOOL=PIECES",
            help="New pieces on hand or on order, instead of the ledger's count; "
            "metal-1/ogee=2 for a profiled wheel; may be repeated.",
        ),
    ] = None,
    first: Annotated[
        str | None,
        typer.Option("--from", metavar="DAY", help="First day of the forecast. [default: today]"),
    ] = None,
    show: Annotated[
        Show,
        typer.Option(
            "--show",
            help="By tool; use by week; or the order list of each supplier.",
            show_default=True,
        ),
    ] = Show.TOOLS,
    supplier: Annotated[
        str | None,
        typer.Option("--supplier", metavar="NAME", help="Only this supplier's order list."),
    ] = None,
    review: Annotated[
        str,
        typer.Option(
            "--review",
            metavar="DAYS",
            help="Days between standing orders, for the order-up-to level.",
            show_default=True,
        ),
    ] = "7",
    seed: Annotated[
        int, typer.Option("--seed", min=0, help="Random seed of the simulation.", show_default=True)
    ] = 1,
    machine: MachineOption = None,
    shop: ShopOption = None,
    layers: LayersOption = None,
    layer: LayerRuleOption = None,
    profile: ProfileOption = None,
    cutout_profile: CutoutProfileOption = None,
    output: FormatOption = Format.TABLE,
    units: UnitsOption = None,
    strict: StrictOption = False,  # noqa: FBT002
) -> Result:
    r"""Find which tools to order by when, from the jobs to come and the ledger.

    The pipeline has a line per job: date, name, drawing or metres (such as "eased=60;
    seam=4"), stone, thickness, stack, quantity, and the probability that the job comes. Per
    tool: expected use and its spread, when it runs out, the last day to order at its lead
    time, and how many, in packs, sets and minimum orders. Lead time, supplier, pack, set and
    price are in the tool's file.

    \b
    Examples:
      edgetime forecast --pipeline edgetime-demo/pipeline.csv --from 2027-01-04
      edgetime forecast --pipeline edgetime-demo/pipeline.csv --service 99
      edgetime forecast --pipeline edgetime-demo/pipeline.csv --on-hand polish-1=4
      edgetime forecast --pipeline edgetime-demo/pipeline.csv --show orders

    Exit codes: 0 done; 1 findings of warning or worse, with --strict; 2 wrong use;
    3 the pipeline, a drawing or a shop file cannot be used; 5 the ledger cannot be read.
    """
    if supplier is not None and show is not Show.ORDERS:
        raise UsageError(
            "--supplier selects an order list, which is not shown.",
            where=Where(key="--supplier"),
            remedy="Add --show orders.",
        )
    from edgetime.forecast import (  # noqa: PLC0415  of no use to --help
        OrderPolicy,
        forecast_use,
        read_pipeline,
        wear_rates,
    )

    policy = OrderPolicy(
        service=_service(service), review_d=_days(review), first=_day(first), seed=seed
    )
    catalogue = load_shop(shop, layers, layer, profile, cutout_profile)
    system = table_units(units, catalogue.shop.units)
    given = _on_hand(on_hand or [], catalogue)
    jobs = read_pipeline(pipeline, catalogue)
    rates = wear_rates(jobs, catalogue, machine=machine)
    tools = {piece.partition("/")[0] for row in rates.shares for piece in row}
    books = _books(ledger, shop, tools, given)
    found = forecast_use(jobs, rates, catalogue, books, policy)
    header, rows, blocks = _shown(found, show, supplier, catalogue, system)
    return Result(
        output=output,
        document=lambda: {**as_json(found), "ledger": books.name},
        header=header,
        rows=rows,
        system=system,
        blocks=blocks,
        findings=found.findings,
        strict=strict,
    )


def _shown(
    found: Forecast, show: Show, supplier: str | None, catalogue: Catalogue, system: UnitSystem
) -> tuple[tuple[str, ...], Callable[[], list[list[Any]]], Callable[[], list[Block]]]:
    """Return header and rows of the table that is shown, and the screen."""
    from edgetime.report import forecast as report  # noqa: PLC0415  of no use to --help

    if show is Show.TOOLS:
        sheet = report.TOOLS
        return (
            sheet.header,
            lambda: sheet.csv_rows(found.tools),
            lambda: report.forecast_parts(found, system),
        )
    if show is Show.WEEKS:
        weeks = report.week_sheet()
        return (
            weeks.header,
            lambda: weeks.csv_rows(report.week_rows(found)),
            lambda: report.week_parts(found),
        )
    orders = found.orders
    if supplier is not None:
        orders = tuple(o for o in orders if o.supplier == supplier)
        if not orders:
            names = sorted({t.supplier for t in catalogue.tools.values() if t.supplier})
            _refuse_unknown(supplier, names)
    lines = report.ALL_ORDERS
    return (
        lines.header,
        lambda: lines.csv_rows(report.order_lines(orders)),
        lambda: report.order_parts(found, orders),
    )


def _refuse_unknown(supplier: str, names: list[str]) -> None:
    if supplier not in names:
        raise UsageError(
            f"No tool is bought from {supplier!r}.",
            where=Where(key="--supplier"),
            remedy=f"Suppliers in the tools' files: {', '.join(names) or 'none'}.",
        )


def _service(text: str) -> float:
    # 95 and 95 % and 0.95 all mean the same level, to the last digit.
    number = factor_option(text, "--service")
    return round(number / 100.0 if number > 1.0 else number, 12)


def _days(text: str) -> float:
    try:
        number = float(text)
    except ValueError:
        number = -1.0
    if not 0.0 <= number <= 3650.0:
        raise UsageError(
            f"{text!r} is not a number of days from 0 to 3650.",
            where=Where(key="--review"),
            remedy="Give days, such as --review 7.",
        )
    return number


def _day(text: str | None) -> date | None:
    if text is None:
        return None
    from datetime import date  # noqa: PLC0415  rarely needed

    try:
        return date.fromisoformat(text)
    except ValueError:
        raise UsageError(
            f"{text!r} is not a date.",
            where=Where(key="--from"),
            remedy="Write it as year-month-day, such as 2027-03-15.",
        ) from None


def _on_hand(texts: list[str], catalogue: Catalogue) -> dict[str, int]:
    """Read ``TOOL=PIECES`` pairs."""
    found: dict[str, int] = {}
    for text in texts:
        piece, _, count = (bit.strip() for bit in text.partition("="))
        tool, sign, profile = piece.partition("/")
        what = ""
        if tool not in catalogue.tools:
            what = f"There is no tool {tool!r}."
        elif bool(sign) != catalogue.tools[tool].profiled:
            what = f"{tool} is {'' if not sign else 'not '}ground to a profile."
        elif sign and profile not in catalogue.profiles:
            what = f"There is no profile {profile!r}."
        elif not count.isdecimal() or len(count) > 6:
            what = f"{text!r} has no whole number of pieces."
        elif piece in found:
            what = f"{piece} is given twice."
        if what:
            raise UsageError(
                what,
                where=Where(key="--on-hand"),
                remedy="Write TOOL=PIECES, or TOOL/PROFILE=PIECES for a profiled wheel, such as "
                "--on-hand polish-1=4 --on-hand metal-1/ogee=2.",
            )
        found[piece] = int(count)
    return found


def _books(where: str | None, shop: str | None, tools: set[str], given: dict[str, int]) -> Books:
    """Return stock and lives of some tools, with new pieces as ``--on-hand`` gives them."""
    from edgetime.forecast import Books, Stock, read_books  # noqa: PLC0415  brings numpy

    folder = find_shop_folder(shop)
    if where is None and (folder is None or not (folder / "ledger.sqlite").exists()):
        from edgetime.findings import Finding  # noqa: PLC0415  rarely needed
        from edgetime.forecast.codes import NO_LEDGER  # noqa: PLC0415  as above

        none = Finding(NO_LEDGER, "No ledger was found; nothing is on hand.")
        books = Books(findings=() if given else (none,))
    else:
        from edgetime.ledger import open_ledger  # noqa: PLC0415  brings the database

        with open_ledger(where, shop=folder, create=False) as ledger:
            books = read_books(ledger, tools)
    counted = {p: replace(books.stock.get(p, Stock()), new=n) for p, n in given.items()}
    return replace(books, stock={**books.stock, **counted})
