"""Wear against closed forms, handbook definitions and the trade's sense of proportion.

Volumes: the areas removed from a square edge are composed of handbook figures, the spandrel
(1 - pi/4) r^2 (Machinery's Handbook, 31st ed., p. 80), the quarter disc, the triangle, the
circular segment (p. 50), worked out here from the dimensions the profiles are drawn with.

Lives: the G-ratio is the volume of work removed per volume of wheel worn (definition, Tooling U
250200); wear by length is Archard's law V = K W L / H (J. Appl. Phys. 24, 1953); the metal
removal rate is width x depth x feed. The inputs are invented, the arithmetic is theirs.
"""

from __future__ import annotations

import math
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from scipy.integrate import quad
from support.catalogue import STONE, a_load, a_part, a_rectangle, a_step, a_tool
from support.kitchens import polished_mm, write_kitchen
from support.shapes import polygon, rectangle
from support.wears import by_piece, shop, wear_and_cycle

from edgetime import Catalogue, Estimate, estimate, load_catalogue
from edgetime.tooling import Life, Operation
from edgetime.wear.life import measure, radius_loss_mm

SPANDREL = 1.0 - math.pi / 4.0


def waterfall(r: float) -> float:
    """Return the area above an arc of radius r that leaves the top face tangent, 60 degrees."""
    a = r * math.sin(math.pi / 3.0)
    return r * a - 0.5 * (a * r * math.cos(math.pi / 3.0) + r * r * math.pi / 3.0)


def ogee(fascia: float, r: float) -> float:
    """Return fascia x 2r, then a square and a quarter disc, then a spandrel."""
    return fascia * 2.0 * r + (r * r + 0.25 * math.pi * r * r) + SPANDREL * r * r


# Removed area of each family at 20 and 30 mm, by its dimensions [mm2].
AREAS = {
    ("flat-polish", 20): 0.5, ("flat-polish", 30): 0.5,
    ("eased", 20): SPANDREL * 9.0, ("eased", 30): SPANDREL * 9.0,
    ("bevel", 20): 18.0, ("bevel", 30): 18.0,
    ("half-bullnose", 20): SPANDREL * 100.0, ("half-bullnose", 30): SPANDREL * 225.0,
    ("full-bullnose", 20): 200.0 - 50.0 * math.pi, ("full-bullnose", 30): 450.0 - 112.5 * math.pi,
    ("cove", 20): 25.0 * math.pi, ("cove", 30): 56.25 * math.pi,
    ("ogee", 20): ogee(2.0, 6.0), ("ogee", 30): ogee(3.0, 10.0),
    ("waterfall-radius", 20): waterfall(24.0), ("waterfall-radius", 30): waterfall(36.0),
    ("laminated-40", 20): SPANDREL * 9.0, ("laminated-40", 30): SPANDREL * 9.0,
}  # fmt: skip
WIDTH, DEPTH = 1200.0, 700.0
ROUND = 2.0 * (WIDTH + DEPTH)
STOCK = 2.0


@pytest.fixture(scope="module")
def shipped() -> Catalogue:
    """Return the shipped catalogue."""
    return load_catalogue()


@pytest.mark.parametrize(("name", "nominal"), AREAS, ids=str)
def test_volumes_are_area_times_length(shipped, name, nominal):
    """Finishing takes the whole section, roughing the whole stock, gauging the whole strip."""
    part = a_rectangle(name, width=WIDTH, depth=DEPTH)
    load = a_load(part, catalogue=shipped, thickness_mm=float(nominal))
    wear, _, paths = wear_and_cycle(load)
    visits = {v.piece: v.operation for v in paths.plan.visits}
    finish = [t for t in wear.tools if visits[t.piece].finishing]
    actual = nominal + 1.0  # the shipped granite runs 1 mm over nominal
    assert sum(t.volume_mm3 for t in finish) == pytest.approx(
        AREAS[name, nominal] * ROUND, rel=1e-8
    )
    rough = by_piece(wear)["drum-75"].volume_mm3
    apron = 40.0 - nominal if name == "laminated-40" else 0.0
    assert rough == pytest.approx(STOCK * (actual + apron) * ROUND, rel=1e-9)
    strip = load.catalogue.profiles[name].gauge_strip_mm
    gauge = sum(t.volume_mm3 for t in wear.tools if visits[t.piece] is Operation.GAUGE)
    # From actual to gauge thickness, nominal less 0.5 mm.
    assert gauge == pytest.approx(strip * (actual - (nominal - 0.5)) * ROUND, rel=1e-9)
    total = AREAS[name, nominal] + STOCK * (actual + apron) + strip * 1.5
    assert sum(t.volume_mm3 for t in wear.tools) == pytest.approx(total * ROUND, rel=1e-8)


def test_shares_of_the_metals_are_those_of_the_section(shipped):
    """70, 20, 8 and 2 % of a half bullnose in 30 mm, the figures of the standard stack."""
    part = a_rectangle("half-bullnose", width=WIDTH, depth=DEPTH)
    pieces = by_piece(wear_and_cycle(a_load(part, catalogue=shipped))[0])
    whole = SPANDREL * 225.0 * ROUND
    for tool, share in (("metal-1", 0.70), ("metal-2", 0.20), ("metal-3", 0.08), ("fine-1", 0.02)):
        assert pieces[f"{tool}/half-bullnose"].volume_mm3 == pytest.approx(share * whole, rel=1e-8)


def test_cored_ring_and_sawn_slot_are_closed_forms(shipped):
    """A hole is a ring of 3 mm wall through the stone; a slot is the bit's width of it."""
    part = a_rectangle("unfinished", holes=[(600.0, 700.0, 35.0), (800.0, 700.0, 12.0)])
    pieces = by_piece(wear_and_cycle(a_load(part, catalogue=shipped))[0])
    for diameter in (35.0, 12.0):
        ring = math.pi / 4.0 * (diameter**2 - (diameter - 6.0) ** 2)
        assert pieces[f"core-{diameter:g}"].volume_mm3 == pytest.approx(ring * 31.0, rel=1e-9)
        assert pieces[f"core-{diameter:g}"].holes == 1


def test_on_a_round_part_the_error_is_pappus_s():
    """Area times edge length, against the exact body of revolution, A times its centroid's way.

    Pappus and Guldin: V = A 2 pi (R - u), u the centroid's distance from the edge. The model
    takes R for R - u and is too large by u / (R - u); the page says so.
    """
    profile_r, big_r = 15.0, 300.0
    area = SPANDREL * profile_r**2
    moment = quad(lambda u: u * (profile_r - math.sqrt(2.0 * profile_r * u - u * u)), 0, profile_r)
    u = moment[0] / area
    exact = area * math.tau * (big_r - u)
    turn = a_part(polygon([(900.0, 600.0), (300.0, 600.0)], [1.0, 1.0]), "half-bullnose")
    wear, _, paths = wear_and_cycle(a_load(turn, catalogue=load_catalogue()))
    finishing = {v.piece for v in paths.plan.visits if v.operation.finishing}
    model = sum(t.volume_mm3 for t in wear.tools if t.piece in finishing)
    assert model / exact - 1.0 == pytest.approx(u / (big_r - u), rel=1e-7)
    assert model / exact - 1.0 < 0.012


def test_g_ratio_by_its_definition():
    """At G = 80, 1000 mm3 of wheel remove 80 000 mm3; 20 000 mm3 wear 250 mm3, a quarter."""
    wheel = a_tool("wheel", 200.0, usable_volume_mm3=1000.0)
    granite = replace(STONE, abrasiveness=1.0)
    for removed, worn, share in ((20_000.0, 250.0, 0.25), (80_000.0, 1000.0, 1.0)):
        m = measure(wheel, Life("g-ratio", 80.0), granite, {"g-ratio": removed})
        assert removed / m.used == 80.0
        assert (m.used, m.share) == (worn, share)


def test_a_g_ratio_and_the_volume_it_stands_for_are_one_life():
    """G times the usable volume of the wheel is the life in stone: same share, same cost."""
    both = (Life("g-ratio", 1345.0), Life("volume", 1345.0 * 44_600.0))
    drum = {"life": both, "usable_volume_mm3": 44_600.0}
    wear, _, _ = wear_and_cycle(a_load(a_rectangle(), catalogue=shop(tools={"drum": drum})))
    first, second = by_piece(wear)["drum"].measures
    assert first.share == pytest.approx(second.share, rel=1e-12)
    assert second.used / first.used == pytest.approx(1345.0, rel=1e-12)


def test_life_by_length_is_archard_s_law():
    """K 1e-4, 100 N, 1000 m, 1e9 Pa wear 10 mm3, form V = K W L / H without the factor 3.

    A wheel with 10 mm3 to lose then lasts 1000 m, and after 250 m has lost a quarter of it.
    """
    k, force_n, way_m, hardness_pa = 1e-4, 100.0, 1000.0, 1e9
    worn_mm3 = k * force_n * way_m / hardness_pa * 1e9
    assert worn_mm3 == pytest.approx(10.0)
    life = Life("length", way_m * 1e3)
    m = measure(a_tool("wheel", 80.0), life, STONE, {"length": 250e3})
    depth = radius_loss_mm(m.share * worn_mm3, 80.0, 50.0)
    lost = math.pi * (40.0**2 - (40.0 - depth) ** 2) * 50.0
    assert lost == pytest.approx(k * force_n * 250.0 / hardness_pa * 1e9, rel=1e-6)


def test_removal_rate_is_width_times_depth_times_feed():
    """10 mm x 2 mm at 1500 mm/min: 30 000 mm3/min in the cut; at 20 J/mm3 that is 10 kW."""
    rough = a_step(Operation.ROUGH, "drum", engagement_mm=2.0, feed_mm_per_s=1500.0 / 60.0)
    catalogue = shop()
    catalogue.stacks["stack"] = replace(
        catalogue.stacks["stack"], steps=(rough,), thicknesses_mm=()
    )
    catalogue = replace(
        catalogue, shop=replace(catalogue.shop, stock_mm={"saw": 2.0, "waterjet": 0, "router": 0})
    )
    # One straight edge: the tool's centre and its contact run at the same feed.
    part = a_part(rectangle(2000.0, 600.0, x=100.0, y=100.0), ["eased", *["unfinished"] * 3])
    load = a_load(part, catalogue=catalogue, thickness_mm=10.0, actual_mm=10.0)
    (drum,) = wear_and_cycle(load)[0].tools
    rate_mm3_per_s = drum.volume_mm3 / drum.cut_s
    assert rate_mm3_per_s * 60.0 == pytest.approx(30_000.0, rel=1e-9)
    assert 20.0 * rate_mm3_per_s == pytest.approx(10_000.0, rel=1e-9)


@pytest.fixture(scope="module")
def kitchen(tmp_path_factory: pytest.TempPathFactory) -> Estimate:
    """Estimate the kitchen of about 85 sq ft, its cutouts precut."""
    path: Path = write_kitchen(tmp_path_factory.mktemp("wear") / "kitchen.dxf")
    return estimate(
        [path], machine="large", stone="granite", stack="fast-metal", thickness_mm=30.0,
        cutout_method="precut",
    )  # fmt: skip


def test_kitchen_uses_tools_as_the_trade_says(kitchen: Estimate) -> None:
    """Orders of magnitude, common practice, no source.

    A pad does some tens of kitchens, a first metal some hundreds, and the tools of a polished
    edge cost some units of currency per metre.
    """
    pieces = by_piece(kitchen.wear)
    pads = [t for name, t in pieces.items() if name.startswith("polish")]
    assert len(pads) == 3
    assert all(10.0 < 1.0 / t.share < 100.0 for t in pads if t.share)
    assert 50.0 < 1.0 / (pieces["metal-1/eased"].share or 1.0) < 1000.0
    ((currency, cost),) = kitchen.wear.cost
    assert currency == "EUR"
    assert Decimal("0.3") < cost / Decimal(polished_mm() / 1e3) < Decimal(10)


def test_kitchen_s_pads_are_worn_by_its_edges(kitchen: Estimate) -> None:
    """By hand: polished length by arithmetic over the life in the pad's file."""
    for name, life_m in (("polish-1", 450.0), ("polish-2", 450.0), ("polish-3", 400.0)):
        pad = by_piece(kitchen.wear)[name]
        assert pad.share == pytest.approx(polished_mm() / 1e3 / life_m, rel=1e-6)
        assert float(pad.cost) == pytest.approx(60.0 * polished_mm() / 1e3 / life_m, rel=1e-6)
