"""``edgetime ledger``: its group; the commands are in :mod:`edgetime.cli.ledger`."""

from __future__ import annotations

import typer

from edgetime.cli.help import help_text
from edgetime.cli.ledger import (
    audit,
    copies,
    mount,
    orders,
    pieces,
    post,
    receive,
    report,
    show,
    undo,
)


def _ledger_help() -> None:
    r"""Keep the ledger of tool pieces: received, mounted, used, remaining.

    Every wheel, pad and bit is a piece with a serial. Nothing is ever changed or deleted;
    mistakes are reversed. The life left in a piece is calculated from its entries.

    \b
    Examples:
      edgetime ledger receive polish-1 --count 6 --shop edgetime-demo
      edgetime ledger mount polish-1 --pocket 5 --shop edgetime-demo
      edgetime ledger show --shop edgetime-demo
      edgetime ledger post LOAD.dxf
      edgetime ledger history polish-1-001 --shop edgetime-demo
      edgetime ledger audit --shop edgetime-demo

    Exit codes: 0 done; 2 wrong use; 3 a drawing or a shop file cannot be used; 4 nothing to
    cut, or no stack for it; 5 the ledger cannot do what was asked, and is unchanged.
    """


ledger_app = typer.Typer(
    name="ledger",
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    add_completion=False,
    invoke_without_command=True,
    context_settings={"help_option_names": ["--help", "-h"]},
)


@ledger_app.callback(help=help_text(_ledger_help))
def _root(ctx: typer.Context) -> None:
    if ctx.invoked_subcommand is None:
        typer.echo(ctx.get_help())


for _name, _short, _function in (
    ("show", "Show what is mounted, left and new.", show.show_command),
    ("receive", "Enter new tools.", receive.receive_command),
    ("order", "Enter an order to a supplier.", orders.order_command),
    ("orders", "List what is on order, and what is late.", orders.orders_command),
    ("expect", "Change the delivery date of an order.", orders.expect_command),
    ("cancel", "Cancel an order, or the rest of it.", orders.cancel_command),
    ("close", "Close an order that was delivered short.", orders.close_command),
    ("mount", "Put a tool in a pocket, or take it out.", mount.mount_command),
    ("rack", "Show what is in the pockets, or write it to a file.", mount.rack_command),
    ("post", "Enter a run of a load.", post.post_command),
    ("measure", "Enter a measured diameter.", pieces.measure_command),
    ("dress", "Enter a dressing.", pieces.dress_command),
    ("reprofile", "Enter a reprofiling: the life begins again.", pieces.reprofile_command),
    ("retire", "Take a tool out of service for good.", pieces.retire_command),
    ("adjust", "Correct the life used.", pieces.adjust_command),
    ("move", "Move a run charged to the wrong tool.", undo.move_command),
    ("reverse", "Undo entries, or a whole run.", undo.reverse_command),
    ("history", "List entries.", show.history_command),
    ("report", "Report use, cost and stock by month, job or tool.", report.report_command),
    ("audit", "Recalculate all balances and check the books.", audit.audit_command),
    ("export", "Write all entries to a CSV or JSON file.", copies.export_command),
    ("import", "Read an export into an empty ledger.", copies.import_command),
    ("backup", "Copy the ledger, also while others write.", copies.backup_command),
):
    ledger_app.command(
        _name,
        help=help_text(_function),
        short_help=_short,
        context_settings={"help_option_names": ["--help", "-h"]},
    )(_function)
