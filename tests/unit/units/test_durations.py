"""Times as people write them: each form, each refusal, and what is printed is read back."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgetime.durations import H_MIN, MIN_S, parse_duration
from edgetime.errors import UnitInvalid, Where
from edgetime.report.text import clock
from edgetime.units import format_time

H, MIN = 3600.0, 60.0


@pytest.mark.parametrize(
    "text",
    ["1h48", "1 h 48", "1 h 48 min", "1h48min", "1h48m", "1 H 48 Min", "108 min", "108min",
     "1.8 h", "1,8 h", "1-4/5 h", "6480 s",
     "1:48:00", " 1 h  48  min ", "1 hour 48 minutes", "1 hr 48 mins"],
)  # fmt: skip
def test_an_hour_and_forty_eight_minutes(text) -> None:
    """All of them are 6480 s, whatever the colon means."""
    assert parse_duration(text) == pytest.approx(6480.0)
    assert parse_duration(text, clock=MIN_S, bare="min") == pytest.approx(6480.0)


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("3 min 20 s", 200.0),
        ("3min20", 200.0),
        ("1 h 0 min 5 s", H + 5.0),
        ("1 h 30 s", H + 30.0),
        ("1 h 48.5", H + 48.5 * MIN),
        ("2 min 7,5 s", 127.5),
        ("1:48:30", H + 48 * MIN + 30.0),
        ("0 h 00", 0.0),
        ("1 d", 24 * H),
        ("-5 min", -5 * MIN),
        ("-2 h", -2 * H),
    ],
)
def test_other_forms(text, seconds) -> None:
    """Hours, minutes and seconds one after the other; a last number is of the next smaller."""
    assert parse_duration(text) == pytest.approx(seconds)


def test_one_colon_is_what_the_reader_says() -> None:
    """Hours and minutes, or minutes and seconds; without either it is refused with both."""
    assert parse_duration("1:48", clock=H_MIN) == H + 48 * MIN
    assert parse_duration("1:48", clock=MIN_S) == MIN + 48.0
    assert parse_duration("108:05", clock=MIN_S) == 108 * MIN + 5.0
    with pytest.raises(UnitInvalid, match="may be hours and minutes or minutes") as told:
        parse_duration("1:48", where=Where(key="--x"))
    assert told.value.remedy == 'Write "1 h 48 min" or "1 min 48 s".'
    assert told.value.where.key == "--x"


def test_a_bare_number_is_in_the_unit_it_is_spoken_of_in() -> None:
    """With a unit to fall back on; otherwise it is refused."""
    assert parse_duration("8", bare="h") == 8 * H
    assert parse_duration(108, bare="min") == 108 * MIN
    assert parse_duration("1.5", bare="h", clock=H_MIN) == 1.5 * H
    for value in ("8", 8):
        with pytest.raises(UnitInvalid, match="has no unit"):
            parse_duration(value)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("1 h 75 min", "has 75 min after h"),
        ("1 h 75", "has 75 min after h"),
        ("3 min 60 s", "has 60 s after min"),
        ("1:75", "has 75 min after the colon"),
        ("1:10:99", "has 99 s after the colon"),
        ("1.5 h 20 min", "has a fraction, 1.5"),
        ("1 h 2.5 min 3 s", "has a fraction, 2.5"),
        ("3 s 20", "ends in 20 without a unit"),
        ("1 h 1,500 min", "decimal comma or a thousands comma"),
        ("1,800 s", "decimal comma or a thousands comma"),
        ("1:2:3:4", "is not a time"),
        ("1:5x", "is not a time"),
        ("-1:30", "is not a time"),
        ("20 min 1 h", "not a unit of time"),
        ("1 h 5 h", "not a unit of time"),
        ("5 m", "not a unit of time"),
        ("5 min/m", "not a unit of time"),
        ("soon", "not a quantity"),
        ("", "not a quantity"),
        ("nan", "not a quantity"),
        (True, "not a quantity"),
        ([1], "not a quantity"),
    ],
)
def test_refusals(text, why) -> None:
    """Each says what is wrong with it, and what to write."""
    with pytest.raises(UnitInvalid, match=why) as told:
        parse_duration(text, clock=H_MIN, bare="h")
    assert told.value.remedy


@given(st.floats(0.0, 2e5))
def test_what_is_printed_is_read_back(seconds) -> None:
    """Of a time in words, and of a table's minutes and seconds, to what they were rounded to."""
    assert parse_duration(format_time(seconds)) == pytest.approx(seconds, abs=0.51)
    if round(seconds) > 0:
        assert parse_duration(clock(seconds), clock=MIN_S) == pytest.approx(seconds, abs=0.51)


@given(st.integers(0, 99), st.integers(0, 59), st.integers(0, 59))
def test_all_spellings_mean_the_same(hours, minutes, seconds) -> None:
    """With units, close together, and with colons."""
    exact = hours * H + minutes * MIN + seconds
    for text in (
        f"{hours} h {minutes} min {seconds} s",
        f"{hours}h{minutes}min{seconds}",
        f"{hours}:{minutes:02d}:{seconds:02d}",
        f"{hours * 60 + minutes} min {seconds:02d} s",
    ):
        assert parse_duration(text) == exact
    assert parse_duration(f"{hours}h{minutes:02d}") == hours * H + minutes * MIN
