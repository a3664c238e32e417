"""``edgetime catalogue``."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, Any

from edgetime.cli.ask import argument, complete_kind_name
from edgetime.cli.blocks import takes
from edgetime.cli.options import (
    AS_IT_IS,
    FormOptions,
    ShopOption,
    UnitsOption,
    load_shop,
)
from edgetime.cli.output import Result, table_units
from edgetime.errors import UsageError, Where

if TYPE_CHECKING:
    from edgetime.tooling import Catalogue


class Kind(StrEnum):
    """What a catalogue holds."""

    PROFILES = "profiles"
    TOOLS = "tools"
    STACKS = "stacks"
    MACHINES = "machines"
    STONES = "stones"
    LAYERS = "layers"


@takes(form=FormOptions)
def catalogue_command(
    kind: Annotated[Kind | None, argument("KIND", "Kind of entry; all kinds if omitted.")] = None,
    name: Annotated[
        str | None, argument("NAME", "Name of one entry.", autocompletion=complete_kind_name)
    ] = None,
    shop: ShopOption = None,
    units: UnitsOption = None,
    form: FormOptions = AS_IT_IS,  # noqa: ARG001  for the tail of the commands
) -> Result:
    r"""Show profiles, tools, stacks, machines, stones and layer rules.

    Every figure has its unit, its file and its source: a published value, common practice, or
    an assumption to replace with your own figure. Entries of a shop folder replace shipped ones
    of the same name.

    \b
    Examples:
      edgetime catalogue
      edgetime catalogue tools
      edgetime catalogue stones granite
      edgetime catalogue machines --format json
      edgetime catalogue layers

    Exit codes: 0 2 3
    """
    catalogue = load_shop(shop, None)
    if kind is Kind.LAYERS:
        return _layers(catalogue, name)
    chosen = _chosen(catalogue, kind, name)
    system = table_units(units, catalogue.shop.units)
    from edgetime.report import catalogue as report  # noqa: PLC0415  of no use to --help
    from edgetime.report.layers import RULES  # noqa: PLC0415  as above

    def answer() -> dict[str, Any]:
        out: dict[str, Any] = {"schema": "edgetime.catalogue/1", "digest": catalogue.digest}
        for one, entry in chosen:
            out.setdefault(one, []).append(getattr(catalogue, one)[entry])
        if kind is None:
            out["layers"] = RULES.records(catalogue.layers.rules)
        return out

    def blocks() -> list[Any]:
        if kind is None:
            return report.catalogue_parts(catalogue)
        if name is None:
            return report.kind_parts(catalogue, kind.value, system)
        return report.entry_parts(catalogue, kind.value, name)

    hints: tuple[str, ...] = ()
    if name is None:
        shown = "KIND" if kind is None else kind.value
        hints = (f"\nEach figure with its own source: edgetime catalogue {shown} NAME",)
    return Result(
        answer=answer,
        table=lambda: report.catalogue_table(catalogue, chosen),
        system=system,
        blocks=blocks,
        hints=hints,
    )


def _layers(catalogue: Catalogue, name: str | None) -> Result:
    """Return the layer rules in their order, each with where it comes from."""
    from edgetime.report.document import Table  # noqa: PLC0415  of no use to --help
    from edgetime.report.layers import RULES, rule_parts  # noqa: PLC0415  as above

    if name is not None:
        raise UsageError(
            "Layer rules have no names.",
            where=Where(key="NAME"),
            remedy="List them all: edgetime catalogue layers.",
        )
    rules = catalogue.layers.rules
    return Result(
        answer={
            "schema": "edgetime.catalogue/1",
            "digest": catalogue.digest,
            "layers": RULES.records(rules),
        },
        table=Table(RULES, rules),
        blocks=lambda: rule_parts(rules),
    )


def _chosen(catalogue: Catalogue, kind: Kind | None, name: str | None) -> list[tuple[str, str]]:
    kinds = [kind] if kind is not None else [k for k in Kind if k is not Kind.LAYERS]
    if name is None or kind is None:
        return [(k.value, entry) for k in kinds for entry in getattr(catalogue, k.value)]
    known = getattr(catalogue, kind.value)
    if name not in known:
        from edgetime.tooling.suggest import suggest  # noqa: PLC0415  only for a slip

        raise UsageError(
            f"There is no {name!r} among the {kind.value}.",
            where=Where(key="NAME"),
            remedy=suggest(name, known),
        )
    return [(kind.value, name)]
