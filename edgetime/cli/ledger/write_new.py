"""Writing a file that is not there yet."""

from __future__ import annotations

import os
from pathlib import Path

from edgetime.errors import UsageError, Where


def write_new(file: str, content: bytes) -> None:
    """Write a file that is not there yet.

    It is whole under another name first: a failure leaves nothing, and nothing is ever replaced.
    """
    from edgetime.ledger.schema import give_name  # noqa: PLC0415  brings the database

    target = Path(file)
    beside = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        beside.write_bytes(content)
        fresh = give_name(beside, target)
    finally:
        beside.unlink(missing_ok=True)
    if not fresh:
        raise UsageError(
            f"{file} already exists.",
            where=Where(path=file),
            remedy="Name a file that does not exist yet.",
        )
