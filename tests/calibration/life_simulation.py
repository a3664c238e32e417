"""How often the stated chances and intervals of tool life come true, over simulated tools.

Each simulated tool has a life distribution of its own, known to the simulation alone. Its
pieces are run one after the other until a number of them has ended, by wear or breakage; the
next one is mounted and used to some point. From these records the life is fitted, and what
was stated is held against what then happens to the mounted piece and to a new one.

Run this file to write the tables into ``docs/explanation/life.md``.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from math import gamma as gamma_function
from pathlib import Path

import numpy as np

from edgetime.forecast import Supply
from edgetime.life import fit_life

PAGE = Path(__file__).parents[2] / "docs" / "explanation" / "life.md"
SEED = 27_182_818
"""Not one of those on which the program's assumptions were chosen."""
TOOLS = 1000
RETIREMENTS = (0, 5, 20)
FACTORS = (1.0, 2.0, 0.5)
"""Catalogue figure in use, by the one that is right on average."""
BINS = (0.0, 0.25, 0.5, 0.7, 0.8, 0.9, 0.95, 0.99, 1.0000001)


@dataclass(frozen=True)
class Record:
    """A life as the ledger would give it."""

    share: float
    ended: str | None
    tool: str = "pad"


@dataclass(frozen=True)
class Truth:
    """A tool as it really is: wear-out lives, and the rate of breakage."""

    mean: float
    lives: Callable[[int], np.ndarray]
    rate: float


Draw = Callable[[np.random.Generator], Truth]


def weibull(rng: np.random.Generator, mean: float, shape: float, rate: float) -> Truth:
    """Make a tool of Weibull life."""
    scale = mean / gamma_function(1.0 + 1.0 / shape)
    return Truth(mean, lambda n: scale * rng.weibull(shape, n), rate)


MEAN_SPREAD = 0.5
"""Scale of Student's t, 4 degrees, of the logarithm of true mean by catalogue life."""
CV, CV_SPREAD = 0.35, 0.5
"""Median of the tools' coefficients of variation, and standard deviation of their logarithm."""
BREAKAGES, EXPOSURE = 0.5, 10.0
"""Rates of breakage are gamma distributed, as if so many had broken in so many lives."""


def a_shop(rng: np.random.Generator) -> Truth:
    """Draw a tool of one shop.

    The spread of true means about the catalogue is the simulation's own: it is not taken from
    the program's prior, which would always agree with itself.
    """
    mean = float(np.exp(MEAN_SPREAD * rng.standard_t(4.0)))
    cv = float(CV * np.exp(CV_SPREAD * rng.standard_normal()))
    rate = float(rng.gamma(BREAKAGES, 1.0 / EXPOSURE))
    return weibull(rng, mean, shape_of(cv), rate)


def shape_of(cv: float) -> float:
    """Solve the shape of a Weibull distribution by bisection, independently of the program."""
    low, high = 0.35, 80.0
    for _ in range(60):
        shape = 0.5 * (low + high)
        spread = gamma_function(1.0 + 2.0 / shape) / gamma_function(1.0 + 1.0 / shape) ** 2 - 1.0
        low, high = (shape, high) if spread > cv * cv else (low, shape)
    return 0.5 * (low + high)


def fixed_weibull(shape: float) -> Draw:
    """Make every tool last as the catalogue says, on average, with one shape."""
    return lambda rng: weibull(rng, 1.0, shape, 0.05)


def fixed_gamma(shape: float) -> Draw:
    """Do so with gamma lives."""
    return lambda rng: Truth(1.0, lambda n: rng.gamma(shape, 1.0 / shape, n), 0.05)


def fixed_lognormal(sigma: float) -> Draw:
    """Do so with lognormal lives, a distribution the program does not know."""
    return lambda rng: Truth(1.0, lambda n: rng.lognormal(-0.5 * sigma**2, sigma, n), 0.05)


@dataclass
class Case:
    """One tool with its records, the piece now mounted, and what will happen."""

    truth: Truth
    records: list[Record]
    used: float
    share: float
    left: float
    new: float


def simulate(rng: np.random.Generator, draw: Draw, retirements: int) -> Case:
    """Run the pieces of one tool.

    A tool whose mounted piece ends before the point of the question is drawn anew as a whole,
    so that among those asked about the piece's having lasted so long says what it should.
    """
    while True:
        truth = draw(rng)
        n = retirements + 2
        worn = truth.lives(n)
        broken = rng.exponential(size=n) / max(truth.rate, 1e-12)
        ends = np.minimum(worn, broken)
        used = rng.uniform(0.0, 1.2)
        if ends[-2] > used:
            break
    records = [
        Record(float(end), "worn" if wear <= breakage else "broken")
        for end, wear, breakage in zip(ends[:-2], worn[:-2], broken[:-2], strict=True)
    ]
    records.append(Record(float(used), None))
    share = rng.uniform(0.02, 0.6)
    return Case(truth, records, used, share, float(ends[-2] - used), float(ends[-1]))


@dataclass(frozen=True)
class Outcome:
    """What was stated, and what came true, over all tools; each array of shape (tools,)."""

    new: np.ndarray
    left: np.ndarray
    mean: np.ndarray
    chance: np.ndarray
    finished: np.ndarray

    @property
    def brier(self) -> float:
        """Mean squared difference of the chance stated and the outcome."""
        return float(np.square(self.chance - self.finished).mean())

    @property
    def brier_constant(self) -> float:
        """The same for someone who always states the share that finishes."""
        return float(self.finished.mean() * (1.0 - self.finished.mean()))


def run(
    draw: Draw, retirements: int, factor: float, *, tools: int = TOOLS, seed: int = SEED
) -> Outcome:
    """Fit every tool and hold what is stated against what happens.

    The same seed and number of retirements give the same tools, whatever the factor.
    """
    rng = np.random.default_rng([seed, retirements])
    rows = []
    for _ in range(tools):
        case = simulate(rng, draw, retirements)
        fit = fit_life([Record(r.share / factor, r.ended) for r in case.records])
        used = case.used / factor
        lasting = fit.outlast(used, np.array([case.left, case.share]) / factor)
        lasting_new = fit.outlast(0.0, np.array([case.new]) / factor)[0]
        truth = case.truth.mean / factor
        rows.append(
            (
                # The central 90 % interval holds the life exactly when the chance of
                # lasting that long lies between 5 and 95 %.
                0.05 <= lasting_new <= 0.95,
                0.05 <= lasting[0] <= 0.95,
                fit.mean_life.low <= truth <= fit.mean_life.high,
                lasting[1],
                case.left > case.share,
            )
        )
    table = np.array(rows, dtype=float)
    return Outcome(*table.T)


SERVICES = (0.90, 0.95)
PIECES = (3, 13)
FUTURES = 50


def service(
    draw: Draw, retirements: int, factor: float, *, tools: int = TOOLS, seed: int = SEED
) -> tuple[float, ...]:
    """Return how often an order lasts, for each of :data:`SERVICES`.

    For each tool the work is such that the forecast orders just so many new pieces at the
    service level: no rounding up to whole pieces helps it. Then lives are drawn from the truth.
    """
    rng = np.random.default_rng([seed, retirements, 1])
    lasted = np.zeros((tools, len(SERVICES)))
    for number in range(tools):
        case = simulate(rng, draw, retirements)
        fit = fit_life([Record(r.share / factor, r.ended) for r in case.records])
        pieces = int(rng.integers(*PIECES))
        stated = np.quantile(Supply(fit, name=str(number)).lasts(pieces), 1.0 - np.array(SERVICES))
        worn = case.truth.lives(FUTURES * pieces)
        broken = rng.exponential(size=worn.size) / max(case.truth.rate, 1e-12)
        true = np.minimum(worn, broken).reshape(FUTURES, pieces).sum(axis=1) / factor
        lasted[number] = (true[:, None] >= stated).mean(axis=0)
    return tuple(lasted.mean(axis=0).tolist())


def _percent(flags: np.ndarray) -> str:
    return f"{100.0 * flags.mean():.1f}"


def main_rows(outcomes: dict[tuple[float, int], Outcome]) -> list[list[str]]:
    """Return the rows of the table of coverage."""
    return [
        [
            NAMES[factor],
            str(n),
            _percent(o.new),
            _percent(o.left),
            _percent(o.mean),
            f"{o.brier:.3f}",
            f"{o.brier_constant:.3f}",
        ]
        for (factor, n), o in outcomes.items()
    ]


def reliability_rows(outcomes: dict[tuple[float, int], Outcome], n: int) -> list[list[str]]:
    """Return the rows of the table of reliability after a number of retirements."""
    rows = []
    for low, high in pairwise(BINS):
        row = [f"{100 * low:.0f} to {100 * min(high, 1.0):.0f}"]
        for factor in FACTORS:
            o = outcomes[factor, n]
            inside = (o.chance >= low) & (o.chance < high)
            row += (
                [str(inside.sum()), _percent(o.chance[inside]), _percent(o.finished[inside])]
                if inside.any()
                else ["0", "-", "-"]
            )
        rows.append(row)
    return rows


OFF_PRIOR: dict[str, Draw] = {
    "Weibull, shape 1.5 (spread 0.68)": fixed_weibull(1.5),
    "Weibull, shape 3 (spread 0.36)": fixed_weibull(3.0),
    "Weibull, shape 8 (spread 0.15)": fixed_weibull(8.0),
    "gamma, shape 4 (spread 0.50)": fixed_gamma(4.0),
    "lognormal, sigma 0.4 (spread 0.42)": fixed_lognormal(0.4),
}


def _markdown(header: list[str], rows: list[list[str]]) -> str:
    lines = [header, ["---"] * len(header), *rows]
    return "\n".join("| " + " | ".join(cells) + " |" for cells in lines)


NAMES = {1.0: "right", 2.0: "twice too long", 0.5: "half as long"}


def service_rows(services: dict[tuple[float, int], tuple[float, ...]]) -> list[list[str]]:
    """Return the rows of the table of service levels."""
    return [
        [NAMES[factor], str(n), *(f"{100.0 * share:.1f}" for share in shares)]
        for (factor, n), shares in services.items()
    ]


def tables(
    outcomes: dict[tuple[float, int], Outcome],
    services: dict[tuple[float, int], tuple[float, ...]],
    off: dict[str, Outcome],
) -> str:
    """Return the generated part of the page."""
    coverage = _markdown(
        [
            "catalogue",
            "ended",
            "life of a new tool",
            "left of the mounted one",
            "mean life",
            "Brier score",
            "constant",
        ],
        main_rows(outcomes),
    )
    parts = [f"Coverage of the 90 % intervals, in % of {TOOLS} tools:", coverage]
    lasts = (
        f"Futures in which an order lasts, in %, of {TOOLS} tools with {FUTURES} futures each, "
        "where the forecast ordered for a service level of 90 and 95 %:"
    )
    parts += [
        lasts,
        _markdown(["catalogue", "ended", "asked 90", "asked 95"], service_rows(services)),
    ]
    header = ["chance stated, %"]
    for name in ("right", "x 2", "x 0.5"):
        header += [f"{name}: tools", "stated", "finished"]
    for n in RETIREMENTS:
        parts += [
            f"Chances of finishing after {n} ended tools:",
            _markdown(header, reliability_rows(outcomes, n)),
        ]
    parts += [
        "Other distributions of life, catalogue right, after 20 ended tools, coverage in %:",
        _markdown(
            ["lives", "life of a new tool", "left of the mounted one", "mean life"],
            [
                [name, _percent(o.new), _percent(o.left), _percent(o.mean)]
                for name, o in off.items()
            ],
        ),
    ]
    return "\n\n".join(parts)


def main_outcomes() -> dict[tuple[float, int], Outcome]:
    """Run all that the table of coverage shows."""
    return {(f, n): run(a_shop, n, f) for f in FACTORS for n in RETIREMENTS}


def service_outcomes() -> dict[tuple[float, int], tuple[float, ...]]:
    """Run all that the table of service levels shows."""
    return {(f, n): service(a_shop, n, f) for f in FACTORS for n in RETIREMENTS}


def off_outcomes() -> dict[str, Outcome]:
    """Run the tools of other distributions."""
    return {name: run(draw, 20, 1.0) for name, draw in OFF_PRIOR.items()}


def write(text: str) -> None:
    """Put the tables into the page."""
    page = PAGE.read_text(encoding="utf-8")
    new = re.sub(
        r"(<!-- tables -->\n).*(<!-- end of tables -->)",
        lambda m: f"{m[1]}\n{text}\n\n{m[2]}",
        page,
        flags=re.DOTALL,
    )
    PAGE.write_text(new, encoding="utf-8")


if __name__ == "__main__":
    text = tables(main_outcomes(), service_outcomes(), off_outcomes())
    sys.stdout.write(text + "\n")
    if PAGE.exists():
        write(text)
