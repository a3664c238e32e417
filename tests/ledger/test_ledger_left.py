"""What is left of pieces by the lives of worn-out ones, and what a share of life comes from."""

from __future__ import annotations

import pytest
from support.ledgers import pad_wear

from edgetime.ledger import open_ledger
from edgetime.life import Trust, fit_lives, left_by_fit


def _wear_out(ledger, *shares: float) -> None:
    """Use up pads that are stated to last 450 m, each after a share of that."""
    ledger.receive("polish-1", count=len(shares) + 1)
    for number, share in enumerate(shares, 1):
        serial = f"polish-1-{number:03d}"
        ledger.mount(serial, pocket=1)
        ledger.post_run(pad_wear(share), digest=f"d{number}", load_name="L", run=number)
        ledger.retire(serial, reason="worn")
    last = len(shares) + 1
    ledger.mount(f"polish-1-{last:03d}", pocket=1)
    ledger.post_run(pad_wear(0.2), digest="now", load_name="now")


def test_left_follows_the_worn_out_pieces(sqlite_place) -> None:
    """Pads that all lasted 270 m, by a file that says 450 m: one used for 90 m has 180 m left."""
    with open_ledger(sqlite_place) as ledger:
        _wear_out(ledger, *[0.6 + 0.004 * (n % 5 - 2) for n in range(30)])
        ledger.receive("drum-75")
        balances, lives = ledger.balances(), ledger.lives()
    found = left_by_fit(balances, lives)
    assert list(found) == ["polish-1-031"]
    left = found["polish-1-031"]
    assert (left.worn, left.pieces, left.unit) == (30, 31, "mm")
    assert left.trust is Trust.OWN
    assert left.amount is not None
    assert left.amount.value == pytest.approx(180_000.0, rel=0.06)
    assert left.amount.low < left.amount.value < left.amount.high < 1.35 * 180_000.0
    assert left.lives.value == pytest.approx(left.amount.value / 450_000.0)
    # By the file it is 360 m: that stays beside it.
    (mounted,) = [b for b in balances if b.serial == "polish-1-031"]
    assert mounted.left is not None
    assert mounted.left.amount == pytest.approx(360_000.0)


def test_left_is_what_survive_says(sqlite_place) -> None:
    """One fit serves both, so a piece has one figure."""
    with open_ledger(sqlite_place) as ledger:
        _wear_out(ledger, 0.5, 0.8)
        balances, lives = ledger.balances(), ledger.lives()
    left = left_by_fit(balances, lives)["polish-1-003"]
    assert left.lives == fit_lives(lives)["polish-1"].remaining_interval(0.2)
    assert left.trust is Trust.FEW


def test_without_a_worn_out_piece_there_is_no_fitted_figure(sqlite_place) -> None:
    """A broken or lost one shows no life."""
    with open_ledger(sqlite_place) as ledger:
        ledger.receive("polish-1", count=3)
        for serial, reason in (("polish-1-001", "broken"), ("polish-1-002", "lost")):
            ledger.mount(serial, pocket=1)
            ledger.post_run(pad_wear(0.3), digest=serial, load_name=serial)
            ledger.retire(serial, reason=reason)
        assert left_by_fit(ledger.balances(), ledger.lives()) == {}


def test_an_adjustment_is_no_metres(sqlite_place) -> None:
    """What was entered by hand has a row of its own beside what 90 m used."""
    with open_ledger(sqlite_place) as ledger:
        ledger.receive("polish-1")
        ledger.mount("polish-1", pocket=1)
        ledger.post_run(pad_wear(0.2), digest="d", load_name="L")
        ledger.adjust("polish-1-001", share=0.4)
        (balance,) = ledger.balances()
    rows = [(s.by, s.used and s.used.used, s.share) for s in balance.shares if s.share is not None]
    assert rows[0] == ("length", 90_000.0, pytest.approx(0.2))
    assert rows[1][1:] == (None, pytest.approx(0.4))
    assert len(rows) == 2
    assert balance.remaining == pytest.approx(0.4)
