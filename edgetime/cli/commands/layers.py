"""``edgetime layers``."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from edgetime.cli.ask import argument, switch
from edgetime.cli.blocks import takes
from edgetime.cli.load_options import AS_DRAWN, DrawnOptions
from edgetime.cli.options import AS_A_TABLE, OutputOptions, find_shop_folder, load_shop
from edgetime.cli.output import Format, Result
from edgetime.errors import UsageError
from edgetime.units import UnitSystem

if TYPE_CHECKING:
    from edgetime.estimating.layering import LayerPlan
    from edgetime.report.document import Block
    from edgetime.takeoff.proposals import Proposal


@takes(choices=DrawnOptions, form=OutputOptions)
def layers_command(
    drawings: Annotated[
        list[str],
        argument(
            "DRAWING",
            "DXF files from one office: a layer has the same meaning in all of them.",
            show_default=False,
        ),
    ],
    write: Annotated[  # noqa: FBT002
        bool, switch("--write", "Write the proposed rules without asking.")
    ] = False,
    choices: DrawnOptions = AS_DRAWN,
    form: OutputOptions = AS_A_TABLE,
) -> Result:
    r"""Propose a rule for each layer without one, and write the rules.

    The meaning is proposed from the layer's name (English, German, French, Spanish, Italian)
    and what is on it: outlines, loops inside them, circles of a core bit's size, lines. In a
    terminal it asks where unsure and before writing; otherwise it prints the proposal. --write
    accepts it. Rules given with --layer are written before all others.

    They go into layers.toml of the shop folder, or into the file named by --layers; without
    either, a new layers.toml in the working folder adds them to the shipped rules. Comments in
    the file are kept.

    \b
    Examples:
      edgetime layers edgetime-demo/cafe-counters.dxf
      edgetime layers LOAD.dxf --write
      edgetime layers LOAD.dxf --layer "0=outline" --profile flat-polish --write
      edgetime layers A.dxf B.dxf --format json

    Exit codes: 0 1 2 3
    """
    from edgetime.estimating.layering import (  # noqa: PLC0415  brings numpy
        lengths_by_profile,
        plan_layers,
    )

    choices.catalogue()  # so that a slip in any option is reported
    # The plan begins without the options' own rules.
    catalogue = load_shop(choices.shop, choices.layers)
    named = None if choices.drawing_units is None else str(choices.drawing_units)
    plan = plan_layers(
        drawings,
        catalogue,
        rules=choices.layer or (),
        profile=choices.profile,
        cutout_profile=choices.cutout_profile,
        drawing_units=named,
    )
    system = form.system(catalogue)
    target = _target(choices.shop, choices.layers)
    asked = False
    if form.output is Format.TABLE and not write and not plan.empty and at_terminal():
        plan, write = _ask(plan, system, target)
        asked = True
    if write and not plan.empty:
        _write(plan, target, drawings)
    written = write and not plan.empty

    from edgetime.report.document import Table  # noqa: PLC0415  of no use to --help
    from edgetime.report.layers import PROPOSALS, RULES, layer_plan_parts  # noqa: PLC0415

    def answer() -> dict[str, Any]:
        return {
            "schema": "edgetime.layers/1",
            "drawings": [d.path for d in plan.take_off.drawings],
            "proposals": PROPOSALS.records(plan.proposals),
            "chosen": RULES.records(plan.chosen),
            "default_profile": plan.profile,
            "default_profile_assumed": plan.assumed,
            "cutout_profile": plan.cutout_profile,
            "parts": len(plan.take_off.parts),
            "lengths_by_profile_mm": lengths_by_profile(plan.take_off),
            "findings": plan.take_off.findings,
            "file": str(target),
            "written": written,
        }

    return Result(
        answer=answer,
        table=Table(PROPOSALS, plan.proposals),
        # Who was asked has seen it all.
        system=system,
        blocks=lambda: [] if asked else layer_plan_parts(plan, system),
        findings=plan.take_off.findings,
        hints=_hints(plan, drawings, named, target, written=written),
    )


def at_terminal() -> bool:
    """Return whether the command runs in a terminal and can ask."""
    return sys.stdin.isatty() and sys.stdout.isatty()


def _target(shop: str | None, layers: str | None) -> Path:
    """Return the file that rules go into."""
    if layers is not None:
        return Path(layers)
    folder = find_shop_folder(shop)
    path = (Path() if folder is None else folder) / "layers.toml"
    try:
        return path.relative_to(Path.cwd())
    except ValueError:
        return path


def _hints(
    plan: LayerPlan, drawings: list[str], units: str | None, target: Path, *, written: bool
) -> tuple[str, ...]:
    from edgetime.takeoff.layer_use import layers_command as command  # noqa: PLC0415
    from edgetime.takeoff.layer_use import shell_words  # noqa: PLC0415
    from edgetime.takeoff.proposals import ANSWERED  # noqa: PLC0415
    from edgetime.tooling.layers import option_text  # noqa: PLC0415

    options = (
        *(() if units is None else ("--drawing-units", units)),
        *plan.catalogue.layers.options,
    )
    following = shell_words(["edgetime", "estimate", *drawings, *options])
    if written:
        return (f"\nWritten to {target}. Next:\n  {following}",)
    if plan.empty:
        return (f"\nNothing to write. Next:\n  {following}",)
    said = (*plan.chosen, *(p.rule for p in plan.proposals if p.reason == ANSWERED))
    options += tuple(word for rule in said for word in ("--layer", option_text(rule)))
    for name, value in (
        ("--profile", None if plan.assumed else plan.profile),
        ("--cutout-profile", plan.cutout_profile),
    ):
        options += () if value is None else (name, value)
    return ("\nNothing is written yet. To write these rules:\n  " + command(drawings, options),)


def _write(plan: LayerPlan, target: Path, drawings: list[str]) -> None:
    from edgetime.tooling.layers_file import add_rules  # noqa: PLC0415  brings tomlkit

    names = ", ".join(Path(d).name for d in drawings)
    why = f"assumed: nothing in {names} names a profile" if plan.assumed else ""
    add_rules(
        target,
        first=plan.chosen,
        last=[(p.rule, p.reason) for p in plan.proposals],
        heading=f"for {names}",
        default_profile=None if plan.profile is None else (plan.profile, why),
        cutout_profile=None if plan.cutout_profile is None else (plan.cutout_profile, ""),
    )


def _ask(plan: LayerPlan, system: UnitSystem, target: Path) -> tuple[LayerPlan, bool]:
    """Ask about unsure layers, and whether to write; return the final plan."""
    from edgetime.report.layers import outcome_parts, proposal_parts  # noqa: PLC0415  of no use to --help
    from edgetime.takeoff.proposals import Confidence  # noqa: PLC0415  of no use to --help

    _show(proposal_parts(plan, system), system)
    names = tuple(plan.catalogue.profiles)
    unsure = sum(p.confidence is Confidence.UNSURE for p in plan.proposals)
    if unsure:
        what = "1 layer is unsure" if unsure == 1 else f"{unsure} layers are unsure"
        _say(
            f"\n{what}. Press Enter to accept the meaning in brackets, or type another; ? lists "
            "them."
        )
    proposals = [
        _ask_rule(p, names) if p.confidence is Confidence.UNSURE else p for p in plan.proposals
    ]
    profile, assumed = plan.profile, plan.assumed
    if assumed:
        profile, assumed = _ask_profile(plan.profile or "", names), False
    plan = plan.with_answers(proposals, profile, assumed=assumed)
    _show(outcome_parts(plan, system), system)
    typer.echo(err=True)
    write = typer.confirm(f"Write these rules to {target}?", default=True, err=True)
    return plan, write


def _show(blocks: list[Block], system: UnitSystem = UnitSystem.METRIC) -> None:
    from edgetime.report.document import Document  # noqa: PLC0415  of no use to --help
    from edgetime.report.screen import Screen  # noqa: PLC0415  of no use to --help

    typer.echo(Screen.of(sys.stderr).render(Document.of(blocks, system)), err=True, nl=False)


def _say(text: str, indent: int = 0) -> None:
    from edgetime.report.document import Line  # noqa: PLC0415  of no use to --help

    _show([Line(text, indent=indent)])


def _ask_rule(proposal: Proposal, profiles: tuple[str, ...]) -> Proposal:
    from edgetime.takeoff.proposals import with_rule  # noqa: PLC0415  of no use to --help
    from edgetime.tooling.layer_rules import parse_layer_rule  # noqa: PLC0415  as above
    from edgetime.tooling.layers import MEANINGS, Meaning, meaning_text  # noqa: PLC0415  as above

    match = proposal.rule.match
    said = meaning_text(proposal.rule)
    _say(f"\n{proposal.layer}: {proposal.reason}")
    while True:
        answer = typer.prompt(f"  {proposal.layer} means", default=said, err=True).strip()
        if answer == "?":
            for meaning, what in MEANINGS.items():
                form = f"{meaning}:PROFILE" if meaning is Meaning.EDGE else meaning
                _say(f"{form}: {what}", indent=4)
            _say(f"Profiles: {', '.join(profiles)}.", indent=4)
            continue
        if answer in profiles and answer not in set(Meaning):
            answer = f"{Meaning.EDGE}:{answer}"
        try:
            return with_rule(proposal, parse_layer_rule(f"{match}={answer}", profiles))
        except UsageError as error:
            _say(f"{error.what} {error.remedy}", indent=2)


def _ask_profile(assumed: str, profiles: tuple[str, ...]) -> str | None:
    from edgetime.tooling.suggest import suggest  # noqa: PLC0415  of no use to --help

    _say(
        "\nThe drawings name no profile for outline edges. Press Enter to accept the one in "
        "brackets, or type another profile, or none to leave them unfinished."
    )
    while True:
        answer = typer.prompt("  Profile", default=assumed, err=True).strip()
        if answer == "none":
            return None
        if answer in profiles:
            return str(answer)
        _say(f"There is no profile {answer!r}. {suggest(answer, profiles)}", indent=2)
