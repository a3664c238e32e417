"""Proposed layer rules, and what the drawings are with them."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import starmap
from typing import TYPE_CHECKING, Final

from edgetime.report.columns import COUNT, EDGE, TEXT, Column, Sheet
from edgetime.report.cycle import drawing_parts
from edgetime.report.document import Block, Heading, Line, Table
from edgetime.report.findings import tally
from edgetime.report.text import count, length_column, length_header
from edgetime.takeoff.layer_use import LayerUse
from edgetime.takeoff.proposals import Proposal
from edgetime.takeoff.unused import matches_any
from edgetime.tooling.layers import LayerRule, meaning_text, option_text
from edgetime.units import UnitSystem

if TYPE_CHECKING:
    from edgetime.estimating.layering import LayerPlan

LAYERS: Final = Sheet[tuple[str, LayerUse]](
    (
        Column(key="drawing", get=lambda row: row[0]),
        Column(key="layer", heading="Layer", get=lambda row: row[1].layer),
        Column(key="length_mm", heading="Length", unit=EDGE, get=lambda row: row[1].length_mm),
        Column(key="curves", heading="Curves", unit=COUNT, get=lambda row: row[1].curves),
        Column(key="means", heading="Means", get=lambda row: row[1].means),
        Column(key="profile", heading="Profile", get=lambda row: row[1].profile),
        Column(key="match", heading="Rule", get=lambda row: row[1].rule and row[1].rule.match),
        Column(key="method", get=lambda row: row[1].rule and row[1].rule.method),
        Column(key="notch", get=lambda row: row[1].rule and row[1].rule.notch),
        Column(key="state", get=lambda row: row[1].state),
        Column(key="rule_from", get=lambda row: row[1].rule and row[1].rule.source),
    )
)
"""The layers of drawings, each with the drawing's path, and what the rules make of them."""

RULES: Final = Sheet[LayerRule](
    (
        Column(key="match", heading="Layer", get=lambda r: r.match),
        Column(key="means", heading="Means", get=lambda r: str(r.means)),
        Column(key="profile", heading="Profile", get=lambda r: r.profile),
        Column(key="method", get=lambda r: r.method),
        Column(key="notch", get=lambda r: r.notch),
        Column(key="rule_from", heading="From", get=lambda r: r.source),
    )
)
"""Layer rules in their order."""

PROPOSALS: Final = Sheet[Proposal](
    (
        Column(key="layer", heading="Layer", get=lambda p: p.layer),
        Column(key="length_mm", heading="Length", unit=EDGE, get=lambda p: p.length_mm),
        Column(key="curves", heading="Curves", unit=COUNT, get=lambda p: p.curves),
        Column(key="closed", heading="Closed", unit=COUNT, get=lambda p: p.closed or None),
        Column(key="texts", unit=COUNT, get=lambda p: p.texts or None),
        Column(key="rule", get=lambda p: option_text(p.rule)),
        Column(key="meaning", heading="Proposed", get=lambda p: meaning_text(p.rule)),
        Column(key="means", get=lambda p: str(p.rule.means)),
        Column(key="profile", get=lambda p: p.rule.profile),
        Column(key="confidence", heading="How sure", get=lambda p: str(p.confidence)),
        Column(key="reason", unit=TEXT, get=lambda p: p.reason),
    )
)
"""Proposed rules."""


def rule_parts(rules: Sequence[LayerRule]) -> list[Block]:
    """Return the list of layer rules."""
    return [
        Heading("Layer rules, the first match counts"),
        Table(RULES, rules),
    ]


def layer_plan_parts(plan: LayerPlan, system: UnitSystem) -> list[Block]:
    """Return the screen of proposed rules."""
    return [*proposal_parts(plan, system), *_defaults(plan), *outcome_parts(plan, system)]


def proposal_parts(plan: LayerPlan, system: UnitSystem) -> list[Block]:
    """Return the drawings and the rules proposed for them."""
    parts: list[Block] = drawing_parts(plan.take_off.drawings, system)
    if plan.chosen:
        layers = [use.layer for d in plan.take_off.drawings for use in d.layers]
        given = ", ".join(
            option_text(rule) + ("" if matches_any(rule, layers) else " (matches no layer here)")
            for rule in plan.chosen
        )
        parts.append(Line(f"\nAs you say: {given}"))
    if plan.proposals:
        parts += [
            Heading("Proposed rules for layers without one"),
            Table(PROPOSALS, plan.proposals),
        ]
        parts += [Line(f"{p.layer}: {p.reason}", indent=2, hang=4) for p in plan.proposals]
    else:
        parts.append(Line("\nEvery layer with curves has a rule."))
    return parts


def _defaults(plan: LayerPlan) -> list[Block]:
    parts: list[Block] = []
    if plan.assumed:
        parts.append(
            Line(
                f"\nThe drawings name no profile: default_profile {plan.profile} is assumed for "
                "all outline edges except wall edges. Set another with --profile NAME.",
            )
        )
    elif plan.profile is not None:
        parts.append(Line(f"\ndefault_profile, for edges without a profile: {plan.profile}"))
    if plan.cutout_profile is not None:
        parts.append(Line(f"cutout_profile, for openings without a profile: {plan.cutout_profile}"))
    return parts


def outcome_parts(plan: LayerPlan, system: UnitSystem) -> list[Block]:
    """Return what the drawings are with the rules."""
    from edgetime.estimating.layering import lengths_by_profile  # noqa: PLC0415  with the plan

    found = plan.take_off
    counts = (
        (len(found.parts), "part"),
        (sum(len(p.cutouts) for p in found.parts), "cutout"),
        (sum(len(p.holes) for p in found.parts), "hole"),
    )
    listed = ", ".join(starmap(count, counts))
    edges = ", ".join(
        f"{name} {length_column(length, system)} {length_header(system)}"
        for name, length in lengths_by_profile(found).items()
    )
    parts: list[Block] = [Heading("With these rules"), Line(f"{listed}.")]
    if edges:
        parts.append(Line(f"Edges: {edges}.", hang=7))
    if found.findings:
        parts.append(Line(f"Findings: {tally(found.findings)}; edgetime takeoff lists them."))
    return parts
