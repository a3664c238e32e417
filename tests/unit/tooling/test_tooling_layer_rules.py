"""A shop's rules beside the shipped ones, and rules given as options."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgetime.errors import CatalogueInvalid, UsageError
from edgetime.takeoff import LayerRule, LayerRules, Meaning
from edgetime.tooling import check_shop, find_shop, load_catalogue
from edgetime.tooling.layer_rules import parse_layer_rule
from edgetime.tooling.layers import MEANINGS, RULE_KEYS, option_text
from edgetime.tooling.read_record import read_record
from edgetime.tooling.toml_file import TomlFile

OWN = """
add_to_shipped = true

[[layer]]
match = "SINK*"
means = "ignore"

[[layer]]
match = "FRONT"
means = "edge"
profile = "eased"
"""


def _shop(tmp_path, text=OWN):
    path = tmp_path / "layers.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_own_rules_come_first_and_shipped_ones_follow(tmp_path):
    """The first match wins, so a shop's rule overrides the shipped one of the same layers."""
    _shop(tmp_path)
    shipped, own = load_catalogue().layers, load_catalogue(tmp_path).layers
    assert own.rules[2:] == shipped.rules
    assert own.rule_for("SINK 1").means is Meaning.IGNORE
    assert shipped.rule_for("SINK 1").means is Meaning.CUTOUT
    assert own.rule_for("OUTLINE") == shipped.rule_for("OUTLINE")
    assert own.rule_for("FRONT").source == f"{tmp_path}/layers.toml:8"
    assert own.rule_for("OUTLINE").source.startswith("shipped/layers.toml:")
    assert check_shop(tmp_path) == []


def test_without_the_key_a_file_replaces_the_shipped_rules(tmp_path):
    """As it always was."""
    _shop(tmp_path, OWN.replace("true", "false"))
    assert len(load_catalogue(tmp_path).layers.rules) == 2


def test_a_file_given_by_itself_may_add_too(tmp_path):
    """--layers FILE adds to the shipped rules."""
    path = _shop(tmp_path)
    rules = load_catalogue(layers=path).layers
    assert len(rules.rules) == 2 + len(load_catalogue().layers.rules)


def test_shipped_rules_count_in_the_digest(tmp_path):
    """Two shops that differ in the key alone have different digests."""
    _shop(tmp_path)
    one = load_catalogue(tmp_path).digest
    _shop(tmp_path, OWN.replace("true", "false"))
    assert load_catalogue(tmp_path).digest != one


def test_the_key_must_be_true_or_false(tmp_path):
    """A text is no flag; the error has its line."""
    _shop(tmp_path, OWN.replace("true", '"yes"'))
    with pytest.raises(CatalogueInvalid, match="neither true nor false") as caught:
        load_catalogue(tmp_path)
    assert caught.value.where.line == 2


@pytest.mark.parametrize(
    ("text", "rule"),
    [
        ("0=outline", LayerRule("0", Meaning.OUTLINE)),
        ("POL*=edge:flat-polish", LayerRule("POL*", Meaning.EDGE, "flat-polish")),
        ("A=B = Cutout : EASED : precut", LayerRule("A=B", Meaning.CUTOUT, "eased", "precut")),
        ("S=cutout::milled", LayerRule("S", Meaning.CUTOUT, None, "milled")),
        ("S=cutout:notch=milled", LayerRule("S", Meaning.CUTOUT, notch="milled")),
        (
            "A=B=cutout:eased:notch=outline",
            LayerRule("A=B", Meaning.CUTOUT, "eased", notch="outline"),
        ),
        ("X:Y=keep-out", LayerRule("X:Y", Meaning.KEEP_OUT)),
    ],
)
def test_a_rule_as_an_option(text, rule):
    """Meaning, profile and method after the last equals sign; writing it gives it back."""
    profiles = ("eased", "flat-polish")
    assert parse_layer_rule(text, profiles) == rule
    assert parse_layer_rule(option_text(rule), profiles) == rule


_PROFILES = ("eased", "flat-polish")


@st.composite
def _rules(draw):
    means = draw(st.sampled_from(Meaning))
    keys = {
        name: draw(st.sampled_from((None, *getattr(key.kind, "words", _PROFILES))))
        for name, key in RULE_KEYS.items()
        if means in key.only
    }
    if means is Meaning.EDGE:
        keys["profile"] = keys["profile"] or "eased"
    match = draw(st.text(alphabet="AZaz019_-. *$:", min_size=1).filter(lambda m: m == m.strip()))
    return LayerRule(match, means, **keys)


@given(_rules())
def test_every_rule_can_be_said_as_an_option(rule):
    """Whatever it means and whichever keys it has; a file takes the same words."""
    assert parse_layer_rule(option_text(rule), _PROFILES) == rule
    table = {"match": rule.match, "means": str(rule.means)}
    table |= {k: v for k in RULE_KEYS if (v := getattr(rule, k)) is not None}
    file = TomlFile("rules", "", b"", {"layer": [table]})
    read, errors = read_record(LayerRules, file)
    assert errors == []
    assert read.rules == (rule,)


@pytest.mark.parametrize(
    "path", ["docs/howto/draw-for-edgetime.md", "tooling_profiles/layers.toml"]
)
def test_every_meaning_is_told_where_rules_are_written(path):
    """The table of the how-to and the head of the shipped file name each."""
    text = (Path(__file__).parents[3] / path).read_text(encoding="utf-8")
    told = re.findall(r'^\| `([a-z-]+)`|^#(?: means =)? +"([a-z-]+)"', text, re.MULTILINE)
    assert {a or b for a, b in told} >= set(Meaning)
    assert set(MEANINGS) == set(Meaning)


def test_earlier_options_win_and_defaults_are_put_in():
    """Options go before the rules of files; the digest covers them."""
    plain = load_catalogue()
    own = load_catalogue(
        layer_rules=["SINK*=hole", LayerRule("SINK*", Meaning.IGNORE)],
        profile="eased",
        cutout_profile="bevel",
    )
    assert own.layers.rule_for("SINK").means is Meaning.HOLE
    assert (own.layers.default_profile, own.layers.cutout_profile) == ("eased", "bevel")
    assert own.layers.rules[2:] == plain.layers.rules
    assert own.digest != plain.digest
    assert load_catalogue().digest == plain.digest
    with pytest.raises(UsageError, match="There is no profile 'easd'"):
        load_catalogue(profile="easd")


def test_cutout_profile_of_a_file(tmp_path):
    """An unknown profile is an error there as in default_profile."""
    _shop(tmp_path, 'cutout_profile = "easd"\n')
    with pytest.raises(CatalogueInvalid, match="There is no profile 'easd'"):
        load_catalogue(tmp_path)
    _shop(tmp_path, 'cutout_profile = "eased"\n')
    assert load_catalogue(tmp_path).layers.cutout_profile == "eased"


def test_a_folder_with_layers_alone_is_found(tmp_path):
    """layers.toml beside the drawings serves where no shop folder is above; a shop wins."""
    inner = tmp_path / "jobs"
    inner.mkdir()
    _shop(inner)
    assert find_shop(inner) == inner
    (tmp_path / "shop.toml").write_text("", encoding="utf-8")
    assert find_shop(inner) == tmp_path
