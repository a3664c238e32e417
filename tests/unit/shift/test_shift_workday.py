"""Working time that pauses in breaks, and rules that contradict one another."""

from __future__ import annotations

import pytest
from support.shifts import HOUR, rules

from edgetime.errors import CatalogueInvalid, UsageError
from edgetime.shift.workday import Workday, check_rules

DAY = Workday([(100.0, 50.0), (300.0, 10.0)])


@pytest.mark.parametrize(
    ("start", "work", "pieces"),
    [
        (0.0, 100.0, [(0.0, 100.0)]),
        (0.0, 101.0, [(0.0, 100.0), (150.0, 151.0)]),
        (120.0, 10.0, [(150.0, 160.0)]),
        (90.0, 200.0, [(90.0, 100.0), (150.0, 300.0), (310.0, 350.0)]),
        (400.0, 5.0, [(400.0, 405.0)]),
    ],
)
def test_work_pauses_in_breaks(start, work, pieces) -> None:
    """Work goes on after each break, and loses nothing."""
    assert DAY.stretches(start, work) == pieces
    assert sum(b - a for a, b in DAY.stretches(start, work)) == pytest.approx(work)
    assert DAY.end(start, work) == pieces[-1][1]


def test_breaks_between_two_times() -> None:
    """Only what lies between counts."""
    assert DAY.break_s(120.0, 305.0) == pytest.approx(30.0 + 5.0)
    assert DAY.break_s(0.0, 50.0) == 0.0


@pytest.mark.parametrize(
    ("changes", "what", "key"),
    [
        ({"hours_s": 0.0}, "0 hours", "--hours"),
        ({"hours_s": 25 * HOUR}, "the most is 24", "--hours"),
        ({"zones": 0}, "0 zones", "--zones"),
        ({"zones": 9}, "the most is 8", "--zones"),
        ({"breaks": ((HOUR, -60.0),)}, "-1 min after 1 h has no length", "--break"),
        ({"breaks": ((7.9 * HOUR, 0.5 * HOUR),)}, "is outside the shift of 8 h", "--break"),
        ({"breaks": ((-1.0, 60.0),)}, "is outside", "--break"),
        ({"breaks": ((HOUR, HOUR), (1.5 * HOUR, 60.0))}, "before the previous break", "--break"),
    ],
)
def test_rules_that_contradict_themselves(changes, what, key) -> None:
    """Each is refused by its option, or by its key when a file says so."""
    with pytest.raises(UsageError, match=what) as told:
        check_rules(rules(**changes))
    assert told.value.where.key == key
    with pytest.raises(CatalogueInvalid, match=what) as told:
        check_rules(rules(**changes), "shop.toml")
    assert told.value.where.path == "shop.toml"


def test_breaks_are_put_in_order() -> None:
    """They may be written in any order."""
    assert check_rules(rules(breaks=((200.0, 5.0), (100.0, 5.0)))).breaks[0] == (100.0, 5.0)
