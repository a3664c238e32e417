"""``edgetime price``."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Annotated, Any

from edgetime.cli.ask import argument, ask, switch
from edgetime.cli.blocks import takes
from edgetime.cli.load_options import AS_THE_SHOP_HAS_IT, LoadOptions
from edgetime.cli.options import AS_A_TABLE, OutputOptions, rests_on
from edgetime.cli.output import Result
from edgetime.cli.priced import priced
from edgetime.errors import CannotRun, EdgetimeError, UsageError, Where

if TYPE_CHECKING:
    from edgetime.comparison import WhatIf
    from edgetime.estimating import Estimate
    from edgetime.price import Quote

ExplainOption = Annotated[
    str | None,
    ask(
        "FIGURE",
        "Explain a figure: net, gross, machine, labour, profile:eased, part:p01 and "
        "others; or 'all'.",
    ),
]


@takes(choices=LoadOptions, form=OutputOptions)
def price_command(
    drawings: Annotated[
        list[str] | None,
        argument(
            "DRAWING",
            "DXF files; several are one load on one table. None with --lengths.",
            show_default=False,
        ),
    ] = None,
    lengths: Annotated[
        str | None,
        ask(
            "TEXT",
            "Without a drawing: lengths by profile, and numbers of cutouts, plain-cutouts, "
            "holes, corners, parts.",
        ),
    ] = None,
    what_if: Annotated[
        list[str] | None,
        ask(
            "CHANGES",
            "Also the price with another stone=, stack=, profile=, thickness=, machine=, "
            "feed-override= or rate= (machine, per hour), side by side; may be repeated.",
        ),
    ] = None,
    explain: ExplainOption = None,
    force: Annotated[  # noqa: FBT002
        bool, switch("--force", "Also price a load that cannot run as drawn.")
    ] = False,
    choices: LoadOptions = AS_THE_SHOP_HAS_IT,
    form: OutputOptions = AS_A_TABLE,
) -> Result:
    r"""Price a job by item, by part and by cost, to the cent.

    Machine, labour, hand finishing, tool wear, power and water, plus overhead and margin, at
    the rates of [price] in shop.toml. Edges are priced per metre and per foot, cutouts with
    their edge, holes and radius corners each. Every column adds up to its total.

    Without a drawing, --lengths prices given lengths with the same model on assumed parts, and
    shows the added uncertainty.

    \b
    Examples:
      edgetime price edgetime-demo/cafe-counters.dxf
      edgetime price --lengths "eased=12.4 m, ogee=3 m, cutouts=2, holes=5"
      edgetime price --lengths "ogee=22 ft" --stone marble --stack marble
      edgetime price LOAD.dxf --what-if stone=marble --what-if profile=ogee
      edgetime price edgetime-demo/cafe-counters.dxf --explain profile:eased

    Exit codes: 0 1 2 3 4 5
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
        estimates = [choices.estimate(drawings or [])]
        quote = pricing.price_load(estimates[0])
    if quote.errors and not force:
        raise _cannot_run(quote)
    what_ifs: list[WhatIf] = []
    if what_if:
        from edgetime.comparison import price_what_if  # noqa: PLC0415  brings the shift

        what_ifs = [price_what_if(text, estimates, quote) for text in what_if]
    # Of assumed parts only what cannot be made is news; the rest is about nobody's drawing.
    own = quote.errors if lengths is not None else [f for e in estimates for f in e.findings]
    findings = (*own, *quote.own_findings)
    beside: dict[str, Any] = {
        "digest": estimates[0].digest,
        "lengths": lengths,
        "drawings": [] if lengths is not None else list(drawings or ()),
        "findings": findings,
    }
    if what_ifs:
        beside["what_if"] = what_ifs
    from edgetime.price.costing import costing  # noqa: PLC0415  of no use to --help
    from edgetime.report import price as report  # noqa: PLC0415  of no use to --help
    from edgetime.report.document import Table  # noqa: PLC0415  as above

    system = form.system(estimates[0].load.catalogue)
    result = priced(
        quote,
        system,
        explain=explain,
        beside=beside,
        findings=findings,
        table=lambda: Table(report.QUOTE, list(report.quote_rows(quote, what_ifs))),
        screen=lambda figures, live: report.quote_screen(
            quote,
            estimates,
            system,
            what_ifs=what_ifs,
            figures=figures,
            live=costing(quote, estimates[0].load.catalogue.shop.price) if live else None,
        ),
    )
    return replace(result, assumptions=rests_on(estimates, "price", "shift"))


def _cannot_run(quote: Quote) -> EdgetimeError:
    first = quote.errors[0]
    kinds = list(dict.fromkeys(f.code for f in quote.errors))
    others = f" Others: {', '.join(kinds[1:])}." if len(kinds) > 1 else ""
    times = sum(f.code == first.code for f in quote.errors)
    more = f" ({first.code}, {times} times)" if times > 1 else f" ({first.code})"
    return CannotRun(
        f"The load cannot run as drawn, so it has no price. {first.message}{more}{others}",
        where=first.where,
        remedy=f"{first.remedy} Or price it anyway: --force.".lstrip(),
    )


def _check_source(drawings: list[str] | None, lengths: str | None, choices: LoadOptions) -> None:
    if lengths is None:
        if not drawings:
            raise UsageError(
                "Neither a drawing nor --lengths is given.",
                where=Where(key="DRAWING"),
                remedy="Name a DXF file, or write --lengths 'eased=12.4 m, cutouts=2'.",
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
