"""A corrected catalogue corrects once: fits are of measures, not of shares as once written."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from support.ledgers import FakeMeasure, FakeToolWear, FakeWear
from support.wears import shop

from edgetime.forecast import read_books
from edgetime.ledger import open_ledger
from edgetime.tooling.tools import Life

START = datetime(2026, 3, 2, 6, tzinfo=UTC)
METRES = [
    249,
    251,
    255,
    258,
    262,
    264,
    267,
    270,
    271,
    274,
    276,
    279,
    281,
    283,
    285,
    288,
    260,
    272,
    268,
    280,
]
"""What twenty pads lasted."""


def catalogue(life_m: float):
    """Return the small catalogue whose pad states a life."""
    return shop(tools={"pad": {"life": (Life("length", 1000.0 * life_m),)}})


def a_run(metres: float, life_m: float) -> FakeWear:
    """Return the wear of a load as a file of that day made it."""
    share = metres / life_m * catalogue(life_m).stones["stone"].abrasiveness
    measure = FakeMeasure("length", share, 1000.0 * metres)
    return FakeWear(
        (FakeToolWear("pad", stone="stone", contact_mm=1000.0 * metres, measures=(measure,)),)
    )


def keep_books(path, stated) -> None:
    """Wear out twenty pads in two runs each, and use one more, by a file that changes."""
    with open_ledger(str(path)) as books:
        for number, metres in enumerate([*METRES, 90]):
            serial, at = f"P{number:02d}", START + timedelta(days=7 * number)
            books.receive("pad", serials=[serial], at=at)
            books.mount(serial, pocket=1, at=at + timedelta(hours=1))
            for run, part in enumerate((0.6, 0.4), 1):
                books.post_run(
                    a_run(part * metres, stated(number)),
                    digest="d",
                    load_name=f"load {number}",
                    run=run,
                    at=at + timedelta(hours=1 + run),
                )
            if number < len(METRES):
                books.retire(serial, reason="worn", at=at + timedelta(days=1))


def test_a_file_corrected_twice_is_as_if_it_had_always_been_right(tmp_path) -> None:
    """450 m, then 300 m, then 270 m: fit and stock are those of books kept by 270 m."""
    keep_books(tmp_path / "corrected.sqlite", lambda n: 450 if n < 10 else 300 if n < 15 else 270)
    keep_books(tmp_path / "right.sqlite", lambda _: 270)
    today = catalogue(270)
    found = {}
    for name in ("corrected", "right"):
        path = str(tmp_path / f"{name}.sqlite")
        with open_ledger(path, create=False, catalogue=today) as books:
            found[name] = read_books(books, {"pad"})
    fits = {name: books.lives["pad"] for name, books in found.items()}
    assert fits["corrected"].mean_life.value == pytest.approx(fits["right"].mean_life.value)
    assert fits["corrected"].mean_life.low == pytest.approx(fits["right"].mean_life.low)
    assert fits["corrected"].counts.worn == 20
    # By hand: the pads' mean is 269.65 m, and the pad in use has run 90 of 270 m.
    rate = today.stones["stone"].abrasiveness
    life = fits["corrected"].mean_life
    assert life.low < 269.65 / 270.0 * rate < life.high < 1.05 * rate
    (used,) = found["corrected"].stock["pad"].used
    assert used == pytest.approx(90.0 / 270.0 * rate)
