"""A fresh ledger on each back end."""

from __future__ import annotations

import os

import pytest
from support.ledgers import postgres_server, server_binaries

from edgetime.ledger import open_ledger


@pytest.fixture(autouse=True)
def _nothing_left_open(closed_connections):
    """No way into or out of a ledger leaves a connection to its file open."""


@pytest.fixture(scope="session")
def postgres_url():
    """Address of a running server's maintenance database."""
    binaries = server_binaries()
    if binaries is None:
        if os.environ.get("CI"):
            pytest.fail("CI must have a PostgreSQL server: apt-get install postgresql")
        pytest.skip("no PostgreSQL server is installed (Debian package postgresql)")
    with postgres_server(binaries) as url:
        yield url


@pytest.fixture
def postgres_place(postgres_url):
    """Address of an empty database."""
    import psycopg  # noqa: PLC0415  only where a server is

    with psycopg.connect(postgres_url, autocommit=True) as link:
        link.execute("DROP SCHEMA public CASCADE")
        link.execute("CREATE SCHEMA public")
    return postgres_url


@pytest.fixture
def sqlite_place(tmp_path):
    """Return a file that does not exist yet."""
    return str(tmp_path / "ledger.sqlite")


@pytest.fixture(params=["sqlite", "postgresql"])
def place(request):
    """Where a new ledger may be, on each back end in turn."""
    return request.getfixturevalue(
        "sqlite_place" if request.param == "sqlite" else "postgres_place"
    )


@pytest.fixture
def ledger(place):
    """Open an empty ledger, on each back end in turn."""
    with open_ledger(place) as opened:
        yield opened
