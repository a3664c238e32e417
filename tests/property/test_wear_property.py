"""Properties of wear that hold for every load: identities, doubling, order of stones."""

from __future__ import annotations

import math
from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.catalogue import a_cutout, a_load, a_part
from support.shapes import rectangle
from support.wears import by_piece, shop, wear_and_cycle, wear_of

from edgetime.tooling import Life

NAMES = ["eased", "half-bullnose", "ogee", "full-bullnose", "apron", "mitre", "seam", "unfinished"]
SOME = settings(max_examples=10, deadline=None)
LIVES = (
    Life("length", 90_000.0),
    Life("volume", 8e6, "granite"),
    Life("g-ratio", 700.0),
    Life("time", 9_000.0, None, 30.0),
    Life("area", 3e6),
)
HOLES = (*LIVES, Life("holes", 40.0))
PRICE = {"price": Decimal("19.90"), "currency": "EUR"}
TOOLS = {
    name: {"life": HOLES if name.startswith("core") else LIVES, "usable_volume_mm3": 2e4, **PRICE}
    for name in ("core-35", "core-12", "finger", "drum", "seamer", "gauger", "wheel", "pad")
}


@st.composite
def parts(draw):
    """Return one to three parts with any profiles, cutouts and holes."""
    out = []
    for i in range(draw(st.integers(1, 3))):
        width = draw(st.floats(300.0, 1200.0))
        radius = draw(st.sampled_from([0.0, 80.0]))
        outline = rectangle(width, 600.0, x=100.0, y=100.0 + 800.0 * i, radius=radius)
        profiles = [draw(st.sampled_from(NAMES)) for _ in range(len(outline))]
        cutouts, holes = [], []
        if draw(st.booleans()):
            sink = rectangle(0.4 * width, 250.0, x=160.0, y=250.0 + 800.0 * i, radius=55.0)
            method = draw(st.sampled_from(["milled", "precut"]))
            cutouts.append(a_cutout(sink, draw(st.sampled_from(NAMES[:2])), method=method))
        if draw(st.booleans()):
            holes.append((0.8 * width + 100.0, 400.0 + 800.0 * i, 35.0))
        out.append(a_part(outline, profiles, *cutouts, holes=holes, name=f"p{i + 1:02d}"))
    # Something is always cut, whatever profiles were drawn.
    y = 100.0 + 800.0 * len(out)
    return [*out, a_part(rectangle(400.0, 300.0, x=100.0, y=y), "eased", name="last")]


ORDERS = st.sampled_from(["as-drawn", "short-travel"])


@given(parts(), ORDERS)
@SOME
def test_identities(drawn, order):
    """Shares by part and by profile are the tool's; volumes are those of its moves."""
    wear, cycle, paths = wear_and_cycle(a_load(*drawn, catalogue=shop(tools=TOOLS), order=order))
    for t in wear.tools:
        assert math.fsum(s for _, s in t.by_part) == pytest.approx(t.share, rel=1e-12)
        assert math.fsum(s for _, s in t.by_profile) == pytest.approx(t.share, rel=1e-12)
        assert t.share == max(m.share for m in t.measures)
        visits = [i for i, v in enumerate(cycle.visits) if v.piece == t.piece]
        volume = sum(float(paths.moves.volume[paths.moves.visit == i].sum()) for i in visits)
        assert t.volume_mm3 == pytest.approx(volume, rel=1e-12)
        assert t.contact_mm == pytest.approx(sum(cycle.visits[i].edge_mm for i in visits))
        assert t.path_mm == pytest.approx(sum(cycle.visits[i].cut_path_mm for i in visits))
        assert t.cost == Decimal("19.90") * Decimal(repr(t.share))
    assert sum(t.volume_mm3 for t in wear.tools) == pytest.approx(float(paths.moves.volume.sum()))
    assert dict(wear.cost) == {"EUR": sum(t.cost for t in wear.tools)}


@given(parts())
@SOME
def test_doubling_a_load_doubles_wear(drawn):
    """Every part twice, the second beside the first: twice of everything, tool by tool."""
    both = [*drawn, *(_moved(p, 2000.0) for p in drawn)]
    one = by_piece(wear_of(a_load(*drawn, catalogue=shop(tools=TOOLS))))
    two = by_piece(wear_of(a_load(*both, catalogue=shop(tools=TOOLS))))
    assert list(one) == list(two)
    for piece, t in one.items():
        for name in ("contact_mm", "path_mm", "volume_mm3", "cut_s", "holes", "area_mm2", "share"):
            twice = 2.0 * getattr(t, name)
            assert getattr(two[piece], name) == pytest.approx(twice, rel=1e-9), (piece, name)


def _moved(part, by):
    def path(p):
        return replace(p, points=p.points + np.array([by, 0.0]))

    def contour(c):
        return replace(c, path=path(c.path))

    return replace(
        part,
        part_id=f"{part.part_id}-2",
        outline=contour(part.outline),
        cutouts=tuple(replace(c, contour=contour(c.contour)) for c in part.cutouts),
        holes=tuple(replace(h, x_mm=h.x_mm + by) for h in part.holes),
    )


@given(parts(), st.floats(0.1, 5.0))
@SOME
def test_a_more_abrasive_stone_wears_in_proportion(drawn, abrasiveness):
    """Lives stated without a stone give shares in proportion; the others do not change."""
    plain = by_piece(wear_of(a_load(*drawn, catalogue=shop(tools=TOOLS))))
    changed = shop(tools=TOOLS, stone={"abrasiveness": abrasiveness})
    for piece, t in by_piece(wear_of(a_load(*drawn, catalogue=changed))).items():
        for m, before in zip(t.measures, plain[piece].measures, strict=True):
            factor = 1.0 if m.by == "volume" else abrasiveness
            assert m.share == pytest.approx(before.share * factor, rel=1e-12)
