"""The documentation does what it says: commands, examples, links, outputs, generated pages."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
DOCS = ROOT / "docs"
sys.path.insert(0, str(DOCS))

from generate import hand_written, has_output, with_lists  # noqa: E402
from pages import PageError, blocks, commands, refreshed, run_command, workplace  # noqa: E402
from reference_pages import REFERENCE, error_kinds, stage_codes  # noqa: E402

README = ROOT / "README.md"
PAGES = sorted({README, ROOT / "CHANGELOG.md", ROOT / "DEVELOPERS.md", *DOCS.rglob("*.md")})


def _name(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def _runs(path: Path) -> bool:
    if path.parent.name in {"tutorial", "howto"} or path == README:
        return True
    text = path.read_text(encoding="utf-8")
    return has_output(text) or any(b.kind == "python" for b in blocks(text))


def _run_params() -> list[object]:
    slow = {"first-load.md"}
    return [
        pytest.param(p, id=_name(p), marks=[pytest.mark.slow] if p.name in slow else [])
        for p in hand_written()
        if _runs(p)
    ]


@pytest.mark.parametrize("path", _run_params())
def test_page_runs_and_shows_todays_output(path: Path) -> None:
    """Every command ends with the code the page states, every example runs, every output is fresh."""
    text = path.read_text(encoding="utf-8")
    assert refreshed(text) == text, "stale: run python docs/generate.py"


@pytest.mark.parametrize("path", sorted((DOCS / "howto").glob("*.md")), ids=_name)
def test_how_to_writes_the_demo_it_uses(path: Path) -> None:
    """A reader in an empty folder has the demo before the first step that needs it."""
    steps = [b for b in blocks(path.read_text(encoding="utf-8")) if b.kind in {"console", "python"}]
    lines = [line for b in steps for line in b.body.splitlines() if b.mark != "not run"]
    uses = [i for i, line in enumerate(lines) if "edgetime-demo" in line]
    assert not uses or "edgetime demo" in lines[: uses[0]]


@pytest.mark.parametrize("name", sorted(REFERENCE))
def test_reference_page_is_fresh(name: str) -> None:
    """A generated page is what the program would write today."""
    path = DOCS / "reference" / name
    assert path.read_text(encoding="utf-8") == REFERENCE[name](), "run python docs/generate.py"


def test_index_lists_every_page() -> None:
    """The index's lists are fresh, and name every page there is."""
    text = (DOCS / "index.md").read_text(encoding="utf-8")
    assert with_lists(text) == text, "stale: run python docs/generate.py"
    for path in DOCS.rglob("*.md"):
        if path.name != "index.md":
            assert f"]({path.relative_to(DOCS).as_posix()})" in text, path


def _anchor(heading: str) -> str:
    return re.sub(r"[^\w\- ]", "", heading.strip().lower()).replace(" ", "-")


def _without_code(text: str) -> str:
    return re.sub(r"^```.*?^```$", "", text, flags=re.MULTILINE | re.DOTALL)


@pytest.mark.parametrize("path", PAGES, ids=_name)
def test_links_resolve(path: Path) -> None:
    """A link to a file leads to one, a link to a heading to a heading."""
    text = _without_code(path.read_text(encoding="utf-8"))
    for target in re.findall(r"\]\(([^)\s]+)\)", text):
        if re.match(r"https?://", target):
            continue
        file, _, anchor = target.partition("#")
        aim = (path.parent / file).resolve() if file else path
        assert aim.exists(), f"{target} leads nowhere"
        assert ROOT in aim.parents, f"{target} leads out of the project"
        if anchor:
            page = _without_code(aim.read_text(encoding="utf-8"))
            headings = re.findall(r"^#+ (.+)$", page, re.MULTILINE)
            assert anchor in {_anchor(h) for h in headings}, f"{target} names no heading"


@pytest.mark.parametrize("path", PAGES, ids=_name)
def test_no_loose_ends(path: Path) -> None:
    """No page names a place on the writer's machine or work that is left to do."""
    text = path.read_text(encoding="utf-8")
    found = re.findall(r"(?:/work|/opt|/tmp|/home|/root|/usr)/|\bTODO\b|\bFIXME\b|\bXXX\b", text)
    assert not found
    assert text.startswith("# "), "a page begins with its title"
    assert text.endswith("\n")


@pytest.mark.parametrize("path", PAGES, ids=_name)
def test_fences_are_closed(path: Path) -> None:
    """Every fenced block has its end, so none of its lines is taken for text."""
    fences = re.findall(r"^```", path.read_text(encoding="utf-8"), re.MULTILINE)
    assert len(fences) % 2 == 0


def test_first_paragraph_of_the_readme_says_the_job() -> None:
    """One paragraph, for the three people who use the tool, in their words."""
    title, first = README.read_text(encoding="utf-8").split("\n\n")[:2]
    assert title == "# edgetime"
    assert "\n" not in first
    for word in ("programmer", "estimator", "buyer", "DXF", "CNC", "countertop", "how long"):
        assert word in first


def test_readme_sets_up_with_two_commands() -> None:
    """Between the markers stand exactly the two lines that continuous integration runs."""
    text = README.read_text(encoding="utf-8")
    _, _, rest = text.partition("<!-- set-up -->\n")
    inner, _, _ = rest.partition("<!-- /set-up -->")
    lines = [x for x in inner.splitlines() if re.match(r"python3|\.venv", x)]
    assert lines == [x for x in inner.splitlines() if x and not x.startswith("```")]
    install, test = lines
    assert install.startswith("python3 -m venv .venv && .venv/bin/pip install")
    assert install.endswith(".venv/bin/edgetime demo")
    assert "-e '.[test]'" in test
    assert test.endswith(".venv/bin/pytest")


def test_readme_shows_the_cautions() -> None:
    """Whatever a user may act on keeps the cautions in sight."""
    _, _, cautions = README.read_text(encoding="utf-8").partition("## Cautions\n")
    words = ("Cut wet", "50 µg/m³", "1910.1053", "marked", "Guards", "heavy", "Local codes")
    for word in words:
        assert word in cautions, word


def test_types_in_signatures_have_an_entry() -> None:
    """Each class of ours that a signature on the Python page names is explained there."""
    text = (DOCS / "reference" / "api.md").read_text(encoding="utf-8")
    entries = set(re.findall(r"^#{3,4} (\w+)$", text, re.MULTILINE))
    signatures = " ".join(re.findall(r"```py\n(\w+\(.*?)```", text, re.DOTALL))
    classes = {
        name
        for path in (ROOT / "edgetime").rglob("*.py")
        for name in re.findall(r"^class ([A-Z]\w+)", path.read_text(encoding="utf-8"), re.MULTILINE)
    } - {"Path"}  # in signatures it is the one of pathlib
    named = set(re.findall(r"\b[A-Z]\w+", signatures)) & classes
    assert {"Moves", "TimedMoves", "PieceBalance", "ShiftDefaults"} <= named
    assert named <= entries


def test_every_code_has_a_row() -> None:
    """The page of findings names every code of every stage and every kind of error."""
    text = (DOCS / "reference" / "findings.md").read_text(encoding="utf-8")
    codes = [c.name for stage in stage_codes().values() for c in stage]
    assert len(codes) > 50
    for name in [*codes, *(e.code for e in error_kinds())]:
        assert f"| `{name}` |" in text


def test_codes_named_in_how_tos_exist() -> None:
    """A finding that the how-to on findings explains is one the program has."""
    known = {c.name for stage in stage_codes().values() for c in stage}
    known |= {e.code for e in error_kinds()}
    text = _without_code((DOCS / "howto" / "fix-findings.md").read_text(encoding="utf-8"))
    named = set(re.findall(r"`([a-z]+(?:-[a-z]+)+)`", text))
    assert len(named) > 15
    assert named <= known


class TestRunner:
    """The runner itself would notice a page that does not do what it says."""

    def test_wrong_exit_code(self) -> None:
        """A command that fails where the page promises success."""
        with pytest.raises(PageError, match="exit code 3, not 0"):
            refreshed("```console\nedgetime takeoff no-such.dxf\n```\n")

    def test_expected_exit_code(self) -> None:
        """A command that succeeds where the page promises a failure."""
        with pytest.raises(PageError, match="exit code 0, not 3"):
            refreshed("<!-- exit: 3 -->\n```console\nedgetime check edgetime-demo\n```\n")

    def test_stale_output(self) -> None:
        """An output that is not today's is replaced."""
        page = "```python\nprint(2)\n```\n\n<!-- output -->\n```text\n1\n```\n"
        assert refreshed(page) == page.replace("1\n", "2\n")

    def test_edit_of_nothing(self) -> None:
        """An edit of a line that the file does not have."""
        with pytest.raises(PageError, match="0 times"):
            refreshed("<!-- edit: edgetime-demo/shop.toml -->\n```diff\n-nothing\n+all\n```\n")

    def test_continued_lines(self) -> None:
        """A line that is continued is one command; a prompt is no part of it."""
        assert commands("$ edgetime check \\\n    shop\nls\n") == ["edgetime check shop", "ls"]

    def test_other_programs_are_left_alone(self) -> None:
        """A line for people does not run."""
        with workplace() as folder:
            assert run_command("touch made") == (None, "")
            assert not (folder / "made").exists()


AMERICAN = re.compile(
    r"\b(?:cent(?:er|ers|ered)|colors?|catalogs?|millimeters?|labor|gray|miters?|"
    r"draftsm[ae]n|neighbors?|behavior)\b",
    re.IGNORECASE,
)


@pytest.mark.parametrize("path", PAGES, ids=_name)
def test_spelling_is_british(path: Path) -> None:
    """Prose spells as the code does: centre, catalogue, colour."""
    prose = re.sub(r"`[^`\n]*`", "", _without_code(path.read_text(encoding="utf-8")))
    assert not AMERICAN.findall(prose)
