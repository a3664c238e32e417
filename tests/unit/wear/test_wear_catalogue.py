"""Lives by G-ratio, usable depth and consumption in the files of a shop."""

from __future__ import annotations

import math

import pytest

from edgetime.errors import CatalogueInvalid
from edgetime.tooling import load_catalogue

TOOL = """
title = "Wheel"
kind = "{kind}"
diameter = "60 mm"
width = "40 mm"
source = "invented"
{more}

[[life]]
{life}
"""


def load_with(tmp_path, *, kind="drum", more="", life='volume = "1 l"'):
    """Return the catalogue of a shop with one tool of its own."""
    folder = tmp_path / "shop"
    (folder / "tools").mkdir(parents=True)
    text = TOOL.format(kind=kind, more=more, life=life)
    (folder / "tools" / "own.toml").write_text(text, encoding="utf-8")
    return load_catalogue(folder).tools["own"]


def test_usable_depth_is_a_ring_over_the_width(tmp_path):
    """A ring 4 mm deep off 60 mm, 40 mm wide: pi 4 (60 - 4) 40 = 28 148.7 mm3."""
    tool = load_with(tmp_path, more='usable_depth = "4 mm"', life="g_ratio = 900")
    assert tool.usable_volume_mm3 == pytest.approx(math.pi * (30.0**2 - 26.0**2) * 40.0)
    (life,) = tool.life
    assert (life.by, life.value, life.key) == ("g-ratio", 900.0, "life[1].g_ratio")


def test_a_stated_volume_goes_before_the_ring(tmp_path):
    """A segmented wheel has less bond than the ring; its file says how much."""
    more = 'usable_depth = "4 mm"\nusable_volume = "12 cm3"'
    tool = load_with(tmp_path, more=more, life="g_ratio = 900")
    assert (tool.usable_volume_mm3, tool.usable_depth_mm) == (12_000.0, 4.0)


@pytest.mark.parametrize(
    ("changes", "key", "says"),
    [
        ({"life": "g_ratio = 900"}, "life[1].g_ratio", "usable_depth or usable_volume"),
        ({"life": "g_ratio = 0"}, "life[1].g_ratio", "out of range"),
        ({"life": "holes = 9"}, "life[1].holes", "drills no holes"),
        ({"more": 'usable_depth = "30 mm"'}, "usable_depth", "radius"),
        ({"more": 'usable_depth = "0 mm"'}, "usable_depth", "out of range"),
        ({"life": 'g_ratio = 9\nlength = "9 m"'}, "life[1]", "length and g_ratio"),
    ],
)
def test_contradictions_are_told_with_their_key(tmp_path, changes, key, says):
    """Each mistake names the file, the key and what to do."""
    with pytest.raises(CatalogueInvalid) as caught:
        load_with(tmp_path, **changes)
    error = caught.value
    assert error.where.key == key
    assert error.where.path is not None
    assert error.where.path.endswith("own.toml")
    assert says in f"{error.what} {error.remedy}"


def test_shipped_figures_are_complete():
    """Every tool has a life for every stone, and a price; every machine its consumption."""
    catalogue = load_catalogue()
    for tool in catalogue.tools.values():
        assert any(life.stone is None for life in tool.life), tool.name
        assert tool.price is not None
        assert tool.price > 0
    for machine in catalogue.machines.values():
        for figure in (machine.water_mm3_per_s, machine.spindle_w, machine.base_w):
            assert figure is not None
            assert figure > 0.0


def test_the_shipped_drum_s_ring_is_what_its_file_says():
    """45 cm3 of bond; 60 l of granite make that a G-ratio of about 1300."""
    drum = load_catalogue().tools["drum-75"]
    assert drum.usable_volume_mm3 == pytest.approx(45e3, rel=0.01)
    assert 60e6 / drum.usable_volume_mm3 == pytest.approx(1300.0, rel=0.05)
