"""Orders: what is placed, arrives, is put off, cancelled, closed and reversed."""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
from contextlib import closing
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from functools import lru_cache
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from edgetime.errors import LedgerError
from edgetime.ledger import Delivery, Kind, OrderRequest, OrderState, open_ledger

TODAY = date(2026, 3, 2)
AT = {"at": datetime(2026, 3, 2, 9, tzinfo=UTC), "who": "ann"}


def a_line(tool="polish-1", count=6, *, days=14, **more):
    """Return a line that is expected so many days after the order."""
    return OrderRequest(tool=tool, count=count, expected=TODAY + timedelta(days=days), **more)


def due(ledger, number="7"):
    """Return what is outstanding of an order, by article."""
    found: dict[str, int] = {}
    for line in ledger.orders(number, today=TODAY):
        found[line.model] = found.get(line.model, 0) + line.outstanding
    return found


def test_an_order_from_placing_to_the_last_piece(ledger) -> None:
    """Six ordered, two and then three arrive, one is cancelled: nothing is outstanding."""
    price = {"price": Decimal("58.50"), "currency": "EUR", "supplier": "north"}
    placed = ledger.place([a_line(number="7", **price)], note="by phone", **AT)
    (entry,) = placed.entries
    assert (entry.kind, entry.serial, entry.order, entry.pieces) == (Kind.ORDERED, None, "7", 6)
    (line,) = ledger.orders("7", today=TODAY)
    assert (line.outstanding, line.state, line.supplier) == (6, OrderState.OPEN, "north")
    assert line.value == Decimal("351.00")
    came = ledger.receive_all([Delivery(tool="polish-1", count=2, order="7")], **AT)
    # Price and supplier are those that the order agreed on.
    assert {(e.order, e.amounts["price"]) for e in came.entries} == {("7", Decimal("58.50"))}
    assert {b.supplier for b in ledger.balances()} == {"north"}
    assert ledger.orders("7", today=TODAY)[0].state is OrderState.PART
    ledger.cancel("7", count=1, **AT)
    ledger.receive_all([Delivery(tool="polish-1", count=3, order="7")], **AT)
    (line,) = ledger.orders("7")
    assert (line.placed, line.arrived, line.cancelled, line.outstanding) == (6, 5, 1, 0)
    assert line.state is OrderState.ARRIVED
    assert ledger.on_hand("polish-1") == 5
    assert [e.kind.value for e in ledger.history(order="7")] == [
        "ordered", "received", "received", "cancelled", "received", "received", "received",
    ]  # fmt: skip
    audit = ledger.audit()
    assert audit.problems == ()
    assert ("orders added up again", 1) in audit.checks


def test_what_is_written_on_the_delivery_counts(ledger) -> None:
    """A price on the delivery note comes before that of the order."""
    ledger.place([a_line(number="7", price=Decimal(50), currency="EUR")], **AT)
    delivery = Delivery(
        tool="polish-1", order="7", price=Decimal(55), currency="EUR", supplier="south"
    )
    (entry,) = ledger.receive_all([delivery], **AT).entries
    assert entry.amounts["price"] == Decimal(55)
    assert ledger.balances()[0].supplier == "south"


def test_a_late_order_and_its_new_day(ledger) -> None:
    """Late by three days on day 17, no more once the new day is entered, and late again."""
    ledger.place([a_line(number="7", days=14)], **AT)
    late = TODAY + timedelta(days=17)
    assert ledger.orders(today=TODAY)[0].late_d == 0
    assert ledger.orders(today=late)[0].late_d == 3
    moved = ledger.reschedule("7", TODAY + timedelta(days=20), **AT)
    assert ledger.orders(today=late)[0].late_d == 0
    ledger.reverse(moved.entries[0].id)
    assert ledger.orders(today=late)[0].late_d == 3
    ledger.cancel("7", **AT)
    assert ledger.orders(today=late)[0].late_d == 0


def test_the_line_expected_first_is_served_first(ledger) -> None:
    """Of two lines of one article the earlier fills up, then the later."""
    ledger.place([a_line(count=2, days=20, number="7"), a_line(count=3, number="7")], **AT)
    ledger.receive_all([Delivery(tool="polish-1", count=4, order="7")], **AT)
    assert [line.arrived for line in ledger.orders("7")] == [1, 3]
    # What is expected last is cancelled first.
    ledger.cancel("7", count=1, **AT)
    assert due(ledger) == {"polish-1": 0}


def test_closing_writes_the_rest_off_and_can_be_reversed(ledger) -> None:
    """Four of six came: closed, nothing is expected; reversed, two are again."""
    ledger.place([a_line(number="7")], **AT)
    ledger.receive_all([Delivery(tool="polish-1", count=4, order="7")], **AT)
    closed = ledger.close_order("7", **AT)
    (line,) = ledger.orders("7")
    assert (line.state, line.outstanding, line.cancelled) == (OrderState.CLOSED, 0, 2)
    ledger.reverse(closed.entries[0].id)
    assert due(ledger) == {"polish-1": 2}
    assert ledger.audit().problems == ()


def test_lines_of_several_articles_and_suppliers(ledger) -> None:
    """Without a number each supplier's lines get one of their own; a profile is an article."""
    lines = [
        a_line(supplier="north"),
        a_line("metal-1", 2, profile="ogee", supplier="south"),
        a_line("metal-1", 1, profile="eased", supplier="south"),
    ]
    ledger.place([a_line(number="11")], **AT)
    posted = ledger.place(lines, **AT)
    assert [e.order for e in posted.entries] == ["12", "13", "13"]
    ledger.cancel("13", article="metal-1/ogee", **AT)
    assert due(ledger, "13") == {"metal-1/ogee": 0, "metal-1/eased": 1}


@pytest.mark.parametrize(
    ("attempt", "said"),
    [
        (lambda x: x.place([a_line(count=0)], **AT), "count is 0"),
        (lambda x: x.place([a_line(days=-1)], **AT), "is before"),
        (lambda x: x.place([a_line(days=2000)], **AT), "years ahead"),
        (
            lambda x: x.place([a_line(price=Decimal(5), currency="XYZ")], **AT),
            "no currency in use",
        ),
        (lambda x: x.place([a_line(number="7", supplier="south")], **AT), "placed with north"),
        (lambda x: x.place([a_line(number=" ")], **AT), "empty"),
        (lambda x: x.place([a_line(number="a\x1b[31m")], **AT), "not printable"),
        (lambda x: x.reschedule("8", TODAY, **AT), "no order '8'"),
        (lambda x: x.cancel("7", count=7, **AT), "has 6 polish-1 outstanding, not 7"),
        (lambda x: x.cancel("7", article="drum-75", **AT), "has no drum-75"),
        (
            lambda x: x.receive_all([Delivery(tool="polish-1", count=7, order="7")], **AT),
            "Order 7 has 6 polish-1 outstanding; 7 came",
        ),
        (
            lambda x: x.receive_all([Delivery(tool="polish-2", order="7")], **AT),
            "has no polish-2",
        ),
        (lambda x: x.reverse(1), None),
    ],
)
def test_what_is_refused_changes_nothing(ledger, attempt, said) -> None:
    """Each refusal says why, and leaves the books as they were."""
    ledger.place([a_line(number="7", supplier="north")], **AT)
    if said is None:
        ledger.receive_all([Delivery(tool="polish-1", order="7")], **AT)
        said = "1 other entries rest on order 7"
    before = ledger.export()
    with pytest.raises(LedgerError, match=said):
        attempt(ledger)
    assert ledger.export() == before


def test_an_order_does_not_count_as_stock(ledger) -> None:
    """What is ordered is no piece: no balance, no life, nothing in a report of use."""
    ledger.place([a_line(number="7", price=Decimal(50), currency="EUR")], **AT)
    assert (ledger.balances(), ledger.lives(), ledger.on_hand("polish-1")) == ((), (), 0)
    for by in ("month", "tool", "supplier", "machine"):
        assert ledger.report(by).groups == ()


@pytest.mark.parametrize("form", ["csv", "json"])
def test_exports_keep_orders(ledger, tmp_path, form: str) -> None:
    """An export read into an empty ledger has the same orders and exports the same."""
    ledger.place([a_line(number="=7"), a_line("metal-1", 2, profile="ogee", number="=7")], **AT)
    ledger.receive_all([Delivery(tool="polish-1", count=2, order="=7")], **AT)
    ledger.reschedule("=7", TODAY + timedelta(days=30), article="metal-1/ogee", **AT)
    ledger.reverse(ledger.cancel("=7", **AT).entries[0].id, **AT)
    content = ledger.export(form)
    with open_ledger(tmp_path / "other.sqlite") as other:
        other.import_(content)
        assert other.orders() == ledger.orders()
        assert other.export(form) == content


CHANGES = {
    "pieces": "UPDATE entries SET pieces = 60 WHERE kind = 'ordered'",
    "expected": "UPDATE entries SET expected = '2027-01-01' WHERE kind = 'rescheduled'",
    "order_no": "UPDATE entries SET order_no = '8' WHERE kind = 'ordered'",
    "price": "UPDATE entries SET price_e6 = 1 WHERE kind = 'ordered'",
    "supplier": "UPDATE entries SET supplier = 'south' WHERE kind = 'ordered'",
    "arrival": "UPDATE entries SET of_order = NULL WHERE kind = 'received'",
    "cancelled": "UPDATE entries SET pieces = 2 WHERE kind = 'cancelled'",
}


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES)
@pytest.mark.parametrize("chained", [False, True], ids=["changed", "chained anew"])
def test_audit_finds_a_changed_order(sqlite_place, change: str, chained: bool) -> None:
    """Whatever of an order is changed breaks the chain; chained anew it is not the noted hash."""
    with open_ledger(sqlite_place) as ledger:
        ledger.place(
            [a_line(number="7", price=Decimal(50), currency="EUR", supplier="north")], **AT
        )
        ledger.receive_all([Delivery(tool="polish-1", order="7")], **AT)
        ledger.reschedule("7", TODAY + timedelta(days=30), **AT)
        ledger.cancel("7", count=1, **AT)
        noted = ledger.last_hash()
    with closing(sqlite3.connect(sqlite_place, isolation_level=None)) as link:
        (guard,) = link.execute(
            "SELECT sql FROM sqlite_master WHERE name = 'entries_no_update'"
        ).fetchone()
        link.execute("DROP TRIGGER entries_no_update")
        link.execute(change)
        if chained:
            _chain_anew(link)
        link.execute(guard)
    with open_ledger(sqlite_place) as ledger:
        assert ledger.audit(noted if chained else None).problems != ()


def _chain_anew(link: sqlite3.Connection) -> None:
    from edgetime.ledger.chain import GENESIS, content_of, next_hash  # noqa: PLC0415

    link.row_factory = sqlite3.Row
    last = GENESIS
    for row in link.execute("SELECT * FROM entries ORDER BY id").fetchall():
        last = next_hash(last, content_of(dict(row)))
        link.execute("UPDATE entries SET hash = ? WHERE id = ?", (last, row["id"]))


@pytest.mark.parametrize(
    "wrong",
    [
        "UPDATE entries SET pieces = 1 WHERE kind = 'ordered'",  # less than what arrived
        "UPDATE entries SET tool = 'polish-2' WHERE kind = 'ordered'",
        "UPDATE entries SET expected = '2026-02-31' WHERE kind = 'ordered'",
    ],
)
def test_audit_adds_orders_up_without_the_chain(sqlite_place, wrong: str) -> None:
    """Orders that cannot be are found by their sums, with a chain that was computed anew."""
    with open_ledger(sqlite_place) as ledger:
        ledger.place([a_line(number="7")], **AT)
        ledger.receive_all([Delivery(tool="polish-1", count=2, order="7")], **AT)
    with closing(sqlite3.connect(sqlite_place, isolation_level=None)) as link:
        (guard,) = link.execute(
            "SELECT sql FROM sqlite_master WHERE name = 'entries_no_update'"
        ).fetchone()
        link.execute("DROP TRIGGER entries_no_update")
        link.execute(wrong)
        _chain_anew(link)
        link.execute(guard)
    with open_ledger(sqlite_place) as ledger:
        assert ledger.audit().problems != ()


@lru_cache(maxsize=1)
def _blank() -> bytes:
    """Return a new ledger's file, made once."""
    with tempfile.TemporaryDirectory() as folder:
        open_ledger(f"{folder}/blank.sqlite").close()
        return Path(f"{folder}/blank.sqlite").read_bytes()


@dataclass
class Line:
    """One entry of orders as the model keeps it."""

    number: int
    kind: str
    order: int = 0
    pieces: int = 0
    reverses: int = 0


@dataclass
class Model:
    """Orders by definition: a list of entries, looked through anew for every question."""

    lines: list[Line] = field(default_factory=list)

    def stands(self, line: Line) -> bool:
        return line.kind != "reversed" and all(o.reverses != line.number for o in self.lines)

    def orders(self) -> list[Line]:
        return [o for o in self.lines if o.kind == "ordered" and self.stands(o)]

    def sum_of(self, order: int, *kinds: str) -> int:
        return sum(
            o.pieces for o in self.lines if o.order == order and o.kind in kinds and self.stands(o)
        )

    def outstanding(self, order: Line) -> int:
        gone = self.sum_of(order.number, "received", "cancelled", "closed")
        return order.pieces - gone


class Orders(RuleBasedStateMachine):
    """Do with orders whatever may be done, and compare."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = tempfile.TemporaryDirectory()
        self.path = Path(self.folder.name) / "ledger.sqlite"
        self.path.write_bytes(_blank())
        self.ledger = open_ledger(self.path)
        self.model = Model()

    def teardown(self) -> None:
        assert self.ledger.audit().problems == ()
        for form in ("csv", "json"):
            target = self.path.with_name(f"{form}.sqlite")
            target.write_bytes(_blank())
            with open_ledger(target) as other:
                other.import_(self.ledger.export(form))
                assert other.orders() == self.ledger.orders()
        self.ledger.close()
        shutil.rmtree(self.folder.name, ignore_errors=True)
        self.folder.cleanup()

    def _draw(self, data) -> Line:
        return data.draw(st.sampled_from(self.model.orders()))

    @rule(count=st.integers(1, 5))
    def place(self, count: int) -> None:
        (entry,) = self.ledger.place([a_line(count=count)], **AT).entries
        self.model.lines.append(Line(entry.id, "ordered", entry.id, count))

    @precondition(lambda self: self.model.orders())
    @rule(data=st.data(), count=st.integers(1, 4), kind=st.sampled_from(["receive", "cancel"]))
    def take(self, data, count: int, kind: str) -> None:
        order = self._draw(data)
        number = next(o.number for o in self.ledger.orders() if o.line == order.number)
        fits = count <= self.model.outstanding(order)
        try:
            if kind == "receive":
                came = [Delivery(tool="polish-1", count=count, order=number)]
                posted = self.ledger.receive_all(came, **AT)
            else:
                posted = self.ledger.cancel(number, count=count, **AT)
        except LedgerError:
            assert not fits
            return
        assert fits
        for entry in posted.entries:
            pieces = 1 if kind == "receive" else count
            self.model.lines.append(Line(entry.id, entry.kind.value, order.number, pieces))

    @precondition(lambda self: self.model.orders())
    @rule(data=st.data(), kind=st.sampled_from(["close", "expect"]), days=st.integers(0, 90))
    def change(self, data, kind: str, days: int) -> None:
        order = self._draw(data)
        number = next(o.number for o in self.ledger.orders() if o.line == order.number)
        rest = self.model.outstanding(order)
        try:
            if kind == "close":
                posted = self.ledger.close_order(number, **AT)
            else:
                posted = self.ledger.reschedule(number, TODAY + timedelta(days=days), **AT)
        except LedgerError:
            assert rest == 0
            return
        pieces = rest if kind == "close" else 0
        for entry in posted.entries:
            self.model.lines.append(Line(entry.id, entry.kind.value, order.number, pieces))

    @precondition(lambda self: self.model.lines)
    @rule(data=st.data())
    def reverse(self, data) -> None:
        line = data.draw(st.sampled_from(self.model.lines))
        before = self.ledger.export()
        rests = any(
            o.order == line.number and o is not line and self.model.stands(o)
            for o in self.model.lines
        )
        try:
            posted = self.ledger.reverse(line.number)
        except LedgerError:
            assert not self.model.stands(line) or (line.kind == "ordered" and rests)
            assert self.ledger.export() == before
            return
        assert self.model.stands(line)
        assert not (line.kind == "ordered" and rests)
        for entry in posted.entries:
            self.model.lines.append(Line(entry.id, "reversed", reverses=line.number))

    @invariant()
    def outstanding_is_placed_less_arrived_less_cancelled(self) -> None:
        shown = {o.line: o for o in self.ledger.orders(today=TODAY)}
        assert set(shown) == {o.number for o in self.model.orders()}
        for order in self.model.orders():
            line = shown[order.number]
            assert line.outstanding == self.model.outstanding(order) >= 0
            assert line.arrived == self.model.sum_of(order.number, "received")
            assert line.cancelled == self.model.sum_of(order.number, "cancelled", "closed")
        assert len(self.ledger.balances()) == sum(o.arrived for o in shown.values()) + sum(
            1 for o in self.model.lines
            if o.kind == "received" and self.model.stands(o) and o.order not in shown
        )  # fmt: skip


TestOrders = Orders.TestCase
TestOrders.settings = settings(
    max_examples=20,
    stateful_step_count=25,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
