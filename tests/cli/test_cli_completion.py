"""Shell completion: commands, options, and names of the catalogue."""

from __future__ import annotations

import pytest

from edgetime.tooling import load_catalogue


def _offered(spawn, line: str) -> list[str]:
    """Return what bash would offer for the last word of a line."""
    words = line.split(" ")
    ran = spawn(
        _EDGETIME_COMPLETE="complete_bash",
        COMP_WORDS=line,
        COMP_CWORD=str(len(words) - 1),
    )
    assert ran.code == 0, ran.err
    assert "Traceback" not in ran.err
    return ran.out.split()


def test_commands(spawn) -> None:
    """The first word is a command."""
    assert "estimate" in _offered(spawn, "edgetime est")


@pytest.mark.parametrize(
    ("line", "kind"),
    [
        ("edgetime estimate x.dxf --machine ", "machines"),
        ("edgetime estimate x.dxf --stone ", "stones"),
        ("edgetime estimate x.dxf --stack ", "stacks"),
        ("edgetime advise x.dxf --stone ", "stones"),
        ("edgetime estimate x.dxf --explain ", "tools"),
        ("edgetime catalogue stones ", "stones"),
        ("edgetime catalogue profiles ", "profiles"),
    ],
)
def test_names_of_the_catalogue(spawn, line: str, kind: str) -> None:
    """Where a name of the catalogue belongs, all of its kind are offered."""
    assert set(_offered(spawn, line)) == set(getattr(load_catalogue(), kind))


def test_beginning_of_a_name(spawn) -> None:
    """Only names that begin as typed are offered."""
    offered = _offered(spawn, "edgetime estimate x.dxf --stone gr")
    assert "granite" in offered
    assert all(name.startswith("gr") for name in offered)


def test_script_for_a_shell(spawn) -> None:
    """The script that a shell reads is printed on demand."""
    ran = spawn("--show-completion", "bash")
    assert ran.code == 0
    assert "_EDGETIME_COMPLETE" in ran.out
