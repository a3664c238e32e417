"""Use per unit of a job: metres without a drawing agree with the drawing."""

from __future__ import annotations

from dataclasses import replace

import pytest
from support.catalogue import a_rectangle
from support.forecasts import a_job
from support.wears import by_piece, shop, wear_of

from edgetime.demo import write_demo
from edgetime.errors import PipelineInvalid, Where
from edgetime.estimating import estimate
from edgetime.forecast import Pipeline, metre_wear, wear_rates
from edgetime.load import make_load
from edgetime.takeoff.parts import DrawingTakeOff, TakeOff
from edgetime.tooling import Life, load_catalogue

LONG_MM = 50_000.0
LIVES = {
    "drum": {"life": (Life("volume", 1e7),)},
    "wheel": {"life": (Life("length", 2e5), Life("time", 5e4))},
    "pad": {"life": (Life("time", 4e4),)},
    "gauger": {"life": (Life("area", 3e7),)},
    "seamer": {"life": (Life("length", 1e6),)},
}


def edge_load(catalogue, profile, **options):
    """Return a load of one part with one long straight edge of a profile."""
    part = a_rectangle([profile, *["unfinished"] * 3], width=LONG_MM)
    drawing = DrawingTakeOff("load.dxf", "mm", 1.0, "", (0.0, 0.0), {}, {}, (part,), ())
    return make_load(TakeOff((drawing,)), catalogue, **options)


@pytest.mark.parametrize(
    "profile", ["eased", "half-bullnose", "ogee", "full-bullnose", "apron", "seam"]
)
def test_metres_agree_with_the_drawing(profile) -> None:
    """A straight edge of 50 m, drawn and planned move by move, against metres alone."""
    catalogue = shop(tools=LIVES)
    drawn = by_piece(wear_of(edge_load(catalogue, profile)))
    metres = {
        w.piece: w
        for w in metre_wear(profile, catalogue, stone="stone", stack="stack", thickness_mm=30.0)
    }
    assert list(metres) == list(drawn)
    for piece, one in metres.items():
        long, times = drawn[piece], LONG_MM / 1000.0
        assert one.contact_mm * times == pytest.approx(long.contact_mm, rel=1e-9)
        assert one.volume_mm3 * times == pytest.approx(long.volume_mm3, rel=1e-9)
        assert one.cut_s * times == pytest.approx(long.cut_s, rel=1e-9)
        assert one.area_mm2 * times == pytest.approx(long.area_mm2, rel=1e-9)
        assert one.share is not None
        assert one.share * times == pytest.approx(long.share, rel=1e-9)


@pytest.mark.parametrize(
    ("profile", "stone", "stack"),
    [
        ("ogee", "granite", "standard"),
        ("eased", "marble", "marble"),
        ("laminated-40", "quartz", "fast-metal"),
    ],
)
def test_metres_agree_in_the_shipped_catalogue(profile, stone, stack) -> None:
    """The same with real stacks, abrasive stones and lives by several measures."""
    catalogue = load_catalogue(None)
    options = {"stone": stone, "stack": stack, "thickness_mm": 30.0}
    drawn = by_piece(wear_of(edge_load(catalogue, profile, **options)))
    metres = metre_wear(profile, catalogue, **options)
    assert {w.piece for w in metres} == set(drawn)
    for one in metres:
        assert one.share is not None
        times = LONG_MM / 1000.0
        assert one.share * times == pytest.approx(drawn[one.piece].share, rel=1e-9)


def test_nothing_is_worn_by_what_is_not_made_here() -> None:
    """Edges left as sawn and mitres sawn elsewhere take nothing."""
    catalogue = shop()
    for profile in ("unfinished", "mitre"):
        assert metre_wear(profile, catalogue, stone="stone", stack="stack", thickness_mm=30.0) == ()


def test_metres_and_tools_without_a_life() -> None:
    """Shares go with metres; a tool without a life is told once and not counted."""
    catalogue = shop(tools={"pad": {"life": (Life("length", 1e6),)}})
    jobs = (a_job(metres=(("eased", 4.0),)), a_job(metres=(("eased", 12.0), ("ogee", 0.0))))
    rates = wear_rates(Pipeline(path="p.csv", jobs=jobs), catalogue)
    one, three = rates.shares
    assert set(one) == {"pad"}
    assert three["pad"] == pytest.approx(3.0 * one["pad"])
    assert one["pad"] == pytest.approx(4.0e3 / 1e6)
    assert {f.code for f in rates.findings} == {"forecast-no-life"}
    assert len({f.message for f in rates.findings}) == len(rates.findings) == 2


def test_drawings_that_cannot_be_used(tmp_path) -> None:
    """Two bad drawings are told together, each with the line of its job."""
    bad = tmp_path / "bad.dxf"
    bad.write_text("no drawing")
    jobs = tuple(
        replace(
            a_job(stone="granite", stack="standard"),
            drawings=(str(path),),
            where=Where(path="p.csv", line=line),
        )
        for path, line in ((bad, 2), (tmp_path / "gone.dxf", 3))
    )
    with pytest.raises(PipelineInvalid) as error:
        wear_rates(Pipeline(path="p.csv", jobs=jobs), load_catalogue(None))
    told = (error.value, *error.value.others)
    assert [e.where.line for e in told] == [2, 3]
    assert "bad.dxf" in told[0].what
    assert "gone.dxf" in told[1].what


def test_demo_drawing_twice(tmp_path) -> None:
    """A drawing in two jobs has the same shares, those of its wear."""
    path = str(write_demo(tmp_path).drawings[0])
    catalogue = load_catalogue(None)
    job = replace(a_job(stone="granite", stack="standard"), drawings=(path,))
    rates = wear_rates(Pipeline(path="p.csv", jobs=(job, job)), catalogue)
    assert rates.shares[0] == rates.shares[1]
    wear = estimate([path], stone="granite", thickness_mm=30.0).wear
    assert rates.shares[0] == {t.piece: t.share for t in wear.tools}
