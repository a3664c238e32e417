"""Tables that may stand beside an estimate, as files have them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from edgetime.report.columns import CLOCK, COUNT, Column, Sheet

if TYPE_CHECKING:
    from edgetime.estimating import Effect
    from edgetime.estimating.factors import Factor

FACTORS: Final[Sheet[Factor]] = Sheet(
    (
        Column(key="name", get=lambda f: f.name),
        Column(key="value", unit=COUNT, get=lambda f: f.value),
        Column(key="unit", get=lambda f: f.unit),
        Column(key="seconds", unit=COUNT, get=lambda f: f.seconds),
        Column(key="note", get=lambda f: f.note),
        Column(key="file", get=lambda f: f.file or None),
        Column(key="key", get=lambda f: f.key or None),
        Column(key="written", get=lambda f: f.written or None),
    )
)
"""Factors and terms of a tool's time; those with ``seconds`` add up to it."""

EFFECTS: Final[Sheet[Effect]] = Sheet(
    (
        Column(key="assumption", get=lambda e: e.assumption),
        Column(key="low_factor", unit=COUNT, get=lambda e: e.low_factor),
        Column(key="low_delta_s", unit=CLOCK, get=lambda e: e.low_delta_s),
        Column(key="high_factor", unit=COUNT, get=lambda e: e.high_factor),
        Column(key="high_delta_s", unit=CLOCK, get=lambda e: e.high_delta_s),
        Column(key="file", get=lambda e: e.file),
        Column(key="key", get=lambda e: e.key),
        Column(key="reason", get=lambda e: e.reason),
    )
)
"""Assumptions and how far they move the total."""

LEFT: Final[Sheet[tuple[str, str, float]]] = Sheet(
    (
        Column(key="tool", get=lambda row: row[0]),
        Column(key="operation", get=lambda row: row[1]),
        Column(key="left_s", unit=CLOCK, get=lambda row: row[2]),
    )
)
"""What is left for each stay of a tool after a stop."""
