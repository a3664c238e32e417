"""How a tool's life depends on the feed, as its file states it."""

from __future__ import annotations

from edgetime.economics.feed_study import Relation
from edgetime.errors import InternalError
from edgetime.tooling import Catalogue, Tool


def relation_of_tool(tool: Tool, reference_mm_per_s: float, catalogue: Catalogue) -> Relation:
    """Return the relation of ``[taylor]`` in a tool's file.

    Parameters
    ----------
    tool : Tool
        That states one.
    reference_mm_per_s : float
        Feed the tool's lives hold for [mm/s].
    catalogue : Catalogue
        Says where the figures are from.

    Raises
    ------
    InternalError
        The tool states none.
    """
    own = tool.taylor
    if own is None:
        raise InternalError(f"{tool.name} has no [taylor].")
    return Relation(
        exponent=own.exponent,
        reference_mm_per_s=reference_mm_per_s,
        low_mm_per_s=own.low_mm_per_s,
        high_mm_per_s=own.high_mm_per_s,
        life=None,
        file=tool.file,
        key="taylor.exponent",
        source=catalogue.source_of(tool.file, "taylor.exponent"),
    )
