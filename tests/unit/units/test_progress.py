"""Loops tell how far they have come, to whoever listens and to nobody else."""

from __future__ import annotations

import pytest

from edgetime.progress import STEPS, listening, tell, track


def test_nobody_listens():
    """The items themselves come back, and what would count them is not called."""
    items = [3, 1, 2]
    assert track(items, "sorting") is items
    assert track(iter(items), "sorting", lambda: pytest.fail("counted")) is not None
    tell("sorting", 1, 3)


def test_a_listener_hears_of_each_item_and_of_the_end():
    """Before each item how many are done; then that all are."""
    heard = []
    with listening(lambda *said: heard.append(said)):
        assert list(track("abc", "reading")) == ["a", "b", "c"]
    assert heard == [("reading", n, 3) for n in (0, 1, 2, 3)]
    assert list(track("abc", "reading")) == ["a", "b", "c"]
    assert len(heard) == 4


def test_long_loops_do_not_chatter():
    """However many items, about as many news as a bar has steps."""
    heard = []
    with listening(lambda *said: heard.append(said)):
        assert sum(1 for _ in track(iter(range(100_001)), "adding", lambda: 100_001)) == 100_001
    assert STEPS <= len(heard) <= 2 * STEPS
    assert heard[-1] == ("adding", 100_001, 100_001)
    done = [n for _, n, _ in heard]
    assert done == sorted(done)


def test_what_cannot_be_counted_is_passed_on_in_silence():
    """And so is nothing at all."""
    heard = []
    with listening(lambda *said: heard.append(said)):
        assert list(track(iter("ab"), "reading")) == ["a", "b"]
        assert list(track([], "reading")) == []
    assert heard == []
