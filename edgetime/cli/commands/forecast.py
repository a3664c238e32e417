"""``edgetime forecast``."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

from edgetime.choices import Paper
from edgetime.cli.ask import ask, choose
from edgetime.cli.blocks import takes
from edgetime.cli.ledger.options import LedgerIfThereOption, read_day
from edgetime.cli.load_options import MachineOption, ShopOptions
from edgetime.cli.options import AS_A_TABLE, OutputOptions, factor_option, find_shop_folder
from edgetime.cli.output import Result, check_page, write_page
from edgetime.errors import UsageError, Where

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from edgetime.forecast import Arrival, Books, Forecast, OrderPolicy, SupplierOrder
    from edgetime.jobs import Job
    from edgetime.report.document import Block, Table
    from edgetime.tooling import Catalogue, ShopDefaults
    from edgetime.units import UnitSystem


class Show(StrEnum):
    """The part of a forecast shown, as a table or as CSV."""

    TOOLS = "tools"
    WEEKS = "weeks"
    ORDERS = "orders"


SeedOption = Annotated[int, choose("Random seed of the simulation.", show_default=True, min=0)]


@dataclass(frozen=True, kw_only=True)
class PolicyOptions:
    """Options for ordering, as typed."""

    service: Annotated[
        str,
        ask(
            "PER CENT",
            "Service level: probability that a tool does not run out, 95 or 0.95.",
            show_default=True,
        ),
    ] = "95"
    first: Annotated[
        str | None, ask("DAY", "First day of the forecast. [default: today]", flag="--from")
    ] = None
    review: Annotated[
        str,
        ask("DAYS", "Days between regular orders, for the order-up-to level.", show_default=True),
    ] = "7"
    shelf: Annotated[
        int | None,
        ask(
            "N",
            "Largest stock of one tool; larger needs are ordered in stages. Otherwise "
            "largest_stock of the tool's file or the shop's.",
            min=1,
        ),
    ] = None
    holidays: Annotated[
        str,
        ask(
            "REGION",
            "Place no orders on the public holidays of DE, DE-BY, US-CA ...; otherwise of the "
            "region in shop.toml.",
        ),
    ] = ""
    day_off: Annotated[
        list[str] | None,
        ask(
            "DAY[..DAY]",
            "The shop is closed on these days too, in addition to shop.toml; may be repeated.",
        ),
    ] = None
    seed: SeedOption = 1

    def policy(self, shop: ShopDefaults) -> OrderPolicy:
        """Read the options' texts; what they leave open is the shop's."""
        from edgetime.forecast import OrderPolicy, WorkCalendar  # noqa: PLC0415  as above

        off = [day for text in self.day_off or () for day in _days_off(text)]
        calendar = WorkCalendar.of_shop(
            shop.calendar, file=shop.file or None, region=self.holidays.strip(), days_off=off
        )
        return OrderPolicy(
            service=_service(self.service),
            review_d=_days(self.review),
            first=None if self.first is None else read_day(self.first, "--from"),
            calendar=calendar,
            shelf=self.shelf,
            largest_stock=shop.ordering.largest_stock,
            shelf_life_d=shop.ordering.shelf_life_d,
            seed=self.seed,
        )


@dataclass(frozen=True, kw_only=True)
class StockOptions(ShopOptions):
    """Options for the stock on hand, as typed."""

    ledger: LedgerIfThereOption = None
    on_hand: Annotated[
        list[str] | None,
        ask(
            "TOOL=N",
            "New tools on hand, instead of the ledger's count; metal-1/ogee=2 for a "
            "profiled wheel; may be repeated.",
        ),
    ] = None
    on_order: Annotated[
        list[str] | None,
        ask(
            "TOOL=N@DAY",
            "New tools on order, counted from the day they are expected, in addition to the "
            "ledger's orders; may be repeated.",
        ),
    ] = None

    def books(self, tools: set[str], catalogue: Catalogue) -> Books:
        """Return stock and lives of some tools, with new pieces as ``--on-hand`` gives them."""
        from edgetime.forecast import Books, Stock, read_books  # noqa: PLC0415  brings numpy

        given = _on_hand(self.on_hand or [], catalogue)
        coming = _on_order(self.on_order or [], catalogue)
        folder = find_shop_folder(self.shop)
        if self.ledger is None and (folder is None or not (folder / "ledger.sqlite").exists()):
            from edgetime.findings import Finding  # noqa: PLC0415  rarely needed
            from edgetime.forecast.codes import NO_LEDGER  # noqa: PLC0415  as above

            none = Finding(NO_LEDGER, "No ledger was found; nothing is on hand.")
            books = Books(findings=() if given or coming else (none,))
        else:
            from edgetime.ledger import open_ledger  # noqa: PLC0415  brings the database

            with open_ledger(self.ledger, shop=folder, create=False, catalogue=catalogue) as ledger:
                books = read_books(ledger, tools)
        stock = dict(books.stock)
        for piece, pieces in given.items():
            stock[piece] = replace(stock.get(piece, Stock()), new=pieces)
        for piece, arrivals in coming.items():
            there = stock.get(piece, Stock())
            stock[piece] = replace(there, on_order=(*there.on_order, *arrivals))
        return replace(books, stock=stock)


@dataclass(frozen=True, kw_only=True)
class ViewOptions:
    """Which part of the forecast is shown, as typed."""

    show: Annotated[
        Show,
        choose(
            "What to show: tools, use by week, or the order list of each supplier.",
            show_default=True,
        ),
    ] = Show.TOOLS
    supplier: Annotated[str | None, ask("NAME", "Only this supplier's order list.")] = None

    sheet: Annotated[
        Path | None,
        ask("FILE", "Also write the orders as a sheet to print and send: .html or .pdf."),
    ] = None
    paper: Annotated[
        Paper | None,
        choose("Paper of that sheet; otherwise A4, or Letter where the shop's units are imperial."),
    ] = None

    def check(self) -> None:
        """Refuse a supplier where no order list is shown, and a sheet of another form."""
        if self.supplier is not None and self.show is not Show.ORDERS and self.sheet is None:
            raise UsageError(
                "--supplier selects an order list, which is not shown.",
                where=Where(key="--supplier"),
                remedy="Add --show orders, or --sheet order.pdf.",
            )
        check_page(self.sheet, "--sheet")
        if self.paper is not None and self.sheet is None:
            raise UsageError(
                "--paper is that of an order sheet, which is not written.",
                where=Where(key="--paper"),
                remedy="Add --sheet order.pdf.",
            )

    def write(self, found: Forecast, orders: Sequence[SupplierOrder], system: UnitSystem) -> None:
        """Write the order sheet, if one is asked for."""
        if self.sheet is None:
            return
        from edgetime.page.order_sheet import order_sheet  # noqa: PLC0415  of no use to --help

        usual = Paper.LETTER if system == "imperial" else Paper.A4
        write_page(self.sheet, order_sheet(found, orders, paper=self.paper or usual))

    def orders(self, found: Forecast, catalogue: Catalogue) -> Sequence[SupplierOrder]:
        """Return the orders that are shown."""
        orders = found.orders
        if self.supplier is not None:
            orders = tuple(o for o in orders if o.supplier == self.supplier)
            names = sorted({t.supplier for t in catalogue.tools.values() if t.supplier})
            if not orders and self.supplier not in names:
                raise UsageError(
                    f"No tool is bought from {self.supplier!r}.",
                    where=Where(key="--supplier"),
                    remedy=f"Suppliers in the tools' files: {', '.join(names) or 'none'}.",
                )
        return orders


ANY_STOCK: Final = StockOptions()
ANY_POLICY: Final = PolicyOptions()
ANY_VIEW: Final = ViewOptions()


@takes(stock=StockOptions, policy=PolicyOptions, view=ViewOptions, form=OutputOptions)
def forecast_command(
    pipeline: Annotated[
        str, ask("FILE", "CSV or TOML file of the jobs to come.", show_default=False)
    ],
    policy: PolicyOptions = ANY_POLICY,
    view: ViewOptions = ANY_VIEW,
    machine: MachineOption = None,
    stock: StockOptions = ANY_STOCK,
    form: OutputOptions = AS_A_TABLE,
) -> Result:
    r"""Calculate which tools to order by when, from the jobs to come and the ledger.

    The pipeline has one row per job: date, name, drawing or metres (such as "eased=60;
    seam=4"), stone, thickness, stack, quantity, and the probability of getting the job. Per
    tool: expected use and its spread, when it runs out, the last day to order at its lead
    time, and how many, in packs, sets and minimum orders. Lead time, supplier, pack, set and
    price are in the tool's file.

    \b
    Examples:
      edgetime forecast --pipeline edgetime-demo/pipeline.csv --from 2027-01-04
      edgetime forecast --pipeline edgetime-demo/pipeline.csv --service 99
      edgetime forecast --pipeline edgetime-demo/pipeline.csv --on-hand polish-1=4
      edgetime forecast --pipeline edgetime-demo/pipeline.csv --show orders
      edgetime forecast --pipeline edgetime-demo/pipeline.csv --sheet order.pdf

    Exit codes: 0 1 2 3 5
    """
    view.check()
    from edgetime.forecast import (  # noqa: PLC0415  of no use to --help
        forecast_use,
        read_pipeline,
        wear_rates,
    )

    catalogue = stock.catalogue()
    how = policy.policy(catalogue.shop)
    jobs = read_pipeline(pipeline, catalogue)
    rates = wear_rates(jobs, catalogue, machine=machine)
    tools = {piece.partition("/")[0] for row in rates.shares for piece in row}
    books = stock.books(tools, catalogue)
    found = forecast_use(jobs, rates, catalogue, books, how)
    orders = view.orders(found, catalogue)
    system = form.system(catalogue)
    view.write(found, orders, system)
    return Result(
        answer=found,
        beside={"ledger": books.name} | ({} if view.sheet is None else {"sheet": str(view.sheet)}),
        hints=() if view.sheet is None else (f"Wrote {view.sheet}: print it, sign it, send it.",),
        table=lambda: _table(found, view.show, orders),
        blocks=lambda: _blocks(found, view.show, orders, system),
        workbook=lambda: _workbook(found, view.show, orders, system),
        assumptions=lambda: _assumptions(jobs.jobs, found, catalogue, machine),
        system=system,
        findings=found.findings,
    )


def _table(found: Forecast, show: Show, orders: Sequence[SupplierOrder]) -> Table[object]:
    from edgetime.report import forecast as report  # noqa: PLC0415  of no use to --help

    if show is Show.TOOLS:
        return report.tool_table(found)
    return report.week_table(found) if show is Show.WEEKS else report.order_table(orders)


def _blocks(
    found: Forecast, show: Show, orders: Sequence[SupplierOrder], system: UnitSystem
) -> list[Block]:
    from edgetime.report import forecast as report  # noqa: PLC0415  of no use to --help

    if show is Show.TOOLS:
        return report.forecast_parts(found, system)
    if show is Show.WEEKS:
        return report.week_parts(found)
    return report.order_parts(found, orders)


def _workbook(
    found: Forecast, show: Show, orders: Sequence[SupplierOrder], system: UnitSystem
) -> list[Block]:
    from edgetime.report.forecast import order_workbook  # noqa: PLC0415  of no use to --help

    blocks = _blocks(found, show, orders, system)
    return order_workbook(blocks, () if show is Show.WEEKS else orders)


def _assumptions(
    jobs: Sequence[Job], found: Forecast, catalogue: Catalogue, machine: str | None
) -> list[Block]:
    from edgetime.report.forecast import forecast_assumptions  # noqa: PLC0415  for workbooks

    return forecast_assumptions(jobs, found, catalogue, machine)


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


def _days_off(text: str) -> list[date]:
    """Read one day, or the first and the last of several."""
    from datetime import timedelta  # noqa: PLC0415  rarely needed

    first, dots, last = text.partition("..")
    begin = read_day(first, "--day-off")
    end = read_day(last, "--day-off") if dots else begin
    if not 0 <= (end - begin).days <= 366:
        raise UsageError(
            f"{text!r} does not run from an earlier to a later day within a year.",
            where=Where(key="--day-off"),
            remedy="Write 2027-12-24..2027-12-31.",
        )
    return [begin + timedelta(days=k) for k in range((end - begin).days + 1)]


def _counted(text: str, option: str, example: str, catalogue: Catalogue) -> tuple[str, int]:
    """Read one ``TOOL=PIECES`` pair."""
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
        what = f"{text!r} is not a whole number of tools."
    if what:
        raise UsageError(what, where=Where(key=option), remedy=example)
    return piece, int(count)


def _on_hand(texts: list[str], catalogue: Catalogue) -> dict[str, int]:
    """Read ``TOOL=PIECES`` pairs."""
    example = (
        "Write TOOL=N, or TOOL/PROFILE=N for a profiled wheel, such as "
        "--on-hand polish-1=4 --on-hand metal-1/ogee=2."
    )
    found: dict[str, int] = {}
    for text in texts:
        piece, count = _counted(text, "--on-hand", example, catalogue)
        if piece in found:
            raise UsageError(
                f"{piece} is given twice.", where=Where(key="--on-hand"), remedy=example
            )
        found[piece] = count
    return found


def _on_order(texts: list[str], catalogue: Catalogue) -> dict[str, list[Arrival]]:
    """Read ``TOOL=PIECES@DAY``."""
    from edgetime.forecast import Arrival  # noqa: PLC0415  of no use to --help

    example = "Write TOOL=N@DAY, such as --on-order polish-1=6@2027-02-01."
    found: dict[str, list[Arrival]] = {}
    for text in texts:
        pair, _, day = text.partition("@")
        piece, count = _counted(pair, "--on-order", example, catalogue)
        arrival = Arrival(day=read_day(day, "--on-order"), pieces=count)
        found.setdefault(piece, []).append(arrival)
    return found
