"""``edgetime check``."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any

from edgetime.cli.ask import argument
from edgetime.cli.blocks import takes
from edgetime.cli.options import AS_IT_IS, FormOptions, ShopOption, StrictOption, find_shop_folder
from edgetime.cli.output import Result
from edgetime.errors import CatalogueInvalid, UsageError, Where
from edgetime.findings import Finding, Severity
from edgetime.units import UnitSystem


@takes(form=FormOptions)
def check_command(
    folder: Annotated[
        str | None, argument("FOLDER", "Shop folder; as --shop.", show_default=False)
    ] = None,
    shop: ShopOption = None,
    strict: StrictOption = False,  # noqa: FBT002
    form: FormOptions = AS_IT_IS,  # noqa: ARG001  for the tail of the commands
) -> Result:
    r"""Check every file of a shop folder and report all errors at once.

    Each error names the file, the key, the value found and the values allowed. If all files can
    be read, it also checks prices (one currency, rounding step, locale), spindle speeds against
    the marking of tools and the machine's spindle (errors), and unusual feeds and tools lower
    than their edges (warnings). Nothing is changed. Without a folder, the one found in or above
    the working folder is checked.

    \b
    Examples:
      edgetime check edgetime-demo
      edgetime check --shop my-shop --format json

    Exit codes: 0 all files can be used; 1 warnings, with --strict; 2 wrong use or no shop
    folder; 3 errors found.
    """
    if folder is not None and shop is not None and folder != shop:
        raise UsageError(
            f"Two shop folders are named: {folder!r} and {shop!r}.",
            where=Where(key="--shop"),
            remedy="Name one of them.",
        )
    chosen = find_shop_folder(folder if folder is not None else shop)
    if chosen is None:
        raise UsageError(
            "No shop folder is named, and none was found in or above the working folder.",
            where=Where(key="FOLDER"),
            remedy="Name one: edgetime check FOLDER. Make one: edgetime init FOLDER.",
        )
    from edgetime.tooling import check_shop  # noqa: PLC0415  of no use to --help

    errors = check_shop(chosen)
    if errors:
        raise _joined(errors)
    from edgetime.report.layers import RULES  # noqa: PLC0415  brings numpy
    from edgetime.tooling import load_catalogue  # noqa: PLC0415  as above

    catalogue = load_catalogue(chosen)
    from edgetime.price.rates import price_errors  # noqa: PLC0415  brings the locale data
    from edgetime.tooling.plausible import catalogue_findings  # noqa: PLC0415  as above

    findings = catalogue_findings(catalogue)
    errors = [*price_errors(catalogue), *_as_errors(findings)]
    if errors:
        raise _joined(errors)
    from edgetime.report.catalogue import check_parts, count_table  # noqa: PLC0415  as above

    counts = count_table(catalogue)

    def blocks() -> Iterator[Any]:
        from edgetime.report.findings import finding_parts  # noqa: PLC0415  of no use to --help

        yield from check_parts(str(chosen), catalogue)
        if findings:
            yield from finding_parts(findings, UnitSystem(catalogue.shop.units))

    return Result(
        answer={
            "schema": "edgetime.check/1",
            "shop": chosen,
            "digest": catalogue.digest,
            "entries": dict(counts.rows),
            "layer_rules": RULES.records(catalogue.layers.rules),
            "errors": [],
            "findings": findings,
        },
        table=counts,
        blocks=blocks,
        findings=findings,
        strict=strict,
    )


def _as_errors(findings: tuple[Finding, ...]) -> list[CatalogueInvalid]:
    """Return the findings that are errors."""
    return [
        CatalogueInvalid(f.message, where=f.where, remedy=f.remedy)
        for f in findings
        if f.severity is Severity.ERROR
    ]


def _joined(errors: Any) -> Any:
    first, *others = errors
    return type(first)(first.what, where=first.where, remedy=first.remedy, others=others)
