"""Advice that is followed: drawn, mounted or asked for again as it says, and estimated again.

Nothing here uses what the advice itself changed: the drawing is written anew, options and files
of the shop are edited as a user would.
"""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from support.advised_tops import KITCHENS

from edgetime import estimate
from edgetime.estimating import advise, follow, together
from edgetime.tooling import init_shop

NEEDED_MM = 41.0
"""Inside radius of the shipped finishing wheels: 80 mm in diameter, 1 mm of clearance."""

POCKETS = 14


def edited(shop, name, pattern, text):
    """Replace one line of a file of a shop folder."""
    file = shop / name
    before = file.read_text(encoding="utf-8")
    after = re.sub(pattern, text, before, count=1, flags=re.MULTILINE)
    assert after != before
    file.write_text(after, encoding="utf-8")


def a_shop(folder, pockets):
    """Return a shop with few pockets, which makes ogees with the back up."""
    init_shop(folder)
    edited(folder, "profiles/ogee.toml", r'^face_up = "up"', 'face_up = "down"')
    edited(folder, "machines/medium.toml", r"^pockets = \d+", f"pockets = {pockets}")
    return folder


@pytest.fixture(scope="module", params=KITCHENS)
def today(request, tmp_path_factory):
    """Return a drawing, its shop, its estimate and its advice by kind."""
    folder = tmp_path_factory.mktemp(request.param)
    tops = KITCHENS[request.param]
    shop = a_shop(folder / "shop", POCKETS)
    est = estimate([tops.write(folder / "tops.dxf")], shop=shop)
    found: dict[str, list] = {}
    for each in advise(est):
        found.setdefault(each.kind, []).append(each)
    return folder, tops, est, found


def one(today, kind, words=""):
    """Return the one piece of advice of a kind, of those with some words."""
    (found,) = [a for a in today[3].get(kind, []) if words in a.what]
    assert found.computed
    return found


def holds(today, advice, other):
    """Assert that a second estimate is better by what was said, within 1 %."""
    est = today[2]
    for said, before, after in (
        (advice.saving_s, est.cycle.total_s, other.cycle.total_s),
        (advice.saving_attended_s, est.cycle.attended_s, other.cycle.attended_s),
        (advice.saving_hand_mm, est.cycle.hand_mm, other.cycle.hand_mm),
    ):
        assert before - after == pytest.approx(said, rel=0.01, abs=1e-6)
    assert not [f for f in other.findings if f.severity == "error" and f.code not in {
        g.code for g in est.findings if g.severity == "error"}]  # fmt: skip


def drawn(today, name, tops, **options):
    """Return the estimate of another drawing in the same shop."""
    folder = today[0]
    return estimate([tops.write(folder / f"{name}.dxf")], shop=folder / "shop", **options)


def test_rounder_corners(today):
    """The sink drawn with the radius asked for."""
    tops = today[1]
    advice = one(today, "inside-radius")
    assert f"radius of at least {NEEDED_MM:.1f} mm" in advice.what
    width, height, _ = tops.sink
    other = drawn(today, "rounder", replace(tops, sink=(width, height, NEEDED_MM)))
    holds(today, advice, other)
    assert advice.saving_hand_mm > 100.0


def test_wider_opening(today):
    """The slot drawn as wide as asked, every side as far out, round at its ends."""
    tops = today[1]
    advice = one(today, "wider-opening")
    width, height, _ = tops.slot
    by = NEEDED_MM - 0.5 * height
    assert f"every side {by:.1f} mm further out" in advice.what
    slot = (width + 2.0 * by, 2.0 * NEEDED_MM, NEEDED_MM)
    other = drawn(today, "wider", replace(tops, slot=slot))
    holds(today, advice, other)
    assert advice.saving_hand_mm > 500.0


def test_smaller_wheels(today):
    """The diameters said, mounted by the option for real diameters."""
    found = today[3]["smaller-wheel"]
    for advice in found:
        (size,) = re.findall(r"pads of ([\d.]+) mm", advice.what)
        named = advice.what.partition("in place of ")[2].partition(":")[0].split(", ")
        assert "metal-1" in named
        assert "polish-3" in named
        assert "To buy: profile-wheel and polish-pad" in advice.what
        holds(today, advice, drawn(today, "as-is", today[1],
                                   diameters_mm=dict.fromkeys(named, float(size))))  # fmt: skip


def test_cutouts_cut_before(today):
    """The option for precut cutouts."""
    advice = one(today, "precut-cutouts")
    holds(today, advice, drawn(today, "as-is", today[1], cutout_method="precut"))
    assert advice.saving_s > 60.0


def test_other_stack(today):
    """The option for the stack."""
    advice = one(today, "other-stack")
    holds(today, advice, drawn(today, "as-is", today[1], stack="fast-metal"))


def test_rare_profile(today):
    """The short bevel drawn on the layer of the eased edges."""
    advice = one(today, "rare-profile", "of bevel")
    assert "may be eased" in advice.what
    other = drawn(today, "common", replace(today[1], rare="EASED"))
    holds(today, advice, other)
    fewer = len(today[2].cycle.visits) - len(other.cycle.visits)
    assert f"{fewer} tool change" in advice.what


def test_turning_over(today):
    """The ogee, made with its back up, drawn on the layer of the eased edges."""
    advice = one(today, "turning-over")
    assert "of ogee may be eased: 1 part less to flip half way." in advice.what
    holds(today, advice, drawn(today, "unturned", replace(today[1], turned="EASED")))
    assert advice.saving_attended_s > 60.0


def test_pockets(today):
    """A machine file with the pockets asked for; the stops are those the estimate counts."""
    advice = one(today, "pockets")
    folder, tops, est, _ = today
    pieces = len({v.piece for v in est.plan.visits})
    assert f"A rack of {pieces} pockets" in advice.what
    shop = a_shop(folder / "larger", pieces)
    holds(today, advice, estimate([tops.write(folder / "racked.dxf")], shop=shop))
    machine, shift = est.load.machine, est.load.catalogue.shop.shift
    by_hand = (pieces - POCKETS) * (machine.stop_s + shift.tool_swap_s)
    assert advice.saving_attended_s == pytest.approx(by_hand, abs=1e-9)
    assert advice.saving_s == pytest.approx(0.0, abs=1e-9)


def test_every_kind_that_states_a_saving_is_followed_here(today):
    """No kind is left out of this file."""
    kinds = {a.kind for found in today[3].values() for a in found if a.computed}
    assert kinds == {
        "inside-radius", "wider-opening", "smaller-wheel", "precut-cutouts", "other-stack",
        "rare-profile", "turning-over", "pockets",
    }  # fmt: skip


def test_what_is_followed_together(today):
    """All that still saves: the sum of its steps, and each left out would save nothing more."""
    est = today[2]
    advice = advise(est)
    sums = together(est, advice)
    chosen = [advice[number - 1] for number in sums.numbers]
    other = follow(est, *chosen)
    assert est.cycle.total_s - other.cycle.total_s == pytest.approx(sums.saving_s, abs=1e-9)
    assert est.cycle.attended_s - other.cycle.attended_s == pytest.approx(
        sums.saving_attended_s, abs=1e-9
    )
    assert est.cycle.hand_mm - other.cycle.hand_mm == pytest.approx(sums.saving_hand_mm, abs=1e-9)
    # The turning profile is told once, though it is rare as well; hand work is saved once.
    assert sums.saving_hand_mm <= est.cycle.hand_mm + 1e-9
    assert sums.saving_s < sum(a.saving_s for a in advice if a.saving_s > 0.0)
