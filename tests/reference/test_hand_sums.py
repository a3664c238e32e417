"""Hand-sums per tool on three loads, written down before the program was run on them.

Each sum is arithmetic from closed forms and the catalogue's figures; the helpers that add it up
stand in tests/support/hand_loads.py. Every tool and every load must agree within 3 %. Where the sums
differ from the program they stand as first written: the gaps, and what makes them, are in
docs/explanation/accuracy.md.
"""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from support.hand_loads import (
    SINKS,
    TAPS,
    TOPS,
    Hand,
    Row,
    Way,
    closed,
    open_run,
    write_counter,
    write_rectangle,
    write_tops,
)
from support.kitchens import write_kitchen

from edgetime import Catalogue, Estimate, estimate, load_catalogue
from edgetime.cycle import TERMS
from edgetime.records import as_json
from edgetime.tooling import Stack, Step

WITHIN = 0.03
INF = math.inf
ACTUAL = 30.0 + 1.0  # nominal and the granite's spread
BREAKTHROUGH = 2.0  # bits and drums run this far below the slab
PI = math.pi
PADS = ("polish-1", "polish-2", "polish-3")


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    """Return the shipped catalogue."""
    return load_catalogue()


def step(stack: Stack, name: str) -> Step:
    """Return a step of a stack by its name."""
    return next(s for s in stack.steps if s.name == name)


def hand_rectangle(catalogue: Catalogue) -> dict[str, Row]:
    """One rectangle 1200 x 700, eased all round, medium machine, standard stack.

    Roughing: 2 mm of stock at 2 mm engagement, one pass. Then three metals, resin, three pads,
    one pass each. The tool begins in the middle of the left side, the nearest to the rack.
    """
    stack, hand = catalogue.stacks["standard"], Hand(catalogue.machines["medium"])
    for name in ("drum-75", "metal-1", "metal-2", "metal-3", "fine-1", *PADS):
        s = step(stack, name)
        radius = 75.0 / 2.0 if name == "drum-75" else 80.0 / 2.0
        depth = ACTUAL + BREAKTHROUGH if name == "drum-75" else ACTUAL
        cut = [(2.0 * (1200.0 + 700.0), INF), (2.0 * PI * radius, radius)]
        way = closed((700.0, 950.0), (0.0, -1.0), (-1.0, 0.0), radius, s, cut)
        piece = name if name in ("drum-75", *PADS) else f"{name}/eased"
        hand.wheel(piece, s, [way], depth)
    hand.rows["drum-75"].dwell += hand.machine.probe_s
    return hand.rows


def hand_tops(catalogue: Catalogue) -> dict[str, Row]:
    """Two tops with milled cutouts, tap holes, a seam and wall edges; medium, standard."""
    stack, hand = catalogue.stacks["standard"], Hand(catalogue.machines["medium"])
    m = hand.machine

    # Core bit 35: two taps and, to let the finger bit in, one hole in each cutout beside the
    # middle of a long side: 1 mm stock left and 17.5 mm radius from the edge.
    entries = [(x + w / 2.0, y + 18.5) for x, y, w, _, _ in SINKS]
    row = hand.core(
        "core-35",
        step(stack, "core-35"),
        [TAPS[0], TAPS[1], entries[1], entries[0]],
        ACTUAL + BREAKTHROUGH,
    )
    row.dwell += m.probe_s * len(TOPS)

    # Finger bit 22: 33 mm in depths of at most 12 mm are three rounds, at 11 + 1 mm from the
    # edge; straight out of the hole (18.5 - 12 mm) and back, 20 mm of overlap; down between two.
    s = step(stack, "finger-22")
    rounds = math.ceil((ACTUAL + BREAKTHROUGH) / s.depth_step_mm)
    row = Row(change=hand.change(s), dwell=m.water_on_s)
    row.change += hand.travel(m.rack_mm, entries[0]) + hand.travel(entries[1], m.rack_mm)
    row.rapid = 4.0 * hand.vertical(m.safe_z_mm - m.approach_z_mm)
    row.rapid += hand.travel(entries[0], entries[1])
    for _, _, w, h, r in SINKS:
        around = 2.0 * (w + h) - 8.0 * r + 2.0 * PI * (r - 12.0)
        row.path_mm += rounds * around
        row.cut += rounds * around / s.feed_mm_per_s
        row.lead += rounds * (2.0 * 6.5 + s.overlap_mm) / s.feed_mm_per_s
        deep = m.approach_z_mm + ACTUAL + BREAKTHROUGH
        row.plunge += deep / s.plunge_mm_per_s + hand.vertical(deep, s.retract_mm_per_s)
    hand.rows["finger-22"] = row

    def sink(number: int, radius: float, s: Step) -> Way:
        """Go round a cutout from the middle of its bottom side, the air above it."""
        x, y, w, h, r = SINKS[number]
        cut = [(2.0 * (w + h) - 8.0 * r, INF), (2.0 * PI * (r - radius), r - radius)]
        return closed((x + w / 2.0, y), (-1.0, 0.0), (0.0, 1.0), radius, s, cut)

    def front(number: int, radius: float, s: Step) -> Way:
        """Go along two eased sides with one rolled corner between them."""
        x, y, w, h, _ = TOPS[number]
        cut = [(w + h, INF), (0.5 * PI * radius, radius)]
        if number == 0:  # down the left side, along the bottom
            ends, alongs, airs = (
                ((x, y + h), (x + w, y)), ((0, -1), (1, 0)), ((-1, 0), (0, -1))
            )  # fmt: skip
        else:  # along the bottom, up the right side
            ends, alongs, airs = (
                ((x, y), (x + w, y + h)), ((1, 0), (0, 1)), ((0, -1), (1, 0))
            )  # fmt: skip
        return open_run(ends, alongs, airs, radius, s, cut)

    def everything(radius: float, s: Step) -> list[Way]:
        """Go along all edges that are seen, from the rack to the right."""
        return [front(0, radius, s), sink(0, radius, s), front(1, radius, s), sink(1, radius, s)]

    # Drum: fronts with 2 mm of the saw, cutouts with the 1 mm left, one pass each.
    s = step(stack, "drum-75")
    hand.wheel("drum-75", s, everything(37.5, s), ACTUAL + BREAKTHROUGH)

    # Seam wheel: 2 mm of the saw at 1 mm a pass, two passes on either side of the joint.
    s = step(stack, "seam-80")
    x0, y0, w0, h0, _ = TOPS[0]
    x1, y1, _, h1, _ = TOPS[1]
    up, down = (0.0, 1.0), (0.0, -1.0)
    right, left = (1.0, 0.0), (-1.0, 0.0)
    first = ((x0 + w0, y0), (x0 + w0, y0 + h0))
    second = ((x1, y1 + h1), (x1, y1))
    ways = [
        *(open_run(first, (up, up), (right, right), r, s, [(h0, INF)]) for r in (41.0, 40.0)),
        *(open_run(second, (down, down), (left, left), r, s, [(h1, INF)]) for r in (41.0, 40.0)),
    ]
    hand.wheel("seam-80", s, ways, ACTUAL + BREAKTHROUGH)

    # Metals and resin: a wheel for the eased fronts, another for the polished cutouts.
    for name in ("metal-1", "metal-2", "metal-3", "fine-1"):
        s = step(stack, name)
        hand.wheel(f"{name}/eased", s, [front(0, 40.0, s), front(1, 40.0, s)], ACTUAL)
        hand.wheel(f"{name}/flat-polish", s, [sink(0, 40.0, s), sink(1, 40.0, s)], ACTUAL)
    for name in PADS:
        s = step(stack, name)
        hand.wheel(name, s, everything(40.0, s), ACTUAL)
    return hand.rows


def hand_counter(catalogue: Catalogue) -> dict[str, Row]:
    """Counter with arcs, half bullnose all round; large machine, fast metals."""
    stack, hand = catalogue.stacks["fast-metal"], Hand(catalogue.machines["large"])
    straight = 2400.0 + 1780.0 + 760.0 + 560.0 + 1380.0
    for name in ("drum-75", "metal-1-round", "metal-2", "metal-3", "fine-1", *PADS):
        s = step(stack, name)
        radius = 37.5 if name == "drum-75" else 40.0
        arcs = [
            (PI * (320.0 + radius), 320.0 + radius),
            (0.5 * PI * (60.0 - radius), 60.0 - radius),
            (0.5 * PI * (40.0 + radius), 40.0 + radius),
            (0.5 * PI * (40.0 + radius), 40.0 + radius),
            (0.5 * PI * (80.0 + radius), 80.0 + radius),
        ]
        way = closed((500.0, 1170.0), (0.0, -1.0), (-1.0, 0.0), radius, s, [(straight, INF), *arcs])
        depth = ACTUAL + BREAKTHROUGH if name == "drum-75" else ACTUAL
        piece = name if name in ("drum-75", *PADS) else f"{s.tool}/half-bullnose"
        hand.wheel(piece, s, [way], depth)
    hand.rows["drum-75"].dwell += hand.machine.probe_s
    return hand.rows


LOADS = {
    "rectangle": (write_rectangle, hand_rectangle, "medium", "standard"),
    "tops": (write_tops, hand_tops, "medium", "standard"),
    "counter": (write_counter, hand_counter, "large", "fast-metal"),
}


@pytest.fixture(scope="module", params=LOADS)
def load(
    request: pytest.FixtureRequest, catalogue: Catalogue, tmp_path_factory: pytest.TempPathFactory
) -> tuple[Estimate, dict[str, Row]]:
    """Return a load's estimate and its hand-sum."""
    write, by_hand, machine, stack = LOADS[request.param]
    rows = by_hand(catalogue)
    path: Path = write(tmp_path_factory.mktemp("hand") / f"{request.param}.dxf")
    found = estimate([path], machine=machine, stone="granite", stack=stack, thickness_mm=30.0)
    return found, rows


def test_each_tool_agrees_with_its_hand_sum(load: tuple[Estimate, dict[str, Row]]) -> None:
    """The same tools run, and each takes the time summed by hand within 3 %."""
    found, rows = load
    got = {v.piece: v.time.total_s for v in found.cycle.visits}
    assert got.keys() == rows.keys()
    assert got == {piece: pytest.approx(row.total, rel=WITHIN) for piece, row in rows.items()}


def test_whole_load_agrees_with_its_hand_sum(load: tuple[Estimate, dict[str, Row]]) -> None:
    """The load takes the sum of the hand-sums within 3 %."""
    found, rows = load
    assert found.cycle.total_s == pytest.approx(sum(r.total for r in rows.values()), rel=WITHIN)


def test_tool_centres_run_parallel_curves(load: tuple[Estimate, dict[str, Row]]) -> None:
    """The centre's way in the cut is P + R times the angle turned, for each tool, exactly."""
    found, rows = load
    got = {v.piece: v.cut_path_mm for v in found.cycle.visits}
    assert got == {p: pytest.approx(row.path_mm, rel=1e-9, abs=1e-9) for p, row in rows.items()}


def test_time_in_the_cut_is_way_by_feed(load: tuple[Estimate, dict[str, Row]]) -> None:
    """At these feeds the ramps are on the leads: the cut itself agrees within a thousandth."""
    found, rows = load
    got = {v.piece: v.time.cut_s for v in found.cycle.visits}
    assert got == {p: pytest.approx(row.cut, rel=1e-3, abs=1e-9) for p, row in rows.items()}


@pytest.mark.parametrize("load", ["rectangle", "counter"], indirect=True)
def test_each_term_of_a_single_run(load: tuple[Estimate, dict[str, Row]]) -> None:
    """Where there is no tour to guess, each term agrees within a quarter of a second.

    The sum lets the tool stand still between a rapid and the vertical feed that goes on the same
    way; a controller runs through, which saves up to a tenth of a second each time.
    """
    found, rows = load
    for visit in found.cycle.visits:
        row = rows[visit.piece]
        by_hand = (row.change, row.cut, row.plunge, row.lead, row.rapid, row.dwell)
        assert [getattr(visit.time, t) for t in TERMS] == pytest.approx(by_hand, abs=0.25)


def test_nothing_is_left_out_of_these_loads(load: tuple[Estimate, dict[str, Row]]) -> None:
    """No edge is left to hand work, and no finding is worse than a note."""
    found, _ = load
    assert found.cycle.hand_mm == 0.0
    assert [f for f in found.findings if f.severity.value != "note"] == []


def accounts(found: Estimate) -> None:
    """Hold the published document to its own identities, each within 1e-6 s."""
    document = as_json(found)
    total = document["total_s"]
    clock = 0.0
    for row in document["tools"]:
        assert row["starts_s"] == pytest.approx(clock, abs=1e-6)
        clock += row["total_s"]
    assert clock == pytest.approx(total, abs=1e-6)
    for rows in (document["tools"], document["parts"], document["by_profile"]):
        for row in rows:
            assert sum(row[t] for t in TERMS) == pytest.approx(row["total_s"], abs=1e-6)
        assert sum(row["total_s"] for row in rows) == pytest.approx(total, abs=1e-6)
        for term in TERMS:
            by_tool = sum(row[term] for row in document["tools"])
            assert sum(row[term] for row in rows) == pytest.approx(by_tool, abs=1e-6)


def test_accounts_balance(load: tuple[Estimate, dict[str, Row]]) -> None:
    """Terms make the total of every row; tools, parts and profiles each make the load's."""
    accounts(load[0])


@pytest.mark.parametrize("method", ["precut", "milled"])
def test_accounts_of_a_kitchen_balance(method: str, tmp_path: Path) -> None:
    """The same on a full table with several profiles, stops and parts."""
    path = write_kitchen(tmp_path / "kitchen.dxf")
    accounts(estimate([path], machine="large", stack="fast-metal", cutout_method=method))
