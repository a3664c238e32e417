"""Which assumptions move the total most, each over its plausible range.

Every effect is the difference of two whole estimates, never a derivative. The ranges are
our judgement of how far a shop's own figure may lie from a catalogue's; each has its reason
in the table below.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Any, Final, Literal

from edgetime.errors import EdgetimeError
from edgetime.estimating.pipeline import Estimate, estimate_load, retime
from edgetime.load import Load
from edgetime.tooling import Operation


@dataclass(frozen=True, kw_only=True)
class Effect:
    """What one assumption does to the total.

    Attributes
    ----------
    assumption : str
        What is assumed.
    low_factor, high_factor : float
        The plausible range, as factors on today's figure [-].
    low_delta_s, high_delta_s : float or None
        Change of the machine total at either end [s]; None where no plan is possible.
    file, key : str
        Where the figure is stated.
    reason : str
        Why the range is plausible.
    """

    assumption: str
    low_factor: float
    high_factor: float
    low_delta_s: float | None
    high_delta_s: float | None
    file: str
    key: str
    reason: str

    @property
    def swing_s(self) -> float:
        """Largest change of the total, either way [s]."""
        return max(abs(self.low_delta_s or 0.0), abs(self.high_delta_s or 0.0))


@dataclass(frozen=True, slots=True)
class _Assumption:
    """A figure that may be otherwise: where it is, its range, and what makes it so."""

    name: str
    where: Literal["machine", "stack", "stone", "shop"]
    key: str
    low: float
    high: float
    reason: str
    change: Callable[[Load, float], Load]
    operations: tuple[Operation, ...] = ()
    replans: bool = True

    def file(self, load: Load) -> str:
        """Return the file that states the figure."""
        record: Any = load.catalogue if self.where == "shop" else load
        return str(getattr(record, self.where).file)

    def delta_s(self, est: Estimate, factor: float) -> float | None:
        """Return by how much the cycle changes; None where no plan is possible [s]."""
        load = self.change(est.load, factor)
        try:
            other = (
                estimate_load(est.take_off, load, est.options)
                if self.replans
                else retime(est, load.machine)
            )
        except EdgetimeError:
            # A range end may ask for what no machine can do; that is no answer, not a failure.
            return None
        return other.cycle.total_s - est.cycle.total_s


def _scaled(record: Any, names: Iterable[str], factor: float) -> Any:
    """Return a record with some of its figures, or of their axes, times a factor."""

    def times(value: Any) -> Any:
        return tuple(v * factor for v in value) if isinstance(value, tuple) else value * factor

    return replace(record, **{name: times(getattr(record, name)) for name in names})


_ORDERS: Final = frozenset(
    {"axis_acceleration", "axis_jerk", "corner_tolerance", "rapid", "water_on"}
)
"""Keys of the machine on which moves depend, so that these are planned again: the order of runs
is measured in seconds of the machine's moves, and a tool waits above its first start only where
it waits for water. The other keys leave every move where it is."""


def _machine(
    name: str, key: str, low: float, high: float, reason: str, *fields: str, power: int = 1
) -> _Assumption:
    """Scale figures of the machine by a factor, or by its power: -1 for a time in place of a rate."""

    def change(load: Load, factor: float) -> Load:
        return replace(load, machine=_scaled(load.machine, fields, factor**power))

    return _Assumption(name, "machine", key, low, high, reason, change, replans=key in _ORDERS)


def _steps(
    name: str, key: str, low: float, high: float, reason: str, *fields: str,
    of: frozenset[Operation] = frozenset(Operation), always: bool = True,
) -> _Assumption:  # fmt: skip
    """Scale figures of the stack's steps of some operations; not ``always``: where one runs."""

    def change(load: Load, factor: float) -> Load:
        steps = (_scaled(s, fields, factor) if s.operation in of else s for s in load.stack.steps)
        return replace(load, stack=replace(load.stack, steps=tuple(steps)))

    return _Assumption(
        name, "stack", f"step.{key}", low, high, reason, change, () if always else tuple(of)
    )


def _feed(name: str, low: float, high: float, reason: str, *of: Operation) -> _Assumption:
    return _steps(
        name, "feed", low, high, reason, "feed_mm_per_s", "edge_feed_cap_mm_per_s",
        of=frozenset(of), always=False,
    )  # fmt: skip


def _scale_stock(load: Load, factor: float) -> Load:
    shop = load.catalogue.shop
    stock = {k: v * factor for k, v in shop.stock_mm.items()}
    return replace(load, catalogue=replace(load.catalogue, shop=replace(shop, stock_mm=stock)))


def _scale_spread(load: Load, factor: float) -> Load:
    parts = tuple(
        replace(p, actual_mm=p.nominal_mm + (p.actual_mm - p.nominal_mm) * factor)
        for p in load.parts
    )
    return replace(load, parts=parts)


_ASSUMPTIONS: Final = (
    _machine(
        "acceleration of the axes", "axis_acceleration", 0.5, 2.0,
        "routers of this kind range from 0.5 to 2 m/s²",
        "axis_acceleration_mm_per_s2", "path_acceleration_mm_per_s2", "centripetal_mm_per_s2",
    ),
    _machine(
        "jerk of the axes", "axis_jerk", 0.5, 2.0, "5 to 20 m/s³ on such machines",
        "axis_jerk_mm_per_s3",
    ),
    _machine(
        "corner tolerance", "corner_tolerance", 0.25, 4.0,
        "a controller parameter that builders set differently", "corner_tolerance_mm",
    ),
    _machine(
        "exchanging and measuring a tool", "exchange", 0.6, 1.6, "10 to 25 s on such machines",
        "exchange_s", "measure_s",
    ),
    _machine(
        "spindle run-up", "spindle_up", 0.5, 2.0, "set on the drive by wheel weight",
        "spindle_up_s", power=-1,
    ),
    _machine(
        "traverse speed", "rapid", 0.5, 1.5, "20 to 60 m/min on such machines", "rapid_mm_per_s"
    ),
    _machine(
        "probing a part's thickness", "probe", 0.5, 2.0, "one to four touches per part", "probe_s"
    ),
    _machine(
        "wait for the water", "water_on", 0.0, 3.0,
        "none where the valve opens during the approach", "water_on_s",
    ),
    _feed("coring feed", 0.6, 1.5, "core bits differ widely in drilling rate", Operation.CORE),
    _feed("finger-bit feed", 0.7, 1.4, "depends on bit, stone and depth of cut", Operation.CUT),
    _feed("roughing feed", 0.75, 1.25, "operators trim it by ear", Operation.ROUGH),
    _feed("seam and gauging feed", 0.75, 1.25, "as roughing", Operation.SEAM, Operation.GAUGE),
    _feed("metal profile feeds", 0.75, 1.25, "the bond sets the pace", Operation.PROFILE),
    _feed("fine feed", 0.8, 1.2, "the finish sets the pace", Operation.FINE),
    _feed("polishing feed", 0.8, 1.2, "the gloss asked for sets the pace", Operation.POLISH),
    _Assumption(
        "stock left by saw and waterjet", "shop", "stock", 0.5, 2.0,
        "sawyers leave from 1 to 4 mm", _scale_stock,
    ),
    _steps(
        "depth per step of coring and cutting", "depth_step", 0.6, 1.5,
        "spindle power and bit decide", "depth_step_mm",
        of=frozenset({Operation.CUT, Operation.CORE}),
    ),
    _steps(
        "vertical feeds", "plunge", 0.5, 2.0, "often left at the controller's preset",
        "plunge_mm_per_s", "retract_mm_per_s",
    ),
    _steps(
        "leads, overruns and overlap", "lead_length", 0.5, 2.0, "the programmer's habit",
        "lead_mm", "overrun_mm", "overlap_mm",
    ),
    _Assumption(
        "actual thickness over nominal", "stone", "thickness_spread", 0.0, 2.0,
        "slabs of one batch differ so", _scale_spread,
    ),
)  # fmt: skip
"""Assumptions with their plausible ranges, as factors on today's figure."""


def sensitivity(est: Estimate, *, count: int = 5) -> tuple[Effect, ...]:
    """Return the assumptions with the largest effect on the machine cycle.

    Parameters
    ----------
    est : Estimate
        The load as assumed.
    count : int
        How many to return.

    Returns
    -------
    tuple of Effect
        By falling swing; assumptions without any effect are left out.
    """
    running = {p.step.operation for p in est.plan.passes}
    effects = [
        Effect(
            assumption=a.name,
            low_factor=a.low,
            high_factor=a.high,
            low_delta_s=a.delta_s(est, a.low),
            high_delta_s=a.delta_s(est, a.high),
            file=a.file(est.load),
            key=a.key,
            reason=a.reason,
        )
        for a in _ASSUMPTIONS
        if not a.operations or not running.isdisjoint(a.operations)
    ]
    moving = [e for e in effects if e.swing_s > 1e-6]
    return tuple(sorted(moving, key=lambda e: (-e.swing_s, e.assumption))[:count])
