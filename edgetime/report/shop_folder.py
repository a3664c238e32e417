"""What was written into a shop folder."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from edgetime.report.columns import Column, Sheet
from edgetime.report.document import Block, Line, Table
from edgetime.tooling import InitResult

FILES: Sheet[tuple[Path, str]] = Sheet(
    (Column(key="file", get=lambda row: row[0]), Column(key="state", get=lambda row: row[1]))
)
"""Files with what became of each: new, same or kept."""


def init_table(done: InitResult) -> Table[tuple[Path, str]]:
    """Return the files of a shop folder, each with its state."""
    states = (("new", done.written), ("same", done.same), ("kept", done.kept))
    return Table(FILES, [(path, state) for state, paths in states for path in paths])


def init_parts(folder: str, done: InitResult) -> Iterator[Block]:
    """Make the document of a new shop folder."""
    yield Line(f"Shop folder {folder}: wrote {len(done.written)} files.")
    if done.same:
        yield Line(f"{len(done.same)} were already there, unchanged.")
    if done.kept:
        yield Line(f"Kept with your edits: {', '.join(map(str, done.kept))}.")
    yield Line("shop.toml      default machine, stone, thickness, stack, units", indent=2)
    yield Line("layers.toml    meaning of the layers of your drawings", indent=2)
    yield Line("machines/ tools/ stacks/ profiles/ stones/    everything else", indent=2)
