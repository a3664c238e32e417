"""``edgetime report``."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

from edgetime.cli.ask import ask, switch
from edgetime.cli.blocks import takes
from edgetime.cli.ledger.options import LedgerIfThereOption
from edgetime.cli.ledger.survival import is_there, survival_of
from edgetime.cli.load_options import AS_THE_SHOP_HAS_IT, LoadOptions
from edgetime.cli.options import AS_A_TABLE, Drawings, OutputOptions
from edgetime.cli.output import Result, check_page, write_page
from edgetime.errors import UsageError, Where

if TYPE_CHECKING:
    from edgetime.estimating import Estimate
    from edgetime.findings import Finding
    from edgetime.page.load_page import Chapter
    from edgetime.report.document import Block
    from edgetime.units import UnitSystem


@takes(choices=LoadOptions, form=OutputOptions)
def report_command(
    drawings: Drawings,
    choices: LoadOptions = AS_THE_SHOP_HAS_IT,
    file: Annotated[
        Path | None,
        typer.Option(
            "--output",
            "-o",
            metavar="FILE",
            help="File to write: .html, for a sheet also .pdf; otherwise the first drawing's name "
            "with -load.html or -set-up.html, here.",
        ),
    ] = None,
    sheet: Annotated[  # noqa: FBT002
        bool,
        switch(
            "--sheet",
            "Write the set-up sheet for the machine instead: tools by pocket with speeds and "
            "feeds, attended stops, checks before cycle start.",
        ),
    ] = False,
    start: Annotated[
        str | None,
        ask(
            "[DATE ]TIME",
            "Time of cycle start, such as 9:10 or '2027-01-18 9:10', to show times of day.",
        ),
    ] = None,
    price: Annotated[  # noqa: FBT002
        bool,
        switch(
            "--price",
            "Also the price of the load, by item, part and cost, at the rates of [price] in "
            "shop.toml.",
        ),
    ] = False,
    ledger: LedgerIfThereOption = None,
    form: OutputOptions = AS_A_TABLE,
) -> Result:
    r"""Write a load as one page: plan, replay, timeline, tables, wear, findings.

    The page is a single file that needs no network: send it by e-mail, open it in a browser,
    print it. Pointing at an edge shows its length and the time of each tool there; a row of a
    table lights up its edges in the plan, and the replay shows where the tool is at any moment.
    With a ledger it shows the life left of the mounted tools.

    \b
    Examples:
      edgetime report edgetime-demo/cafe-counters.dxf -o load.html
      edgetime report LOAD.dxf --start 9:10 --price
      edgetime report LOAD.dxf --sheet --start 9:10 -o set-up.pdf

    Exit codes: 0 1 2 3 4 5
    """
    target = file or Path(f"{Path(drawings[0]).stem}-{'set-up' if sheet else 'load'}.html")
    _check_form(target, sheet=sheet)
    _check_asked(sheet=sheet, price=price, ledger=ledger)
    if start is not None:
        from edgetime.cycle.clock import parse_start  # noqa: PLC0415  brings numpy

        parse_start(start)  # a slip is found before the drawings are read
    est = choices.estimate(drawings, ledger)
    system = form.system(est.load.catalogue)
    wall = None if start is None else est.wall_clock(start)
    beside = _Beside.of(est, choices, system, price=price, ledger=ledger, sheet=sheet)
    from edgetime.drawing import read_drawing  # noqa: PLC0415  of no use to --help

    drawn = [read_drawing(d, drawing_units=choices.drawing_units) for d in drawings]
    if sheet:
        from edgetime.page.sheets import setup_sheet  # noqa: PLC0415  of no use to --help

        content = setup_sheet(est, system=system, wall=wall, drawings=drawn)
    else:
        from edgetime.page import load_page  # noqa: PLC0415  as above

        content = load_page(
            est,
            system=system,
            wall=wall,
            chapters=beside.chapters,
            findings=beside.findings,
            without=("shift",) if price else ("price", "shift"),
            drawings=drawn,
        )
    write_page(target, content)

    from edgetime.report.document import Line, one_row  # noqa: PLC0415  of no use to --help

    def blocks() -> list[Block]:
        from edgetime.report.findings import kinds_text  # noqa: PLC0415  of no use to --help

        printed = target.suffix.lower() == ".pdf"
        opened = "print it, or open it in any PDF reader" if printed else "open it in a browser"
        return [
            Line(f"Wrote {target}; {opened}."),
            Line(f"Findings: {kinds_text(beside.findings)}."),
        ]

    return Result(
        answer={
            "schema": "edgetime.report/1",
            "file": str(target),
            "digest": est.digest,
            "total_s": est.cycle.total_s,
            **beside.keys,
            "findings": beside.findings,
        },
        table=lambda: one_row({"file": str(target)}),
        blocks=blocks,
        findings=beside.findings,
    )


_NO_PRICE: Final = (
    "The load cannot run as drawn, so it has no price: see the findings. edgetime price --force "
    "prices it anyway."
)


@dataclass(frozen=True)
class _Beside:
    """What is asked for beside the estimate: its chapters, findings and keys of the JSON form.

    Ledger and price are wings, which do not know each other: they meet here.
    """

    chapters: tuple[Chapter, ...]
    findings: tuple[Finding, ...]
    keys: dict[str, object]

    @classmethod
    def of(
        cls, est: Estimate, choices: LoadOptions, system: UnitSystem,
        *, price: bool, ledger: str | None, sheet: bool,
    ) -> _Beside:  # fmt: skip
        """Work out what is asked for."""
        from edgetime.report.wear import wear_tables  # noqa: PLC0415  of no use to --help

        chapters: list[Chapter] = [("Wear", wear_tables(est.wear, system))]
        findings = [*est.findings, *est.wear.findings]
        keys: dict[str, object] = {}
        if not sheet and is_there(ledger, choices.shop):
            from edgetime.life import LEAST_CHANCE  # noqa: PLC0415  brings scipy
            from edgetime.report.survive import chance_parts  # noqa: PLC0415  as above

            name, found = survival_of(est, ledger, choices.shop, least_chance=LEAST_CHANCE)
            chapters.append((f"Life left of the mounted tools, by {name}", chance_parts(found)))
            findings += found.findings
            keys["survive"] = found
        if price:
            from edgetime.price import price_load  # noqa: PLC0415  brings babel
            from edgetime.report.document import Line  # noqa: PLC0415  as above
            from edgetime.report.numbers import Numbers  # noqa: PLC0415  as above
            from edgetime.report.price import quote_parts  # noqa: PLC0415  as above

            quote = price_load(est)
            numbers = Numbers(quote.locale, quote.currency)
            told: list[Block] = [Line(_NO_PRICE)]
            if not quote.errors:
                told = list(quote_parts(quote, [est], numbers, system))
                findings += quote.own_findings
                keys["price"] = quote
            chapters.append(("Price", told))
        return cls(tuple(chapters), tuple(findings), keys)


def _check_asked(*, sheet: bool, price: bool, ledger: str | None) -> None:
    for name, given in (("--price", price), ("--ledger", ledger is not None)):
        # The ledger may also come from the environment, which is no slip.
        if sheet and given and f"EDGETIME{name.upper().replace('--', '_')}" not in os.environ:
            raise UsageError(
                f"{name} is for the page, not for the set-up sheet.",
                where=Where(key=name),
                remedy=f"Leave out {name}, or --sheet.",
            )


def _check_form(target: Path, *, sheet: bool) -> None:
    if sheet:
        check_page(target, "--output")
    elif target.suffix.lower() not in {".html", ".htm"}:
        raise UsageError(
            f"{target} does not end with .html.",
            where=Where(key="--output"),
            remedy="The page is HTML. For .svg, .png or .pdf see edgetime picture; a set-up sheet "
            "as .pdf needs --sheet.",
        )
