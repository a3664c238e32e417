"""Options the commands share, how their values are read, and how they are completed."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from math import isfinite, radians
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

from edgetime.choices import DrawingUnits
from edgetime.cli.ask import argument, ask, choose, switch
from edgetime.cli.output import Format, table_units
from edgetime.errors import UnitInvalid, UsageError, Where
from edgetime.units import UnitSystem, parse_quantity

if TYPE_CHECKING:
    from edgetime.estimating import Estimate
    from edgetime.load import Copies, Placement
    from edgetime.report.document import Block
    from edgetime.tooling import Catalogue

_LONGEST_COUNT = 6
"""Digits of a number of copies, long before it is too many."""


Drawings = Annotated[
    list[str],
    argument("DRAWING", "DXF files; several are one load on one table.", show_default=False),
]
ShopOption = Annotated[
    str | None,
    ask(
        "FOLDER",
        "Shop folder; otherwise the first one found in or above the working folder, else the "
        "shipped catalogue.",
    ),
]
DrawingUnitsOption = Annotated[
    DrawingUnits | None, choose("Units of the drawings, whatever their headers say.")
]
FormatOption = Annotated[Format, choose("Form of the output.", flag="--format", show_default=True)]
UnitsOption = Annotated[
    UnitSystem | None, choose("Units of tables; JSON and CSV stay metric. [default: the shop's]")
]
StrictOption = Annotated[
    bool, switch("--strict", "Exit with code 1 if a finding is a warning or worse.")
]


@dataclass(frozen=True, kw_only=True)
class FormOptions:
    """The form of a command's answer."""

    output: FormatOption = Format.TABLE
    xlsx: Annotated[
        Path | None, ask("FILE", "Also write the output to an .xlsx workbook, one sheet per table.")
    ] = None

    @property
    def csv(self) -> bool:
        """Whether one table is asked for."""
        return self.output is Format.CSV


@dataclass(frozen=True, kw_only=True)
class OutputOptions(FormOptions):
    """The form of a command's answer, and when it ends with exit code 1."""

    units: UnitsOption = None
    strict: StrictOption = False

    def system(self, catalogue: Catalogue) -> UnitSystem:
        """Return the units of tables: the option's, else the shop's."""
        return table_units(self.units, catalogue.shop.units)


def rests_on(estimates: Sequence[Estimate], *sections: str) -> Callable[[], list[Block]]:
    """Return what makes the assumptions of estimates.

    Parameters
    ----------
    estimates : sequence of Estimate
        What was calculated.
    *sections : str
        Tables and keys of ``shop.toml`` that are used too.
    """

    def blocks() -> list[Block]:
        from edgetime.report.assumptions import load_assumptions  # noqa: PLC0415  for workbooks

        return load_assumptions(estimates, sections)

    return blocks


AS_A_TABLE: Final = OutputOptions()
"""No option given."""

AS_IT_IS: Final = FormOptions()
"""No option given to a command without ``--units`` and ``--strict``."""


def find_shop_folder(shop: str | None) -> Path | None:
    """Return the shop folder to use, None for the shipped catalogue.

    Parameters
    ----------
    shop : str or None
        As given with ``--shop``.
    """
    from edgetime.tooling import find_shop  # noqa: PLC0415  of no use to --help

    return Path(shop) if shop is not None else find_shop(Path.cwd())


def length_option(text: str | None, option: str) -> float | None:
    """Read a length given as an option; a bare number is millimetres.

    Parameters
    ----------
    text : str or None
        ``30``, ``30mm``, ``1-1/4 in``.
    option : str
        Its name, for the error.

    Returns
    -------
    float or None
        Length [mm].

    Raises
    ------
    UsageError
        No length, or not above zero.
    """
    return None if text is None else _length(text, option)


def _length(text: str, option: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = _quantity(text, "length", option)
    if not 0.0 < value < float("inf"):
        raise UsageError(
            f"{text!r} is not a length above zero.",
            where=Where(key=option),
            remedy="Write millimetres, or a number with its unit such as '1-1/4 in'.",
        )
    return value


def _quantity(text: str, dimension: str, option: str) -> float:
    try:
        return parse_quantity(text, dimension, where=Where(key=option))
    except UnitInvalid as error:
        # The same fault in a file is an input error; on the command line it is wrong use.
        raise UsageError(error.what, where=error.where, remedy=error.remedy) from error


def factor_option(text: str, option: str) -> float:
    """Read a factor given as an option.

    Parameters
    ----------
    text : str
        ``0.8`` or ``80 %``.
    option : str
        Its name, for the error.

    Returns
    -------
    float
        Factor [-].

    Raises
    ------
    UsageError
        No number.
    """
    return _quantity(text, "ratio", option)


def speed_option(text: str | None, option: str) -> float | None:
    """Read a feed given as an option.

    Parameters
    ----------
    text : str or None
        ``2 m/min``, ``80 in/min``.
    option : str
        Its name, for the error.

    Returns
    -------
    float or None
        Feed [mm/s].

    Raises
    ------
    UsageError
        No feed, or not above zero.
    """
    if text is None:
        return None
    value = _quantity(text, "speed", option)
    if value <= 0.0:
        raise UsageError(
            f"{text!r} is not a feed above zero.",
            where=Where(key=option),
            remedy="Write a number with its unit such as '2 m/min'.",
        )
    return value


def parse_diameters(texts: Iterable[str]) -> dict[str, float]:
    """Read ``TOOL=DIAMETER`` pairs.

    Parameters
    ----------
    texts : iterable of str
        As given with ``--diameter``.

    Returns
    -------
    dict
        Actual diameter by tool [mm].

    Raises
    ------
    UsageError
        A text without ``=``, a tool named twice, or no length.
    """
    found: dict[str, float] = {}
    for text in texts:
        name, sign, value = text.partition("=")
        name = name.strip()
        if not sign or not name or name in found:
            what = f"{name!r} is given twice." if name in found else f"{text!r} has no TOOL=."
            raise UsageError(
                what,
                where=Where(key="--diameter"),
                remedy="Write the tool's name and its actual diameter, such as "
                "--diameter rough-drum=58.5.",
            )
        found[name] = _length(value.strip(), "--diameter")
    return found


def parse_resume(text: str) -> tuple[str, str | None]:
    """Read ``TOOL`` or ``TOOL,PART``.

    Parameters
    ----------
    text : str
        As given with ``--resume-at``.

    Returns
    -------
    (str, str or None)
        Tool and part.
    """
    tool, _, part = (bit.strip() for bit in text.partition(","))
    if not tool:
        raise UsageError(
            f"{text!r} names no tool.",
            where=Where(key="--resume-at"),
            remedy="Write TOOL or TOOL,PART, such as --resume-at rough-drum,p03.",
        )
    return tool, part or None


def parse_place(texts: Iterable[str], drawings: Sequence[str]) -> tuple[Placement, ...]:
    """Read ``[DRAWING=]X,Y[,ROTATION]``.

    Parameters
    ----------
    texts : iterable of str
        As given with ``--place``; X and Y in millimetres, ROTATION in degrees.
    drawings : sequence of str
        The drawings of the load; a place without a name is the only drawing's.

    Raises
    ------
    UsageError
        No such numbers, or no name although there are several drawings.
    """
    chosen = list(texts)
    if not chosen:
        return ()
    from edgetime.load import Placement  # noqa: PLC0415  brings numpy

    found: list[Placement] = []
    for text in chosen:
        # A drawing's name may hold "=" itself; the numbers never do.
        name, sign, numbers = text.rpartition("=")
        try:
            values = [float(bit) for bit in numbers.split(",")]
        except ValueError:
            values = []
        if len(values) not in {2, 3} or not all(map(isfinite, values)):
            raise UsageError(
                f"{text!r} is not a place.",
                where=Where(key="--place"),
                remedy="Write X,Y or X,Y,ROTATION in millimetres and degrees, with DRAWING= "
                "before it when there are several drawings.",
            )
        if not sign and len(drawings) > 1:
            raise UsageError(
                f"{text!r} does not say which of the {len(drawings)} drawings it places.",
                where=Where(key="--place"),
                remedy=f'Write --place "{drawings[-1]}={numbers}".',
            )
        found.append(
            Placement(
                drawing=name if sign else 0,
                x_mm=values[0],
                y_mm=values[1],
                rotation_rad=radians(values[2]) if len(values) > 2 else 0.0,
            )
        )
    return tuple(found)


def parse_copies(texts: Iterable[str], drawings: Sequence[str]) -> tuple[Copies, ...]:
    """Read ``[DRAWING=]N``.

    Parameters
    ----------
    texts : iterable of str
        As given with ``--copies``.
    drawings : sequence of str
        The drawings of the load; a number without a name is the only drawing's.

    Raises
    ------
    UsageError
        No whole number, or no name although there are several drawings.
    """
    chosen = list(texts)
    if not chosen:
        return ()
    from edgetime.load import Copies  # noqa: PLC0415  brings numpy

    found: list[Copies] = []
    for text in chosen:
        name, sign, number = text.rpartition("=")
        count = number.strip()
        if not (count.isascii() and count.isdecimal()) or len(count) > _LONGEST_COUNT:
            raise UsageError(
                f"{text!r} is not a number of copies.",
                where=Where(key="--copies"),
                remedy="Write the number of copies on the table, such as 3, with DRAWING= "
                "before it when there are several drawings.",
            )
        if not sign and len(drawings) > 1:
            raise UsageError(
                f"{text!r} does not say which of the {len(drawings)} drawings is copied.",
                where=Where(key="--copies"),
                remedy=f'Write --copies "{drawings[-1]}={count}".',
            )
        found.append(Copies(name if sign else 0, int(count)))
    return tuple(found)


def load_shop(
    shop: str | None,
    layers: str | None,
    layer: Sequence[str] | None = None,
    profile: str | None = None,
    cutout_profile: str | None = None,
) -> Catalogue:
    """Load the catalogue that the common options name.

    Parameters
    ----------
    shop, layers : str or None
        As given with ``--shop`` and ``--layers``.
    layer : sequence of str or None
        As given with ``--layer``.
    profile, cutout_profile : str or None
        As given with ``--profile`` and ``--cutout-profile``.
    """
    from edgetime.tooling import load_catalogue  # noqa: PLC0415  of no use to --help

    return load_catalogue(
        find_shop_folder(shop),
        layers=None if layers is None else Path(layers),
        layer_rules=layer or (),
        profile=profile,
        cutout_profile=cutout_profile,
    )
