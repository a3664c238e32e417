"""The choice of loads as a 0/1 linear program: what must hold of any choice, in any order."""

from __future__ import annotations

import copy
import math
import os
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Final

from edgetime.shift.load_runs import SLACK_S, ShiftLoad
from edgetime.shift.orders import limits
from edgetime.tooling import ShiftDefaults

GAP: Final = 1e-9
"""The program is solved to this relative gap; values that differ by less are alike."""

_SCALE: Final = 1e4
_INFEASIBLE: Final = 2
"""Status of the solver."""

_LIFE_SLACK: Final = 1e-5
"""Shares of a life by which a change may be saved; the solver is only as exact as 1e-6 [-]."""

_Row = tuple[list[float], float, float]


@contextmanager
def _silent() -> Iterator[None]:
    """Keep the solver off standard output, which is for the answer alone.

    Some of its releases write there from C, whatever their options are and past Python's own
    streams, so the descriptor itself is turned away meanwhile.
    """
    sys.stdout.flush()
    kept, nowhere = os.dup(1), os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 1)
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nowhere)


class Program:
    """Choose loads of the greatest value for which there is time.

    Solved by HiGHS as SciPy carries it. A column for each load, and one for the changes of
    each tool that wears.

    Parameters
    ----------
    loads : sequence of ShiftLoad
        Waiting.
    rules : ShiftDefaults
        How the shift runs.
    known : mapping of str to float
        Share of their life that tools have used.
    """

    def __init__(
        self, loads: Sequence[ShiftLoad], rules: ShiftDefaults, known: Mapping[str, float]
    ) -> None:
        self.count = len(loads)
        swap = rules.tool_swap_s
        wear = [{p: s for p, s in x.pieces if s} for x in loads]
        pieces = sorted(set().union(*wear)) if swap > 0.0 else []
        self.upper = [1.0] * self.count + [math.inf] * len(pieces)
        self.rows: list[_Row] = [
            (seconds + [each * swap] * len(pieces), -math.inf, most + SLACK_S)
            for seconds, each, most in limits(loads, rules)
        ]
        for n, piece in enumerate(pieces):
            # Each change gives one life more; what is used must not be above all of them.
            lives = [0.0] * len(pieces)
            lives[n] = -1.0
            left = 1.0 - known.get(piece, rules.used)
            shares = [w.get(piece, 0.0) for w in wear]
            self.rows.append((shares + lives, -math.inf, left + _LIFE_SLACK))

    def copy(self) -> Program:
        """Return a copy that takes further constraints without changing this one."""
        out = copy.copy(self)
        out.rows = self.rows.copy()
        return out

    def _row(self, weights: Sequence[float], low: float, high: float) -> None:
        others = [0.0] * (len(self.upper) - self.count)
        self.rows.append(([*weights, *others], low, high))

    def at_least(self, weights: Sequence[float], limit: float) -> None:
        """Demand at least this sum of the weights of what is chosen."""
        self._row(weights, limit, math.inf)

    def cut(self, chosen: frozenset[int]) -> None:
        """Forbid to choose all of these together."""
        weights = [1.0 if i in chosen else 0.0 for i in range(self.count)]
        self._row(weights, -math.inf, len(chosen) - 1.0)

    def cut_only(self, chosen: frozenset[int]) -> None:
        """Forbid to choose just these, and none beside them."""
        weights = [1.0 if i in chosen else -1.0 for i in range(self.count)]
        self._row(weights, -math.inf, len(chosen) - 1.0)

    def solve(self, values: Sequence[float], limit_s: float) -> tuple[frozenset[int] | None, float]:
        """Return the best choice found and a bound on all."""
        from scipy.optimize import Bounds, LinearConstraint, milp  # noqa: PLC0415  heavy

        total = sum(values)
        # The solver stops at an absolute gap of its own; scaled, it is a small share.
        scale = _SCALE / total if total > 0.0 else 1.0
        others = [0.0] * (len(self.upper) - self.count)
        weights, low, high = zip(*self.rows, strict=True)
        with _silent():
            found = milp(
                [*(-v * scale for v in values), *others],
                integrality=1,
                bounds=Bounds(0.0, self.upper),
                constraints=LinearConstraint(weights, low, high),
                # On programs this small presolving saves nothing.
                options={"time_limit": limit_s, "mip_rel_gap": GAP, "presolve": False},
            )
        if found.status == _INFEASIBLE:
            return None, 0.0
        dual = getattr(found, "mip_dual_bound", None)
        bound = total if dual is None or not math.isfinite(dual) else min(total, -dual / scale)
        if found.x is None:
            return None, bound
        return frozenset(i for i in range(self.count) if found.x[i] > 0.5), bound
