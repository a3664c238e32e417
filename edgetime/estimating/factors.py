"""The lines of an explanation, and the hand that writes them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Factor:
    """One line of an explanation.

    Attributes
    ----------
    name : str
        What it is.
    value : float
        Its value in ``unit``.
    unit : str
        ``mm``, ``mm/s``, ``s``, ``-`` …
    seconds : float or None
        Its share of the tool's total [s]; None for a factor that only explains one.
    file, key, written : str
        The file and dotted key it comes from and the text written there; ``drawing`` for
        what the drawing gives, empty for what is computed.
    note : str
        The formula in words; its words are names of other lines.
    """

    name: str
    value: float
    unit: str
    seconds: float | None = None
    file: str = ""
    key: str = ""
    written: str = ""
    note: str = ""


class Teller:
    """Collects factors, looking up where each figure is written.

    Parameters
    ----------
    raw : mapping
        Texts of the catalogue's files by (file, key).
    """

    def __init__(self, raw: Mapping[tuple[str, str], str]) -> None:
        self.raw = raw
        self.factors: list[Factor] = []

    def fact(
        self, name: str, value: float, unit: str, note: str = "", *, file: str = "", key: str = ""
    ) -> None:
        """Add a factor that explains a time; computed, where neither file nor key is given."""
        written = self.raw.get((file, key), "")
        self.factors.append(
            Factor(
                name=name, value=value, unit=unit, file=file, key=key, written=written, note=note
            )
        )

    def time(
        self, name: str, seconds: float, note: str = "", *, file: str = "", key: str = ""
    ) -> None:
        """Add a term of the total [s]."""
        written = self.raw.get((file, key), "")
        self.factors.append(
            Factor(
                name=name,
                value=seconds,
                unit="s",
                seconds=seconds,
                file=file,
                key=key,
                written=written,
                note=note,
            )
        )
