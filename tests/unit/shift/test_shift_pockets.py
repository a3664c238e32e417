"""Tools in the rack: swaps of an order, the best order, what is put in when."""

from __future__ import annotations

import random
from itertools import permutations

import pytest
from support.shifts import fewest_swaps, keep_soonest

from edgetime.errors import InputError, UsageError
from edgetime.shift.pockets import inserted, plan_pockets, swaps_of_order


def _some_needs(rng, loads, pieces, pockets):
    names = [f"t{k}" for k in range(pieces)]
    return [frozenset(rng.sample(names, rng.randint(1, pockets))) for _ in range(loads)]


@pytest.mark.parametrize("seed", range(25))
def test_swaps_of_an_order_are_the_fewest(seed) -> None:
    """Counted as for every rack that may be kept, and as by the policy of the literature."""
    rng = random.Random(seed)
    pockets = rng.randint(2, 4)
    needs = _some_needs(rng, rng.randint(2, 6), 7, pockets)
    count = swaps_of_order(needs, pockets)
    assert count == fewest_swaps(needs, pockets)
    assert count == keep_soonest(needs, pockets)


@pytest.mark.parametrize("seed", range(25))
def test_best_order_against_all_orders(seed) -> None:
    """The plan's order has as few swaps as the best of all permutations, and says so."""
    rng = random.Random(100 + seed)
    pockets = rng.randint(2, 5)
    needs = _some_needs(rng, rng.randint(2, 6), 9, pockets)
    plan = plan_pockets(needs, pockets)
    best = min(keep_soonest(order, pockets) for order in permutations(needs))
    assert plan.swaps == best
    assert plan.optimal
    assert sorted(plan.order) == list(range(len(needs)))
    assert keep_soonest([needs[i] for i in plan.order], pockets) == best
    assert sum(map(len, plan.inserted)) == best


@pytest.mark.slow
def test_ten_loads_are_ordered_to_the_end() -> None:
    """Ten loads, none covering another, end with a proof within the time."""
    rng = random.Random(3)
    names = [f"t{k}" for k in range(20)]
    needs = [frozenset(rng.sample(names, 6)) for _ in range(10)]
    plan = plan_pockets(needs, 8, time_limit_s=60.0)
    assert plan.optimal
    assert plan.swaps == keep_soonest([needs[i] for i in plan.order], 8)


def test_many_loads_stop_with_a_bound() -> None:
    """Thirty loads end on time; the bound does not exceed what was found."""
    rng = random.Random(4)
    names = [f"t{k}" for k in range(40)]
    needs = [frozenset(rng.sample(names, 9)) for _ in range(30)]
    plan = plan_pockets(needs, 12, time_limit_s=0.5)
    assert 0 < plan.bound <= plan.swaps <= plan.as_given


def test_an_order_as_good_is_left_alone() -> None:
    """Loads that all fit the rack together stay as they are listed."""
    plan = plan_pockets([{"a", "b"}, {"c"}, {"a"}], 3)
    assert plan.order == (0, 1, 2)
    assert plan.swaps == plan.bound == 0


def test_what_is_put_in() -> None:
    """Two pockets, three pieces: the third comes in where it is first needed."""
    assert inserted([["a", "b"], ["b", "c"], ["c"]], 2) == [(), ("c",), ()]


def test_pieces_beyond_the_rack_claim_no_pocket() -> None:
    """A load with more pieces than pockets is shortened to its first ones."""
    assert inserted([["a", "b", "c"], ["a", "b", "c"]], 2) == [(), ()]


@pytest.mark.parametrize("pockets", [0, -1])
def test_no_pockets(pockets) -> None:
    """A rack without pockets is refused by its option."""
    with pytest.raises(UsageError, match=f"{pockets} pockets") as told:
        plan_pockets([{"a"}], pockets)
    assert told.value.where.key == "--pockets"


def test_a_load_larger_than_the_rack() -> None:
    """It is named, with what it needs and what there is."""
    with pytest.raises(InputError, match="kitchen needs 3 tools; the rack has 2"):
        plan_pockets([{"a", "b", "c"}], 2, names=["kitchen"])
