"""The invented load, read back: deterministic, and as long as its arithmetic says."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from edgetime.demo import DRAWING_NAMES, demo_drawings
from edgetime.drawing import Drawing, read_drawing


@pytest.fixture
def read(tmp_path: Path) -> dict[str, Drawing]:
    """Read both drawings with our own reader."""
    drawings = {}
    for name, text in demo_drawings().items():
        (tmp_path / name).write_text(text, encoding="ascii")
        drawings[name] = read_drawing(tmp_path / name)
    return drawings


def test_same_bytes_every_time() -> None:
    """Two calls make the same text, so an edited file can be told from an untouched one."""
    assert demo_drawings() == demo_drawings()
    assert tuple(demo_drawings()) == DRAWING_NAMES


def test_counters_by_hand(read: dict[str, Drawing]) -> None:
    """Lengths by layer equal sums of straight lines and quarter circles."""
    lengths = read["cafe-counters.dxf"].lengths_by_layer_mm()
    # Counter 2100 × 600 with a half-round end of radius 300.
    assert lengths["EDGE-HALF-BULLNOSE"] == pytest.approx(1800 + math.pi * 300, rel=1e-12)
    # Its back edge, and two islands 900 × 500 with corners of radius 60: P − 8 r + 2 π r.
    island = 2 * (900 + 500) - 8 * 60 + 2 * math.pi * 60
    assert lengths["EDGE-EASED"] == pytest.approx(1800 + 2 * island, rel=1e-12)
    assert lengths["SEAM"] == pytest.approx(600, rel=1e-12)
    assert lengths["CUTOUT-CHUTE"] == pytest.approx(math.pi * 180, rel=1e-12)


def test_washroom_by_hand(read: dict[str, Drawing]) -> None:
    """A mirrored block counts as long as a plain one."""
    lengths = read["cafe-washroom.dxf"].lengths_by_layer_mm()
    # Vanity 1000 × 480 twice, bench 1350 × 300 twice.
    assert lengths["OUTLINE"] == pytest.approx(2 * 2 * (1480 + 1650), rel=1e-12)
    # Wall edges: back and one end of each.
    assert lengths["WALL"] == pytest.approx(2 * (1480 + 1650), rel=1e-12)
    basin = 2 * (480 + 300) - 8 * 30 + 2 * math.pi * 30
    assert lengths["SINK"] == pytest.approx(2 * basin, rel=1e-12)
    assert lengths["HOLE-TAP"] == pytest.approx(2 * math.pi * 35, rel=1e-12)


def test_both_are_in_millimetres_without_findings(read: dict[str, Drawing]) -> None:
    """The reader has nothing to complain of."""
    for drawing in read.values():
        assert (drawing.units, drawing.mm_per_unit) == ("mm", 1.0)
        assert drawing.findings == ()


def test_parts_keep_their_distance(read: dict[str, Drawing]) -> None:
    """Nothing lies off the table's corner, and the two drawings do not overlap."""
    counters = read["cafe-counters.dxf"].bounds_mm()
    assert counters is not None
    assert counters[:2] == pytest.approx((120.0, 120.0))
    washroom = read["cafe-washroom.dxf"].bounds_mm()
    assert washroom is not None
    assert washroom[0] == pytest.approx(120.0)
