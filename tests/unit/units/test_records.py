"""The JSON form of records follows from how they are declared."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from typing import ClassVar, NamedTuple

import numpy as np
import pytest

from edgetime.records import HIDDEN, as_json, exact, figure, figure_named, keys, written


class Colour(StrEnum):
    RED = "red"


class Pair(NamedTuple):
    reason: str
    time_s: float


@dataclass(frozen=True)
class Times:
    cut_s: float
    lead_s: float

    @property
    @figure
    def total_s(self) -> float:
        return self.cut_s + self.lead_s

    @property
    def hours(self) -> float:
        return self.total_s / 3600.0


@dataclass(frozen=True)
class Row:
    SCHEMA: ClassVar[str] = "test.row/1"
    name: str
    inner: Times = field(metadata=written(merged=True))
    pairs: tuple[Pair, ...] = field(metadata=written(key="why"))
    secret: int = field(default=0, metadata=HIDDEN)
    note: str = field(default="", metadata=written(optional=True))
    share: Fraction = field(default=Fraction(1, 4), metadata=written(write=lambda f: 100 * f))

    @property
    @figure_named("loud")
    def shout(self) -> str:
        return self.name.upper()


def test_a_record_is_written_as_declared():
    """Fields, other keys, merged and hidden ones, marked properties; unmarked ones are not."""
    row = Row("a", Times(2.0, 1.5), (Pair("flip", 60.0),))
    assert as_json(row) == {
        "schema": "test.row/1",
        "name": "a",
        "cut_s": 2.0,
        "lead_s": 1.5,
        "total_s": 3.5,
        "why": [{"reason": "flip", "time_s": 60.0}],
        "share": 25.0,
        "loud": "A",
    }
    assert keys(Row) == ("name", "why", "note", "share", "loud")


@pytest.mark.parametrize(
    ("value", "form"),
    [
        (Colour.RED, "red"),
        (date(2027, 1, 18), "2027-01-18"),
        (Decimal("58.500"), "58.5"),
        (float("inf"), None),
        (np.float64(1.5), 1.5),
        (np.arange(3), [0, 1, 2]),
        ({Colour.RED: (1, 2)}, {"red": [1, 2]}),
        (frozenset("ba"), ["a", "b"]),
        (np.bool_(True), True),
    ],
)
def test_values_have_one_form(value, form):
    """Each kind of value is written alike everywhere."""
    assert as_json(value) == form
    assert type(as_json(value)) is type(form)


def test_what_has_no_form_is_refused():
    """A set of records would have no order: nothing is guessed."""
    with pytest.raises(TypeError, match="object has no JSON form"):
        as_json(object())


@pytest.mark.parametrize(
    ("text", "written_as"), [("100", "100"), ("1E+3", "1000"), ("0.00", "0"), ("-0", "0")]
)
def test_decimals_keep_their_digits(text, written_as):
    """No exponent, no zeros behind, and whole hundreds stay whole."""
    assert exact(Decimal(text)) == written_as
