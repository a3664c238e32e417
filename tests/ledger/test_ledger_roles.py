"""The roles of the reference page: a seat can post and audit, and change nothing."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path

import pytest
from support.ledgers import pad_wear

from edgetime.errors import LedgerError
from edgetime.ledger import OrderRequest, open_ledger, schema

RELEASED = Path(__file__).parent / "released"
PAGE = Path(__file__).parents[2] / "docs" / "reference" / "ledger.md"


@pytest.fixture
def seat(postgres_place):
    """Make the roles as the page says, and return the address of a seat."""
    import psycopg  # noqa: PLC0415  only where a server is

    with open_ledger(postgres_place) as ledger:
        ledger.receive("polish-1")
    with psycopg.connect(postgres_place, autocommit=True) as link, _roles(link):
        yield postgres_place.replace("shop@", "ann@")


# The page has named roles since 0002; to bring up 0001 makes tables and views anew.
@pytest.fixture(params=[one for one in schema.REVISIONS if "0001" < one < schema.HEAD])
def old_seat(request, postgres_place):
    """Make the roles on a ledger of an earlier release, and return a seat's and its address."""
    import psycopg  # noqa: PLC0415  only where a server is

    with psycopg.connect(postgres_place, autocommit=True) as link:
        link.execute("DROP SCHEMA public CASCADE")
        link.execute((RELEASED / f"{request.param}.postgres.sql").read_text())
        with _roles(link):
            yield postgres_place.replace("shop@", "ann@"), postgres_place


@contextmanager
def _roles(link) -> Iterator[None]:
    (statements,) = re.findall(r"```sql\n(.*?)```", PAGE.read_text(), re.DOTALL)
    link.execute("SET search_path = public")
    link.execute(statements)
    link.execute("CREATE ROLE ann LOGIN IN ROLE seats")
    try:
        yield
    finally:
        link.execute("DROP OWNED BY seats")
        link.execute("DROP ROLE ann")
        link.execute("DROP ROLE seats")


def test_a_seat_cannot_bring_up_an_older_ledger(old_seat) -> None:
    """It is refused with what to do, and the ledger stays as it was."""
    import psycopg  # noqa: PLC0415  only where a server is

    seat, owner = old_seat
    with psycopg.connect(owner) as link:
        before = link.execute("SELECT version_num FROM public.alembic_version").fetchall()
    with pytest.raises(LedgerError, match="of an earlier release") as refused:
        open_ledger(seat, create=False)
    assert "who owns it" in (refused.value.remedy or "")
    with psycopg.connect(owner) as link:
        now = link.execute("SELECT version_num FROM public.alembic_version").fetchall()
    assert now == before


def test_what_seats_are_granted_holds_after_a_migration(old_seat) -> None:
    """When the owner has brought the ledger up, a seat enters orders, runs and audits."""
    import psycopg  # noqa: PLC0415  only where a server is

    seat, owner = old_seat
    open_ledger(owner).close()
    with open_ledger(seat) as ledger:
        ledger.receive("polish-1", serials=["new"])
        ledger.place([OrderRequest(tool="polish-2", number="7", expected=date(2099, 1, 1))],
                     anyway=True)  # fmt: skip
        ledger.mount("new", pocket=20)
        ledger.balances(), ledger.orders(), ledger.lives()
        assert ledger.post_run(pad_wear(0.1), digest="d", load_name="L").new
        assert ledger.audit().problems == ()
    for attempt in ("DROP TRIGGER entries_append_only ON entries", "DELETE FROM entries"):
        with psycopg.connect(seat) as link, pytest.raises(psycopg.errors.InsufficientPrivilege):
            link.execute(attempt)


def test_a_seat_can_do_its_work(seat) -> None:
    """Receive, mount, post, reverse, audit and export need no more than the page grants."""
    with open_ledger(seat) as ledger:
        ledger.receive("polish-1")
        ledger.place([OrderRequest(tool="polish-2", number="7", expected=date(2099, 1, 1))],
                     anyway=True)  # fmt: skip
        ledger.cancel("7")
        ledger.mount("polish-1", pocket=1)
        assert ledger.post_run(pad_wear(0.1), digest="d", load_name="L").new
        ledger.reverse_run("L")
        assert ledger.audit().problems == ()
        assert ledger.export().count("polish-1-001") == 4


@pytest.mark.parametrize(
    "attempt",
    [
        "DROP TRIGGER entries_append_only ON entries",
        "ALTER TABLE entries DISABLE TRIGGER ALL",
        "UPDATE entries SET who = 'x'",
        "DELETE FROM entries",
        "TRUNCATE entries CASCADE",
        "DROP TABLE runs CASCADE",
        (
            "CREATE OR REPLACE FUNCTION ledger_append_only() RETURNS trigger LANGUAGE plpgsql "
            "AS $$ BEGIN RETURN NULL; END $$"
        ),
        "UPDATE alembic_version SET version_num = '0001'",
        "SET session_replication_role = replica",
        "CREATE OR REPLACE VIEW mounts AS SELECT 1",
    ],
)
def test_a_seat_can_change_nothing(seat, attempt: str) -> None:
    """The server itself refuses whatever would change an entry or take a guard away."""
    import psycopg  # noqa: PLC0415  only where a server is

    with psycopg.connect(seat) as link, pytest.raises(psycopg.errors.InsufficientPrivilege):
        link.execute(attempt)
