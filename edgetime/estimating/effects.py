"""Which assumptions move the total most, each over its plausible range.

Every effect is the difference of two whole estimates, never a derivative. The ranges are
our judgement of how far a shop's own figure may lie from a catalogue's; each has its reason
in the table below.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

from edgetime.errors import EdgetimeError
from edgetime.estimating.pipeline import Estimate, estimate_load, retime
from edgetime.load import Load
from edgetime.tooling import Machine, Operation, Stack, Step


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
        Change of the machine total at either end [s]; None where no plan comes of it.
    file, key : str
        Where the figure stands.
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


def _three(values: tuple[float, float, float], factor: float) -> tuple[float, float, float]:
    x, y, z = values
    return (x * factor, y * factor, z * factor)


def _acceleration(m: Machine, f: float) -> Machine:
    return replace(
        m,
        axis_acceleration_mm_per_s2=_three(m.axis_acceleration_mm_per_s2, f),
        path_acceleration_mm_per_s2=m.path_acceleration_mm_per_s2 * f,
        centripetal_mm_per_s2=m.centripetal_mm_per_s2 * f,
    )


def _change_time(m: Machine, f: float) -> Machine:
    return replace(m, exchange_s=m.exchange_s * f, measure_s=m.measure_s * f)


_MOTION: Final[
    tuple[tuple[str, str, float, float, str, Callable[[Machine, float], Machine]], ...]
] = (
    (
        "acceleration of the axes",
        "axis_acceleration",
        0.5,
        2.0,
        "routers of this kind range from 0.5 to 2 m/s²",
        _acceleration,
    ),
    (
        "jerk of the axes",
        "axis_jerk",
        0.5,
        2.0,
        "5 to 20 m/s³ on such machines",
        lambda m, f: replace(m, axis_jerk_mm_per_s3=_three(m.axis_jerk_mm_per_s3, f)),
    ),
    (
        "corner tolerance",
        "corner_tolerance",
        0.25,
        4.0,
        "a controller parameter that each builder sets to taste",
        lambda m, f: replace(m, corner_tolerance_mm=m.corner_tolerance_mm * f),
    ),
    (
        "exchanging and measuring a tool",
        "exchange",
        0.6,
        1.6,
        "10 to 25 s on such machines",
        _change_time,
    ),
    (
        "spindle run-up",
        "spindle_up",
        0.5,
        2.0,
        "set on the drive by wheel weight",
        lambda m, f: replace(m, spindle_up_s=m.spindle_up_s / f),
    ),
    (
        "traverse speed",
        "rapid",
        0.5,
        1.5,
        "20 to 60 m/min on such machines",
        lambda m, f: replace(m, rapid_mm_per_s=_three(m.rapid_mm_per_s, f)),
    ),
    (
        "probing a part's thickness",
        "probe",
        0.5,
        2.0,
        "one to four touches per part",
        lambda m, f: replace(m, probe_s=m.probe_s * f),
    ),
    (
        "wait for the water",
        "water_on",
        0.0,
        3.0,
        "none where the valve opens during the approach",
        lambda m, f: replace(m, water_on_s=m.water_on_s * f),
    ),
)

_ORDERS: Final = frozenset(
    {"axis_acceleration", "axis_jerk", "corner_tolerance", "rapid", "water_on"}
)
"""Keys that moves depend on, so that these are planned anew: the order of runs is measured in
seconds of the machine's moves, and a tool stands above its first start only where it waits for
water. The others leave every move where it is."""

_FEEDS: Final[tuple[tuple[tuple[Operation, ...], str, float, float, str], ...]] = (
    ((Operation.CORE,), "coring feed", 0.6, 1.5, "core bits differ widely in drilling rate"),
    ((Operation.CUT,), "finger-bit feed", 0.7, 1.4, "depends on bit, stone and depth of cut"),
    ((Operation.ROUGH,), "roughing feed", 0.75, 1.25, "operators trim it by ear"),
    ((Operation.SEAM, Operation.GAUGE), "seam and gauging feed", 0.75, 1.25, "as roughing"),
    ((Operation.PROFILE,), "metal profile feeds", 0.75, 1.25, "the bond sets the pace"),
    ((Operation.FINE,), "fine feed", 0.8, 1.2, "the finish sets the pace"),
    ((Operation.POLISH,), "polishing feed", 0.8, 1.2, "the gloss asked for sets the pace"),
)


def _with_steps(load: Load, change: Callable[[Step], Step]) -> Load:
    stack: Stack = replace(load.stack, steps=tuple(change(s) for s in load.stack.steps))
    return replace(load, stack=stack)


def _scale_feeds(load: Load, operations: tuple[Operation, ...], factor: float) -> Load:
    return _with_steps(
        load,
        lambda s: (
            replace(
                s,
                feed_mm_per_s=s.feed_mm_per_s * factor,
                edge_feed_cap_mm_per_s=s.edge_feed_cap_mm_per_s * factor,
            )
            if s.operation in operations
            else s
        ),
    )


def _scale_stock(load: Load, factor: float) -> Load:
    shop = load.catalogue.shop
    stock = {k: v * factor for k, v in shop.stock_mm.items()}
    return replace(load, catalogue=replace(load.catalogue, shop=replace(shop, stock_mm=stock)))


def _scale_depth(load: Load, factor: float) -> Load:
    return _with_steps(
        load,
        lambda s: (
            replace(s, depth_step_mm=s.depth_step_mm * factor)
            if s.operation in {Operation.CUT, Operation.CORE}
            else s
        ),
    )


def _scale_vertical(load: Load, factor: float) -> Load:
    return _with_steps(
        load,
        lambda s: replace(
            s,
            plunge_mm_per_s=s.plunge_mm_per_s * factor,
            retract_mm_per_s=s.retract_mm_per_s * factor,
        ),
    )


def _scale_leads(load: Load, factor: float) -> Load:
    return _with_steps(
        load,
        lambda s: replace(
            s,
            lead_mm=s.lead_mm * factor,
            overrun_mm=s.overrun_mm * factor,
            overlap_mm=s.overlap_mm * factor,
        ),
    )


def _scale_spread(load: Load, factor: float) -> Load:
    parts = tuple(
        replace(p, actual_mm=p.nominal_mm + (p.actual_mm - p.nominal_mm) * factor)
        for p in load.parts
    )
    return replace(load, parts=parts)


def sensitivity(est: Estimate, *, count: int = 5) -> tuple[Effect, ...]:
    """Return the assumptions that move the machine total most.

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
    load = est.load
    total = est.cycle.total_s

    def changed(make: Callable[[float], Estimate], factor: float) -> float | None:
        try:
            return make(factor).cycle.total_s - total
        except EdgetimeError:
            # A range end may ask for what no machine can do; that is no answer, not a failure.
            return None

    effects: list[Effect] = []

    def add(
        name: str,
        low: float,
        high: float,
        file: str,
        key: str,
        reason: str,
        make: Callable[[float], Estimate],
    ) -> None:
        effects.append(
            Effect(
                assumption=name,
                low_factor=low,
                high_factor=high,
                low_delta_s=changed(make, low),
                high_delta_s=changed(make, high),
                file=file,
                key=key,
                reason=reason,
            )
        )

    machine = load.machine

    def on(changed_machine: Machine, key: str) -> Estimate:
        if key in _ORDERS:
            return estimate_load(est.take_off, replace(load, machine=changed_machine), est.options)
        return retime(est, changed_machine)

    for name, key, low, high, reason, apply in _MOTION:
        add(
            name,
            low,
            high,
            machine.file,
            key,
            reason,
            lambda f, apply=apply, key=key: on(apply(machine, f), key),  # type: ignore[misc]
        )
    running = {p.step.operation for p in est.plan.passes}

    def replan(change: Callable[[Load, float], Load]) -> Callable[[float], Estimate]:
        return lambda f: estimate_load(est.take_off, change(load, f), est.options)

    for operations, name, low, high, reason in _FEEDS:
        if not running.isdisjoint(operations):
            add(
                name,
                low,
                high,
                load.stack.file,
                "step.feed",
                reason,
                replan(lambda at, f, ops=operations: _scale_feeds(at, ops, f)),  # type: ignore[misc]
            )
    shop_file = load.catalogue.shop.file
    add(
        "stock left by saw and waterjet",
        0.5,
        2.0,
        shop_file,
        "stock",
        "sawyers leave from 1 to 4 mm",
        replan(_scale_stock),
    )
    add(
        "depth per step of coring and cutting",
        0.6,
        1.5,
        load.stack.file,
        "step.depth_step",
        "spindle power and bit decide",
        replan(_scale_depth),
    )
    add(
        "vertical feeds",
        0.5,
        2.0,
        load.stack.file,
        "step.plunge",
        "often left at the controller's preset",
        replan(_scale_vertical),
    )
    add(
        "leads, overruns and overlap",
        0.5,
        2.0,
        load.stack.file,
        "step.lead_length",
        "the programmer's habit",
        replan(_scale_leads),
    )
    add(
        "real thickness over nominal",
        0.0,
        2.0,
        load.stone.file,
        "thickness_spread",
        "slabs of one batch differ so",
        replan(_scale_spread),
    )
    moving = [e for e in effects if e.swing_s > 1e-6]
    return tuple(sorted(moving, key=lambda e: (-e.swing_s, e.assumption))[:count])
