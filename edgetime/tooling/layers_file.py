"""Write rules into a layers file and leave the rest of it unchanged."""

from __future__ import annotations

import os
import tomllib
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from tempfile import NamedTemporaryFile
from typing import Any, Final

import tomlkit
from tomlkit.items import AoT, Array

from edgetime.errors import CatalogueInvalid, InputError, Where
from edgetime.tooling.layers import RULE_KEYS, LayerRule
from edgetime.tooling.toml_file import read_toml

NEW_FILE: Final = """\
# Meaning of the layers of our drawings. These rules come first; those that come with edgetime
# follow them (edgetime catalogue layers lists all). The first rule that matches a layer wins.
add_to_shipped = true
"""
"""How a new file begins."""


def add_rules(
    path: Path,
    *,
    first: Sequence[LayerRule] = (),
    last: Sequence[tuple[LayerRule, str]] = (),
    default_profile: tuple[str, str] | None = None,
    cutout_profile: tuple[str, str] | None = None,
    heading: str = "",
) -> None:
    """Add rules to a layers file, or make one that adds to the shipped rules.

    Comments and order of what is there are kept. The file appears whole or not at all.

    Parameters
    ----------
    path : Path
        The file.
    first : sequence of LayerRule
        Rules that go before all that are there.
    last : sequence of (LayerRule, str)
        Rules that go after them, each with a comment.
    default_profile, cutout_profile : (str, str), optional
        Value of the key and a comment.
    heading : str
        Comment above the rules that go last.

    Raises
    ------
    CatalogueInvalid
        The existing file is not TOML.
    InputError
        It cannot be written.
    """
    path = path.resolve()
    text = read_toml(path, str(path)).text if path.exists() else NEW_FILE
    newline = "\r\n" if "\r\n" in text else "\n"
    document = tomlkit.parse(text.replace("\r\n", "\n"))
    wanted = tomllib.loads(text)
    for key, given in (("default_profile", default_profile), ("cutout_profile", cutout_profile)):
        if given is not None:
            value, comment = given
            document[key] = tomlkit.string(value)
            if comment:
                document[key].comment(comment)
            wanted[key] = value
    rows = wanted.setdefault("layer", []) if first or last else []
    rows[:0] = [_plain(rule) for rule in first]
    rows += [_plain(rule) for rule, _ in last]
    _put(document, first, last, heading)
    made = tomlkit.dumps(document)
    # However the file was laid out, it must now mean what it meant and the new rules.
    if tomllib.loads(made) != wanted:
        raise CatalogueInvalid(
            "Rules cannot be added to this file as it is written.",
            where=Where(path=str(path)),
            remedy="Write its rules as [[layer]] tables at its end.",
        )
    _replace(path, made.replace("\n", newline))


def _plain(rule: LayerRule) -> dict[str, str]:
    given = {name: getattr(rule, name) for name in RULE_KEYS}
    return {
        "match": rule.match,
        "means": str(rule.means),
        **{key: value for key, value in given.items() if value is not None},
    }


def _put(
    document: tomlkit.TOMLDocument,
    first: Sequence[LayerRule],
    last: Sequence[tuple[LayerRule, str]],
    heading: str,
) -> None:
    if not first and not last:
        return
    if "layer" not in document:
        document.append("layer", tomlkit.aot())
    held: Any = document["layer"]
    if isinstance(held, Array):
        for rule in reversed(first):
            held.insert(0, _filled(tomlkit.inline_table(), rule))
        for rule, _ in last:
            held.append(_filled(tomlkit.inline_table(), rule))
    elif isinstance(held, AoT):
        for rule in reversed(first):
            held.insert(0, _table(rule, ""))
        for k, (rule, comment) in enumerate(last):
            held.append(_table(rule, comment, heading if k == 0 else ""))


def _filled(table: Any, rule: LayerRule) -> Any:
    for key, value in _plain(rule).items():
        table.add(key, value)
    return table


def _table(rule: LayerRule, comment: str, heading: str = "") -> Any:
    table = _filled(tomlkit.table(), rule)
    table.trivia.indent = f"\n# --- {heading}\n" if heading else "\n"
    if comment:
        table["match"].comment(comment)
    return table


def _replace(path: Path, text: str) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        mode = path.stat().st_mode & 0o777 if path.exists() else None
        with NamedTemporaryFile(
            dir=path.parent, prefix=f".{path.name}.", suffix=".new", delete=False
        ) as scratch:
            fresh = Path(scratch.name)
            try:
                scratch.write(text.encode())
                scratch.flush()
                fresh.chmod(0o644 if mode is None else mode)
                fresh.replace(path)
            except OSError:
                with suppress(FileNotFoundError):
                    fresh.unlink()
                raise
    except OSError as error:
        raise InputError(
            f"The layer rules cannot be written: {error.strerror or error}.",
            where=Where(path=os.fsdecode(error.filename or path)),
            remedy="Check your rights to the folder, or name another with --shop or --layers.",
        ) from error
