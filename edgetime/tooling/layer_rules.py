"""Layer rules given as options: reading them, and putting them before those of the files."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Collection, Iterable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

from edgetime.errors import UsageError, Where
from edgetime.tooling.layers import NAMED, RULE_KEYS, LayerRule, Meaning, option_text
from edgetime.tooling.suggest import suggest

if TYPE_CHECKING:
    from edgetime.tooling.catalogue import Catalogue

LAYER_OPTION: Final = "--layer"
PROFILE_OPTION: Final = "--profile"
CUTOUT_PROFILE_OPTION: Final = "--cutout-profile"

_FORM: Final = "LAYER=MEANING or LAYER=MEANING:PROFILE"
_RULE: Final = re.compile(r"(?P<match>.+?)=(?P<means>[^=:]*)(?P<more>(?::[^:]*)*)", re.DOTALL)


def parse_layer_rule(text: str, profiles: Collection[str]) -> LayerRule:
    """Read a rule given as an option or to the Python API.

    Parameters
    ----------
    text : str
        ``LAYER=MEANING[:PROFILE[:METHOD]][:notch=WORD]``: ``0=outline``,
        ``POL*=edge:flat-polish``, ``SINK*=cutout:flat-polish:precut``,
        ``APRON=cutout:eased:notch=milled``.
    profiles : collection of str
        Names the catalogue knows.

    Raises
    ------
    UsageError
        No rule, or one with an unknown meaning, profile or method.
    """
    found = _RULE.fullmatch(text)
    match = "" if found is None else found["match"].strip()
    if found is None or not match:
        raise _refused(
            f"{text!r} is not a layer rule.",
            f'Write {_FORM}, such as {LAYER_OPTION} "0=outline". Meanings: {", ".join(Meaning)}.',
        )
    means = found["means"].strip().casefold()
    if means not in set(Meaning):
        if means in profiles:
            hint = f'{means} is a profile: write {LAYER_OPTION} "{match}=edge:{means}".'
        else:
            hint = suggest(means, Meaning, "Meanings")
        raise _refused(f"No layer can mean {means!r}.", hint)
    given = _given(text, [bit.strip().casefold() for bit in found["more"].split(":")[1:]])
    for name, value in given.items():
        key = RULE_KEYS[name]
        if means not in key.only:
            raise _refused(
                f"A layer that means {means} has no {name}; found {value!r}.",
                f"Write {match}={means}. A {name} applies to: {', '.join(sorted(key.only))}.",
            )
        words = getattr(key.kind, "words", None)
        if words is None:
            _check_profile(value, profiles, LAYER_OPTION)
        elif value not in words:
            raise _refused(f"There is no {name} {value!r}.", suggest(value, words))
    if means == Meaning.EDGE and "profile" not in given:
        raise _refused(
            "An edge needs a profile.",
            f'Write {LAYER_OPTION} "{match}=edge:PROFILE". Profiles: {", ".join(profiles)}.',
        )
    return LayerRule(match, Meaning(means), **given, source=LAYER_OPTION)


def _given(text: str, bits: Sequence[str]) -> dict[str, Any]:
    """Return what an option says behind the meaning, by place or by name."""
    places = iter([name for name in RULE_KEYS if name not in NAMED])
    seen: set[str] = set()
    out: dict[str, Any] = {}
    for bit in bits:
        before, sign, after = (word.strip() for word in bit.partition("="))
        name = before if sign else next(places, "")
        if name not in RULE_KEYS or name in seen:
            raise _refused(
                f"{bit!r} in {text!r} cannot be read.",
                f"Behind the meaning go {', '.join(RULE_KEYS)}, each once, such as "
                "cutout:flat-polish:milled or cutout:flat-polish:notch=milled.",
            )
        seen.add(name)
        said = after if sign else before
        if said:
            out[name] = said
    return out


def _refused(what: str, remedy: str, key: str = LAYER_OPTION) -> UsageError:
    return UsageError(what, where=Where(key=key), remedy=remedy)


def _check_profile(name: str, profiles: Collection[str], key: str) -> None:
    if name not in profiles:
        raise _refused(f"There is no profile {name!r}.", suggest(name, profiles), key)


def with_layer_options(
    catalogue: Catalogue,
    rules: Sequence[str | LayerRule] = (),
    *,
    profile: str | None = None,
    cutout_profile: str | None = None,
) -> Catalogue:
    """Return a catalogue whose layer rules begin with those of the options.

    Its digest covers them; without any it is the catalogue itself.

    Parameters
    ----------
    catalogue : Catalogue
        The shop's.
    rules : sequence of str or LayerRule
        As for :func:`parse_layer_rule`; the earlier one wins.
    profile, cutout_profile : str, optional
        Profile of edges of outlines, and of openings, that nothing else names.

    Raises
    ------
    UsageError
        A rule or a profile that cannot be.
    """
    if not rules and profile is None and cutout_profile is None:
        return catalogue
    names = tuple(catalogue.profiles)
    for name, key in ((profile, PROFILE_OPTION), (cutout_profile, CUTOUT_PROFILE_OPTION)):
        if name is not None:
            _check_profile(name, names, key)
    first = tuple(parse_layer_rule(r, names) if isinstance(r, str) else r for r in rules)
    layers = catalogue.layers
    return replace(
        catalogue,
        layers=replace(
            layers,
            rules=(*first, *layers.rules),
            default_profile=profile or layers.default_profile,
            cutout_profile=cutout_profile or layers.cutout_profile,
        ),
        digest=_digest(catalogue.digest, map(option_text, first), profile, cutout_profile),
    )


def _digest(before: str, rules: Iterable[str], *profiles: str | None) -> str:
    facts = [before, *rules, *(f"\0{p or ''}" for p in profiles)]
    return hashlib.sha256("\n".join(facts).encode()).hexdigest()
