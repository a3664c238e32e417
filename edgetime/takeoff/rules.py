"""Names of the layer rules, where they were before."""

from edgetime.tooling.layers import (
    CUTOUT_METHODS,
    MEANINGS,
    NOTCH_METHODS,
    RULE_KEYS,
    USUAL_PROFILE,
    LayerRule,
    LayerRules,
    Meaning,
    bare_layer,
    exact_match,
    meaning_text,
    option_text,
)

__all__ = [
    "CUTOUT_METHODS",
    "MEANINGS",
    "NOTCH_METHODS",
    "RULE_KEYS",
    "USUAL_PROFILE",
    "LayerRule",
    "LayerRules",
    "Meaning",
    "bare_layer",
    "exact_match",
    "meaning_text",
    "option_text",
]
