"""The tail of the commands about cost: a record with explained figures becomes a result."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import TYPE_CHECKING, Any, Protocol

from edgetime.cli.output import Result

if TYPE_CHECKING:
    from edgetime.findings import Finding
    from edgetime.price.formulas import Exact
    from edgetime.report.document import Block, Table
    from edgetime.units import UnitSystem


class Priced(Protocol):
    """A record with findings, whose figures can be explained."""

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What the reader must know."""

    def explain(self, name: str) -> tuple[Exact, ...]:
        """Return the figures of a name."""


def priced(
    answer: Priced,
    system: UnitSystem,
    *,
    explain: str | None,
    table: Callable[[], Table[Any]],
    screen: Callable[[tuple[Exact, ...], bool], Iterable[Block]],
    beside: Mapping[str, object] | None = None,
    findings: tuple[Finding, ...] | None = None,
) -> Result:
    """Return the result of a command about cost.

    Parameters
    ----------
    answer : Priced
        What was calculated.
    system : UnitSystem
        Units of the screen.
    explain : str or None
        Figure to explain.
    table, screen : callable
        Make the CSV form, and the document with the figures explained; its second argument is
        whether it is for a surface that calculates: a workbook.
    beside : mapping, optional
        Further keys of the JSON form.
    findings : tuple of Finding, optional
        All of the command, where they are more than the answer's own.
    """
    figures = () if explain is None else answer.explain(explain)
    more = dict(beside or {})
    if explain is not None:
        from edgetime.explained import figures_json  # noqa: PLC0415  when asked for

        more["explain"] = figures_json(figures)
    return Result(
        answer=answer,
        beside=more,
        table=table,
        system=system,
        blocks=lambda: screen(figures, False),
        workbook=lambda: screen(figures, True),
        findings=answer.findings if findings is None else findings,
    )
