"""The accounts of orders, added up again from the raw entries for the audit."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from sqlalchemy import Connection

from edgetime.ledger.orders import read_orders
from edgetime.ledger.records import model_name


@dataclass(slots=True)
class _Line:
    """A line of an order: entries that count, by number."""

    article: str
    placed: int
    expected: dict[int, str]
    reversed: bool = False
    arrived: set[int] = field(default_factory=set)
    gone: dict[int, int] = field(default_factory=dict)

    @property
    def outstanding(self) -> int:
        return self.placed - len(self.arrived) - sum(self.gone.values())


class OrderBooks:
    """The orders as read so far.

    Parameters
    ----------
    tell : callable
        Takes each problem.
    """

    def __init__(self, tell: Callable[[str], None]) -> None:
        self._tell = tell
        self.lines: dict[int, _Line] = {}
        self._line_of: dict[int, int] = {}

    def read(self, row: Mapping[Any, Any]) -> None:
        """Take in an entry of an order other than a reversal."""
        number, kind = row["id"], row["kind"]
        if kind == "ordered":
            article = model_name(row["tool"], row["profile"])
            self.lines[number] = _Line(article, row["pieces"], {number: row["expected"]})
            _check_day(number, row["expected"], self._tell)
            return
        line = self.lines.get(row["piece"])
        if line is None or line.reversed:
            self._tell(f"Entry {number} is an orphan: no order was placed as {row['piece']}.")
            return
        self._line_of[number] = row["piece"]
        if kind == "rescheduled":
            line.expected[number] = row["expected"]
            _check_day(number, row["expected"], self._tell)
        else:
            line.gone[number] = row["pieces"]
            self._check(number, line)

    def arrive(self, number: int, order: int, article: str) -> None:
        """Take in a piece that was received against an order."""
        line = self.lines.get(order)
        if line is None or line.reversed or line.article != article:
            self._tell(f"Entry {number} receives {article} of order {order}, which is not of it.")
            return
        self._line_of[number] = order
        line.arrived.add(number)
        self._check(number, line)

    def undo(self, number: int, target: int) -> None:
        """Take out an entry that is reversed."""
        if target in self.lines:
            line = self.lines[target]
            if line.arrived or line.gone or len(line.expected) > 1:
                self._tell(f"Entry {number} reverses order {target} while entries rest on it.")
            line.reversed = True
        elif target in self._line_of:
            line = self.lines[self._line_of[target]]
            line.arrived.discard(target)
            line.gone.pop(target, None)
            line.expected.pop(target, None)

    def _check(self, number: int, line: _Line) -> None:
        if line.outstanding < 0:
            self._tell(f"Entry {number} leaves less than nothing outstanding of its order.")

    def compare(self, link: Connection) -> int:
        """Hold the database's accounts against those kept by hand; return their number."""
        mine = {
            number: (line.placed, len(line.arrived), sum(line.gone.values()),
                     line.expected[max(line.expected)])
            for number, line in self.lines.items()
            if not line.reversed
        }  # fmt: skip
        shown = {
            o.line: (o.placed, o.arrived, o.cancelled, o.expected.isoformat())
            for o in read_orders(link)
        }
        for number in sorted(mine.keys() | shown.keys()):
            if mine.get(number) != shown.get(number):
                self._tell(
                    f"Order line {number} shows {shown.get(number)}; added up again it is "
                    f"{mine.get(number)} (placed, arrived, cancelled, expected)."
                )
        return len(mine)


def _check_day(number: int, expected: str, tell: Callable[[str], None]) -> None:
    try:
        date.fromisoformat(expected)
    except ValueError:
        tell(f"Entry {number}: {expected!r} is not a date.")
