"""The options for the meaning of drawing layers."""

from __future__ import annotations

from typing import Annotated

import typer

from edgetime.cli.options import complete_from
from edgetime.tooling.layers import Meaning

LayersOption = Annotated[
    str | None,
    typer.Option(
        "--layers", metavar="FILE", help="Layer rules to use instead of the shop's layers.toml."
    ),
]
LayerRuleOption = Annotated[
    list[str] | None,
    typer.Option(
        "--layer",
        metavar="LAYER=MEANING[:PROFILE]",
        help="Meaning of a layer, before the rules in files: '0=outline', "
        "'POL*=edge:flat-polish', 'SINK*=cutout:flat-polish', 'STOPS=keep-out'; may be repeated. "
        f"Meanings: {', '.join(Meaning)}.",
    ),
]
ProfileOption = Annotated[
    str | None,
    typer.Option(
        "--profile",
        metavar="NAME",
        autocompletion=complete_from("profiles"),
        help="Profile of outline edges not set by the drawing.",
    ),
]
CutoutProfileOption = Annotated[
    str | None,
    typer.Option(
        "--cutout-profile",
        metavar="NAME",
        autocompletion=complete_from("profiles"),
        help="Profile of openings not set by the drawing; otherwise they stay unfinished.",
    ),
]
