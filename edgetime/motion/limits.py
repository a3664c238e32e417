"""What a machine and its controller allow of a motion."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from contextlib import suppress
from dataclasses import dataclass
from math import hypot, inf, isinf, isnan, nan
from typing import Any, Final, Literal, NamedTuple

from edgetime.errors import UsageError, Where
from edgetime.moves import MODE_OF_CORNER, PATH_MODES, PathMode

Corner = Literal["exact-stop", "blend"]

_AXES: Final = ("X", "Y", "Z")
_TRIPLES: Final = (
    "axis_speed_mm_per_s",
    "axis_acceleration_mm_per_s2",
    "axis_jerk_mm_per_s3",
    "rapid_speed_mm_per_s",
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
            if getattr(self, name) is not None:
                object.__setattr__(self, name, _triple(name, getattr(self, name)))
        for name, allowed in _ALLOWED.items():
            object.__setattr__(self, name, _figure(name, getattr(self, name), allowed))
        self._check_controller()
        if isinf(self.path_acceleration_mm_per_s2) and any(
            map(isinf, self.axis_acceleration_mm_per_s2)
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
            _choose("corner", self.corner, tuple(MODE_OF_CORNER))
            object.__setattr__(self, "path_mode", MODE_OF_CORNER[self.corner])
            object.__setattr__(self, "corner", None)
        _choose("path_mode", self.path_mode, PATH_MODES)
        ahead: Any = self.look_ahead_moves
        if ahead is not None and (isinstance(ahead, bool) or ahead != int(ahead) or ahead < 1):
            said = f"is {ahead!r}; allowed is a whole number from 1, or None."
            raise _refused("look_ahead_moves", said, "Give the number of moves, or None.")
        shares: Any = self.arc_shares
        if shares is not None:
            name = "arc_shares"
            if len(shares) != 2:
                said = f"are {shares!r}; two shares are needed, along and across."
                raise _refused(name, said, "Give two, or None.")
            along, across = (_figure(name, x, _share(1.0)) for x in shares)
            object.__setattr__(self, name, (along, across))
            if hypot(along, across) > 1.0 + 1e-9:
                square = along**2 + across**2
                said = f"are {along:g} and {across:g}; the sum of their squares is {square:.4g}; "
                raise _refused(name, f"{said}at most 1 is allowed.", "Lower one of them.")


class _Allowed(NamedTuple):
    """The range of a figure, in words too."""

    holds: Callable[[float], bool]
    text: str
    remedy: str


def _share(most: float) -> _Allowed:
    text = f"any value above 0 and at most {most:g}"
    return _Allowed(lambda x: 0.0 < x <= most, text, "Give a share such as 0.5.")


_POSITIVE: Final = _Allowed(
    lambda x: x > 0.0, "any value above 0, or inf for no limit", "Give a positive value."
)
_NOT_NEGATIVE: Final = _Allowed(
    lambda x: 0.0 <= x < inf, "0 or any finite value above it", "Give 0 or a positive value."
)
_ALLOWED: Final = {
    "path_acceleration_mm_per_s2": _POSITIVE,
    "centripetal_acceleration_mm_per_s2": _POSITIVE,
    "corner_tolerance_mm": _NOT_NEGATIVE,
    "block_time_s": _NOT_NEGATIVE,
    "blend_share": _share(0.5),
    "corner_share": _share(1.0),
    "last_move_share": _share(1.0),
}


def _refused(name: str, said: str, remedy: str) -> UsageError:
    return UsageError(f"{name} {said}", where=Where(key=name), remedy=remedy)


def _choose(name: str, value: object, allowed: tuple[str, ...]) -> None:
    if value not in allowed:
        said = f"is {value!r}; allowed are {', '.join(allowed[:-1])} and {allowed[-1]}."
        raise _refused(name, said, "Choose one of them.")


def _figure(name: str, value: Any, allowed: _Allowed) -> float:
    number = nan
    with suppress(TypeError, ValueError):
        # float() would take the text "2" and True for numbers; here they are slips.
        number = nan if isinstance(value, bool | str) else float(value)
    if isnan(number):
        raise _refused(name, f"is {value!r}; a number is needed.", "Give a number.")
    if not allowed.holds(number):
        raise _refused(name, f"is {number:g}; allowed is {allowed.text}.", allowed.remedy)
    return number


def _triple(name: str, value: object) -> tuple[float, float, float]:
    items = list(value) if isinstance(value, Iterable) and not isinstance(value, str) else []
    if len(items) != len(_AXES):
        said = f"is {value!r}; three numbers are needed, for X, Y and Z."
        raise _refused(name, said, "Give one number per axis.")
    x, y, z = (
        _figure(f"{name}[{axis}]", item, _POSITIVE) for axis, item in zip(_AXES, items, strict=True)
    )
    return x, y, z
