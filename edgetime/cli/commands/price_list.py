"""``edgetime price-list``."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated

from edgetime.cli.ask import ask
from edgetime.cli.blocks import takes
from edgetime.cli.layer_options import LayersOption
from edgetime.cli.load_options import FeedOverrideOption, MachineOption
from edgetime.cli.options import (
    AS_A_TABLE,
    OutputOptions,
    ShopOption,
    factor_option,
    length_option,
    load_shop,
)
from edgetime.cli.output import Result
from edgetime.cli.priced import priced

if TYPE_CHECKING:
    from edgetime.price import PriceList
    from edgetime.tooling import Catalogue

_MOST_EDGES = 20


@dataclass(frozen=True, kw_only=True)
class ListOptions:
    """The options of a price list, as typed; None means the shop's default, or all."""

    stone: Annotated[str | None, ask("NAME", "Only this stone.", "stones")] = None
    profile: Annotated[str | None, ask("NAME", "Only this profile.", "profiles")] = None
    thickness: Annotated[str | None, ask("LENGTH", "Only this nominal thickness.")] = None
    machine: MachineOption = None
    stack: Annotated[
        str | None,
        ask(
            "NAME",
            "Stack to use if it suits; otherwise the shop's, otherwise the first by name.",
            "stacks",
        ),
    ] = None
    feed_override: FeedOverrideOption = "1"
    edge: Annotated[str, ask("LENGTH", "Length of one reference edge.")] = "2.5 m"
    edges: Annotated[int, ask("NUMBER", "Reference edges, 1 to 20.")] = 4

    def price(self, catalogue: Catalogue) -> PriceList:
        """Read the options' texts and price the list."""
        from edgetime.errors import UsageError, Where  # noqa: PLC0415  with the rest
        from edgetime.load import Options  # noqa: PLC0415  of no use to --help
        from edgetime.price import price_list  # noqa: PLC0415  as above

        edge_mm = length_option(self.edge, "--edge") or 0.0
        if not 100.0 <= edge_mm <= 20_000.0:
            raise UsageError(
                f"A reference edge of {edge_mm:g} mm; it may be from 0.1 m to 20 m.",
                where=Where(key="--edge"),
                remedy='Give a length such as "2.5 m".',
            )
        if not 1 <= self.edges <= _MOST_EDGES:
            raise UsageError(
                f"{self.edges} reference edges; there may be from 1 to {_MOST_EDGES}.",
                where=Where(key="--edges"),
                remedy="Give a number of edges such as 4.",
            )
        return price_list(
            catalogue,
            Options(
                machine=self.machine,
                stack=self.stack,
                feed_override=factor_option(self.feed_override, "--feed-override"),
            ),
            edge_mm=edge_mm,
            edges=self.edges,
            stone=self.stone,
            profile=self.profile,
            thickness_mm=length_option(self.thickness, "--thickness"),
        )


@takes(which=ListOptions, form=OutputOptions)
def price_list_command(
    which: ListOptions,
    explain: Annotated[
        str | None,
        ask(
            "FIGURE",
            "Explain a figure of a line: profile:eased/m, share:labour, price and others; or "
            "'all'. Needs --stone, --profile and --thickness.",
        ),
    ] = None,
    shop: ShopOption = None,
    layers: LayersOption = None,
    form: OutputOptions = AS_A_TABLE,
) -> Result:
    r"""Price every profile in every stone and thickness, per metre and per foot.

    Each line is calculated separately, on straight edges in as many loads as they need, each
    with its tool changes, loading and setup. The price is shown with its shares of machine,
    labour, tools, hand finishing, overhead and margin. Profiles that cannot be made, because no
    stack suits or they are made elsewhere, are listed with the reason. The minimum charge is
    not included.

    \b
    Examples:
      edgetime price-list --stone granite --thickness 30
      edgetime price-list --profile half-bullnose --format csv
      edgetime price-list --shop my-shop --edge "8 ft" --edges 6

    Exit codes: 0 done; 2 wrong use; 3 a shop file cannot be used.
    """
    catalogue = load_shop(shop, layers)
    prices = which.price(catalogue)
    from edgetime.report import price_list as report  # noqa: PLC0415  of no use to --help
    from edgetime.report.document import Table  # noqa: PLC0415  as above

    system = form.system(catalogue)
    result = priced(
        prices,
        system,
        explain=explain,
        table=lambda: Table(report.list_sheet(prices), prices.rows),
        screen=lambda figures, live: report.list_screen(
            prices,
            system,
            figures=figures,
            live=report.list_costing(prices, catalogue) if live and prices.priced else None,
        ),
    )
    return replace(result, assumptions=lambda: report.list_assumptions(prices, catalogue))
