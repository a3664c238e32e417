"""A job with something changed, beside the job as it is."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from edgetime.report.columns import COUNT, Column, Sheet
from edgetime.report.document import Block, Heading, Line
from edgetime.report.quantities import format_thickness
from edgetime.report.side_by_side import side_by_side
from edgetime.report.wording import in_units

if TYPE_CHECKING:
    from edgetime.comparison import WhatIf
    from edgetime.findings import Finding
    from edgetime.price import Quote
    from edgetime.report.numbers import Numbers
    from edgetime.units import UnitSystem


def _sheet(quote: Quote, kinds: Sequence[str], numbers: Numbers) -> Sheet[Quote]:
    def cost(kind: str) -> Column[Quote]:
        return numbers.column(
            "", kind, lambda q: next(own.amount for own in q.costs if own.kind == kind)
        )

    taxed = (
        numbers.column("", "tax", lambda q: q.tax),
        numbers.column("", "gross", lambda q: q.gross),
    )
    return Sheet(
        (
            *map(cost, kinds),
            numbers.column("", "net", lambda q: q.net),
            *(taxed if quote.tax_rate else ()),
            Column(
                heading="difference",
                unit=COUNT,
                get=lambda q: None if q is quote else q.shown - quote.shown,
                show=lambda value, _: numbers.change(value),
            ),
            numbers.column(
                "", "cycle, min", lambda q: q.machine_s / 60, show=lambda v: numbers.number(v, 1)
            ),
        )
    )


def further_findings(
    name: str,
    findings: Iterable[Finding],
    known: Iterable[Finding],
    said: Callable[[str], str],
) -> Iterator[Line]:
    """Yield a line for each kind of finding that a change brings."""
    before = {(f.code, f.message) for f in known}
    groups: dict[tuple[str, str], list[str]] = {}
    for f in findings:
        if (f.code, f.message) not in before:
            groups.setdefault((str(f.severity), f.code), []).append(f.message)
    for (severity, code), messages in groups.items():
        times = f", {len(messages)} times" if len(messages) > 1 else ""
        yield Line(f"{name} {severity} {code}{times}: {said(messages[0])}", indent=2, hang=5)


def what_if_parts(
    quote: Quote, what_ifs: Sequence[WhatIf], numbers: Numbers, system: UnitSystem
) -> Iterator[Block]:
    """Return the section on what-ifs: side by side, then what each leaves out or lacks."""

    def said(text: str) -> str:
        return in_units(text, system, decimal=numbers.decimal)

    made = [(number, w.quote) for number, w in enumerate(what_ifs, 1) if w.quote is not None]
    quotes = [quote, *(q for _, q in made)]
    kinds = [k.kind for k in quote.costs if any(q.figures[k.kind].value for q in quotes)]
    yield Heading(f"What if ({quote.currency})")
    for number, w in enumerate(what_ifs, 1):
        text = f"cannot be made. {said(w.refused or '')}"
        if (one := w.quote) is not None:
            text = f"{one.stone} {format_thickness(one.thickness_mm, system)}, {one.stack}"
        yield Line(f"{number}  {w.what_if}: {text}", indent=2, hang=5)
    if made:
        names = ["As it is", *(str(number) for number, _ in made)]
        yield from side_by_side(_sheet(quote, kinds, numbers), quotes, names, system)
    for number, one in made:
        yield from further_findings(f"{number} ", one.findings, quote.findings, said)
