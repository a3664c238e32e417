"""What the page of a load says beside the screens of its commands."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import TYPE_CHECKING, Final, NamedTuple

from edgetime.report.columns import CLOCK, PERCENT, Column, Sheet
from edgetime.report.document import Heading, Line, Table

if TYPE_CHECKING:
    from edgetime.estimating import Estimate
    from edgetime.report.document import Block

CAUTIONS: Final = tuple(
    """\
An estimate is not a release to run a program.
Silica: dust from granite, quartz and sintered stone destroys lungs. Cut wet, ventilate, and \
measure exposure. In the United States the limit for respirable crystalline silica is 50 µg/m³ as \
an 8-hour time-weighted average (OSHA, 29 CFR 1910.1053); other countries have their own limits. \
Wet cutting alone may not keep exposure below them.
Wheels burst: never run a tool above the maximum speed marked on it. The stack was checked against \
the speed typed into the tool's file; check the tool itself.
Guards stay closed while anything turns. Do not reach in before the spindle has stopped.
Slabs are heavy: 30 mm granite weighs about 80 kg/m². Lift, flip and unload with equipment made for it.
Follow the manufacturers' instructions. Local codes and licensed practice take precedence.""".splitlines()
)
"""Under every report of a load."""


class TermTime(NamedTuple):
    """What a part of the cycle is spent on."""

    term: str
    seconds: float
    share: float
    meaning: str


_TERMS: Final = {
    "cut": "at depth along the edge",
    "plunge": "all vertical feed moves, and all work of core bits",
    "lead": "lead-ins, lead-outs, overruns, overlap",
    "rapid": "in the air, other than to the rack",
    "change": "travel to the rack, exchange, length measuring, spindle run-up",
    "dwell": "water on, thickness probing, dressing, stated waits",
}

_SPENT: Final[Sheet[TermTime]] = Sheet(
    (
        Column(key="term", heading="Term", total=lambda _: "Total"),
        Column(key="total_s", heading="Time min:s", unit=CLOCK, get=lambda t: t.seconds,
               total=lambda rows: sum(t.seconds for t in rows)),
        Column(key="share", heading="%", unit=PERCENT, total=lambda rows: sum(t.share for t in rows)),
        Column(key="meaning", heading="What it includes"),
    )
)  # fmt: skip


def spent_parts(est: Estimate) -> list[Block]:
    """Return where the time of the cycle goes."""
    cycle = est.cycle
    time = cycle.time
    rows = [
        TermTime(name, seconds, seconds / cycle.total_s, meaning)
        for name, meaning in _TERMS.items()
        for seconds in [getattr(time, f"{name}_s")]
    ]
    return [Heading("Where the time goes"), Table(_SPENT, rows, name="terms")]


class Assumed(NamedTuple):
    """A sentence about where figures come from, and the files that have it.

    Attributes
    ----------
    what : str
        What kind of file.
    figure : str
        Which figure of the file; empty for all that have no sentence of their own.
    names : tuple of str
        The files, each with the figure as it is written there, where it is one figure.
    source : str
        The sentence.
    """

    what: str
    figure: str
    names: tuple[str, ...]
    source: str


_ASSUMED: Final[Sheet[Assumed]] = Sheet(
    (
        Column(key="what", heading="File of"),
        Column(key="names", heading="Name", show=lambda names, _: ", ".join(names)),
        Column(key="figure", heading="Figure", show=lambda figure, _: figure or "all others"),
        Column(key="source", heading="Where it comes from"),
    )
)


def _assumed(est: Estimate, without: Collection[str]) -> Iterator[Assumed]:
    catalogue, load = est.load.catalogue, est.load
    tools = dict.fromkeys(v.tool for v in est.cycle.visits)
    profiles = [p for p in est.plan.profiles if p in catalogue.profiles]
    files: list[tuple[str, str, str]] = [
        ("machine", load.machine.name, load.machine.file),
        ("stone", load.stone.name, load.stone.file),
        ("stack", load.stack.name, load.stack.file),
        *(("profile", name, catalogue.profiles[name].file) for name in profiles),
        *(("tool", name, catalogue.tools[name].file) for name in tools),
        ("shop", "shop.toml", catalogue.shop.file),
    ]
    found: dict[tuple[str, str, str], list[str]] = {}
    for what, name, file in files:
        for (where, figure), sentence in catalogue.sources.items():
            if where != file or (what == "shop" and figure in without):
                continue
            written = catalogue.raw.get((file, figure), "")
            named = f"{name} ({written})" if written and "\n" not in written else name
            found.setdefault((what, figure, sentence), []).append(named)
    for (what, figure, sentence), names in found.items():
        yield Assumed(what, figure, tuple(names), sentence)


def assumption_parts(est: Estimate, *, without: Collection[str] = ()) -> list[Block]:
    """Return where the figures come from that a load rests on.

    Parameters
    ----------
    est : Estimate
        Of the load.
    without : collection of str
        Tables of ``shop.toml`` that play no part, such as ``shift``.
    """
    rows = list(_assumed(est, without))
    return [
        Heading("Assumptions"),
        Line("edgetime estimate --sensitivity shows which of them matter most."),
        Table(_ASSUMED, rows, name="assumptions"),
    ]
