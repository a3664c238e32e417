"""Documents as text for a terminal, a pipe or a file."""

from __future__ import annotations

import io
import os
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING, Any, Final, TextIO

from edgetime.report.document import Block, Document, Fact, Heading, Line, Table, Tone
from edgetime.safe_text import shown
from edgetime.units import UnitSystem

if TYPE_CHECKING:
    from rich.console import RenderableType

DEFAULT_WIDTH = 80
WIDEST = 100
"""Lines longer than this are hard to read across, however wide the window is."""

_PLAIN = {
    "×": "x",
    "·": "-",
    "–": "-",
    "—": "-",
    "−": "-",
    "…": "...",
    "≤": "<=",
    "≥": ">=",
    "²": "2",
    "³": "3",
    "°": " deg",
    "µ": "u",
    "→": "->",
    "±": "+/-",
    "÷": "/",
    "½": "1/2",
    "’": "'",
    "“": '"',
    "”": '"',
    "─": "-",
    "é": "e",
    "Ø": "dia ",
    "⌀": "dia ",
    "π": "pi",
}


def plain(text: str, encoding: str | None) -> str:
    """Replace what an output's encoding cannot write.

    Parameters
    ----------
    text : str
        Any text.
    encoding : str or None
        Encoding of the stream; None counts as ASCII.

    Returns
    -------
    str
        The text; foreign characters become their nearest plain form, or ``?``.
    """
    name = encoding or "ascii"
    try:
        text.encode(name)
    except (UnicodeEncodeError, LookupError):
        pass
    else:
        return text

    def fits(char: str) -> str:
        try:
            char.encode(name)
        except (UnicodeEncodeError, LookupError):
            return _PLAIN.get(char, "?") if ord(char) > 127 else char
        return char

    return "".join(map(fits, text))


_RULES = "    \n    \n ── \n    \n ── \n ── \n    \n    \n"
"""A rule under the header and above the total, nothing else."""


@dataclass(frozen=True, slots=True)
class Screen:
    """What the output can show.

    Attributes
    ----------
    width : int
        Columns.
    encoding : str
        Encoding of the stream.
    colour : bool
        Whether it is a terminal that shows colours.
    """

    width: int = DEFAULT_WIDTH
    encoding: str = "utf-8"
    colour: bool = False

    @classmethod
    def of(cls, stream: TextIO) -> Screen:
        """Return what a stream can show; ``COLUMNS``, ``NO_COLOR`` and ``TERM`` are heeded.

        Parameters
        ----------
        stream : text stream
            Usually standard output.
        """
        terminal = stream.isatty()
        columns = os.environ.get("COLUMNS", "")
        width = int(columns) if columns.isdecimal() else 0
        if width <= 0 and terminal:
            try:
                width = os.get_terminal_size(stream.fileno()).columns
            except (OSError, ValueError):
                width = 0
        if width <= 0:
            width = DEFAULT_WIDTH
        colour = (
            terminal
            and not os.environ.get("NO_COLOR")
            and os.environ.get("TERM", "").lower() not in {"dumb", "unknown"}
        )
        return cls(
            width=max(40, min(width, WIDEST)),
            encoding=getattr(stream, "encoding", None) or "ascii",
            colour=colour,
        )

    def render(self, document: Document) -> str:
        """Set a document as text.

        Parameters
        ----------
        document : Document
            Any.

        Returns
        -------
        str
            Lines without trailing blanks, none wider than ``width``.
        """
        from rich.console import Console  # noqa: PLC0415  loaded when a table is printed

        page = io.StringIO()
        console = Console(
            file=page,
            width=self.width,
            height=100,
            force_terminal=self.colour,
            color_system="auto" if self.colour else None,
            no_color=not self.colour,
            highlight=False,
            emoji=False,
            markup=False,
            legacy_windows=False,
        )
        for part in _drawn(document.blocks, document.system):
            console.print(part)
        text = "\n".join(row.rstrip() for row in page.getvalue().splitlines())
        text = text.replace(_BLANK, " ")
        return plain(text.rstrip("\n") + "\n", self.encoding)


_WITH_UNIT = re.compile(r"(?<=\d') (?=\d)|(?<=\d) (?=(?:in|ft|sq|cm)\b)")
_BLANK = "\ue000"
"""Used for a blank at which no line is broken; the library breaks at all others."""


def _unbroken(text: str) -> str:
    """Keep feet with their inches, and imperial figures with their units, on one line."""
    return _WITH_UNIT.sub(_BLANK, shown(text))


def fill(text: str, width: int, *, hang: int) -> str:
    """Wrap a line at words, without the library of tables."""
    import textwrap  # noqa: PLC0415  only for failures

    wrapped = textwrap.fill(
        _unbroken(text),
        width,
        subsequent_indent=" " * hang,
        break_long_words=False,
        break_on_hyphens=False,
    )
    return wrapped.replace(_BLANK, " ")


_TONE: Final = {
    Tone.PLAIN: "",
    Tone.STRONG: "bold",
    Tone.WARNING: "yellow",
    Tone.ERROR: "red",
}
_LABEL: Final = 11
"""Least width of the labels of facts with the space behind them."""


def _line(text: str, indent: int, hang: int | None, style: str) -> RenderableType:
    """Return a paragraph, wrapped at words."""
    from rich.padding import Padding  # noqa: PLC0415  loaded when something is printed
    from rich.table import Table as Rich  # noqa: PLC0415
    from rich.text import Text  # noqa: PLC0415

    further = indent if hang is None else hang
    text = _unbroken(text)
    body = Text(text, style=style, overflow="fold")
    if further <= indent:
        return Padding(body, (0, 0, 0, indent)) if indent else body
    first, rest = text[: further - indent], text[further - indent :]
    grid = Rich.grid(padding=0)
    grid.add_column(width=further, no_wrap=True)
    grid.add_column(overflow="fold")
    grid.add_row(Text(" " * indent + first, style=style), Text(rest, style=style))
    return grid


def _table(
    columns: Sequence[tuple[str, str]],
    rows: Iterable[Sequence[Any]],
    total: Sequence[Any] | None,
) -> RenderableType:
    """Return a table without side rules, figures to the right, at most as wide as the screen."""
    from rich.box import Box  # noqa: PLC0415  loaded when a table is printed
    from rich.table import Table as Rich  # noqa: PLC0415
    from rich.text import Text  # noqa: PLC0415

    grid = Rich(
        box=Box(_RULES),
        padding=(0, 0),
        collapse_padding=False,
        pad_edge=False,
        show_edge=False,
        header_style="bold",
    )
    for header, align in columns:
        right = align == ">"
        grid.add_column(
            shown(header),
            justify="right" if right else "left",
            no_wrap=right,
            overflow="fold",
        )

    def cells(row: Sequence[Any]) -> list[Text]:
        return [Text("-" if value is None else _unbroken(str(value))) for value in row]

    for row in rows:
        grid.add_row(*cells(row))
    if total is not None:
        grid.add_section()
        grid.add_row(*cells(total), style="bold")
    return grid


def _facts(facts: Iterable[Fact]) -> Iterator[RenderableType]:
    listed = list(facts)
    width = max(_LABEL, *(len(fact.label) + 2 for fact in listed))
    for fact in listed:
        yield _line(f"{fact.label:<{width}}{fact.text}", 0, width, "")


def _drawn(blocks: Iterable[Block], system: UnitSystem) -> Iterator[RenderableType]:
    """Yield what the library of tables prints for each block."""
    from rich.text import Text  # noqa: PLC0415  loaded when something is printed

    for kind, group in groupby(blocks, type):
        if kind is Fact:
            yield from _facts(group)  # type: ignore[arg-type]
            continue
        for block in group:
            match block:
                case Heading(text):
                    yield Text.assemble("\n", (shown(text), "bold"))
                case Line(text, indent, hang, tone):
                    yield _line(text, indent, hang, _TONE[tone])
                case Table(sheet, rows):
                    titles, cells, total = sheet.printed(rows, system)
                    aligned = [">" if c.unit.right else "<" for c in sheet.shown]
                    yield _table(list(zip(titles, aligned, strict=True)), cells, total)
