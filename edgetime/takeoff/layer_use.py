"""What is drawn on each layer of a drawing, and what the layer rules make of it."""

from __future__ import annotations

import os
import shlex
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

from edgetime.drawing.drawing import Drawing, LayerState
from edgetime.records import HIDDEN, figure, figure_merged
from edgetime.tooling.layers import LayerRule, LayerRules, Meaning

UNKNOWN: Final = "unknown"
"""The meaning of a layer that no rule matches."""


@dataclass(frozen=True, slots=True)
class LayerUse:
    """One layer of a drawing that carries curves.

    Attributes
    ----------
    layer : str
        Its name.
    length_mm : float
        Exact length of all curves on it, as drawn [mm].
    curves : int
        How many there are, each as often as it is shown.
    state : str
        ``shown``, ``off`` or ``frozen``.
    rule : LayerRule or None
        The first rule that matches, None for none.
    outline_profile, cutout_profile : str or None
        What openings and outlines get where nothing else names a profile.
    """

    layer: str
    length_mm: float
    curves: int
    state: str
    rule: LayerRule | None = field(metadata=HIDDEN)
    outline_profile: str | None = field(default=None, metadata=HIDDEN)
    cutout_profile: str | None = field(default=None, metadata=HIDDEN)

    @property
    @figure
    def means(self) -> str:
        """What the rule says it means, ``unknown`` where no rule matches."""
        return UNKNOWN if self.rule is None else str(self.rule.means)

    @property
    @figure
    def profile(self) -> str | None:
        """The profile its curves give, the default's where the rule names none."""
        if self.rule is None:
            return None
        fallback = {
            Meaning.OUTLINE: self.outline_profile,
            Meaning.CUTOUT: self.cutout_profile or "unfinished",
        }
        return self.rule.profile or fallback.get(self.rule.means)

    @property
    @figure_merged
    def by_rule(self) -> dict[str, str | None]:
        """What else the rule says, and where it is from: a file and line, or ``--layer``."""
        says = ("match", "method", "notch", "source")
        keys = ("match", "method", "notch", "rule_from")
        return {key: getattr(self.rule, name, None) for key, name in zip(keys, says, strict=True)}


def layer_uses(drawing: Drawing, rules: LayerRules) -> tuple[LayerUse, ...]:
    """Return every layer of a drawing that carries curves, by name."""
    count: dict[str, int] = {}
    for entity in drawing.entities:
        count[entity.layer] = count.get(entity.layer, 0) + 1
    return tuple(
        LayerUse(
            layer,
            length,
            count[layer],
            str(drawing.layers.get(layer, LayerState.SHOWN)),
            rules.rule_for(layer),
            rules.default_profile,
            rules.cutout_profile,
        )
        for layer, length in drawing.lengths_by_layer_mm().items()
    )


def shell_words(words: Sequence[str]) -> str:
    """Return words as a shell of this system takes them, quoted where they must be."""
    return subprocess.list2cmdline(words) if os.name == "nt" else shlex.join(words)


def layers_command(paths: Sequence[str], options: Sequence[str] = ()) -> str:
    """Return the command that proposes rules for the layers of drawings, and writes them.

    Parameters
    ----------
    paths : sequence of str
        The drawings as the user named them.
    options : sequence of str
        What the command needs besides, such as ``--drawing-units in``.
    """
    named = [f".{os.sep}{p}" if p.startswith("-") else p for p in paths]
    return shell_words(["edgetime", "layers", *named, *options, "--write"])
