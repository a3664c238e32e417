"""Findings, the worst first, alike ones together, each with what to do."""

from __future__ import annotations

from collections.abc import Iterable

from edgetime.findings import Finding, Severity
from edgetime.report.document import Block, Heading, Line, Tone
from edgetime.report.text import count
from edgetime.report.wording import in_units, place_in_units
from edgetime.units import UnitSystem

SHOWN = 4
"""Occurrences of one kind that are written out; the rest are counted."""

_TONE = {
    Severity.ERROR: Tone.ERROR,
    Severity.WARNING: Tone.WARNING,
    Severity.NOTE: Tone.PLAIN,
}


def tally(findings: Iterable[Finding]) -> str:
    """Count findings by severity.

    Returns
    -------
    str
        ``1 error, 2 warnings``, ``none``.
    """
    counts = dict.fromkeys(reversed(Severity), 0)
    for finding in findings:
        counts[finding.severity] += 1
    return ", ".join(count(n, str(s)) for s, n in counts.items() if n) or "none"


def _said(finding: Finding, system: UnitSystem, decimal: str) -> str:
    """Return a message in the units of the screen, the user's own names as they are."""
    where = finding.where
    names = (where.layer, where.part, where.path)
    return in_units(finding.message, system, names=names, decimal=decimal)


def cannot_run_parts(
    findings: Iterable[Finding],
    system: UnitSystem,
    *,
    what: str = "This load",
    decimal: str = ".",
) -> list[Block]:
    """Return the lines above a result that errors spoil; none without an error.

    Parameters
    ----------
    findings : iterable of Finding
        Of all stages.
    system : UnitSystem
        Units of the messages.
    what : str
        What cannot run.
    decimal : str
        Decimal sign of the screen.

    Returns
    -------
    list of blocks
        That the load cannot run as drawn, and one line for each kind of error.
    """
    groups: dict[str, list[Finding]] = {}
    for finding in findings:
        if finding.severity is Severity.ERROR:
            groups.setdefault(finding.code, []).append(finding)
    if not groups:
        return []
    number = sum(map(len, groups.values()))
    parts: list[Block] = [
        Line(f"{what} cannot run as drawn: {count(number, 'error')}.", tone=Tone.ERROR)
    ]
    for code, group in list(groups.items())[:SHOWN]:
        times = f", {len(group)} times" if len(group) > 1 else ""
        parts.append(Line(f"{code}{times}: {_said(group[0], system, decimal)}", indent=2, hang=4))
    if len(groups) > SHOWN:
        parts.append(Line(f"and {len(groups) - SHOWN} other kinds; see the findings.", indent=2))
    return parts


def kinds_text(findings: Iterable[Finding]) -> str:
    """Count findings by severity and name their kinds.

    Returns
    -------
    str
        ``2 warnings (inside-radius)``, ``none``.
    """
    listed = list(findings)
    kinds = dict.fromkeys(f.code for f in listed if f.severity.rank >= Severity.WARNING.rank)
    named = f" ({', '.join(kinds)})" if kinds else ""
    return tally(listed) + named


def finding_parts(
    findings: Iterable[Finding],
    system: UnitSystem = UnitSystem.METRIC,
    *,
    decimal: str = ".",
) -> list[Block]:
    """Return the section on findings.

    Returns
    -------
    list of blocks
        A heading, then per kind its occurrences with their places, and the remedy once.
    """
    listed = list(findings)
    parts: list[Block] = [Heading(f"Findings: {tally(listed)}")]
    groups: dict[tuple[Severity, str], list[Finding]] = {}
    for finding in listed:
        groups.setdefault((finding.severity, finding.code), []).append(finding)
    for severity in reversed(Severity):
        for (level, code), group in groups.items():
            if level is severity:
                parts += _group(severity, code, group, system, decimal)
    return parts


def _group(
    severity: Severity, code: str, group: list[Finding], system: UnitSystem, decimal: str
) -> list[Block]:
    number = f", {len(group)} times" if len(group) > 1 else ""
    parts: list[Block] = [Line(f"{severity} {code}{number}", indent=2, tone=_TONE[severity])]
    for finding in group[:SHOWN]:
        place, message = place_in_units(finding.where, system), _said(finding, system, decimal)
        text = f"{message} ({place})" if place else message
        parts.append(Line(text, indent=4))
    if len(group) > SHOWN:
        parts.append(Line(f"and {len(group) - SHOWN} more; --format json lists all.", indent=4))
    if group[0].remedy:
        parts.append(
            Line(f"What to do: {in_units(group[0].remedy, system, decimal=decimal)}", indent=4)
        )
    return parts
