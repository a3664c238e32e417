"""``edgetime price``."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from edgetime.cli.load_options import AS_THE_SHOP_HAS_IT, LoadOptions, takes_load_options
from edgetime.cli.options import (
    FormatOption,
    StrictOption,
    UnitsOption,
)
from edgetime.cli.output import Format, Result, table_units
from edgetime.records import as_json

if TYPE_CHECKING:
    from edgetime.errors import EdgetimeError
    from edgetime.estimating import Estimate
    from edgetime.price import Quote

ForceOption = Annotated[
    bool, typer.Option("--force", help="Price a load all the same that cannot run as drawn.")
]


@takes_load_options
def price_command(
    drawings: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="DRAWING",
            help="DXF files; several are one load on one table. None with --lengths.",
            show_default=False,
        ),
    ] = None,
    lengths: Annotated[
        str | None,
        typer.Option(
            "--lengths",
            metavar="TEXT",
            help="Without a drawing: lengths by profile, and numbers of cutouts, "
            "plain-cutouts, holes, corners, parts.",
        ),
    ] = None,
    what_if: Annotated[
        list[str] | None,
        typer.Option(
            "--what-if",
            metavar="CHANGES",
            help="Also the price with stone=, stack=, profile=, thickness=, machine= or "
            "feed-override= changed, side by side; may be repeated.",
        ),
    ] = None,
    explain: Annotated[
        str | None,
        typer.Option(
            "--explain",
            metavar="FIGURE",
            help="Say how a figure comes about: net, gross, machine, labour, profile:eased, "
            "part:p01 and others; all for all of them.",
        ),
    ] = None,
    force: ForceOption = False,  # noqa: FBT002
    choices: LoadOptions = AS_THE_SHOP_HAS_IT,
    output: FormatOption = Format.TABLE,
    units: UnitsOption = None,
    strict: StrictOption = False,  # noqa: FBT002
) -> Result:
    r"""Say what a job costs: by item, by part, by kind of cost, to the cent.

    Machine, people, hand work, worn tools, power and water, then overhead and margin, by
    the table [price] of shop.toml. Edges are priced per metre and per foot, cutouts with
    their edge, holes and radius corners each. Every column adds up to its total.

    Without a drawing, --lengths prices what is told on the telephone with the same models,
    on parts that are imagined, and says how much further the price may be off.

    \b
    Examples:
      edgetime price edgetime-demo/cafe-counters.dxf
      edgetime price --lengths "eased=12.4 m, ogee=3 m, cutouts=2, holes=5"
      edgetime price --lengths "ogee=22 ft" --stone marble --stack marble
      edgetime price LOAD.dxf --what-if stone=marble --what-if profile=ogee
      edgetime price edgetime-demo/cafe-counters.dxf --explain profile:eased

    Exit codes: 0 done; 1 findings of warning or worse, with --strict; 2 wrong use;
    3 a drawing or a shop file cannot be used; 4 nothing to cut, no stack for it, or a load
    with errors, without --force.
    """
    _check_source(drawings, lengths, choices)
    from edgetime import price as pricing  # noqa: PLC0415  of no use to --help

    estimates: list[Estimate]
    quote: Quote
    if lengths is not None:
        quote, estimates = pricing.price_lengths(
            lengths, choices.catalogue(), choices.without_drawing()
        )
    else:
        est = choices.estimate(drawings or [])
        estimates = [est]
        quote = pricing.price_load(est)
    if quote.errors and not force:
        raise _cannot_run(quote)
    what_ifs = [pricing.price_what_if(text, estimates, quote) for text in what_if or ()]
    figures = () if explain is None else quote.explain(explain)
    from edgetime.report import price as report  # noqa: PLC0415  of no use to --help

    system = table_units(units, estimates[0].load.catalogue.shop.units)
    # Of imagined parts only what cannot be made is news; the rest tells of nobody's drawing.
    own = quote.errors if lengths is not None else [f for e in estimates for f in e.findings]
    findings = (*own, *quote.own_findings)

    def document() -> dict[str, Any]:
        out = {
            **as_json(quote),
            "digest": estimates[0].digest,
            "lengths": lengths,
            "drawings": [] if lengths is not None else list(drawings or ()),
            "findings": as_json(findings),
        }
        if what_ifs:
            out["what_if"] = as_json(what_ifs)
        if explain is not None:
            from edgetime.explained import figures_json  # noqa: PLC0415  when asked for

            out["explain"] = figures_json(figures)
        return out

    return Result(
        output=output,
        document=document,
        header=report.QUOTE.header,
        rows=lambda: report.QUOTE.csv_rows(list(report.quote_rows(quote, what_ifs))),
        system=system,
        blocks=lambda: report.quote_screen(
            quote, estimates, system, what_ifs=what_ifs, figures=figures
        ),
        findings=findings,
        strict=strict,
    )


def _cannot_run(quote: Quote) -> EdgetimeError:
    from edgetime.errors import CannotRun  # noqa: PLC0415  with the rest

    first = quote.errors[0]
    kinds = list(dict.fromkeys(f.code for f in quote.errors))
    others = f" Others: {', '.join(kinds[1:])}." if len(kinds) > 1 else ""
    times = sum(f.code == first.code for f in quote.errors)
    more = f" ({first.code}, {times} times)" if times > 1 else f" ({first.code})"
    return CannotRun(
        f"The load cannot run as drawn, so it has no price. {first.message}{more}{others}",
        where=first.where,
        remedy=f"{first.remedy} Or price it all the same: --force.".lstrip(),
    )


def _check_source(drawings: list[str] | None, lengths: str | None, choices: LoadOptions) -> None:
    from edgetime.errors import UsageError, Where  # noqa: PLC0415  with the rest

    if lengths is None:
        if not drawings:
            raise UsageError(
                "Neither a drawing nor --lengths says what to price.",
                where=Where(key="DRAWING"),
                remedy="Name a DXF file, or tell it: --lengths 'eased=12.4 m, cutouts=2'.",
            )
        return
    for given, name in (
        (drawings, "DRAWING"),
        (choices.place, "--place"),
        (choices.drawing_units, "--drawing-units"),
        (choices.layer, "--layer"),
        (choices.profile, "--profile"),
    ):
        if given:
            raise UsageError(
                f"{name} and --lengths do not go together.",
                where=Where(key="--lengths"),
                remedy=f"Leave out {name}, or --lengths.",
            )
