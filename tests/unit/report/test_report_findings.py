"""Findings on the screen."""

from __future__ import annotations

from support.screens import shown

from edgetime.errors import Where
from edgetime.findings import Code, Finding, Severity
from edgetime.report.findings import finding_parts, tally

NOTE = Code("a-note", Severity.NOTE, "meaning", "Nothing.")
WARNING = Code("a-warning", Severity.WARNING, "meaning", "Turn the knob.")
ERROR = Code("an-error", Severity.ERROR, "meaning", "Stop.")


def test_tally() -> None:
    """The worst first, one and many told apart."""
    found = [Finding(NOTE, "n"), Finding(ERROR, "e"), Finding(NOTE, "n")]
    assert tally(found) == "1 error, 2 notes"
    assert tally([]) == "none"


def test_worst_first_with_place_and_remedy() -> None:
    """Errors stand before warnings before notes, whatever order they came in."""
    text = shown(
        finding_parts(
            [
                Finding(NOTE, "by the way"),
                Finding(ERROR, "all is lost", Where(path="a.dxf", layer="L", x_mm=1.0, y_mm=2.0)),
                Finding(WARNING, "take care"),
            ]
        )
    )
    assert text.index("all is lost") < text.index("take care") < text.index("by the way")
    assert "a.dxf, layer L, at (1.0, 2.0) mm" in " ".join(text.split())
    assert "What to do: Turn the knob." in text


def test_alike_findings_stand_together() -> None:
    """Many of one kind are counted, a few shown, the remedy told once."""
    text = shown(finding_parts([Finding(WARNING, f"number {i}") for i in range(30)]))
    assert "a-warning, 30 times" in text
    assert text.count("number ") == 4
    assert "and 26 more" in text
    assert text.count("Turn the knob.") == 1


def test_severity_of_the_occurrence_counts() -> None:
    """A finding that is worse than its kind is grouped by what it is."""
    text = shown(finding_parts([Finding(NOTE, "grave", level=Severity.ERROR)]))
    assert "error a-note" in text
    assert "Findings: 1 error" in text
