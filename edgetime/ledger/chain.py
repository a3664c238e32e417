"""The chain of hashes: each entry's hash covers its content and the hash before it.

Whoever changes, removes, inserts or reorders entries must compute all hashes behind them anew;
whoever has noted the last hash elsewhere sees that.
"""

from __future__ import annotations

import hashlib
from bisect import bisect
from collections.abc import Mapping, Sequence
from json import JSONEncoder
from typing import Any, Final

GENESIS: Final = "0" * 64
"""What stands before the first entry's hash."""

RUN: Final = (
    ("load_name", "run_load_name"),
    ("run_no", "run_no"),
    ("run_machine", "run_machine"),
    ("digest", "run_digest"),
    ("work_digest", "run_work_digest"),
    ("actual", "run_actual"),
    ("water_l_e6", "run_water_l_e6"),
    ("electricity_kwh_e6", "run_electricity_kwh_e6"),
)
"""Columns of an entry's run, and what they are called in what is hashed."""

_ENTRY: Final = (
    "id", "at", "kind", "piece", "serial", "tool", "profile", "run", "reverses", "pocket",
    "stone", "reason", "governing", "thickness_nm", "diameter_nm", "restored_e12", "price_e6",
    "contact_nm", "path_nm", "volume_pl", "wheel_pl", "cut_us", "holes", "area_um2",
    "share_length_e12", "share_volume_e12", "share_g_ratio_e12", "share_time_e12",
    "share_holes_e12", "share_area_e12", "share_any_e12", "cost_e6", "currency", "who", "note",
    "life", "machine", "supplier", "batch", "mark", "order_no", "of_order", "pieces", "expected",
)  # fmt: skip

_NAMES: Final = tuple(
    sorted([(name, name) for name in _ENTRY] + list(RUN), key=lambda pair: pair[1])
)

COLUMNS: Final = tuple(sorted(_ENTRY))
"""Columns of an entry in the order in which they are hashed."""

_RUN_AT: Final = bisect(COLUMNS, "run_")
"""Where those of its run come between them."""

_HEAD, _TAIL = COLUMNS[:_RUN_AT], COLUMNS[_RUN_AT:]

_encode: Final = JSONEncoder(ensure_ascii=True, separators=(",", ":")).encode
_encode_lines: Final = JSONEncoder(ensure_ascii=True, separators=("\n", ":")).encode


def content_of(row: Mapping[Any, Any]) -> str:
    """Return an entry with its run as the text that is hashed.

    Parameters
    ----------
    row : mapping
        Columns of the entry and of its run; the run's machine as ``run_machine``.

    Returns
    -------
    str
        A JSON object of all columns that hold something, sorted by name, in ASCII without
        blanks. What is empty is left out, so a column added later changes no hash.
    """
    get = row.get
    return _encode({name: value for key, name in _NAMES if (value := get(key)) is not None})


def run_part(run: Mapping[Any, Any]) -> dict[str, Any]:
    """Return what is hashed of a run, from a row of the table of runs."""
    named = ((run.get("machine" if key == "run_machine" else key), name) for key, name in RUN)
    found = {name: value for value, name in named if value is not None}
    return dict(sorted(found.items()))


def contents_of(
    rows: Sequence[Sequence[Any]], of_runs: Sequence[Mapping[str, Any] | None]
) -> list[str]:
    """Return many entries as :func:`content_of` does, several times as fast.

    Parameters
    ----------
    rows : sequence of row
        Entries, with :data:`COLUMNS` first.
    of_runs : sequence of mapping or None
        What :func:`run_part` gives of the run of each.
    """
    filled = []
    for row, of_run in zip(rows, of_runs, strict=True):
        # zip stops at the end of the names; rows may hold more.
        content = {n: v for n, v in zip(_HEAD, row, strict=False) if v is not None}
        if of_run is not None:
            content |= of_run
        content |= {n: v for n, v in zip(_TAIL, row[_RUN_AT:], strict=False) if v is not None}
        filled.append(content)
    # One call for all. A line feed within a text is escaped, so those between items are the
    # only ones, and where one entry ends and the next begins is never in doubt.
    text = _encode_lines(filled)[2:-2]
    return [f"{{{one}}}".replace("\n", ",") for one in text.split("}\n{")]


def next_hash(before: str, content: str) -> str:
    """Return the SHA-256 of the hash before and the content, in hexadecimal.

    Parameters
    ----------
    before : str
        The hash of the entry before, :data:`GENESIS` for none.
    content : str
        From :func:`content_of`.
    """
    return hashlib.sha256(f"{before}{content}".encode("ascii")).hexdigest()
