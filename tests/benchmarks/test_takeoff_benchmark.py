"""How the take-off's processor time grows with the drawing."""

from __future__ import annotations

import time

import numpy as np
import pytest
from support.takeoffs import RULES, Builder

from edgetime.geometry.path import segment_lengths
from edgetime.takeoff import take_off
from edgetime.takeoff.joining import join
from edgetime.takeoff.pieces import Pieces


def _tops(count: int):
    """Return a drawing of tops in both habits, with a sink and a tap hole each."""
    b = Builder()
    per_row = max(1, int(count**0.5))
    for k in range(count):
        x, y = (k % per_row) * 2500.0, (k // per_row) * 900.0
        if k % 2:
            b.rectangle("OUTLINE", x, y, 2000, 600)
            b.line("EASED", (x, y), (x + 2000, y)).line("WALL", (x + 2000, y + 600), (x, y + 600))
        else:
            b.line("EASED", (x, y), (x + 2000, y)).line("WALL", (x + 2000, y + 600), (x + 2000, y))
            b.line("WALL", (x, y + 600), (x + 2000, y + 600)).line("EASED", (x, y), (x, y + 600))
        b.rectangle("SINK", x + 700, y + 100, 500, 400).circle("TAP", x + 950, y + 550, 35)
    return b.drawing()


def _polygons(count: int, sides: int) -> Pieces:
    """Return the sides of regular polygons, shuffled and half of them reversed."""
    turn = np.linspace(0.0, 2.0 * np.pi, sides + 1)
    ring = 400.0 * np.column_stack([np.cos(turn), np.sin(turn)])
    ring[-1] = ring[0]
    shift = 1000.0 * np.column_stack(np.divmod(np.arange(count), 50))
    start = (ring[None, :-1] + shift[:, None]).reshape(-1, 2)
    end = (ring[None, 1:] + shift[:, None]).reshape(-1, 2)
    n = len(start)
    order = np.random.default_rng(7).permutation(n)
    start, end = start[order], end[order]
    flip = (np.arange(n) % 2 == 0)[:, None]
    start, end = np.where(flip, end, start), np.where(flip, start, end)
    length = segment_lengths(np.vstack([start[:1], end[:1]]), np.zeros(1))
    same = np.full(n, length[0])
    return Pieces(start, end, np.zeros(n), same, np.arange(n), np.full(n, -1))


def _seconds(run, repeat=1) -> float:
    best = float("inf")
    for _ in range(repeat):
        begin = time.process_time()
        run()
        best = min(best, time.process_time() - begin)
    return best


@pytest.mark.slow
def test_ten_thousand_parts_grow_linearly(benchmark):
    """Ten times the parts take at most twenty times as long (ten, and room for noise)."""
    small, large = _tops(1000), _tops(10_000)

    def run():
        return take_off([large], RULES, core_diameters_mm=[35])

    take_off([small], RULES)
    one = _seconds(lambda: take_off([small], RULES, core_diameters_mm=[35]), 3)
    begin = time.process_time()
    result = benchmark.pedantic(run, rounds=1, iterations=1)
    ten = time.process_time() - begin
    benchmark.extra_info["ratio_10x_parts"] = ten / one
    assert len(result.parts) == 10_000
    assert ten / one < 20.0


def test_joining_grows_linearly(benchmark):
    """Joining 100 000 shuffled sides takes at most twenty times as long as 10 000."""
    small, large = _polygons(100, 100), _polygons(1000, 100)

    def run(pieces):
        layers = ["A"] * len(pieces)
        return join(pieces, np.zeros(len(pieces), dtype=np.int64), layers, gap_mm=0.5)

    one = _seconds(lambda: run(small), 3)
    begin = time.process_time()
    joined = benchmark.pedantic(run, args=(large,), rounds=1, iterations=1)
    ten = time.process_time() - begin
    benchmark.extra_info["ratio_10x_segments"] = ten / one
    benchmark.extra_info["segments_per_s"] = len(large) / ten
    assert len(joined.loops) == 1000
    assert joined.open_chains == []
    assert ten / one < 20.0
