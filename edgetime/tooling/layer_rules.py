"""What layers mean: the rules of a file, those that come with the program, those of options."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from edgetime.errors import CatalogueInvalid, UsageError, Where
from edgetime.takeoff.rules import (
    RULE_KEYS,
    LayerRule,
    LayerRules,
    Meaning,
    RuleKey,
    option_text,
)
from edgetime.tooling.model import Catalogue
from edgetime.tooling.toml_file import TomlFile
from edgetime.tooling.words import closest, suggest

if TYPE_CHECKING:
    from edgetime.tooling.schema import LayersFile, LayerTable

LAYER_OPTION: Final = "--layer"
PROFILE_OPTION: Final = "--profile"
CUTOUT_PROFILE_OPTION: Final = "--cutout-profile"

_FORM: Final = "LAYER=MEANING or LAYER=MEANING:PROFILE"
_RULE: Final = re.compile(r"(?P<match>.+?)=(?P<means>[^=:]*)(?P<more>(?::[^:]*)*)", re.DOTALL)


def build_layers(
    table: LayersFile,
    file: TomlFile,
    errors: list[CatalogueInvalid],
    profiles: Collection[str] | None,
) -> LayerRules:
    """Make the rules of one file; append what is wrong with them to ``errors``.

    Parameters
    ----------
    table : LayersFile
        As checked.
    file : TomlFile
        Where it comes from.
    errors : list of CatalogueInvalid
        Takes what is wrong.
    profiles : collection of str or None
        Names the catalogue knows; None to look none up.
    """
    for key in ("default_profile", "cutout_profile"):
        errors.extend(_unknown(getattr(table, key), key, file, profiles))
    seen: dict[str, int] = {}
    for number, rule in enumerate(table.layer, 1):
        errors.extend(_rule_errors(rule, f"layer[{number}]", file, profiles))
        first = seen.setdefault(rule.match.casefold(), number)
        if first != number:
            errors.append(
                file.error(
                    f"{rule.match!r} is already matched by rule {first}; this one is never used.",
                    key=f"layer[{number}].match",
                    remedy="Remove one of them.",
                )
            )
    return LayerRules(
        rules=tuple(
            LayerRule(
                r.match,
                Meaning(r.means),
                r.profile,
                r.method,
                r.notch,
                source=_place(file, number),
            )
            for number, r in enumerate(table.layer, 1)
        ),
        default_profile=table.default_profile,
        source=file.name,
        gap_mm=table.gap,
        cutout_profile=table.cutout_profile,
    )


def _place(file: TomlFile, number: int) -> str:
    line = file.lines.get(f"layer[{number}]")
    return file.name if line is None else f"{file.name}:{line}"


def _unknown(
    profile: str | None, key: str, file: TomlFile, profiles: Collection[str] | None
) -> Iterator[CatalogueInvalid]:
    if profile is not None and profiles is not None and profile not in profiles:
        yield file.error(
            f"There is no profile {profile!r}.", key=key, remedy=suggest(profile, profiles)
        )


def _rule_errors(
    rule: LayerTable, at: str, file: TomlFile, profiles: Collection[str] | None
) -> Iterator[CatalogueInvalid]:
    yield from _unknown(rule.profile, f"{at}.profile", file, profiles)
    if rule.means == Meaning.EDGE and rule.profile is None:
        yield file.error(
            "An edge needs a profile.", key=f"{at}.profile", remedy='Add profile = "...".'
        )
    for key in RULE_KEYS:
        if getattr(rule, key.name) is not None and rule.means not in key.takers:
            yield file.error(
                f"{key.name} does not apply to a layer that means {rule.means}.",
                key=f"{at}.{key.name}",
                remedy=f"Remove it; it applies to: {', '.join(key.takers)}.",
            )


def add_shipped(own: LayerRules, shipped: LayerRules) -> LayerRules:
    """Return a shop's rules followed by those that come with the program.

    Parameters
    ----------
    own : LayerRules
        They come first and so win; gap and default profiles are theirs.
    shipped : LayerRules
        For layers that no rule of the shop matches.
    """
    return replace(
        own,
        rules=(*own.rules, *shipped.rules),
        source=f"{own.source} and {shipped.source}",
    )


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

    Returns
    -------
    LayerRule
        The rule.

    Raises
    ------
    UsageError
        No rule, or one with an unknown meaning, profile or method.
    """
    found = _RULE.fullmatch(text)
    match = "" if found is None else found["match"].strip()
    if found is None or not match:
        raise _refused(
            f"{text!r} is no layer rule.",
            f'Write {_FORM}, such as {LAYER_OPTION} "0=outline". Meanings: {", ".join(Meaning)}.',
        )
    means = found["means"].strip().casefold()
    if means not in set(Meaning):
        if means in profiles:
            hint = f'{means} is a profile: write {LAYER_OPTION} "{match}=edge:{means}".'
        else:
            near = closest(means, Meaning)
            hint = f"Did you mean {near}? " if near else ""
            hint += f"Meanings: {', '.join(Meaning)}."
        raise _refused(f"No layer can mean {means!r}.", hint)
    given = _given(text, [bit.strip().casefold() for bit in found["more"].split(":")[1:]])
    for key, value in given.items():
        if means not in key.takers:
            raise _refused(
                f"A layer that means {means} has no {key.name}; found {value!r}.",
                f"Write {match}={means}. A {key.name} applies to: {', '.join(key.takers)}.",
            )
        if key.words is None:
            _check_profile(value, profiles, LAYER_OPTION)
        elif value not in key.words:
            raise _refused(f"There is no {key.name} {value!r}.", suggest(value, key.words))
    values = {key.name: value for key, value in given.items()}
    if means == Meaning.EDGE and "profile" not in values:
        raise _refused(
            "An edge needs a profile.",
            f'Write {LAYER_OPTION} "{match}=edge:PROFILE". Profiles: {", ".join(profiles)}.',
        )
    return LayerRule(match, Meaning(means), **values, source=LAYER_OPTION)


def _given(text: str, bits: Sequence[str]) -> dict[RuleKey, str]:
    """Return what an option says behind the meaning, by place or by name."""
    places = iter([key for key in RULE_KEYS if not key.named])
    named = {key.name: key for key in RULE_KEYS}
    out: dict[RuleKey, str] = {}
    for bit in bits:
        name, sign, value = (word.strip() for word in bit.partition("="))
        key = named.get(name) if sign else next(places, None)
        if key is None or key in out:
            raise _refused(
                f"{bit!r} in {text!r} cannot be read.",
                f"Behind the meaning go {', '.join(named)}, each once, such as "
                "cutout:flat-polish:milled or cutout:flat-polish:notch=milled.",
            )
        said = value if sign else name
        if said:
            out[key] = said
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
