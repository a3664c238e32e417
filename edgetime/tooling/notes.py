"""What is worth saying of records that can be used."""

from __future__ import annotations

from edgetime.errors import Where
from edgetime.findings import Finding
from edgetime.tooling.codes import OLD_KEY
from edgetime.tooling.model import Machine


def machine_notes(machine: Machine) -> tuple[Finding, ...]:
    """Return the notes on a machine's file.

    Parameters
    ----------
    machine : Machine
        From the catalogue.

    Returns
    -------
    tuple of Finding
        One per key that has an older name.
    """
    return tuple(
        Finding(
            OLD_KEY,
            f"{old.key} is the old name of {old.instead.split(' ')[0]}; write {old.instead}.",
            Where(path=machine.file, line=old.line, key=old.key),
        )
        for old in machine.old_keys
    )
