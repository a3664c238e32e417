"""Table filling by area: an upper estimate that no nesting beats."""

from __future__ import annotations

import math
import random
from datetime import date

import pytest

from edgetime.shift.filling import TablePart, fill_table

GAP = 100.0


def _part(w, h, *, job="a", kind="granite", due=None, number=0):
    # A rectangle grown by g/2 all round: Steiner's formula.
    claim = w * h + (w + h) * GAP + math.pi * GAP**2 / 4.0
    return TablePart(job=job, part_id=f"p{number:02d}", name="", size_mm=(w, h), area_mm2=w * h,
                     claim_mm2=claim, kind=kind, due=due)  # fmt: skip


def test_a_part_that_fills_the_table() -> None:
    """One part of the table's size fills it exactly, two need two loads."""
    one = fill_table([_part(3000.0, 2000.0)], (3000.0, 2000.0), GAP)
    assert one.at_least == 1
    assert one.loads[0].filled == pytest.approx(1.0)
    assert fill_table([_part(3000.0, 2000.0)] * 2, (3000.0, 2000.0), GAP).at_least == 2


@pytest.mark.parametrize("seed", range(20))
def test_what_lies_on_a_table_is_never_too_much(seed) -> None:
    """Parts laid out with the gap between them, by cutting a table up, make one load."""
    rng = random.Random(seed)
    pieces = [(0.0, 0.0, 3000.0, 2000.0)]
    for _ in range(6):
        x, y, w, h = pieces.pop(rng.randrange(len(pieces)))
        if rng.random() < 0.5 and w > 3 * GAP:
            cut = rng.uniform(GAP, w - 2 * GAP)
            pieces += [(x, y, cut, h), (x + cut + GAP, y, w - cut - GAP, h)]
        elif h > 3 * GAP:
            cut = rng.uniform(GAP, h - 2 * GAP)
            pieces += [(x, y, w, cut), (x, y + cut + GAP, w, h - cut - GAP)]
        else:
            pieces.append((x, y, w, h))
    parts = [_part(w, h, number=i) for i, (_, _, w, h) in enumerate(pieces)]
    found = fill_table(parts, (3000.0, 2000.0), GAP)
    assert found.at_least == len(found.loads) == 1
    assert found.loads[0].filled <= 1.0


def test_loads_hold_one_kind_and_every_part_once() -> None:
    """Stone, thickness and stack are not mixed; nothing is lost or doubled."""
    rng = random.Random(1)
    parts = [
        _part(rng.uniform(200, 1900), rng.uniform(200, 900), kind=rng.choice("xy"), number=i)
        for i in range(40)
    ]
    found = fill_table(parts, (3000.0, 2000.0), GAP)
    assert all(len({p.kind for p in load.parts}) == 1 for load in found.loads)
    assert all(load.filled <= 1.0 + 1e-9 for load in found.loads)
    assert sorted(p.part_id for x in found.loads for p in x.parts) == sorted(
        p.part_id for p in parts
    )
    assert found.at_least <= len(found.loads)


def test_the_most_urgent_come_first() -> None:
    """Parts of the job due first are in the first load, jobs stay together."""
    late = [_part(1400.0, 900.0, job="late", due=date(2027, 4, 1), number=i) for i in range(3)]
    soon = [_part(1400.0, 900.0, job="soon", due=date(2027, 3, 1), number=i) for i in range(3)]
    found = fill_table([*late, *soon], (3000.0, 2000.0), GAP)
    assert {p.job for p in found.loads[0].parts[:3]} == {"soon"}


def test_a_part_that_lies_nowhere() -> None:
    """It is told and left out; a part that lies across is not."""
    found = fill_table(
        [_part(3100.0, 500.0, number=1), _part(500.0, 2900.0, number=2)], (3000.0, 2000.0), GAP
    )
    assert [f.code for f in found.findings] == ["part-larger-than-table"]
    assert [p.part_id for x in found.loads for p in x.parts] == ["p02"]
