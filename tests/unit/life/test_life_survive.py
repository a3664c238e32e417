"""Whether mounted pieces finish a load: chances, places, swaps, findings."""

from __future__ import annotations

import numpy as np
import pytest
from support.lives import Lived, Piece, Use, piece, tool_wear, wear_of

from edgetime.errors import UsageError
from edgetime.findings import Severity
from edgetime.life import fit_life, survive
from edgetime.records import as_json

OWN = fit_life([Lived(x, "worn") for x in (0.8, 0.9, 0.95, 1.0, 1.0, 1.05, 1.1, 1.2)], tool="pad")


def codes(found) -> list[str]:
    """Return the codes of the findings."""
    return [f.code for f in found.findings]


def test_chance_is_that_of_the_conditional_life() -> None:
    """Lasting used + share given used, times not breaking; the same as asked of the fit."""
    (t,) = survive(wear_of(tool_wear({"length": 0.3})), [piece("A", 0.6)], {"pad": OWN}).tools
    assert t.serial == "A"
    assert t.used == pytest.approx(0.6)
    assert t.chance_wear == pytest.approx(float(OWN.outlast_wear(0.6, np.array([0.3]))[0]))
    exposure = 5.0 + 8.0
    assert t.chance_breakage == pytest.approx((exposure / (exposure + 0.3)) ** 0.5)
    assert t.chance == pytest.approx(t.chance_wear * t.chance_breakage)
    assert t.chance_new > t.chance


def test_the_more_used_the_less_chance() -> None:
    """Pieces of one tool in the order of their use."""
    wear = wear_of(tool_wear({"length": 0.1}))
    chances = [
        survive(wear, [piece("A", used)], {"pad": OWN}).chance for used in (0.0, 0.3, 0.6, 0.9, 1.1)
    ]
    assert chances == sorted(chances, reverse=True)
    assert chances[0] > 0.99
    assert chances[-1] < 0.6


def test_the_measure_that_ends_first_counts() -> None:
    """The load uses more by length, but the piece is nearly worn by volume."""
    worn = Piece("A", used=(Use("length", 0.1), Use("volume", 0.9)), share=0.9)
    (t,) = survive(wear_of(tool_wear({"length": 0.2, "volume": 0.15})), [worn], {"pad": OWN}).tools
    assert t.measure == "volume"
    assert (t.used, t.share) == (0.9, 0.15)
    assert sum(e.chance for e in t.by_part) == pytest.approx(1.0 - t.chance)


def test_an_unstated_measure_of_the_piece_counts_as_unused() -> None:
    """A life by holes that was added to the file later has no use yet."""
    fresh = Piece("A", used=(Use("length", None),), share=None)
    (t,) = survive(wear_of(tool_wear({"length": 0.2})), [fresh], {}).tools
    assert t.used == 0.0


def test_use_entered_for_all_measures_counts_before_the_first_run() -> None:
    """A piece bought half used has a share, and none by any measure yet."""
    half = Piece("A", used=(Use("length", None), Use("volume", None)), share=0.5)
    (t,) = survive(wear_of(tool_wear({"length": 0.2, "volume": 0.1})), [half], {}).tools
    assert (t.used, t.measure) == (0.5, "length")


def test_a_life_restored_in_part_is_partly_gone() -> None:
    """Restored to 0.7 and used for 0.2 since is as good as used for 0.5."""
    wear = wear_of(tool_wear({"length": 0.3}))
    part = survive(wear, [piece("A", 0.2, restored=0.7)], {"pad": OWN})
    whole = survive(wear, [piece("A", 0.5)], {"pad": OWN})
    assert part.chance == pytest.approx(whole.chance)


def test_where_it_ends() -> None:
    """The chances of the parts add up to that of not finishing; half of it is passed at `end`."""
    wear = wear_of(tool_wear({"length": 0.6}, ((0, 0.1), (2, 0.2), (0, 0.1), (1, 0.2))))
    (t,) = survive(wear, [piece("A", 0.5)], {"pad": OWN}).tools
    assert [(e.part_id, e.stay) for e in t.by_part] == [
        ("p01", 1),
        ("p03", 1),
        ("p01", 2),
        ("p02", 1),
    ]
    assert sum(e.chance for e in t.by_part) == pytest.approx(1.0 - t.chance)
    so_far = np.cumsum([e.chance for e in t.by_part]) / (1.0 - t.chance)
    assert t.end == t.by_part[int(np.argmax(so_far >= 0.5))]
    assert t.end is not None
    assert (t.end.part_id, t.end.stay) == ("p02", 1)


def test_a_piece_past_its_life_ends_on_the_first_part() -> None:
    """Hardly any chance is left after a long part, so it is the first that ends it."""
    wear = wear_of(tool_wear({"length": 1.0}, ((1, 0.8), (0, 0.2))))
    (t,) = survive(wear, [piece("A", 1.0)], {"pad": OWN}).tools
    assert t.end is not None
    assert t.end.part_id == "p02"
    assert t.chance < 0.05


def test_no_use_is_no_risk() -> None:
    """A tool that the load does not wear finishes for certain, and has no place of an end."""
    (t,) = survive(wear_of(tool_wear({"length": 0.0})), [piece("A", 0.9)], {"pad": OWN}).tools
    assert t.chance == pytest.approx(1.0, abs=1e-12)
    assert t.end is None


def test_the_load_is_the_product_and_swaps_raise_it() -> None:
    """The swap that raises the chance of the load most stands first; each raises it."""
    wear = wear_of(
        tool_wear({"length": 0.2}, name="pad/a"),
        tool_wear({"length": 0.2}, name="pad/b"),
        tool_wear({"length": 0.2}, name="pad/c"),
    )
    pieces = [
        piece("A", 0.7, model="pad/a"),
        piece("B", 0.95, model="pad/b"),
        piece("C", 0.0, model="pad/c"),
        *(Piece(f"N{x}", model=f"pad/{x}", pocket=None, state="new") for x in "abc"),
    ]
    found = survive(wear, pieces, {"pad": OWN})
    assert found.chance == pytest.approx(np.prod([t.chance for t in found.tools]))
    assert found.swap == ("pad/b", "pad/a")
    new = found.tools[2].chance
    assert found.chance_swapped == pytest.approx(new**3)
    assert codes(found).count("may-not-last") == 2


def test_a_swap_that_does_not_help_is_not_named() -> None:
    """A load of more than a life: warned about, but a new piece is what is there already."""
    found = survive(wear_of(tool_wear({"length": 1.5})), [], {"pad": OWN})
    assert found.swap == ()
    assert found.chance_swapped == found.chance < 0.1
    (warning,) = (f for f in found.findings if f.code == "may-not-last")
    assert warning.severity is Severity.WARNING
    assert warning.where.part == "p01"


def test_without_a_ledger_new_pieces_are_assumed_and_said_so() -> None:
    """The catalogue's figure with new pieces; spares are unknown, not none."""
    found = survive(wear_of(tool_wear({"length": 0.02})), None, {})
    (t,) = found.tools
    assert (t.serial, t.used, t.spares) == (None, 0.0, None)
    assert t.chance == pytest.approx(float(fit_life(()).outlast(0.0, np.array([0.02]))[0]))
    assert codes(found) == ["no-ledger", "few-retirements"]
    assert as_json(found)["ledger"] is False


def test_what_is_not_mounted_is_assumed_new_and_said_so() -> None:
    """Pieces on the shelf do not count as mounted; new ones count as spares."""
    pieces = [
        piece("A", 0.5, pocket=None, state="shelf"),
        Piece("B", pocket=None, state="new"),
        Piece("C", pocket=None, state="new"),
        Piece("D", model="other", pocket=None, state="new"),
    ]
    found = survive(wear_of(tool_wear({"length": 0.2})), pieces, {"pad": OWN})
    (t,) = found.tools
    assert (t.serial, t.used, t.spares) == (None, 0.0, 2)
    assert codes(found) == ["not-mounted"]
    assert "2 new, 1 part-used on hand" in found.findings[0].message


def test_of_several_mounted_the_lowest_pocket_works() -> None:
    """As posting a run charges it, whatever the order of receipt; and a note."""
    pieces = [piece("A", 0.6, pocket=7), piece("B", 0.2, pocket=2)]
    found = survive(wear_of(tool_wear({"length": 0.05})), pieces, {"pad": OWN})
    assert found.tools[0].serial == "B"
    assert "several-mounted" in codes(found)


def test_nothing_is_swapped_for_what_is_not_on_hand() -> None:
    """No spare: no swap, and the finding says that none is on hand."""
    wear = wear_of(tool_wear({"length": 0.2}))
    found = survive(wear, [piece("A", 0.9)], {"pad": OWN})
    (t,) = found.tools
    assert t.chance < 0.95 < t.chance_new
    assert (found.swap, found.chance_swapped) == ((), found.chance)
    (warning,) = (f for f in found.findings if f.code == "may-not-last")
    assert "none on hand" in warning.message


def test_a_part_used_spare_counts_with_what_is_left_of_it() -> None:
    """A pad 95 % used, entered before it was ever mounted, is no fresh one."""
    wear = wear_of(tool_wear({"length": 0.2}))
    half_spent = Piece("S", pocket=None, state="new", share=0.95)
    (t,) = survive(wear, [piece("A", 0.9), half_spent], {"pad": OWN}).tools
    assert (t.spares, t.spares_used, t.spare) == (0, 1, "S")
    worn = survive(wear, [piece("S", 0.95)], {"pad": OWN}).tools[0]
    assert t.chance_spare == pytest.approx(worn.chance)
    found = survive(wear, [piece("A", 0.9), half_spent], {"pad": OWN})
    assert found.swap == ()
    better = Piece("T", pocket=None, state="shelf", share=0.3)
    found = survive(wear, [piece("A", 0.9), half_spent, better], {"pad": OWN})
    assert found.swap == ("pad",)
    assert found.tools[0].spare == "T"
    assert found.chance_swapped == found.tools[0].chance_spare


def test_a_minimum_of_99_and_a_half_is_not_told_as_100() -> None:
    """No chance below 1 is written as certain."""
    wear = wear_of(tool_wear({"length": 0.2}))
    found = survive(wear, [piece("A", 0.6)], {"pad": OWN}, least_chance=0.995)
    (warning,) = (f for f in found.findings if f.code == "may-not-last")
    assert "minimum of 99.5 %" in warning.message
    assert "100 %" not in warning.message


def test_no_life_no_chance() -> None:
    """A piece whose file states no life is named, and left out of the product."""
    found = survive(wear_of(tool_wear({}), tool_wear({"length": 0.1}, name="pad/a")), None, {})
    assert found.unknown == ("pad",)
    assert [t.piece for t in found.tools] == ["pad/a"]
    assert "life-unknown" in codes(found)


def test_a_wrong_catalogue_is_pointed_at() -> None:
    """Twelve pieces of a third of the stated life: the file and key are named."""
    own = fit_life([Lived(0.3 + 0.01 * i, "worn") for i in range(12)], tool="pad")
    found = survive(wear_of(tool_wear({"length": 0.1})), [piece("A", 0.1)], {"pad": own})
    (off,) = (f for f in found.findings if f.code == "catalogue-off")
    assert (off.where.path, off.where.key) == ("tools/pad.toml", "life[1]")
    right = survive(wear_of(tool_wear({"length": 0.1})), [piece("A", 0.1)], {"pad": OWN})
    assert "catalogue-off" not in codes(right)


def test_unusable_records_are_told() -> None:
    """A retirement without use is named with its tool."""
    fit = fit_life([Lived(0.0, "worn")], tool="pad")
    found = survive(wear_of(tool_wear({"length": 0.1})), None, {"pad": fit})
    assert "record-unusable" in codes(found)


@pytest.mark.parametrize("least", [0.0, 1.0, 1.5, -1.0, float("nan")])
def test_least_chance_must_ask_for_something(least: float) -> None:
    """0 and 1 and what lies beyond are wrong use."""
    with pytest.raises(UsageError) as failed:
        survive(wear_of(tool_wear({"length": 0.1})), None, {}, least_chance=least)
    assert failed.value.where.key == "--least-chance"


def test_least_chance_decides_what_is_warned_about() -> None:
    """The same piece passes 50 % and fails 99.9 %."""
    wear = wear_of(tool_wear({"length": 0.2}))
    pieces = [piece("A", 0.6), Piece("B", pocket=None, state="new")]
    lax = survive(wear, pieces, {"pad": OWN}, least_chance=0.5)
    strict = survive(wear, pieces, {"pad": OWN}, least_chance=0.999)
    assert "may-not-last" not in codes(lax)
    assert "may-not-last" in codes(strict)
    assert strict.swap == ("pad",)
