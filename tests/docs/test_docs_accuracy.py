"""The page on accuracy shows today's figures of the kitchen for the trade's figure."""

from __future__ import annotations

from pathlib import Path

import pytest
from support.kitchens import write_kitchen

from edgetime import Estimate, estimate

PAGE = Path(__file__).resolve().parents[2] / "docs" / "explanation" / "accuracy.md"

TOLD_MIN = {"whole cycle": 108.0, "first pad starts after": 60.0, "each of three pads": 16.0}
"""Common practice, no source [min]."""

TERMS = ("cut", "plunge", "change", "rapid", "lead", "dwell")


@pytest.fixture(scope="module")
def kitchen(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Estimate]:
    """Estimate the kitchen with its cutouts precut and milled."""
    path = write_kitchen(tmp_path_factory.mktemp("trade") / "kitchen.dxf")
    return {
        method: estimate(
            [path],
            machine="large",
            stone="granite",
            stack="fast-metal",
            thickness_mm=30.0,
            cutout_method=method,
        )
        for method in ("precut", "milled")
    }


def _minutes(load: Estimate) -> dict[str, float]:
    pads = [v for v in load.cycle.visits if v.operation == "polish"]
    assert len(pads) == 3
    return {
        "whole cycle": load.cycle.total_s / 60.0,
        "first pad starts after": pads[0].starts_s / 60.0,
        "each of three pads": sum(v.time.total_s for v in pads) / 180.0,
    }


def _time(minutes: float, digits: int = 1) -> str:
    hours, rest = divmod(round(minutes, digits), 60.0)
    if not hours:
        return f"{rest:.{digits}f} min"
    shown = f" {rest:.{digits}f} min" if rest else ""
    return f"{hours:.0f} h{shown}"


def _gap(ours: float, told: float) -> str:
    return f"{100.0 * (ours / told - 1.0):+.0f} %".replace("-", "−")


def _rows(kitchen: dict[str, Estimate]) -> list[str]:
    """Return the rows of the page's table, the last two with one pad as the unit of time."""
    ours = [_minutes(load) for load in kitchen.values()]
    whole, start, pad = TOLD_MIN
    rows = []
    for name, told in TOLD_MIN.items():
        cells = [f"{_time(m[name])} | {_gap(m[name], told)}" for m in ours]
        rows.append(f"| {name} | {_time(told, 0)} | {' | '.join(cells)} |")
    for name, over in (("whole cycle ÷ one pad", whole), ("first pad's start ÷ one pad", start)):
        told = TOLD_MIN[over] / TOLD_MIN[pad]
        ratios = [m[over] / m[pad] for m in ours]
        cells = [f"{ratio:.2f} | {_gap(ratio, told)}" for ratio in ratios]
        rows.append(f"| {name} | {told:.2f} | {' | '.join(cells)} |")
    return rows


def _sentences(kitchen: dict[str, Estimate]) -> list[str]:
    cycle = kitchen["precut"].cycle
    terms = {
        t: sum(getattr(v.time, f"{t}_s") for v in cycle.visits) / 60.0 for t in TERMS
    }  # fmt: skip
    told = ", ".join(f"{t} {m:.1f}" for t, m in terms.items())
    before = {
        op: sum(v.time.total_s for v in kitchen["milled"].cycle.visits if v.operation == op)
        - sum(v.time.total_s for v in cycle.visits if v.operation == op)
        for op in ("cut", "core")
    }
    bit, coring = before["cut"] / 60.0, before["core"] / 60.0
    return [
        f"On the kitchen above, precut: {cycle.total_s / 60.0:.1f} min, of which {told}.",
        f"{bit:.1f} minutes of finger bit and {coring:.1f} more of coring come before it",
    ]


def test_trade_figures_are_todays(kitchen: dict[str, Estimate]) -> None:
    """Times, gaps and ratios of the page are those the program gives, to the digits shown."""
    page = " ".join(PAGE.read_text(encoding="utf-8").split())
    stale = [x for x in _rows(kitchen) + _sentences(kitchen) if x not in page]
    assert not stale, f"{PAGE.name} is stale; write instead:\n" + "\n".join(stale)


def test_told_ratios() -> None:
    """108 ÷ 16 and 60 ÷ 16, in which the edge length that was not told cancels."""
    whole, start, pad = TOLD_MIN.values()
    assert whole / pad == 6.75
    assert start / pad == 3.75
