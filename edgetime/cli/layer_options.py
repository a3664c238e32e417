"""The options for the meaning of drawing layers."""

from __future__ import annotations

from typing import Annotated

from edgetime.cli.ask import ask
from edgetime.tooling.layers import Meaning

LayersOption = Annotated[
    str | None, ask("FILE", "Layer rules to use instead of the shop's layers.toml.")
]
LayerRuleOption = Annotated[
    list[str] | None,
    ask(
        "LAYER=MEANING[:PROFILE]",
        "Meaning of a layer, before the rules in files: '0=outline', "
        "'POL*=edge:flat-polish', 'SINK*=cutout:flat-polish', 'STOPS=keep-out'; may be repeated. "
        f"Meanings: {', '.join(Meaning)}.",
    ),
]
ProfileOption = Annotated[
    str | None, ask("NAME", "Profile of outline edges not set by the drawing.", "profiles")
]
CutoutProfileOption = Annotated[
    str | None,
    ask(
        "NAME",
        "Profile of openings not set by the drawing; otherwise they stay unfinished.",
        "profiles",
    ),
]
