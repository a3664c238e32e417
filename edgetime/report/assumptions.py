"""The figures that an answer rests on, as the files have them, each with its source."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from edgetime.report.columns import Column, Sheet
from edgetime.report.document import Heading, Table
from edgetime.tooling.layers import meaning_text

if TYPE_CHECKING:
    from edgetime.estimating import Estimate
    from edgetime.report.document import Block
    from edgetime.takeoff.layer_use import LayerUse
    from edgetime.tooling import Catalogue


class Assumed(NamedTuple):
    """A figure of a file.

    Attributes
    ----------
    what, name : str
        Kind of record, and its name.
    key, written : str
        Key in the file, and the text there.
    source : str
        Where the figure is from, as the file states it.
    file : str
        Path.
    """

    what: str
    name: str
    key: str
    written: str
    source: str
    file: str


ASSUMED: Final[Sheet[Assumed]] = Sheet(
    (
        Column(key="what", heading="Of"),
        Column(key="name", heading="Name"),
        Column(key="key", heading="Figure"),
        Column(key="written", heading="Value in the file"),
        Column(key="source", heading="Source"),
        Column(key="file", heading="File"),
    )
)
_APART: Final = ("title", "name")
_NO_FIGURES: Final = ("applies_to", "operation", "tool")


def _of_file(
    catalogue: Catalogue, what: str, name: str, file: str, sections: Sequence[str] = ()
) -> Iterator[Assumed]:
    """Yield the figures of a file, of all its tables or of some."""
    written = {key: text for (path, key), text in catalogue.raw.items() if path == file}
    sources = {
        key.removeprefix("source."): text
        for key, text in written.items()
        if key.partition(".")[0] == "source"
    }
    rest = sources.get("all", written.get("source", ""))
    for key, text in written.items():
        table, _, last = key.rpartition(".")
        first = key.partition(".")[0].partition("[")[0]
        if first == "source" or key in _APART or last in _NO_FIGURES:
            continue
        if sections and first not in sections:
            continue
        if "[" in key and text.startswith("default:"):
            continue  # what a step leaves out would be most of the table
        # The source of a key is that of the key itself, of its table, or of the whole file.
        of = (sources[k] for k in (key, last, table, first) if k in sources)
        yield Assumed(what, name, key, text, next(of, rest), file)


def assumption_blocks(
    catalogue: Catalogue, used: Iterable[tuple[str, Any]], sections: Sequence[str] = ()
) -> list[Block]:
    """Return the table of the figures that an answer rests on.

    Parameters
    ----------
    catalogue : Catalogue
        Everything the shop has.
    used : iterable of (str, record)
        What each record is, and the record.
    sections : sequence of str
        Tables of ``shop.toml`` that are used too.
    """
    rows: list[Assumed] = []
    for what, record in used:
        rows += _of_file(catalogue, what, record.name, str(record.file))
    if sections:
        rows += _of_file(catalogue, "shop", "", str(catalogue.shop.file), sections)
    return _table(rows)


def layer_assumptions(catalogue: Catalogue, uses: Iterable[LayerUse]) -> list[Block]:
    """Return the table of the layer rules that drawings were read with.

    Parameters
    ----------
    catalogue : Catalogue
        Everything the shop has.
    uses : iterable of LayerUse
        Layers of the drawings.
    """
    layers = catalogue.layers
    kept = list(_of_file(catalogue, "layer rules", "", layers.file))
    sources = [row.source for row in kept if row.source]
    rules = dict.fromkeys((use.rule.source, use.rule) for use in uses if use.rule is not None)
    rows = [row for row in kept if not row.key.startswith("layer[")]
    rows += [
        # A rule of the command line has no source but itself.
        Assumed(
            "layer rule", rule.match, "means", meaning_text(rule),
            sources[0] if sources and where.startswith(layers.file) else "", where,
        )
        for where, rule in rules
    ]  # fmt: skip
    return _table(rows)


def _table(rows: Iterable[Assumed]) -> list[Block]:
    once = list(dict.fromkeys(rows))
    if not once:
        return []
    return [
        Heading("Assumptions: the figures of the files, each with its source"),
        Table(ASSUMED, once, name="assumptions"),
    ]


def load_assumptions(estimates: Sequence[Estimate], sections: Sequence[str] = ()) -> list[Block]:
    """Return the table of the figures that estimates rest on."""
    used: list[tuple[str, Any]] = []
    for est in estimates:
        load = est.load
        tools = dict.fromkeys(visit.tool for visit in est.cycle.visits)
        used += [
            ("machine", load.machine),
            ("stack", load.stack),
            ("stone", load.stone),
            *(("tool", load.catalogue.tools[name]) for name in tools),
        ]
    return assumption_blocks(estimates[0].load.catalogue, used, sections)
