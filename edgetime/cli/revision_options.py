"""The options for two revisions of a drawing."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Annotated, Final

from edgetime.cli.ask import ask, switch
from edgetime.cli.load_options import DrawnOptions, LoadOptions
from edgetime.cli.options import length_option
from edgetime.errors import PlanError, UsageError, Where

if TYPE_CHECKING:
    from edgetime.comparison import Revision
    from edgetime.takeoff import TakeOff
    from edgetime.tooling import Catalogue


@dataclass(frozen=True, kw_only=True)
class AgainstOptions:
    """Which revision to compare with, and how closely, as typed."""

    against: Annotated[
        list[str] | None,
        ask(
            "DRAWING",
            "Earlier revision: show what changed since; may be repeated where the load is in "
            "several drawings.",
        ),
    ] = None
    tolerance: Annotated[
        str | None,
        ask("LENGTH", "With --against, lines this near are the same. [default: 0.1 mm]"),
    ] = None

    def check(self) -> None:
        """Refuse what has a meaning only beside an earlier revision.

        Raises
        ------
        UsageError
            An option is given without ``--against``.
        """
        if self.against:
            return
        for field in fields(self):
            if getattr(self, field.name):
                raise UsageError(
                    f"--{field.name} is for comparing revisions, and there is no --against.",
                    where=Where(key=f"--{field.name}"),
                    remedy=f"Add --against OLD.dxf, or leave --{field.name} out.",
                )


@dataclass(frozen=True, kw_only=True)
class RevisionOptions(AgainstOptions):
    """The revision to compare with, and what both are made with, as typed."""

    machine: Annotated[
        str | None, ask("NAME", "With --against, the machine of both times.", "machines")
    ] = None
    stone: Annotated[
        str | None, ask("NAME", "With --against, the stone of both times.", "stones")
    ] = None
    thickness: Annotated[
        str | None, ask("LENGTH", "With --against, the nominal thickness of both.")
    ] = None
    stack: Annotated[
        str | None, ask("NAME", "With --against, the tool stack of both times.", "stacks")
    ] = None
    price: Annotated[bool, switch("--price", "With --against, compare prices too.")] = False

    def revision(self, new: TakeOff, catalogue: Catalogue, drawn: DrawnOptions) -> Revision:
        """Compare a take-off with that of the earlier revision.

        Times are calculated only if anything has changed.

        Raises
        ------
        UsageError
            An option cannot be read.
        PlanError
            A price is asked for, and one of the loads cannot be timed.
        """
        load = LoadOptions(
            **{f.name: getattr(drawn, f.name) for f in fields(drawn)},
            machine=self.machine, stone=self.stone, thickness=self.thickness, stack=self.stack,
        ).options(())  # fmt: skip
        from edgetime.comparison.revisions import with_times  # noqa: PLC0415  not for --help
        from edgetime.estimating import estimate_take_off  # noqa: PLC0415  as above

        old = drawn.take_off(self.against or [], catalogue)
        made = compare(new, old, self.tolerance)
        if not made.changed and not made.moved and not self.price:
            return made
        try:
            after, before = (estimate_take_off(t, catalogue, load) for t in (new, old))
        except PlanError as error:
            if self.price:
                raise
            return made.not_timed(error.what)
        return with_times(made, after, before, price=self.price)


def compare(new: TakeOff, old: TakeOff, tolerance: str | None) -> Revision:
    """Compare two take-offs within a tolerance as typed."""
    from edgetime.comparison.revisions import (  # noqa: PLC0415  not for --help
        TOLERANCE_MM,
        compare_revisions,
    )

    given = length_option(tolerance, "--tolerance")
    return compare_revisions(new, old, tolerance_mm=TOLERANCE_MM if given is None else given)


UNREVISED: Final = AgainstOptions()
ALONE: Final = RevisionOptions()
"""No other revision."""
