"""What is left after a stop, summed again from the moves themselves."""

from __future__ import annotations

import numpy as np
import pytest
from support.catalogue import STEPS, a_catalogue
from support.estimates import two_tops

from edgetime.cycle.order import CHANGE, PASS, RETURN
from edgetime.errors import UsageError
from edgetime.estimating import resume_at


def test_restart_at_a_tool_runs_it_and_all_that_follow():
    """The whole stay with its change, and every later one; the earlier ones are done."""
    est = two_tops()
    rest = resume_at(est, "wheel")
    at = [v.tool for v in est.cycle.visits].index("wheel")
    times = [v.time.total_s for v in est.cycle.visits]
    assert rest.row == at > 0
    assert [left for _, _, left in rest.visits] == pytest.approx(times[at:])
    assert rest.left_s == pytest.approx(sum(times[at:]), abs=1e-9)
    assert rest.done_s == pytest.approx(sum(times[:at]), abs=1e-9)


@pytest.mark.parametrize(("tool", "first"), [("wheel", 5), ("pad", 6)])
def test_rest_is_what_an_estimate_of_the_rest_says(tool, first):
    """A stack of only the steps that are left: it probes anew and has no tool to run down.

    Two parts are probed at 3 s; the tool before runs down from 300 rad/s at 100 rad/s².
    """
    rest = resume_at(two_tops(), tool)
    alone = two_tops(catalogue=a_catalogue(steps=STEPS[first:]))
    assert rest.left_s == pytest.approx(alone.cycle.total_s - 2 * 3.0 + 3.0, abs=1e-9)


def test_restart_at_the_second_part_leaves_out_the_first():
    """Done are the moves at the first part worked and the way from it to the second."""
    est = two_tops()
    moves, seconds = est.paths.moves, est.motion.seconds
    at = [v.tool for v in est.cycle.visits].index("pad")
    mine = np.flatnonzero(moves.visit == at)
    order = list(dict.fromkeys(p for p in moves.part[mine].tolist() if p >= 0))
    second = est.load.parts[order[1]].part.part_id
    rest = resume_at(est, "pad", second)
    inner = mine[est.paths.change_rows[at][0] : len(mine) - est.paths.change_rows[at][1]]
    skipped = inner[moves.part[inner] != order[1]]
    assert len(skipped) > 3
    done = est.cycle.visits[at].starts_s + float((seconds + moves.dwell)[skipped].sum())
    assert rest.done_s == pytest.approx(done, abs=1e-9)
    assert rest.part_id == second


def test_rows_of_the_order_of_work_are_places_to_restart():
    """Row by row the time left falls by the row; a change as the tool itself, no way back."""
    est = two_tops()
    before = None
    for row in est.order:
        if row.kind == RETURN:
            with pytest.raises(UsageError, match="return to the rack"):
                resume_at(est, str(row.number))
            before = None
            continue
        rest = resume_at(est, str(row.number))
        assert (rest.number, rest.row) == (row.number, row.visit - 1)
        if row.kind == CHANGE:
            assert rest.done_s == pytest.approx(row.starts_s, abs=1e-9)
            before = None
        elif before is not None:
            # The change runs again, so only whole passes and the way between two are saved.
            way = row.travel_s - before.travel_s
            saved = resume_at(est, str(before.number)).left_s - rest.left_s
            assert saved == pytest.approx(before.total_s + way, abs=1e-9)
        before = row if row.kind == PASS else None


@pytest.mark.parametrize("number", ["0", "999"])
def test_rows_there_are_not(number):
    """A row beyond the table is refused with the rows there are."""
    with pytest.raises(UsageError, match="no row") as caught:
        resume_at(two_tops(), number)
    assert "--runs" in caught.value.remedy


@pytest.mark.parametrize(
    ("tool", "part", "words"),
    [
        ("spoon", None, "No tool 'spoon'"),
        ("pad#3", None, "asks for visit 3"),
        ("pad", "p09", "No part 'p09'"),
        ("core-35", "p02", "does not touch part 'p02'"),
    ],
)
def test_what_does_not_run_is_refused(tool, part, words):
    """Unknown tool, stay or part; a part the tool does not touch."""
    with pytest.raises(UsageError, match=words):
        resume_at(two_tops(), tool, part)
