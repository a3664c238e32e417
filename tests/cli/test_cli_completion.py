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


@pytest.mark.parametrize(
    ("shell", "sign"),
    [
        ("bash", "complete -o default -F _edgetime_completion edgetime"),
        ("zsh", "compdef _edgetime_completion edgetime"),
        ("fish", "complete --command edgetime"),
        ("pwsh", "Register-ArgumentCompleter -Native -CommandName edgetime"),
    ],
)
def test_script_for_a_shell(run, shell: str, sign: str) -> None:
    """The script of the shell that is named is printed, whatever shell calls."""
    ran = run("--show-completion", shell)
    assert ran.code == 0, ran.err
    assert sign in ran.out
    assert "_EDGETIME_COMPLETE" in ran.out


@pytest.mark.parametrize("option", ["--show-completion", "--install-completion"])
def test_shell_without_a_script(run, monkeypatch, option: str) -> None:
    """A shell that is not served, named or calling, is refused with those that are."""
    ran = run(option, "csh")
    assert (ran.code, ran.out) == (2, "")
    assert "'csh'" in ran.err
    assert f"edgetime {option} bash" in ran.err
    monkeypatch.setattr("shellingham.detect_shell", lambda: ("dash", "/bin/dash"))
    ran = run(option)
    assert ran.code == 2
    assert f"edgetime {option} bash" in ran.err
