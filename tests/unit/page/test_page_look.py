"""Colours are told apart by every kind of colour vision, and text is dark enough to be read.

Contrast: WCAG 2.2, relative luminance and success criteria 1.4.3 and 1.4.11 (W3C, 2023). Colour
vision: the matrices for full deficiency of G. M. Machado, M. M. Oliveira and L. A. F. Fernandes,
"A physiologically-based model for simulation of color vision deficiency", IEEE Transactions on
Visualization and Computer Graphics 15 (2009) 1291-1298, applied to linear sRGB. Distance: CIE 1976
(L*a*b*), in which about 2.3 is just noticeable (Sharma, Digital Color Imaging Handbook, 2003).
Matrices and figures from memory.
"""

from __future__ import annotations

import re
from importlib.resources import files
from itertools import combinations

import numpy as np
import pytest

from edgetime.page.timeline import TERMS
from edgetime.picture.styles import HAND, SEVERITY, UNWORKED, WORKED

VISION = {
    "usual": np.eye(3),
    "protanopia": np.array(
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ]
    ),
    "deuteranopia": np.array(
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ]
    ),
    "tritanopia": np.array(
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ]
    ),
}
TO_XYZ = np.array(
    [
        [0.4124564, 0.3575761, 0.1804375],
        [0.2126729, 0.7151522, 0.0721750],
        [0.0193339, 0.1191920, 0.9503041],
    ]
)
WHITE_XYZ = np.array([0.95047, 1.0, 1.08883])
JUST_NOTICEABLE = 2.3


def linear(colour: str) -> np.ndarray:
    """Return linear sRGB (IEC 61966-2-1)."""
    value = np.array([int(colour[k : k + 2], 16) for k in (1, 3, 5)]) / 255.0
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


def contrast(one: str, other: str) -> float:
    dark, light = sorted(float(linear(c) @ [0.2126, 0.7152, 0.0722]) for c in (one, other))
    return (light + 0.05) / (dark + 0.05)


def lab(colour: str, vision: np.ndarray) -> np.ndarray:
    ratio = TO_XYZ @ np.clip(vision @ linear(colour), 0.0, 1.0) / WHITE_XYZ
    f = np.where(ratio > 216 / 24389, np.cbrt(ratio), (24389 / 27 * ratio + 16) / 116)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def nearest(colours, vision) -> float:
    """Return the distance of the two that are most alike."""
    return min(
        float(np.linalg.norm(lab(a, vision) - lab(b, vision))) for a, b in combinations(colours, 2)
    )


def test_the_measures_themselves():
    """Black on white is 21:1 and 100 apart; grey stays grey for every eye; red and green do not."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert nearest(["#000000", "#ffffff"], VISION["usual"]) == pytest.approx(100.0, abs=1e-3)
    for name, vision in VISION.items():
        assert vision.sum(axis=1) == pytest.approx(1.0, abs=2e-6), name
    red_green = ("#d04040", "#7f7f00")
    assert nearest(red_green, VISION["deuteranopia"]) < 0.5 * nearest(red_green, VISION["usual"])


@pytest.mark.parametrize("vision", VISION)
@pytest.mark.parametrize(
    "colours", [[s.colour for s in WORKED], [c for _, _, c in TERMS]], ids=["profiles", "terms"]
)
def test_colours_are_told_apart(vision, colours):
    """By six just noticeable differences, for every kind of colour vision."""
    assert len(set(colours)) == len(colours)
    assert nearest(colours, VISION[vision]) > 6.0 * JUST_NOTICEABLE


def test_no_profile_rests_on_its_colour():
    """Each has a dash pattern of its own, and the two pale ones come last."""
    assert len({s.dash for s in WORKED}) == len(WORKED)
    enough = [contrast(s.colour, "#ffffff") >= 3.0 for s in WORKED]
    assert enough == sorted(enough, reverse=True)
    assert enough.count(True) >= 5
    assert contrast(UNWORKED.colour, "#ffffff") >= 3.0
    assert contrast(HAND.colour, "#ffffff") >= 4.5


def test_findings_are_told_by_shape_and_read_by_colour():
    """White numbers stand on the marks."""
    assert len({shape for _, shape in SEVERITY.values()}) == len(SEVERITY)
    for colour, _ in SEVERITY.values():
        assert contrast(colour, "#ffffff") >= 4.5


@pytest.mark.parametrize("scheme", [0, 1], ids=["light", "dark"])
def test_text_of_the_page(scheme):
    """Text, soft text, errors, warnings and links on the page and on a lit row: 4.5:1."""
    css = files("edgetime.page").joinpath("page.css").read_text(encoding="utf-8")
    blocks = re.findall(r":root \{(.*?)\}", css, re.DOTALL)
    own = dict(re.findall(r"--(\w+): (#[0-9a-f]{6})", blocks[scheme]))
    assert {"back", "text", "soft", "line", "mark", "error", "warning", "accent"} == own.keys()
    for name in ("text", "soft", "error", "warning", "accent"):
        assert contrast(own[name], own["back"]) >= 4.5, name
    assert contrast(own["text"], own["mark"]) >= 4.5
