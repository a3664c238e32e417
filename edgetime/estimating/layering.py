"""Rules for the layers of somebody's first drawings: proposed, tried, ready to be written."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from edgetime.drawing import Drawing, read_drawing
from edgetime.estimating.reading import check_named_once
from edgetime.takeoff import LayerRule, TakeOff, take_off
from edgetime.takeoff.proposals import UNWORKED, Proposal, propose
from edgetime.tooling import Catalogue
from edgetime.tooling.layer_rules import parse_layer_rule
from edgetime.tooling.layers import USUAL_PROFILE


@dataclass(frozen=True)
class LayerPlan:
    """Rules for layers that no rule knows, and what the drawings are with them.

    Attributes
    ----------
    catalogue : Catalogue
        What is known.
    proposals : tuple of Proposal
        One per unknown layer.
    chosen : tuple of LayerRule
        Rules that the user gave; they come first.
    profile, cutout_profile : str or None
        Defaults to be written, None for none.
    assumed : bool
        Whether ``profile`` is an assumption: nothing in the drawings names a profile.
    take_off : TakeOff
        The drawings with all these rules.
    """

    catalogue: Catalogue
    proposals: tuple[Proposal, ...]
    chosen: tuple[LayerRule, ...]
    profile: str | None
    cutout_profile: str | None
    assumed: bool
    take_off: TakeOff
    _drawings: tuple[Drawing, ...] = field(repr=False, default=())

    @property
    def empty(self) -> bool:
        """Whether there is nothing to be written."""
        return not (self.proposals or self.chosen or self.profile or self.cutout_profile)

    def with_answers(
        self, proposals: Sequence[Proposal], profile: str | None, *, assumed: bool
    ) -> LayerPlan:
        """Return the plan with proposals and default profile as somebody settled them."""
        changed = replace(self, proposals=tuple(proposals), profile=profile, assumed=assumed)
        return replace(changed, take_off=_take_off(changed))


def lengths_by_profile(parts: TakeOff) -> dict[str, float]:
    """Return the length of each profile over all drawings [mm]."""
    out: dict[str, float] = {}
    for drawing in parts.drawings:
        for name, length in drawing.lengths_by_profile_mm.items():
            out[name] = out.get(name, 0.0) + length
    return dict(sorted(out.items()))


def plan_layers(
    drawings: Sequence[str | Path],
    catalogue: Catalogue,
    *,
    rules: Sequence[str | LayerRule] = (),
    profile: str | None = None,
    cutout_profile: str | None = None,
    drawing_units: str | None = None,
) -> LayerPlan:
    """Propose rules for the layers of drawings that no rule knows.

    Parameters
    ----------
    drawings : sequence of path
        DXF files of one office.
    catalogue : Catalogue
        Gives the known rules, profile names and core bits.
    rules : sequence of str or LayerRule
        Rules that are settled, such as ``"0=outline"``.
    profile, cutout_profile : str, optional
        Defaults to be written; where nothing names any profile, ``eased`` is assumed for
        outlines.
    drawing_units : str, optional
        What the drawings' numbers mean; from each file when omitted.

    Raises
    ------
    InputError
        A drawing cannot be used.
    UsageError
        A rule cannot be, or a drawing is named twice.
    """
    check_named_once(drawings)
    names = tuple(catalogue.profiles)
    chosen = tuple(parse_layer_rule(r, names) if isinstance(r, str) else r for r in rules)
    read = tuple(read_drawing(path, drawing_units=drawing_units) for path in drawings)
    known = replace(catalogue.layers, rules=(*chosen, *catalogue.layers.rules))
    plan = LayerPlan(
        catalogue=catalogue,
        proposals=propose(
            read,
            known,
            profiles=names,
            core_diameters_mm=catalogue.core_diameters_mm(),
            edge_profile=profile,
        ),
        chosen=chosen,
        profile=profile,
        cutout_profile=cutout_profile,
        assumed=False,
        take_off=TakeOff(()),
        _drawings=read,
    )
    plan = replace(plan, take_off=_take_off(plan))
    made = lengths_by_profile(plan.take_off)
    if made and not set(made) - UNWORKED and profile is None and known.default_profile is None:
        return plan.with_answers(plan.proposals, USUAL_PROFILE, assumed=True)
    return plan


def _take_off(plan: LayerPlan) -> TakeOff:
    layers = plan.catalogue.layers
    return take_off(
        plan._drawings,  # noqa: SLF001  its own record
        replace(
            layers,
            rules=(*plan.chosen, *(p.rule for p in plan.proposals), *layers.rules),
            default_profile=plan.profile or layers.default_profile,
            cutout_profile=plan.cutout_profile or layers.cutout_profile,
        ),
        profiles=tuple(plan.catalogue.profiles),
        core_diameters_mm=plan.catalogue.core_diameters_mm(),
        contour_mm=plan.catalogue.shop.contour_tolerance_mm,
    )
