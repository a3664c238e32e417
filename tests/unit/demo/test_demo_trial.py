"""The demo's shop states, and says it invents, how one tool's life depends on its feed."""

from __future__ import annotations

from edgetime.demo.files import write_demo
from edgetime.demo.trial import TRIED_TOOL
from edgetime.tooling import load_catalogue


def test_one_tool_of_the_demo_has_an_invented_relation(tmp_path) -> None:
    """The relation is read, its source says invented, and writing again leaves it alone."""
    folder = tmp_path / "demo"
    first = write_demo(folder)
    assert TRIED_TOOL in first.new
    catalogue = load_catalogue(folder)
    tool = catalogue.tools["metal-1"]
    assert tool.taylor is not None
    assert catalogue.source_of(tool.file, "taylor.exponent").startswith("Invented")
    again = write_demo(folder)
    assert again.new == again.kept == ()
    assert TRIED_TOOL in again.same


def test_an_edited_tool_is_kept(tmp_path) -> None:
    """What somebody wrote into the file stays, and the file as shipped does too."""
    folder = tmp_path / "demo"
    write_demo(folder)
    path = folder / TRIED_TOOL
    edited = path.read_text(encoding="utf-8").replace("0.5  ", "0.4  ")
    path.write_text(edited, encoding="utf-8")
    assert TRIED_TOOL in write_demo(folder).kept
    assert path.read_text(encoding="utf-8") == edited
