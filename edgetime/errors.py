"""Every error edgetime raises on purpose, and the exit code each one ends in.

An error says *what* is wrong, *where* (file, layer, handle, key, line, place on
the table) and the *remedy*. Problems that do not stop the work are findings
(:mod:`edgetime.findings`), not errors.

The module imports nothing of edgetime but the form of records, so everything may import it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, ClassVar

from edgetime.records import as_json, written


@dataclass(frozen=True, slots=True, kw_only=True)
class Where:
    """A place in the user's data. Every field may be missing.

    In JSON the first five are always present, the rest only if set.

    Attributes
    ----------
    path : str or None
        File as the user named it.
    layer, handle : str or None
        Layer and entity handle inside a drawing.
    x_mm, y_mm : float or None
        Place in the drawing's world coordinates [mm].
    line : int or None
        Line of a text file, counted from 1.
    key : str or None
        Dotted key inside a TOML file, or an option such as ``--thickness``.
    part : str or None
        The part's id.
    """

    path: str | None = None
    layer: str | None = None
    handle: str | None = None
    x_mm: float | None = None
    y_mm: float | None = None
    line: int | None = field(default=None, metadata=written(optional=True))
    key: str | None = field(default=None, metadata=written(optional=True))
    part: str | None = field(default=None, metadata=written(optional=True))

    def __str__(self) -> str:
        bits: list[str] = []
        if self.path is not None:
            bits.append(self.path if self.line is None else f"{self.path}:{self.line}")
        elif self.line is not None:
            bits.append(f"line {self.line}")
        if self.key is not None:
            bits.append(self.key)
        if self.part is not None:
            bits.append(f"part {self.part}")
        if self.layer is not None:
            bits.append(f"layer {self.layer}")
        if self.handle is not None:
            bits.append(f"handle {self.handle}")
        if self.x_mm is not None and self.y_mm is not None:
            bits.append(f"at ({self.x_mm:.1f}, {self.y_mm:.1f}) mm")
        return ", ".join(bits)


class EdgetimeError(Exception):
    """Root of all errors raised on purpose.

    Parameters
    ----------
    what : str
        One sentence: what is wrong, with the value found and the value allowed.
    where : Where, optional
        The place in the user's data.
    remedy : str, optional
        What the user does next.
    others : sequence of EdgetimeError, optional
        Further errors found in the same go (``check`` reports all at once).
    add : sequence of str, optional
        Options that, added to the command line, let the command work.
    """

    code: ClassVar[str] = "error"
    exit_code: ClassVar[int] = 70

    def __init__(
        self,
        what: str,
        *,
        where: Where | None = None,
        remedy: str = "",
        others: Sequence[EdgetimeError] = (),
        add: Sequence[str] = (),
    ) -> None:
        self.what = what
        self.where = where if where is not None else Where()
        self.remedy = remedy
        self.others = tuple(others)
        self.add = tuple(add)
        super().__init__(what)

    def __str__(self) -> str:
        where = str(self.where)
        text = f"{where}: {self.what}" if where else self.what
        return f"{text} {self.remedy}" if self.remedy else text

    def json_form(self) -> dict[str, Any]:
        """Return the ``edgetime.error/1`` document."""
        out: dict[str, Any] = {
            "schema": "edgetime.error/1",
            "code": self.code,
            "what": self.what,
            "where": as_json(self.where),
            "remedy": self.remedy,
        }
        if self.add:
            out["add_options"] = list(self.add)
        if self.others:
            out["others"] = [
                {
                    "code": other.code,
                    "what": other.what,
                    "where": as_json(other.where),
                    "remedy": other.remedy,
                }
                for other in self.others
            ]
        return out


class UsageError(EdgetimeError):
    """An invalid option or argument (exit code 2)."""

    code = "usage"
    exit_code = 2


class InputError(EdgetimeError):
    """A file from outside that cannot be used (exit code 3)."""

    code = "input"
    exit_code = 3


class DrawingUnreadable(InputError):
    """The file is missing, not a DXF, too damaged, or without geometry."""

    code = "drawing-unreadable"


class DrawingUnitsUnknown(InputError):
    """Neither the drawing nor an option gives the drawing's units."""

    code = "drawing-units-unknown"


class LimitExceeded(InputError):
    """The input is larger than a stated limit."""

    code = "limit-exceeded"


class CatalogueInvalid(InputError, ValueError):
    """A TOML file of the shop or the catalogue has errors."""

    code = "catalogue-invalid"


class PipelineInvalid(InputError, ValueError):
    """The list of jobs has errors."""

    code = "pipeline-invalid"


class UnitInvalid(InputError, ValueError):
    """A quantity without a unit, or with a unit of another dimension."""

    code = "unit-invalid"


class PlanError(EdgetimeError):
    """The inputs are valid, but no plan is possible (exit code 4)."""

    code = "plan"
    exit_code = 4


class StackMissing(PlanError):
    """No tool stack suits this stone, thickness or profile."""

    code = "stack-missing"


class CannotRun(PlanError):
    """A load has errors: it cannot run as drawn."""

    code = "cannot-run"


class NothingToCut(PlanError):
    """Nothing in the load needs a tool."""

    code = "nothing-to-cut"


class MotionInfeasible(PlanError):
    """The machine's limits do not allow motion along a path."""

    code = "motion-infeasible"


class LedgerError(EdgetimeError):
    """The wear and consumption ledger cannot do what was asked (exit code 5)."""

    code = "ledger"
    exit_code = 5


class InternalError(EdgetimeError):
    """A bug of ours (exit code 70)."""

    code = "internal"
    exit_code = 70
