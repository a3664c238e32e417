"""The connection to a ledger's database, its transactions, and its failures in plain words."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import quote

from sqlalchemy import Connection, Engine, create_engine, event, text
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError, SQLAlchemyError

from edgetime.errors import LedgerError, Where
from edgetime.safe_text import without_secrets

FILE_NAME = "ledger.sqlite"
"""Name of the ledger in a shop folder."""

APPLICATION_ID = 0x65644C31
"""Marks a SQLite file as a ledger of ours (its header's application id); on a server the number
on which writers wait for one another."""

WAIT_S = 30.0
"""How long a writer waits for others before it gives up."""

_PRAGMAS = (
    "foreign_keys = ON",
    "synchronous = FULL",
    "recursive_triggers = ON",
    "trusted_schema = OFF",
)


def locate(where: str | Path | None, shop: Path | None) -> Path | URL:
    """Return the file or the server's address that is meant.

    Parameters
    ----------
    where : str, Path or None
        A file, an address such as ``postgresql://user@host/name``, or None for the shop's own.
    shop : Path or None
        The shop folder.

    Raises
    ------
    LedgerError
        Neither is given, or the address is of a kind that is not served.
    """
    if where is None:
        if shop is None:
            raise LedgerError(
                "There is no shop folder to keep a ledger in.",
                where=Where(key="--ledger"),
                remedy="Run 'edgetime init my-shop' and work inside it, or name a shop with "
                "--shop FOLDER or a ledger with --ledger FILE.",
            )
        return shop / FILE_NAME
    if isinstance(where, Path) or "://" not in where:
        return Path(where)
    try:
        url = make_url(where)
    except (ArgumentError, ValueError) as error:
        # Of a port that is no number the parser itself complains.
        raise _no_address() from error
    if "@" in (url.host or ""):
        raise LedgerError(
            "The address has more than one @.",
            where=Where(key="--ledger"),
            remedy="Write an @ in a password as %40, or leave the password to ~/.pgpass.",
        )
    kind = url.get_backend_name()
    if kind == "sqlite" and url.database:
        return Path(url.database)
    if kind in {"postgresql", "postgres"} and url.database:
        return url.set(drivername="postgresql+psycopg")
    raise _no_address()


def _no_address() -> LedgerError:
    # The text itself is not repeated: it may hold a password.
    return LedgerError(
        "This is not a ledger address.",
        where=Where(key="--ledger"),
        remedy="Write a file name, or postgresql://USER@HOST/DATABASE.",
    )


_DAMAGED = (
    "The ledger's file is damaged.",
    (
        "Keep the damaged file, and put back the last backup ('edgetime ledger backup' makes them); "
        "nothing was changed."
    ),
)

_PLAIN: tuple[tuple[tuple[str, ...], str, str], ...] = (
    (
        ("database is locked", "lock timeout", "locknotavailable", "database table is locked"),
        "The ledger is locked by another program.",
        "Wait until it has finished, or end it, and try again; nothing was changed.",
    ),
    (
        ("disk is full", "disk i/o error", "no space left", "file too large", "diskfull"),
        "The ledger cannot be written: the disk is full, or fails.",
        "Make room on the disk and try again; nothing was changed.",
    ),
    (
        ("readonly", "read-only", "permission denied", "unable to open database"),
        "The ledger, or the folder it is in, cannot be written to.",
        (
            "Give yourself the right to write to the folder and the file (both are needed, also for "
            "reading), or keep the ledger elsewhere with --ledger; nothing was changed."
        ),
    ),
    (("malformed", "not a database", "corrupt"), *_DAMAGED),
    (
        ("append-only", "has no gaps", "reversed once", "posted once"),
        "Entries in the ledger cannot be changed.",
        "Undo an entry with 'edgetime ledger reverse'.",
    ),
    (
        ("password authentication", "no password supplied", "authentication failed"),
        "The database server refused the login.",
        "Check the user and the password in the ledger's address.",
    ),
    (
        ("connection", "could not translate host", "server closed", 'database "'),
        "The database server, or the database on it, cannot be reached.",
        "Check that the server runs, and the host, port and database in the ledger's address.",
    ),
)


def _told(error: BaseException, name: str) -> LedgerError:
    cause = getattr(error, "orig", None) or error
    said = without_secrets(" ".join(f"{type(cause).__name__} {cause}".split()))
    low = said.lower()
    for signs, what, remedy in _PLAIN:
        if any(sign in low for sign in signs):
            return LedgerError(what, where=Where(path=name), remedy=remedy)
    return LedgerError(
        f"The ledger's database failed: {said[:300]}",
        where=Where(path=name),
        remedy="Nothing was changed. 'edgetime ledger audit' says whether the books are sound.",
    )


@contextmanager
def plainly(name: str) -> Iterator[None]:
    """Turn failures of the database or the file system into a :class:`LedgerError`.

    Parameters
    ----------
    name : str
        The ledger, for the message.
    """
    try:
        yield
    except (DBAPIError, sqlite3.Error) as error:
        raise _told(error, name) from error
    except (NoSuchModuleError, ModuleNotFoundError) as error:
        raise LedgerError(
            "The driver for PostgreSQL is not installed.",
            where=Where(path=name),
            remedy="Run: pip install 'edgetime[postgres]'",
        ) from error
    except UnicodeDecodeError as error:
        # What is no text any more, down to the database's own complaint about it.
        raise LedgerError(_DAMAGED[0], where=Where(path=name), remedy=_DAMAGED[1]) from error
    except SQLAlchemyError as error:
        raise _told(error, name) from error
    except OSError as error:
        raise _told(error, name) from error


@contextmanager
def _sound(name: str) -> Iterator[None]:
    """Tell what cannot be in a ledger as damage.

    A flipped bit makes ``usec`` of ``used``, or a date of no calendar. The database hands it out
    as any other text; what reads it, fails.
    """
    try:
        yield
    except UnicodeDecodeError:
        raise
    except (ArithmeticError, LookupError, TypeError, ValueError) as error:
        said = " ".join(str(error).split())[:200]
        raise LedgerError(
            f"The ledger is damaged: it holds what no edgetime wrote ({said}).",
            where=Where(path=name),
            remedy="'edgetime ledger audit' says which entry. Keep the damaged ledger as it is, "
            "and put back the last backup.",
        ) from error


class Store:
    """A database that holds a ledger.

    Parameters
    ----------
    place : Path or URL
        From :func:`locate`.
    wait_s : float
        How long to wait for a lock [s].
    """

    def __init__(self, place: Path | URL, *, wait_s: float = WAIT_S) -> None:
        self.place = place
        self.path = place if isinstance(place, Path) else None
        self.wait_s = wait_s
        self.name = (
            str(place)
            if isinstance(place, Path)
            else without_secrets(
                place.set(drivername="postgresql").render_as_string(hide_password=True)
            )
        )
        self._engine: Engine | None = None

    @property
    def engine(self) -> Engine:
        """The engine, made at its first use."""
        if self._engine is None:
            self._engine = self._lite() if self.path is not None else self._server()
        return self._engine

    def _lite(self) -> Engine:
        assert self.path is not None  # noqa: S101  engine() has looked
        address = f"file:{quote(os.fspath(self.path.absolute()))}?mode=rw"

        def connect() -> sqlite3.Connection:
            link = sqlite3.connect(
                address,
                uri=True,
                timeout=self.wait_s,
                isolation_level=None,
                check_same_thread=False,
            )
            try:
                for pragma in _PRAGMAS:
                    link.execute(f"PRAGMA {pragma}")
            except BaseException:
                # The first statement reads the file, and fails when it is damaged or locked.
                link.close()
                raise
            return link

        engine = create_engine("sqlite+pysqlite://", creator=connect, poolclass=_pool())

        @event.listens_for(engine, "begin")
        def begin(link: Connection) -> None:
            # A writer takes the lock at once: two that read first would both fail to write.
            write = link.get_execution_options().get("write", False)
            link.exec_driver_sql("BEGIN IMMEDIATE" if write else "BEGIN")

        return engine

    def _server(self) -> Engine:
        assert isinstance(self.place, URL)  # noqa: S101  engine() has looked
        wait_ms = int(self.wait_s * 1000)
        return create_engine(
            self.place,
            poolclass=_pool(),
            connect_args={
                "connect_timeout": max(2, min(10, int(self.wait_s))),
                "options": f"-c lock_timeout={wait_ms} -c timezone=UTC "
                "-c default_transaction_isolation=read\\ committed",
            },
        )

    @contextmanager
    def read(self) -> Iterator[Connection]:
        """Open a transaction that sees one state throughout."""
        with plainly(self.name), _sound(self.name), self.engine.connect() as link:
            if self.path is None:
                link = link.execution_options(isolation_level="REPEATABLE READ")  # noqa: PLW2901
            with link.begin():
                yield link

    @contextmanager
    def write(self) -> Iterator[Connection]:
        """Open a transaction that no other writer overlaps: wholly in, or wholly out."""
        with (
            plainly(self.name),
            self.engine.connect() as link,
            link.execution_options(write=True).begin(),
        ):
            if self.path is None:
                # A lock on the tables would need the right to change or delete what is in them.
                link.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": APPLICATION_ID})
            yield link

    def close(self) -> None:
        """Give the connections back."""
        if self._engine is not None:
            self._engine.dispose()
            self._engine = None


def _pool() -> Any:
    from sqlalchemy.pool import QueuePool  # noqa: PLC0415  the default depends on the address

    return QueuePool
