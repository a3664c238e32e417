"""The chain of hashes: each entry's hash covers its content and the hash before it.

Whoever changes, removes, inserts or reorders entries must compute all hashes behind them anew;
whoever has noted the last hash elsewhere sees that.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
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
    "life", "machine", "supplier", "batch", "mark",
)  # fmt: skip

_NAMES: Final = tuple(
    sorted([(name, name) for name in _ENTRY] + list(RUN), key=lambda pair: pair[1])
)

_encode: Final = JSONEncoder(ensure_ascii=True, separators=(",", ":")).encode


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
