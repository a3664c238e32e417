"""Jobs without a drawing: what is told, and the parts that are imagined for it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from edgetime.errors import UsageError
from edgetime.geometry.measure import signed_area
from edgetime.price import read_inquiry
from edgetime.price.reference_parts import imagined_take_offs, straight_edges
from edgetime.price.work import _corners
from edgetime.tooling import load_catalogue


@pytest.fixture(scope="module")
def catalogue():
    return load_catalogue()


def test_reads_what_is_told(catalogue) -> None:
    """Lengths in any unit of the trade, numbers of the rest, a decimal comma."""
    told = read_inquiry(
        "eased=12,4 m, half-bullnose=10 ft; cutouts=2, plain-cutouts=1, holes=5, corners=3,",
        catalogue,
    )
    assert told.lengths_mm == pytest.approx({"eased": 12400.0, "half-bullnose": 3048.0})
    assert (told.cutouts, told.plain_cutouts, told.holes, told.corners) == (2, 1, 5, 3)
    assert told.parts is None


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("40 ft 6 in", 486.0),
        ("6'6\"", 78.0),
        ("6'6", 78.0),
        ("6' 6-1/2\"", 78.5),
        ("6'-6 1/2''", 78.5),
        ("40 feet 6,5 inches", 486.5),
        ("40 FT 0 IN", 480.0),
        ("40 ft", 480.0),
    ],
)
def test_reads_feet_and_inches(catalogue, text, inches) -> None:
    """As said on the telephone and written on a sketch; 12 in to the foot, 25.4 mm to the inch."""
    told = read_inquiry(f"Eased={text}, HOLES=1", catalogue)
    assert told.lengths_mm == pytest.approx({"eased": inches * 25.4})
    assert told.holes == 1


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("esed=3 m", "'esed' is not a profile"),
        ("mitre=3 m", "'mitre' is not a profile"),
        ("unfinished=3 m", "'unfinished' is not a profile"),
        ("eased=3", "no unit"),
        ("eased=-3 m", "above 0 m"),
        ("eased=0 m", "above 0 m"),
        ("eased=2000 m", "at most 1000 m"),
        ("eased=1,500 m", "decimal comma or a thousands comma"),
        ("eased=3 kg", "not a unit of length"),
        ("eased=3 m, eased=2 m", "given twice"),
        ("eased", "NAME=AMOUNT"),
        ("eased=", "NAME=AMOUNT"),
        ("holes=-1", "a whole number from 0 to 500"),
        ("holes=2.5", "a whole number from 0 to 500"),
        ("holes=2 m", "from 0 to 500"),
        ("eased=3 m, parts=0", "from 1 to 500"),
        ("Eased=3 m, eased=2 m", "eased is given twice"),
        ("eased=40 ft 6 kg", "not a unit of length"),
        ("eased=40.5 ft 6 in", "not a unit of length"),
        ("eased=6' 14\"", "a foot or more of inches"),
        ("", "No quantities given"),
        ("holes=0", "No quantities given"),
        ("holes=1, corners=2", "each needs at least 0.3 m"),
    ],
)
def test_refuses_what_cannot_be_priced(catalogue, text, what) -> None:
    """One sentence on what is wrong, with the option it is in, and a remedy."""
    with pytest.raises(UsageError, match=what) as caught:
        read_inquiry(text, catalogue)
    assert caught.value.where.key == "--lengths"
    assert caught.value.remedy


@pytest.mark.parametrize(
    "text",
    [
        "eased=12.4 m, half-bullnose=3 m, cutouts=2, holes=5",
        "eased=6.4 m, corners=8, parts=3",
        "ogee=22 ft, corners=2",
        "eased=0.4 m",
        "eased=1.2 m, corners=4, parts=1",
        "cutouts=7, holes=1",
        "plain-cutouts=1, parts=4",
        "eased=60 m, seam=3 m, corners=11, cutouts=4",
        "half-bullnose=2.2 m, eased=2.2 m, seam=0.6 m, parts=1",
    ],
)
@pytest.mark.parametrize("machine", ["small", "large"])
def test_imagined_parts_hold_what_was_told(catalogue, text, machine) -> None:
    """Lengths by profile, cutouts, holes and corners of all parts are those told."""
    told = read_inquiry(text, catalogue)
    tables = imagined_take_offs(told, catalogue, catalogue.machines[machine])
    parts = [p for t in tables for p in t.parts]
    lengths: dict[str, float] = {}
    for part in parts:
        for edge in part.outline.edges:
            lengths[edge.profile] = lengths.get(edge.profile, 0.0) + edge.length_mm
        assert signed_area(part.outline.path) > 0.0
        assert all(signed_area(c.contour.path) < 0.0 for c in part.cutouts)
        covered = [i for e in part.outline.edges for i in range(e.first, e.stop)]
        assert covered == list(range(len(part.outline.path)))
    lengths.pop("unfinished", None)
    assert lengths == pytest.approx(told.lengths_mm, rel=1e-9)
    assert sum(len(p.holes) for p in parts) == told.holes
    cutouts = [c.contour.edges[0].profile for p in parts for c in p.cutouts]
    assert sum(name != "unfinished" for name in cutouts) == told.cutouts
    assert sum(name == "unfinished" for name in cutouts) == told.plain_cutouts
    assert sum(_corners(p, frozenset(told.lengths_mm))[0] for p in parts) == told.corners
    assert len({p.part_id for p in parts}) == len(parts)


@pytest.mark.parametrize(
    ("text", "machine"),
    [
        ("eased=18 m, parts=6", "large"),
        ("cutouts=8", "medium"),
        ("plain-cutouts=9, eased=2 m, parts=1", "small"),
        ("holes=500", "medium"),
        ("cutouts=500, holes=3", "large"),
        ("eased=60 m, corners=11, cutouts=4", "small"),
        ("eased=30 m, parts=1", "medium"),
    ],
)
def test_parts_lie_apart_on_the_table(catalogue, text, machine) -> None:
    """None lies over another or over the table's edge, whatever room its cutouts and holes take."""
    machine = catalogue.machines[machine]
    told = read_inquiry(text, catalogue)
    tables = imagined_take_offs(told, catalogue, machine)
    if text == "eased=18 m, parts=6":
        assert sum(len(t.parts) for t in tables) == 6
    assert sum(len(p.cutouts) for t in tables for p in t.parts) == told.cutouts + told.plain_cutouts
    assert sum(len(p.holes) for t in tables for p in t.parts) == told.holes
    for table in tables:
        boxes = [p.outline.path.points for p in table.parts]
        lows = [b.min(axis=0) for b in boxes]
        highs = [b.max(axis=0) for b in boxes]
        for low, high in zip(lows, highs, strict=True):
            assert (low >= 100.0).all()
            assert high[0] <= machine.table_mm[0] - 100.0
            assert high[1] <= machine.table_mm[1] - 100.0
        for i in range(len(boxes)):
            for j in range(i):
                assert (lows[i] >= highs[j] + 100.0).any() or (lows[j] >= highs[i] + 100.0).any()


def test_table_too_short_for_any_part(catalogue) -> None:
    """Cutouts longer than the table are laid out all the same; the load's errors tell of it."""
    machine = replace(catalogue.machines["small"], table_mm=(900.0, 900.0))
    told = read_inquiry("cutouts=3, eased=40 m", catalogue)
    tables = imagined_take_offs(told, catalogue, machine)
    assert sum(len(p.cutouts) for t in tables for p in t.parts) == 3


def test_straight_edges_are_straight(catalogue) -> None:
    """The reference edges: fronts of one profile, nothing else worked, all on their tables."""
    machine = catalogue.machines["medium"]
    tables = straight_edges("ogee", 2500.0, 4, machine)
    parts = [p for t in tables for p in t.parts]
    assert [p.part_id for p in parts] == ["p01", "p02", "p03", "p04"]
    assert len(tables) == 2
    for part in parts:
        worked = [e for e in part.outline.edges if e.profile != "unfinished"]
        assert [(e.profile, e.length_mm) for e in worked] == [("ogee", pytest.approx(2500.0))]
        assert not part.outline.path.bulges.any()
        assert (part.outline.path.points.max(axis=0) <= np.array(machine.table_mm) - 100.0).all()
