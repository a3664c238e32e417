"""What a machine and its controller allow of a motion."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import hypot, inf, isfinite, isnan
from typing import Final, Literal

from edgetime.errors import UsageError, Where
from edgetime.moves import MODE_OF_CORNER, PATH_MODES, PathMode

Corner = Literal["exact-stop", "blend"]

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
    path_mode : {"exact-path", "exact-stop", "continuous"}
        ``exact-path``: tangent joins are run through, the tool stands still in corners (G61
        of RS-274/NGC). ``exact-stop``: it stands still after every move (G61.1).
        ``continuous``: corners are rounded within ``corner_tolerance_mm`` (G64 P).
    corner_tolerance_mm : float
        Distance a blend may keep from the programmed corner [mm].
    block_time_s : float
        Least time the controller needs for one move [s]; 0 is off.
    blend_share : float
        Largest share of a move that the blend at one of its ends may take [-].
    stop_at_rapids : bool
        The tool stands still between a feed and a rapid, even in line.
    look_ahead_moves : int or None
        Moves the controller knows in advance: it must be able to stop at the end of the last
        of them. None for no limit.
    arc_shares : (float, float) or None
        Shares of the weakest axis' acceleration along and across the path, on arcs and
        blends [-]; the squares add up to 1 at most. None: as the directions swept allow.
    corner_share : float
        Share of the acceleration on a move that begins or ends in a corner at which the
        tool stands still [-].
    last_move_share : float
        Share of the acceleration on the last move before the program ends or waits, in
        continuous mode [-].
    corner : {"exact-stop", "blend"} or None
        Old form of ``path_mode``, taken and turned into it; always None afterwards.

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
    path_mode: PathMode = "exact-path"
    corner_tolerance_mm: float = 0.0
    block_time_s: float = 0.0
    rapid_speed_mm_per_s: tuple[float, float, float] | None = None
    blend_share: float = 0.5
    stop_at_rapids: bool = True
    look_ahead_moves: int | None = None
    arc_shares: tuple[float, float] | None = None
    corner_share: float = 1.0
    last_move_share: float = 1.0
    corner: Corner | None = None

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
        for name, most in (("blend_share", 0.5), ("corner_share", 1.0), ("last_move_share", 1.0)):
            object.__setattr__(self, name, _share(name, getattr(self, name), most))
        self._check_controller()
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

    def _check_controller(self) -> None:
        """Refuse a mode, look-ahead or shares of arcs that no controller can have."""
        if self.corner is not None:
            mode = MODE_OF_CORNER.get(self.corner)
            if mode is None:
                raise _choice("corner", self.corner, tuple(MODE_OF_CORNER))
            object.__setattr__(self, "path_mode", mode)
            object.__setattr__(self, "corner", None)
        if self.path_mode not in PATH_MODES:
            raise _choice("path_mode", self.path_mode, PATH_MODES)
        ahead = self.look_ahead_moves
        if ahead is not None and (isinstance(ahead, bool) or ahead != int(ahead) or ahead < 1):
            raise UsageError(
                f"look_ahead_moves is {ahead!r}; allowed is a whole number from 1, or None.",
                where=Where(key="look_ahead_moves"),
                remedy="Give the number of moves, or None for no limit.",
            )
        if self.arc_shares is not None:
            if len(self.arc_shares) != 2:
                raise UsageError(
                    f"arc_shares are {self.arc_shares!r}; two shares are needed, along and across.",
                    where=Where(key="arc_shares"),
                    remedy="Give two, or None.",
                )
            along, across = (_share("arc_shares", x, 1.0) for x in self.arc_shares)
            object.__setattr__(self, "arc_shares", (along, across))
            if hypot(along, across) > 1.0 + 1e-9:
                raise UsageError(
                    f"arc_shares are {along:g} and {across:g}; the sum of their squares is "
                    f"{along**2 + across**2:.4g}; at most 1 is allowed.",
                    where=Where(key="arc_shares"),
                    remedy="Lower one of them.",
                )


def _choice(name: str, value: object, allowed: tuple[str, ...]) -> UsageError:
    return UsageError(
        f"{name} is {value!r}; allowed are {', '.join(allowed[:-1])} and {allowed[-1]}.",
        where=Where(key=name),
        remedy="Choose one of them.",
    )


def _share(name: str, value: object, most: float) -> float:
    number = _number(name, value)
    if not 0.0 < number <= most:
        raise UsageError(
            f"{name} is {number:g}; allowed is any value above 0 and at most {most:g}.",
            where=Where(key=name),
            remedy="Give a share such as 0.5.",
        )
    return number


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
            remedy="Give one number per axis.",
        )
    x, y, z = (_positive(f"{name}[{axis}]", item) for axis, item in zip(_AXES, items, strict=True))
    return x, y, z
