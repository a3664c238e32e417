"""Problems that do not stop the work: coded, collected, never printed from here.

A :class:`Code` is declared once, in the ``codes`` module of the stage that finds
it, with the text the reference page is generated from. A :class:`Finding` is one
occurrence, with its own message and place.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from enum import StrEnum
from types import ModuleType

from edgetime.errors import Where
from edgetime.records import HIDDEN, figure


class Severity(StrEnum):
    """How much a finding matters."""

    NOTE = "note"
    WARNING = "warning"
    ERROR = "error"

    @property
    def rank(self) -> int:
        """Order of the severities, 0 for a note."""
        return list(Severity).index(self)


@dataclass(frozen=True, slots=True)
class Code:
    """A kind of finding.

    Attributes
    ----------
    name : str
        Stable slug, part of the JSON contract (``open-chain``).
    severity : Severity
        What an occurrence counts as unless it says otherwise.
    meaning : str
        One or two sentences for the reference page.
    remedy : str
        What to do about it.
    """

    name: str
    severity: Severity
    meaning: str
    remedy: str


def note(name: str, meaning: str, remedy: str) -> Code:
    """Return a kind of finding that changes no figure, or is as intended."""
    return Code(name, Severity.NOTE, meaning, remedy)


def warning(name: str, meaning: str, remedy: str) -> Code:
    """Return a kind of finding that can make a figure wrong; ``--strict`` fails on it."""
    return Code(name, Severity.WARNING, meaning, remedy)


def error(name: str, meaning: str, remedy: str) -> Code:
    """Return a kind of finding that makes a figure wrong unless it is mended."""
    return Code(name, Severity.ERROR, meaning, remedy)


@dataclass(frozen=True, slots=True)
class Finding:
    """One occurrence of a :class:`Code`.

    Attributes
    ----------
    kind : Code
        What was found.
    message : str
        The occurrence, with its numbers: what it has and what it needs.
    where : Where
        The place in the user's data.
    level : Severity or None
        Overrides the kind's severity.
    cure : str or None
        Overrides the kind's remedy, where more is known about this occurrence.
    add : tuple of str
        Options of the command line that would mend it.
    """

    kind: Code = field(metadata=HIDDEN)
    message: str
    where: Where = field(default_factory=Where)
    level: Severity | None = field(default=None, metadata=HIDDEN)
    cure: str | None = field(default=None, metadata=HIDDEN)
    add: tuple[str, ...] = field(default=(), metadata=HIDDEN)

    @property
    @figure
    def code(self) -> str:
        """The kind's slug."""
        return self.kind.name

    @property
    @figure
    def severity(self) -> Severity:
        """The severity of this occurrence."""
        return self.level if self.level is not None else self.kind.severity

    @property
    @figure
    def remedy(self) -> str:
        """What to do about it."""
        return self.kind.remedy if self.cure is None else self.cure


def codes_in(module: ModuleType) -> tuple[Code, ...]:
    """Return the codes a module declares or takes over, in its order.

    Parameters
    ----------
    module : module
        A stage's ``codes``.
    """
    return tuple(value for value in vars(module).values() if isinstance(value, Code))


def worst(findings: Iterable[Finding]) -> Severity | None:
    """Return the highest severity among the findings, None for none."""
    return max((f.severity for f in findings), key=lambda s: s.rank, default=None)
