"""The options for what is on the table, shared by every command that estimates a load."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated, Final

from edgetime.choices import CutoutMethod, RunOrder
from edgetime.cli.ask import ask, choose, switch
from edgetime.cli.layer_options import (
    CutoutProfileOption,
    LayerRuleOption,
    LayersOption,
    ProfileOption,
)
from edgetime.cli.options import (
    DrawingUnitsOption,
    ShopOption,
    factor_option,
    find_shop_folder,
    length_option,
    load_shop,
    parse_copies,
    parse_diameters,
    parse_place,
)
from edgetime.errors import UsageError, Where

if TYPE_CHECKING:
    from edgetime.estimating import Estimate
    from edgetime.load import Options
    from edgetime.takeoff import TakeOff
    from edgetime.tooling import Catalogue

MachineOption = Annotated[
    str | None, ask("NAME", "Machine; otherwise the shop's default.", "machines")
]
FeedOverrideOption = Annotated[
    str,
    ask(
        "FACTOR",
        "Factor on all cutting feeds, 0.8 or 80%, like the override on the controller.",
        show_default=True,
    ),
]


@dataclass(frozen=True, kw_only=True)
class ShopOptions:
    """The shop and the meaning of drawing layers, as typed."""

    shop: ShopOption = None
    layers: LayersOption = None
    layer: LayerRuleOption = None
    profile: ProfileOption = None
    cutout_profile: CutoutProfileOption = None

    def catalogue(self) -> Catalogue:
        """Load the catalogue that the options name."""
        return load_shop(self.shop, self.layers, self.layer, self.profile, self.cutout_profile)


@dataclass(frozen=True, kw_only=True)
class DrawnOptions(ShopOptions):
    """How drawings are read, as typed."""

    drawing_units: DrawingUnitsOption = None

    def take_off(self, drawings: list[str], catalogue: Catalogue) -> TakeOff:
        """Read the drawings."""
        from edgetime.estimating import read_take_off  # noqa: PLC0415  brings the reader

        return read_take_off(drawings, catalogue, drawing_units=self.drawing_units)


@dataclass(frozen=True, kw_only=True)
class _TableOptions:
    """What is on the table and how it is worked, as typed."""

    machine: MachineOption = None
    stone: Annotated[str | None, ask("NAME", "Stone of the load.", "stones")] = None
    thickness: Annotated[
        str | None, ask("LENGTH", "Nominal thickness: 30 (millimetres), '3 cm', '1-1/4 in'.")
    ] = None
    actual_thickness: Annotated[
        str | None, ask("LENGTH", "Measured thickness; otherwise nominal plus the stone's spread.")
    ] = None
    stack: Annotated[
        str | None, ask("NAME", "Tool stack; otherwise the shop's default.", "stacks")
    ] = None
    cutouts: Annotated[
        CutoutMethod | None, choose("How cutouts are made if their layer rule does not say.")
    ] = None
    feed_override: FeedOverrideOption = "1"
    order: Annotated[RunOrder | None, choose("Order in which a tool visits the edges.")] = None
    place: Annotated[
        list[str] | None,
        ask(
            "[DRAWING=]X,Y[,ROTATION]",
            "Turn a drawing by ROTATION degrees and put the lower left corner of its "
            "parts at X,Y on the table, in mm; may be repeated. Otherwise as drawn.",
        ),
    ] = None
    only: Annotated[
        list[str] | None,
        ask("PART", "Cut only these parts, by id or name, * for any text; may be repeated."),
    ] = None
    without: Annotated[
        list[str] | None,
        ask("PART", "Leave these parts out, by id or name, * for any text; may be repeated."),
    ] = None
    copies: Annotated[
        list[str] | None,
        ask(
            "[DRAWING=]N",
            "Place a drawing N times on the table, in rows with room for the wheels; may be "
            "repeated.",
        ),
    ] = None
    apart: Annotated[
        str | None,
        ask(
            "LENGTH",
            "Gap between the parts on both sides of a seam, so that wheels reach both of them.",
        ),
    ] = None
    diameter: Annotated[
        list[str] | None,
        ask(
            "TOOL[/PROFILE]=LENGTH",
            "Actual diameter of a mounted tool, or of the wheel ground to one profile; may be "
            "repeated.",
        ),
    ] = None
    mounted: Annotated[
        bool,
        switch(
            "--mounted",
            "Use the diameters last measured of the tools mounted on this machine, from the "
            "shop's ledger or that in EDGETIME_LEDGER; --diameter goes before.",
        ),
    ] = False


# The fields of the last base come first.
@dataclass(frozen=True, kw_only=True)
class LoadOptions(DrawnOptions, _TableOptions):
    """All options of a load, as typed; None means the shop's default.

    The fields, in their order, are the options of every command that takes this block.
    """

    def options(self, drawings: Sequence[str], ledger: str | None = None) -> Options:
        """Read the texts of the options of a load.

        ``ledger`` is where ``--mounted`` looks, for commands that name one.

        Raises
        ------
        UsageError
            A text cannot be read.
        """
        thickness_mm = length_option(self.thickness, "--thickness")
        actual_mm = length_option(self.actual_thickness, "--actual-thickness")
        diameters_mm = parse_diameters(self.diameter or ())
        measured: dict[str, str] | None = None
        if self.mounted:
            from edgetime.cli.ledger.mounted import diameters_of  # noqa: PLC0415  when asked for

            found = diameters_of(self.catalogue(), self.machine, self.shop, ledger)
            found = {name: one for name, one in found.items() if name not in diameters_mm}
            diameters_mm |= {name: one.diameter_mm for name, one in found.items()}
            measured = {name: one.piece for name, one in found.items()}
        from edgetime.load import Options, PartChoice  # noqa: PLC0415  brings numpy

        return Options(
            drawing_units=self.drawing_units,
            machine=self.machine,
            stone=self.stone,
            stack=self.stack,
            thickness_mm=thickness_mm,
            actual_mm=actual_mm,
            cutout_method=self.cutouts,
            feed_override=factor_option(self.feed_override, "--feed-override"),
            order=self.order,
            place=parse_place(self.place or (), drawings),
            diameters_mm=diameters_mm,
            measured=measured,
            choice=PartChoice(
                only=tuple(self.only or ()),
                without=tuple(self.without or ()),
                copies=parse_copies(self.copies or (), drawings),
                apart_mm=length_option(self.apart, "--apart"),
            ),
        )

    def estimate(self, drawings: list[str], ledger: str | None = None) -> Estimate:
        """Read the options' texts and estimate the drawings as one load."""
        options = self.options(drawings, ledger)
        from edgetime.estimating import estimate  # noqa: PLC0415  brings the reader

        return estimate(
            drawings,
            options,
            shop=find_shop_folder(self.shop),
            layers=self.layers,
            layer_rules=self.layer or (),
            profile=self.profile,
            cutout_profile=self.cutout_profile,
        )

    def without_drawing(self) -> Options:
        """Return the choices for parts without a drawing.

        Raises
        ------
        UsageError
            An option is about parts on the table.
        """
        for name in ("place", "only", "without", "copies", "apart"):
            if getattr(self, name):
                raise UsageError(
                    f"--{name} is about the parts of a drawing, and no drawing is named.",
                    where=Where(key=f"--{name}"),
                    remedy=f"Name a drawing, or leave --{name} out.",
                )
        return replace(self, drawing_units=None).options(())


AS_THE_SHOP_HAS_IT: Final = LoadOptions()
THE_SHOP: Final = ShopOptions()
AS_DRAWN: Final = DrawnOptions()
"""No option given."""
