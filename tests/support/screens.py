"""What a person sees of blocks on a screen."""

from __future__ import annotations

from operator import itemgetter

from edgetime.report.columns import COUNT, TEXT, Column, Sheet
from edgetime.report.document import Document, Table
from edgetime.report.screen import Screen
from edgetime.units import UnitSystem


def shown(blocks, system=UnitSystem.METRIC, **screen):
    """Return the text of some blocks; ``screen`` is what the screen can show."""
    return Screen(**screen).render(Document.of(blocks, system))


def grid(columns, rows, total=None):
    """Return a table of ready-made cells; ``>`` stands for a column of figures."""
    return Table(
        Sheet(
            tuple(
                Column(
                    heading=name,
                    unit=COUNT if align == ">" else TEXT,
                    get=itemgetter(k),
                    total=None if total is None else lambda _, k=k: total[k],
                )
                for k, (name, align) in enumerate(columns)
            )
        ),
        rows,
    )
