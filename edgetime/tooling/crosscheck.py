"""What refers to what: names across files, and shares of the steps of a stack."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final

from edgetime.errors import CatalogueInvalid
from edgetime.places import Place
from edgetime.tooling.defaults import ShopDefaults
from edgetime.tooling.layers import LayerRules
from edgetime.tooling.profiles import Profile
from edgetime.tooling.stacks import Operation, Stack, Step
from edgetime.tooling.suggest import suggest
from edgetime.tooling.toml_file import TomlFile
from edgetime.tooling.tools import Tool, ToolKind

SHARE_SUM_TOLERANCE: Final = 1e-6
"""The shares of a profile may miss 1 by this: the rounding of printed percentages."""

_FITS: Final[dict[Operation, frozenset[ToolKind]]] = {
    Operation.CORE: frozenset({ToolKind.CORE_BIT}),
    Operation.CUT: frozenset({ToolKind.FINGER_BIT}),
    Operation.ROUGH: frozenset({ToolKind.DRUM, ToolKind.PROFILE_WHEEL}),
    Operation.SEAM: frozenset({ToolKind.DRUM, ToolKind.PROFILE_WHEEL}),
    Operation.GAUGE: frozenset({ToolKind.GAUGE_WHEEL}),
    Operation.PROFILE: frozenset({ToolKind.PROFILE_WHEEL, ToolKind.DRUM}),
    Operation.FINE: frozenset({ToolKind.PROFILE_WHEEL, ToolKind.POLISH_PAD}),
    Operation.POLISH: frozenset({ToolKind.POLISH_PAD, ToolKind.PROFILE_WHEEL}),
}

Names = Mapping[str, tuple[str, ...]]


def _unknown(
    file: TomlFile, key: str, what: str, name: str, known: tuple[str, ...]
) -> CatalogueInvalid:
    return file.error(f"There is no {what} {name!r}.", key=key, remedy=suggest(name, known))


def cross_check(
    items: Mapping[str, Mapping[str, Any]],
    shop: ShopDefaults | None,
    names: Names,
    files: Mapping[str, TomlFile],
) -> list[CatalogueInvalid]:
    """Check the references between files.

    Parameters
    ----------
    items : mapping
        Kind → name → record, those without errors of their own.
    shop : ShopDefaults or None
        The shop's defaults, when they are sound.
    names : mapping
        Kind → all names that have a file, sound or not: a reference to a broken file is not a
        separate error.
    files : mapping
        Name of the file → the parsed file.
    """
    errors: list[CatalogueInvalid] = []
    families = tuple(dict.fromkeys(s.family for s in items["stones"].values()))
    stones = (*names["stones"], *(f for f in families if f not in names["stones"]))
    for tool in items["tools"].values():
        errors.extend(
            _unknown(files[tool.file], f"life[{number}].stone", "stone", life.stone, stones)
            for number, life in enumerate(tool.life, 1)
            if life.stone is not None and life.stone not in stones
        )
    for stack in items["stacks"].values():
        errors.extend(_check_stack(stack, items, names, stones, files[stack.file]))
    if shop is not None:
        errors.extend(_check_shop(shop, items, names, files[shop.file]))
    return errors


def unknown_profiles(
    rules: LayerRules, profiles: tuple[str, ...], file: TomlFile
) -> Iterator[CatalogueInvalid]:
    """Yield the profiles of layer rules that the catalogue does not know."""
    named = {
        "default_profile": rules.default_profile,
        "cutout_profile": rules.cutout_profile,
        **{f"layer[{n}].profile": rule.profile for n, rule in enumerate(rules.rules, 1)},
    }
    for key, name in named.items():
        if name is not None and name not in profiles:
            yield _unknown(file, key, "profile", name, profiles)


def _check_stack(
    stack: Stack,
    items: Mapping[str, Mapping[str, Any]],
    names: Names,
    stones: tuple[str, ...],
    file: TomlFile,
) -> list[CatalogueInvalid]:
    errors = [
        _unknown(file, "stones", "stone", name, stones)
        for name in stack.stones
        if name not in stones
    ]
    profiles: dict[str, Profile] = dict(items["profiles"])
    families = tuple(dict.fromkeys(p.family for p in profiles.values()))
    for step in stack.steps:
        if step.tool not in names["tools"]:
            errors.append(_unknown(file, f"{step.key}.tool", "tool", step.tool, names["tools"]))
        else:
            errors.extend(_check_fit(step, items["tools"].get(step.tool), file))
        errors.extend(
            _unknown(
                file,
                f"{step.key}.applies_to",
                "profile or family of profiles",
                name,
                (*families, *names["profiles"]),
            )
            for name in step.applies_to
            if name not in families and name not in names["profiles"]
        )
    return [*errors, *_check_shares(stack, profiles, file)]


def _check_fit(step: Step, tool: Tool | None, file: TomlFile) -> list[CatalogueInvalid]:
    if tool is None or tool.kind in _FITS[step.operation]:
        return []
    fitting = ", ".join(sorted(_FITS[step.operation]))
    return [
        file.error(
            f"{step.tool!r} is a {tool.kind}; the operation {step.operation} needs one of: "
            f"{fitting}.",
            key=f"{step.key}.tool",
            remedy="Name another tool, or correct the operation.",
        )
    ]


def _check_shares(
    stack: Stack, profiles: Mapping[str, Profile], file: TomlFile
) -> list[CatalogueInvalid]:
    wrong: dict[tuple[str, float], list[str]] = {}
    for profile in profiles.values():
        if not (profile.finished and profile.made_here):
            continue
        for place in (Place.OUTER, Place.CUTOUT):
            steps = [
                s
                for s in stack.steps
                if s.operation.finishing
                and place in s.places
                and s.makes(profile.name, profile.family)
            ]
            total = sum(s.share for s in steps)
            if steps and abs(total - 1.0) > SHARE_SUM_TOLERANCE:
                who = f"{profile.name} ({place})"
                wrong.setdefault((f"{steps[-1].key}.share", total), []).append(who)
    return [
        file.error(
            f"The shares of the steps for {', '.join(who)} add up to {100.0 * total:.6g} %, "
            "not to 100 %.",
            key=key,
            remedy="Correct share in the steps profile, fine and polish that apply to them.",
        )
        for (key, total), who in wrong.items()
    ]


def _check_shop(
    shop: ShopDefaults,
    items: Mapping[str, Mapping[str, Any]],
    names: Names,
    file: TomlFile,
) -> list[CatalogueInvalid]:
    errors = [
        _unknown(file, key, key, name, names[kind])
        for key, name, kind in (
            ("machine", shop.machine, "machines"),
            ("stone", shop.stone, "stones"),
            ("stack", shop.stack, "stacks"),
        )
        if name not in names[kind]
    ]
    stack: Stack | None = items["stacks"].get(shop.stack)
    stone = items["stones"].get(shop.stone)
    if stack is None:
        return errors
    # A stack that names an unknown stone has its own error; it is not reported twice.
    known = {n for s in items["stones"].values() for n in (s.name, s.family)}
    if stone is not None and known.issuperset(stack.stones) and not stack.suits_stone(stone):
        errors.append(
            file.error(
                f"The stack {stack.name!r} does not serve {stone.name!r}; it serves: "
                f"{', '.join(stack.stones)}.",
                key="stack",
                remedy="Name another stack or another stone.",
            )
        )
    if not stack.suits_thickness(shop.thickness_mm):
        served = ", ".join(f"{t:g}" for t in stack.thicknesses_mm)
        errors.append(
            file.error(
                f"The stack {stack.name!r} does not serve {shop.thickness_mm:g} mm; it serves: "
                f"{served} mm.",
                key="thickness",
                remedy="Name another thickness or another stack.",
            )
        )
    return errors
