"""The commands by name, and their help."""

from __future__ import annotations

import inspect
import re
from collections.abc import Callable

COMMANDS = {
    "demo": "Write an invented load and estimate it: start here.",
    "init": "Make a folder for your own machine, tools and layers.",
    "catalogue": "Show profiles, tools, stacks, machines, stones.",
    "layers": "Propose and write rules for the layers of your drawings.",
    "takeoff": "List parts, areas and edge lengths of a drawing.",
    "estimate": "Calculate the cycle time of a load, tool by tool.",
    "report": "Write a load as one page for a browser, with a replay.",
    "picture": "Draw the plan of a load or a take-off: .svg, .png, .pdf, .dxf.",
    "wear": "Calculate tool wear.",
    "survive": "Calculate the chance that the mounted tools finish a load.",
    "ledger": "Record tools received, mounted, used and retired.",
    "advise": "Suggest changes that save time or hand work.",
    "forecast": "Calculate which tools to order by when.",
    "price": "Price a job, from a drawing or a list of lengths.",
    "price-list": "List the price of every profile in every stone.",
    "shift": "Plan the loads of a shift and when an operator is needed.",
    "compare": "Compare stacks, machines and feeds, and when one pays.",
    "feed": "Find the feed of least cost for each tool.",
    "check": "Report all errors in a shop folder at once.",
}
"""Name → one line; ``edgetime.cli.commands.NAME`` holds ``NAME_command``, or ``NAME_app`` for a
command with subcommands; a hyphen in the name is an underscore there."""


EXIT_CODES = {
    0: "done",
    1: "findings of warning or worse, with --strict",
    2: "wrong use of the command line",
    3: "a drawing or another file cannot be read, used or written",
    4: "nothing to cut, no tool stack for it, or a load that cannot run",
    5: "the ledger cannot do what was asked, and is unchanged",
    70: "a bug in edgetime",
}
"""Exit code → what it means, for every command."""

_CODES = re.compile(r"^Exit codes:((?: \d+)+)$", re.MULTILINE)
_LIST = "Exit codes: all"


def help_text(function: Callable[..., object]) -> str:
    """Return a command's docstring as its help, with the marks that keep lines as they are.

    Parameters
    ----------
    function : callable
        The command; a line of a backslash and a ``b`` before a paragraph keeps its lines. A
        line ``Exit codes: 0 2 3`` is completed with what they mean.
    """
    text = inspect.cleandoc(function.__doc__ or "").replace("\\b", "\b")
    listed = "".join(f"\n  {code:>2}  {meaning}" for code, meaning in EXIT_CODES.items())
    text = text.replace(_LIST, f"\b\nExit codes:{listed}")
    return _CODES.sub(_spelled, text)


def _spelled(line: re.Match[str]) -> str:
    codes = "; ".join(f"{code} {EXIT_CODES[int(code)]}" for code in line[1].split())
    return f"Exit codes: {codes}."
