"""Collect the findings of one drawing, in a fixed order and a readable number."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from typing import Protocol

from edgetime.errors import Where
from edgetime.findings import Code, Finding, Severity, codes_in
from edgetime.takeoff import codes

FINDINGS_PER_CODE = 20
"""More findings of one kind are summed up in one line: nobody reads a thousand."""


class Drawn(Protocol):
    """Anything with a layer and a handle: an entity, a contour, a text, a hole."""

    @property
    def layer(self) -> str:
        """Layer it is drawn on."""

    @property
    def handle(self) -> str:
        """Handle in the file, empty for none."""


class Notes:
    """Findings of one drawing while it is taken off.

    Parameters
    ----------
    path : str
        The drawing's path.
    """

    def __init__(self, path: str) -> None:
        self._path = path
        self._all: list[Finding] = []

    def add(
        self,
        code: Code,
        message: str,
        *,
        of: Drawn | None = None,
        layer: str | None = None,
        at: Iterable[float] | None = None,
        level: Severity | None = None,
        cure: str | None = None,
    ) -> None:
        """Add one finding; ``at`` is its place (x, y) [mm]."""
        x, y = (None, None) if at is None else (float(v) for v in at)
        layer, handle = (layer, None) if of is None else (of.layer, of.handle or None)
        where = Where(path=self._path, layer=layer, handle=handle, x_mm=x, y_mm=y)
        self._all.append(Finding(code, message, where, level, cure))

    def listed(self) -> tuple[Finding, ...]:
        """Return the findings by kind and place, long lists summed up."""
        by_code: dict[str, list[Finding]] = defaultdict(list)
        for finding in self._all:
            by_code[finding.code].append(finding)
        out: list[Finding] = []
        for code in codes_in(codes):
            own = sorted(by_code[code.name], key=_order)
            out += own[:FINDINGS_PER_CODE]
            more = own[FINDINGS_PER_CODE:]
            if more:
                level = max((f.severity for f in more), key=lambda s: s.rank)
                text = f"{len(more)} more of this kind, {len(own)} in all."
                out.append(Finding(code, text, Where(path=self._path), level))
        return tuple(out)


def _order(finding: Finding) -> tuple[str, str, float, float, str]:
    w = finding.where
    x = 0.0 if w.x_mm is None else round(w.x_mm, 3)
    y = 0.0 if w.y_mm is None else round(w.y_mm, 3)
    return (w.layer or "", (w.handle or "").zfill(16), x, y, finding.message)
