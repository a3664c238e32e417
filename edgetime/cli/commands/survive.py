"""``edgetime survive``."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from edgetime.cli.blocks import takes
from edgetime.cli.ledger_options import LedgerIfThereOption
from edgetime.cli.load_options import AS_THE_SHOP_HAS_IT, LoadOptions
from edgetime.cli.options import (
    AS_A_TABLE,
    Drawings,
    OutputOptions,
    factor_option,
    find_shop_folder,
)
from edgetime.cli.output import Result

if TYPE_CHECKING:
    from edgetime.ledger import LifeRecord, PieceBalance
    from edgetime.tooling import Catalogue

Books = tuple[str | None, "tuple[PieceBalance, ...] | None", "tuple[LifeRecord, ...]"]


@takes(choices=LoadOptions, form=OutputOptions)
def survive_command(
    drawings: Drawings,
    choices: LoadOptions = AS_THE_SHOP_HAS_IT,
    least_chance: Annotated[
        str,
        typer.Option(
            "--least-chance",
            metavar="SHARE",
            help="Minimum chance to finish: warn about pieces below it; 0.95 or 95%.",
            show_default=True,
        ),
    ] = "95%",
    ledger: LedgerIfThereOption = None,
    form: OutputOptions = AS_A_TABLE,
) -> Result:
    r"""Calculate the chance that the mounted tools finish a load, and what to swap first.

    For every mounted piece in the ledger: the chance that it finishes, the part on which it is
    expected to end otherwise, and how many such loads are left in it. The life of a tool is
    learnt from the pieces retired so far; while these are few, the life in its file weighs in.
    Without a ledger new pieces are assumed.

    \b
    Examples:
      edgetime survive edgetime-demo/cafe-counters.dxf
      edgetime survive LOAD.dxf --least-chance 99% --strict
      edgetime survive LOAD.dxf --format json

    Exit codes: 0 1 2 3 4 5
    """
    chance = factor_option(least_chance, "--least-chance")
    est = choices.estimate(drawings)
    name, balances, lives = _books(ledger, choices.shop, est.load.catalogue)
    from edgetime.life import fit_lives, survive  # noqa: PLC0415  of no use to --help
    from edgetime.report import survive as report  # noqa: PLC0415  as above

    used = {t.tool for t in est.wear.tools}
    fits = fit_lives(r for r in lives if r.tool in used)
    found = survive(est.wear, balances, fits, least_chance=chance)
    findings = (*est.findings, *found.findings)
    system = form.system(est.load.catalogue)
    return Result(
        output=form.output,
        answer=found,
        beside={
            "ledger": name,
            "digest": est.digest,
            "drawings": [d.path for d in est.take_off.drawings],
            "total_s": est.cycle.total_s,
            "findings": findings,
        },
        table=lambda: report.survival_table(found),
        blocks=lambda: report.survive_screen(est, found, name, system),
        system=system,
        findings=findings,
        strict=form.strict,
    )


def _books(ledger: str | None, shop: str | None, catalogue: Catalogue) -> Books:
    """Return the ledger's name, its balances and lives; None and nothing without one."""
    folder = find_shop_folder(shop)
    if ledger is None and (folder is None or not (folder / "ledger.sqlite").exists()):
        return None, None, ()
    from edgetime.ledger import open_ledger  # noqa: PLC0415  brings the database library

    with open_ledger(ledger, shop=folder, create=False, catalogue=catalogue) as books:
        return books.name, books.balances(), books.lives()
