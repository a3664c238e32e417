"""Pages of text: widths, colours, encodings."""

from __future__ import annotations

import io

import pytest
from support.screens import grid, shown

from edgetime.report.document import Document, Heading, Line, Tone
from edgetime.report.screen import Screen, plain


class _Stream(io.StringIO):
    def __init__(self, encoding: str, *, terminal: bool) -> None:
        super().__init__()
        self._encoding, self._terminal = encoding, terminal

    @property
    def encoding(self) -> str:  # type: ignore[override]
        return self._encoding

    def isatty(self) -> bool:
        return self._terminal


def test_pipe_is_80_columns_without_colour(monkeypatch) -> None:
    """Output into a pipe does not depend on the window it was started from."""
    monkeypatch.delenv("COLUMNS", raising=False)
    screen = Screen.of(_Stream("utf-8", terminal=False))
    assert (screen.width, screen.colour) == (80, False)


@pytest.mark.parametrize(
    ("columns", "width"), [("80", 80), ("60", 60), ("5", 40), ("400", 100), ("wide", 80)]
)
def test_columns(monkeypatch, columns: str, width: int) -> None:
    """COLUMNS is heeded within what can be read."""
    monkeypatch.setenv("COLUMNS", columns)
    assert Screen.of(_Stream("utf-8", terminal=False)).width == width


@pytest.mark.parametrize(
    ("name", "value", "colour"),
    [("NO_COLOR", "1", False), ("TERM", "dumb", False), ("TERM", "xterm-256color", True)],
)
def test_colour_only_where_wanted(monkeypatch, name: str, value: str, colour: bool) -> None:
    """A terminal shows colours unless NO_COLOR or a dumb terminal says otherwise."""
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.setenv(name, value)
    screen = Screen.of(_Stream("utf-8", terminal=True))
    assert screen.colour is colour
    assert ("\x1b[" in screen.render(Document.of([Line("hot", tone=Tone.ERROR)]))) is colour


def test_wrapping_keeps_the_width() -> None:
    """Long words, long cells and long paragraphs stay within the screen."""
    parts = [
        Heading("Heading"),
        Line("word " * 60, indent=4),
        Line("Label      " + "word " * 60, hang=11),
        Line("x" * 300),
        grid([("Name", "<"), ("Figure", ">")], [["n" * 150, 1.5], ["short", None]]),
    ]
    for width in (40, 80, 100):
        text = shown(parts, width=width)
        assert max(map(len, text.splitlines())) <= width
        assert text.count("word") == 120
        assert text.count("x") == 300
        assert text.count("n" * 10) >= 3


def test_hanging_lines_stand_under_the_text() -> None:
    """Further lines begin where the first line's text begins."""
    text = shown([Line("Label      " + "word " * 12, hang=11)], width=40)
    first, second = text.splitlines()[:2]
    assert first.startswith("Label      word")
    assert second.startswith(" " * 11 + "word")


def test_markup_in_names_is_text() -> None:
    """A layer called like a style or an emoji is shown as it is called."""
    text = shown([Line("[red]A[/red] :smile:"), grid([("N", "<")], [["[bold]x"]])])
    assert "[red]A[/red] :smile:" in text
    assert "[bold]x" in text


def test_figures_to_the_right() -> None:
    """A column of figures ends in one column, the total included."""
    text = shown([grid([("N", "<"), ("F", ">")], [["a", 1], ["b", 100]], total=["Total", 101])])
    rows = [row for row in text.splitlines() if row[-1:].isdigit()]
    assert len(rows) == 3
    assert len({len(row) for row in rows}) == 1


@pytest.mark.parametrize("encoding", ["ascii", "cp1252", "utf-8", None, "no-such-encoding"])
def test_every_encoding_gets_a_page(encoding: str | None) -> None:
    """Whatever the terminal writes, the text can be encoded for it."""
    text = plain("30 × 20 mm ≤ 2 m² – café ─ 石", encoding)
    name = encoding if encoding in {"ascii", "cp1252", "utf-8"} else "ascii"
    assert text.encode(name)
    if name == "ascii":
        assert text == "30 x 20 mm <= 2 m2 - cafe - ?"
    if name == "utf-8":
        assert text == "30 × 20 mm ≤ 2 m² – café ─ 石"


def test_rules_of_tables_in_plain_characters() -> None:
    """A table on an ASCII terminal has its rules as hyphens, as wide as elsewhere."""
    part = [grid([("N", "<"), ("F", ">")], [["a", 1]])]
    full, bare = shown(part), shown(part, encoding="ascii")
    assert bare.isascii()
    assert bare == full.replace("─", "-")
