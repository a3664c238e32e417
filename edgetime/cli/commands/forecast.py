"""``edgetime forecast``."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Annotated

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

if TYPE_CHECKING:
    from datetime import date

    from edgetime.findings import Finding
    from edgetime.forecast import LifeLaw, Stock
    from edgetime.tooling import Catalogue


class Show(StrEnum):
    """What of a forecast is shown, as a table or as CSV."""

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
            help="Probability with which each tool is to last.",
            show_default=True,
        ),
    ] = "95",
    ledger: LedgerIfThereOption = None,
    on_hand: Annotated[
        list[str] | None,
        typer.Option(
            "--on-hand",
            metavar="TOOL=PIECES",
            help="New pieces at hand or on order, instead of the ledger's count; "
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
            help="How often standing orders are placed, for 'Fill up to'.",
            show_default=True,
        ),
    ] = "7",
    seed: Annotated[
        int, typer.Option("--seed", min=0, help="Seed of the simulation.", show_default=True)
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
    r"""Say which tools to order by when, from the jobs to come and the ledger.

    The pipeline has a line per job: date, name, drawing or metres (such as "eased=60;
    seam=4"), stone, thickness, stack, quantity, and the probability that the job comes. Per
    tool: expected use and its spread, when it runs out, the last day to order at its lead
    time, and how many, in packs, sets and minimum orders. Lead time, supplier, pack, set and
    price stand in the tool's file.

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
            "--supplier narrows an order list, which is not shown.",
            where=Where(key="--supplier"),
            remedy="Add --show orders.",
        )
    from edgetime.forecast import (  # noqa: PLC0415  of no use to --help
        forecast_use,
        read_pipeline,
        wear_rates,
    )
    from edgetime.forecast.inventory import check_service  # noqa: PLC0415  as above
    from edgetime.report import forecast as paper  # noqa: PLC0415  as above

    level = check_service(_service(service))
    catalogue = load_shop(shop, layers, layer, profile, cutout_profile)
    system = table_units(units, catalogue.shop.units)
    given = _on_hand(on_hand or [], catalogue)
    jobs = read_pipeline(pipeline, catalogue)
    rates = wear_rates(jobs, catalogue, machine=machine)
    wanted = {piece.partition("/")[0] for row in rates.shares for piece in row}
    name, stock, laws, findings = _facts(ledger, shop, wanted)
    found = forecast_use(
        jobs,
        rates,
        catalogue,
        stock=_with_given(stock, given),
        laws=laws,
        first=_day(first),
        service=level,
        review_d=_days(review),
        seed=seed,
        findings=findings if not given else (),
    )
    orders = found.orders
    if supplier is not None:
        orders = tuple(o for o in orders if o.supplier == supplier)
        if not orders:
            names = sorted({t.supplier for t in catalogue.tools.values() if t.supplier})
            _refuse_unknown(supplier, names)
    header, rows, blocks = {
        Show.TOOLS: (
            paper.TOOLS_HEADER,
            lambda: paper.tool_rows(found),
            lambda: paper.forecast_parts(found, system),
        ),
        Show.WEEKS: (
            paper.WEEKS_HEADER,
            lambda: paper.week_rows(found),
            lambda: paper.week_parts(found),
        ),
        Show.ORDERS: (
            paper.ORDERS_HEADER,
            lambda: paper.order_rows(orders),
            lambda: paper.order_parts(found, orders),
        ),
    }[show]
    return Result(
        output=output,
        document=lambda: {**found.as_dict(), "ledger": name},
        header=header,
        rows=rows,
        system=system,
        blocks=blocks,
        findings=found.findings,
        strict=strict,
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
            f"{text!r} is no number of days from 0 to 3650.",
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
            f"{text!r} is no day.",
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


def _with_given(stock: dict[str, Stock], given: dict[str, int]) -> dict[str, Stock]:
    from dataclasses import replace  # noqa: PLC0415  with the rest

    from edgetime.forecast import Stock  # noqa: PLC0415  of no use to --help

    told = {p: replace(stock.get(p, Stock()), new=count) for p, count in given.items()}
    return {**stock, **told}


def _facts(
    where: str | None, shop: str | None, tools: set[str]
) -> tuple[str | None, dict[str, Stock], dict[str, LifeLaw], tuple[Finding, ...]]:
    """Return the ledger's name and what it tells of some tools, or the finding of none."""
    folder = find_shop_folder(shop)
    there = folder is not None and (folder / "ledger.sqlite").exists()
    if where is None and not there:
        from edgetime.findings import Finding  # noqa: PLC0415  rarely needed
        from edgetime.forecast.codes import NO_LEDGER  # noqa: PLC0415  as above

        return None, {}, {}, (Finding(NO_LEDGER, "No ledger was found; nothing is at hand."),)
    from edgetime.forecast.facts import life_laws, stock_at_hand  # noqa: PLC0415  brings numpy
    from edgetime.ledger import open_ledger  # noqa: PLC0415  brings the database

    with open_ledger(where, shop=folder, create=False) as book:
        laws = life_laws(r for r in book.lives() if r.tool in tools)
        return book.name, stock_at_hand(book.balances()), laws, ()
