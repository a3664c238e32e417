"""What a machine and its controller allow of a motion."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import inf, isfinite, isnan
from typing import Final, Literal

from edgetime.errors import UsageError, Where

__all__ = ["CORNERS", "MotionLimits"]

CORNERS: Final = ("exact-stop", "blend")
"""What the controller does where two moves meet at an angle."""

_AXES: Final = ("X", "Y", "Z")
_TRIPLES: Final = (
    "axis_speed_mm_per_s",
    "axis_acceleration_mm_per_s2",
    "axis_jerk_mm_per_s3",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class MotionLimits:
    """Limits of one machine with its controller.

    ``inf`` switches a limit off wherever it is allowed. Raising any limit never makes a
    motion slower.

    Attributes
    ----------
    axis_speed_mm_per_s : (3,) tuple
        Highest speed of X, Y and Z [mm/s].
    rapid_speed_mm_per_s : (3,) tuple or None
        Traverse speed of X, Y and Z on straight rapids [mm/s]; None for the axis speeds.
    axis_acceleration_mm_per_s2 : (3,) tuple
        Highest acceleration of X, Y and Z [mm/s²]; may be ``inf`` when the path
        acceleration is finite.
    axis_jerk_mm_per_s3 : (3,) tuple
        Highest jerk of X, Y and Z [mm/s³]; ``inf`` is off.
    path_acceleration_mm_per_s2 : float
        Highest acceleration along the path [mm/s²]; ``inf`` leaves it to the axes.
    centripetal_acceleration_mm_per_s2 : float
        Highest acceleration across the path, on arcs and in corner blends [mm/s²].
    corner : {"exact-stop", "blend"}
        ``exact-stop``: the tool stands still in every corner (G61.1 of RS-274/NGC; tangent
        joins are run through). ``blend``: corners are rounded within ``corner_tolerance_mm``
        (G64 P).
    corner_tolerance_mm : float
        Distance a blend may keep from the programmed corner [mm].
    block_time_s : float
        Least time the controller needs for one move [s]; 0 is off.

    Raises
    ------
    UsageError
        If a value is missing, no number or out of its range.
    """

    axis_speed_mm_per_s: tuple[float, float, float]
    axis_acceleration_mm_per_s2: tuple[float, float, float]
    axis_jerk_mm_per_s3: tuple[float, float, float] = (inf, inf, inf)
    path_acceleration_mm_per_s2: float = inf
    centripetal_acceleration_mm_per_s2: float = inf
    corner: Literal["exact-stop", "blend"] = "exact-stop"
    corner_tolerance_mm: float = 0.0
    block_time_s: float = 0.0
    rapid_speed_mm_per_s: tuple[float, float, float] | None = None

    def __post_init__(self) -> None:
        for name in _TRIPLES:
            object.__setattr__(self, name, _triple(name, getattr(self, name)))
        if self.rapid_speed_mm_per_s is not None:
            name = "rapid_speed_mm_per_s"
            object.__setattr__(self, name, _triple(name, self.rapid_speed_mm_per_s))
        for name in ("path_acceleration_mm_per_s2", "centripetal_acceleration_mm_per_s2"):
            object.__setattr__(self, name, _positive(name, getattr(self, name)))
        for name in ("corner_tolerance_mm", "block_time_s"):
            object.__setattr__(self, name, _not_negative(name, getattr(self, name)))
        if self.corner not in CORNERS:
            raise UsageError(
                f"corner is {self.corner!r}; allowed are {' and '.join(CORNERS)}.",
                where=Where(key="corner"),
                remedy="Choose one of them.",
            )
        if not isfinite(self.path_acceleration_mm_per_s2) and not all(
            isfinite(a) for a in self.axis_acceleration_mm_per_s2
        ):
            raise UsageError(
                "nothing limits the acceleration: axis_acceleration_mm_per_s2 is "
                f"{self.axis_acceleration_mm_per_s2} and path_acceleration_mm_per_s2 is inf; "
                "all three axes or the path need a finite value.",
                where=Where(key="axis_acceleration_mm_per_s2"),
                remedy="Give the accelerations of the machine's axes.",
            )


def _number(name: str, value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        try:
            number = float(value)  # type: ignore[arg-type]
        except (TypeError, ValueError):
            number = float("nan")
    else:
        number = float(value)
    if isnan(number) or isinstance(value, bool | str):
        raise UsageError(
            f"{name} is {value!r}; a number is needed.",
            where=Where(key=name),
            remedy="Give a number.",
        )
    return number


def _positive(name: str, value: object) -> float:
    number = _number(name, value)
    if number <= 0.0:
        raise UsageError(
            f"{name} is {number:g}; allowed is any value above 0, or inf for no limit.",
            where=Where(key=name),
            remedy="Give a positive value.",
        )
    return number


def _not_negative(name: str, value: object) -> float:
    number = _number(name, value)
    if not 0.0 <= number < inf:
        raise UsageError(
            f"{name} is {number:g}; allowed is 0 or any finite value above it.",
            where=Where(key=name),
            remedy="Give 0 or a positive value.",
        )
    return number


def _triple(name: str, value: object) -> tuple[float, float, float]:
    items = list(value) if isinstance(value, Iterable) and not isinstance(value, str) else []
    if len(items) != len(_AXES):
        raise UsageError(
            f"{name} is {value!r}; three numbers are needed, for X, Y and Z.",
            where=Where(key=name),
            remedy="Give one number an axis.",
        )
    x, y, z = (_positive(f"{name}[{axis}]", item) for axis, item in zip(_AXES, items, strict=True))
    return x, y, z
