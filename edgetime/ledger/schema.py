"""Making a ledger, and bringing an older one to the newest schema, when it is opened."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing, suppress
from importlib import resources
from pathlib import Path
from secrets import token_hex
from typing import TYPE_CHECKING

from sqlalchemy import Connection, inspect, text
from sqlalchemy.exc import DBAPIError

from edgetime.errors import LedgerError, Where
from edgetime.ledger.store import APPLICATION_ID, FILE_NAME, Store, plainly

if TYPE_CHECKING:
    from alembic.config import Config

REVISIONS = ("0001", "0002", "0003")
"""Every schema that was ever released, oldest first."""

HEAD = REVISIONS[-1]

_MAGIC = b"SQLite format 3\x00"
_OURS = {"alembic_version", "entries", "runs"}


def _scripts() -> Path:
    return Path(str(resources.files("edgetime.ledger") / "migrations"))


def _config(link: Connection) -> Config:
    from alembic.config import Config  # noqa: PLC0415  only when a schema is made or changed

    config = Config()
    config.set_main_option("script_location", str(_scripts()).replace("%", "%%"))
    config.attributes["connection"] = link
    return config


def upgrade(link: Connection, target: str) -> None:
    """Run the migrations up to a revision within the open transaction.

    Parameters
    ----------
    link : Connection
        In a transaction.
    target : str
        A revision.
    """
    from alembic import command  # noqa: PLC0415  only when a schema is made or changed

    command.upgrade(_config(link), target)


def _revision(link: Connection) -> str | None:
    """Return the schema's revision, None for an empty database."""
    names = set(inspect(link).get_table_names())
    if not names:
        return None
    found = (
        list(link.execute(text("SELECT version_num FROM alembic_version")).scalars())
        if "alembic_version" in names
        else []
    )
    if len(found) != 1 or not names >= _OURS:
        raise LedgerError(
            "This database is not a ledger.",
            remedy="Name a ledger, or a file that does not exist yet.",
        )
    return str(found[0])


def _judge(revision: str | None, name: str) -> bool:
    """Return whether a migration is due; refuse what a newer release wrote."""
    if revision is not None and revision not in REVISIONS:
        raise LedgerError(
            f"The ledger was written by a newer edgetime: its schema is {revision}, this "
            f"release knows up to {HEAD}.",
            where=Where(path=name),
            remedy="Update edgetime (pip install --upgrade edgetime); nothing was changed.",
        )
    return revision != HEAD


def prepare(store: Store, *, create: bool) -> Path | None:
    """Make the ledger when there is none, and migrate an older one.

    Parameters
    ----------
    store : Store
        Where it is.
    create : bool
        Whether to make a new one.

    Returns
    -------
    Path or None
        The safety copy made before a migration.

    Raises
    ------
    LedgerError
        There is none and ``create`` is False; or it is damaged, from a newer release, or
        something else.
    """
    with plainly(store.name):
        if store.path is not None:
            if not store.path.exists():
                if not create:
                    raise _none(store.name)
                _make_file(store)
            _look_at(store.path)
        return _migrate(store, create=create)


def _none(name: str) -> LedgerError:
    return LedgerError(
        "There is no ledger here yet.",
        where=Where(path=name),
        remedy="It begins with the first delivery: 'edgetime ledger receive TOOL --count N'. One "
        "that is named with --ledger begins with --anyway behind that; check the name first.",
    )


def _look_at(path: Path) -> None:
    """Refuse a file that is no ledger before SQLite may touch it."""
    if path.is_dir():
        raise LedgerError(
            "This is a folder, not a file.",
            where=Where(path=str(path)),
            remedy=f"Name a file in it, such as {path / FILE_NAME}.",
        )
    with path.open("rb") as stream:
        head = stream.read(100)
    where = Where(path=str(path))
    if not head.startswith(_MAGIC) or len(head) < 100:
        what = (
            "The ledger's file is empty."
            if not head
            else "The file is not a ledger, or is damaged."
        )
        raise LedgerError(
            what,
            where=where,
            remedy="Put back the last backup ('edgetime ledger backup' makes them), or name "
            "another file; nothing was changed.",
        )
    if int.from_bytes(head[68:72], "big") != APPLICATION_ID:
        raise LedgerError(
            "The file is a database of another program.",
            where=where,
            remedy="Name a ledger, or a file that does not exist yet; nothing was changed.",
        )


def _make_file(store: Store) -> None:
    """Make a new ledger whole under another name, then give it its own.

    A link to a finished file fails when the name is taken: of several that make it at once
    one succeeds, and nobody ever sees half a ledger.
    """
    assert store.path is not None  # noqa: S101  the caller has looked
    if not store.path.parent.is_dir():
        raise LedgerError(
            "The folder for the ledger does not exist.",
            where=Where(path=str(store.path.parent)),
            remedy="Make the folder, or name another.",
        )
    fresh = store.path.with_name(f".{store.path.name}.{os.getpid()}-{token_hex(4)}.new")
    try:
        with closing(sqlite3.connect(fresh, isolation_level=None)) as link:
            link.execute(f"PRAGMA application_id = {APPLICATION_ID}")
            link.execute("PRAGMA journal_mode = WAL")
        scratch = Store(fresh, wait_s=store.wait_s)
        try:
            with scratch.write() as link:
                upgrade(link, HEAD)
        finally:
            scratch.close()
        give_name(fresh, store.path)
    finally:
        for suffix in ("", "-wal", "-shm", "-journal"):
            with suppress(OSError):
                fresh.with_name(fresh.name + suffix).unlink()


def give_name(fresh: Path, target: Path) -> bool:
    """Give a finished file its name; return False when the name is taken."""
    try:
        os.link(fresh, target)
    except FileExistsError:
        return False
    except OSError:
        # Where links are not to be had, the name is taken by moving.
        if target.exists():
            return False
        fresh.rename(target)
    return True


def _migrate(store: Store, *, create: bool) -> Path | None:
    with store.read() as link:
        revision = _named(link, store.name)
    if not _judge(revision, store.name):
        return None
    if revision is None and not create:
        raise _none(store.name)
    copy = None
    made = False
    if store.path is not None:
        copy = store.path.with_name(f"{store.path.name}.before-{HEAD}")
        made = not copy.exists() and copy_database(store.path, copy)
    try:
        with store.engine.connect() as link, link.execution_options(write=True).begin():
            if store.path is None:
                # The tables may not be there yet, so writers wait for each other on a number.
                link.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": APPLICATION_ID})
            # Another program may have migrated it while this one waited.
            if _judge(_named(link, store.name), store.name):
                upgrade(link, HEAD)
    except DBAPIError as error:
        if copy is not None and made:
            copy.unlink(missing_ok=True)
        if revision is None or not _may_not_change(error):
            raise
        raise LedgerError(
            f"The ledger has schema {revision}, of an earlier release; this one reads {HEAD}. "
            "You may not change this ledger, so it was not brought up.",
            where=Where(path=store.name),
            remedy="Ask who owns it to run 'edgetime ledger show' on it once with this release, "
            "or read a copy that is your own; nothing was changed.",
        ) from error
    return copy


def _may_not_change(error: DBAPIError) -> bool:
    """Return whether it is the right to write, or to own the tables, that is missing."""
    said = str(error.orig).lower()
    signs = ("readonly", "read-only", "permission denied", "must be owner")
    return any(sign in said for sign in signs)


def _named(link: Connection, name: str) -> str | None:
    try:
        return _revision(link)
    except LedgerError as error:
        raise LedgerError(error.what, where=Where(path=name), remedy=error.remedy) from error


def copy_database(source: Path, target: Path) -> bool:
    """Copy a SQLite database consistently, also while others write to it.

    Parameters
    ----------
    source, target : Path
        Files; ``target`` appears whole or not at all.

    Returns
    -------
    bool
        False when the target is there already.
    """
    fresh = target.with_name(f".{target.name}.{os.getpid()}-{token_hex(4)}.new")
    try:
        with (
            closing(sqlite3.connect(f"file:{_quoted(source)}?mode=rw", uri=True)) as old,
            closing(sqlite3.connect(fresh)) as new,
        ):
            # All pages in one step: the copy is one state, and never starts over.
            old.backup(new, pages=-1)
        with fresh.open("rb+") as stream:
            os.fsync(stream.fileno())
        return give_name(fresh, target)
    finally:
        for suffix in ("", "-wal", "-shm", "-journal"):
            with suppress(OSError):
                fresh.with_name(fresh.name + suffix).unlink()


def _quoted(path: Path) -> str:
    from urllib.parse import quote  # noqa: PLC0415  only for copies

    return quote(os.fspath(path.absolute()))
