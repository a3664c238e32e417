"""The roles of the reference page: a seat can post and audit, and change nothing."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest
from support.ledgers import pad_wear

from edgetime.ledger import OrderRequest, open_ledger

PAGE = Path(__file__).parents[2] / "docs" / "reference" / "ledger.md"


@pytest.fixture
def seat(postgres_place):
    """Make the roles as the page says, and return the address of a seat."""
    import psycopg  # noqa: PLC0415  only where a server is

    with open_ledger(postgres_place) as ledger:
        ledger.receive("polish-1")
    (statements,) = re.findall(r"```sql\n(.*?)```", PAGE.read_text(), re.DOTALL)
    with psycopg.connect(postgres_place, autocommit=True) as link:
        link.execute(statements)
        link.execute("CREATE ROLE ann LOGIN IN ROLE seats")
        yield postgres_place.replace("shop@", "ann@")
        link.execute("DROP OWNED BY seats")
        link.execute("DROP ROLE ann")
        link.execute("DROP ROLE seats")


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
