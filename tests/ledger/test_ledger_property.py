"""Any sequence of entries and reversals keeps the books: the balance is the sum."""

from __future__ import annotations

import shutil
import tempfile
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule
from support.ledgers import FakeMeasure, FakeToolWear, FakeWear, pad_wear

from edgetime.errors import LedgerError
from edgetime.ledger import State, open_ledger

TOOLS = ("polish-1", "drum-75")
E12 = 10**12


@lru_cache(maxsize=1)
def _blank() -> bytes:
    """Return a new ledger's file, made once."""
    with tempfile.TemporaryDirectory() as folder:
        open_ledger(f"{folder}/blank.sqlite").close()
        return Path(f"{folder}/blank.sqlite").read_bytes()


@dataclass
class Line:
    """One entry as the model keeps it."""

    number: int
    kind: str
    serial: str
    length: int = 0
    time: int = 0
    common: int = 0
    restored: int = 0
    reverses: int = 0


@dataclass
class Model:
    """The books by definition: a list of lines, looked through anew for every question."""

    lines: list[Line] = field(default_factory=list)

    def stands(self, line: Line) -> bool:
        return line.kind != "reversed" and all(o.reverses != line.number for o in self.lines)

    def of(self, serial: str) -> list[Line]:
        return [o for o in self.lines if o.serial == serial and self.stands(o)]

    def in_service(self) -> list[str]:
        serials = [o.serial for o in self.lines if o.kind == "received" and self.stands(o)]
        return [s for s in serials if all(o.kind != "retired" for o in self.of(s))]

    def account(self, serial: str) -> tuple[int, int, int, bool]:
        """Return restored, share used by length and by time, and whether it was used."""
        lines = self.of(serial)
        start = max(i for i, o in enumerate(lines) if o.restored)
        life = lines[start + 1 :]
        used = [o for o in life if o.kind == "used"]
        common = sum(o.common for o in life)
        return (
            lines[start].restored,
            sum(o.length for o in used) + common,
            sum(o.time for o in used) + common,
            bool(used),
        )


class Books(RuleBasedStateMachine):
    """Do anything that may be done, and compare."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = tempfile.TemporaryDirectory()
        self.path = Path(self.folder.name) / "ledger.sqlite"
        self.path.write_bytes(_blank())
        self.ledger = open_ledger(self.path)
        self.model = Model()
        self.runs = 0

    def teardown(self) -> None:
        for form in ("csv", "json"):
            content = self.ledger.export(form)
            target = self.path.with_name(f"{form}.sqlite")
            shutil.copy(self._blank_file(), target)
            with open_ledger(target) as other:
                other.import_(content)
                assert other.export(form) == content
                assert other.balances() == self.ledger.balances()
                assert other.lives() == self.ledger.lives()
        assert self.ledger.audit().problems == ()
        self.ledger.close()
        self.folder.cleanup()

    def _blank_file(self) -> Path:
        path = self.path.with_name("blank.sqlite")
        path.write_bytes(_blank())
        return path

    def _add(self, posted, **values) -> None:
        for entry in posted.entries:
            self.model.lines.append(Line(entry.id, entry.kind.value, entry.serial, **values))

    @rule(tool=st.sampled_from(TOOLS), count=st.integers(1, 2))
    def receive(self, tool: str, count: int) -> None:
        self._add(self.ledger.receive(tool, count=count), restored=E12)

    @precondition(lambda self: self.model.in_service())
    @rule(data=st.data(), pocket=st.integers(1, 2))
    def mount(self, data, pocket: int) -> None:
        serial = data.draw(st.sampled_from(self.model.in_service()))
        try:
            self._add(self.ledger.mount(serial, pocket=pocket))
        except LedgerError as error:
            assert "already" in error.what  # noqa: PT017  either may be right

    @precondition(lambda self: any(b.state is State.MOUNTED for b in self.ledger.balances()))
    @rule(
        data=st.data(),
        length=st.integers(0, 4 * 10**11),
        time=st.integers(0, 4 * 10**11),
        again=st.booleans(),
    )
    def post(self, data, length: int, time: int, again: bool) -> None:
        mounted = {b.model for b in self.ledger.balances() if b.state is State.MOUNTED}
        tool = data.draw(st.sampled_from(sorted(mounted)))
        measures = (FakeMeasure("length", length / E12), FakeMeasure("time", time / E12))
        wear = FakeWear((FakeToolWear(tool, contact_mm=length / 1e6, measures=measures),))
        self.runs += 1
        posted = self.ledger.post_run(wear, digest="d", load_name="L", run=self.runs)
        assert posted.new
        self._add(posted, length=length, time=time)
        if again:
            assert not self.ledger.post_run(wear, digest="d", load_name="L", run=self.runs).new

    @precondition(lambda self: self.model.in_service())
    @rule(data=st.data(), life=st.integers(1, 100))
    def reprofile(self, data, life: int) -> None:
        serial = data.draw(st.sampled_from(self.model.in_service()))
        posted = self.ledger.reprofile(serial, anyway=True, life=life / 100, diameter_mm=80.0)
        self._add(posted, restored=life * E12 // 100)

    @precondition(lambda self: self.model.in_service())
    @rule(data=st.data(), percent=st.integers(-60, 60).filter(bool))
    def adjust(self, data, percent: int) -> None:
        serial = data.draw(st.sampled_from(self.model.in_service()))
        _, by_length, by_time, _ = self.model.account(serial)
        change = percent * E12 // 100
        try:
            self._add(self.ledger.adjust(serial, share=percent / 100), common=change)
        except LedgerError:
            assert max(by_length, by_time) + change < 0

    @precondition(lambda self: self.model.in_service())
    @rule(data=st.data(), kind=st.sampled_from(["dress", "measure", "retire", "out"]))
    def other(self, data, kind: str) -> None:
        serial = data.draw(st.sampled_from(self.model.in_service()))
        if kind == "retire":
            self._add(self.ledger.retire(serial, reason="broken"))
        elif kind == "measure":
            self._add(self.ledger.measure(serial, diameter_mm=79.5))
        elif kind == "dress":
            self._add(self.ledger.dress(serial))
        elif self.ledger.balances(serial)[0].state is State.MOUNTED:
            self._add(self.ledger.mount(serial, pocket=None))

    @precondition(lambda self: self.model.lines)
    @rule(data=st.data())
    def reverse(self, data) -> None:
        line = data.draw(st.sampled_from(self.model.lines))
        before = self.ledger.export()
        try:
            posted = self.ledger.reverse(line.number)
        except LedgerError:
            assert self.ledger.export() == before
            return
        assert self.model.stands(line)
        self._add(posted, reverses=line.number)

    @invariant()
    def balances_are_the_sums(self) -> None:
        balances = {b.serial: b for b in self.ledger.balances()}
        known = {
            o.serial for o in self.model.lines if o.kind == "received" and self.model.stands(o)
        }
        assert set(balances) == known
        for serial, balance in balances.items():
            restored, by_length, by_time, used = self.model.account(serial)
            share = max(by_length, by_time)
            assert balance.restored == restored / E12
            assert (balance.share or 0.0) == share / E12
            assert balance.remaining is not None or not used
            if balance.remaining is not None:
                assert balance.remaining == (restored - share) / E12
                assert balance.remaining <= balance.restored <= 1.0
            retired = any(o.kind == "retired" for o in self.model.of(serial))
            assert (balance.state is State.RETIRED) == retired
        pockets = [b.pocket for b in balances.values() if b.pocket is not None]
        assert len(pockets) == len(set(pockets))


TestBooks = Books.TestCase
TestBooks.settings = settings(
    max_examples=20,
    stateful_step_count=25,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
TestBooks = pytest.mark.slow(TestBooks)


class Seats(RuleBasedStateMachine):
    """Two seats post, reverse and post again while the shop's files change under them."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = tempfile.TemporaryDirectory()
        path = Path(self.folder.name) / "ledger.sqlite"
        path.write_bytes(_blank())
        self.seats = [open_ledger(path), open_ledger(path)]
        self.seats[0].receive("polish-1", serials=["P"])
        self.seats[0].mount("P", pocket=1)
        # The figures by which each physical run is in the books.
        self.posted: dict[tuple[str, int], float] = {}

    def teardown(self) -> None:
        audit = self.seats[0].audit()
        assert (audit.problems, audit.warnings) == ((), ())
        for seat in self.seats:
            seat.close()
        self.folder.cleanup()

    @rule(
        seat=st.integers(0, 1),
        load=st.sampled_from("AB"),
        run=st.integers(1, 2),
        edited=st.integers(0, 3),
        share=st.sampled_from([0.01, 0.02]),
        replace=st.booleans(),
    )
    def post(
        self, seat: int, load: str, run: int, edited: int, share: float, replace: bool
    ) -> None:
        """Post a run; ``edited`` is a comment in the shop's files, ``share`` what it does."""
        key, known = (load, run), self.posted.get((load, run))
        try:
            posted = self.seats[seat].post_run(
                pad_wear(share), digest=f"{edited} {share}", work_digest=f"w{share}",
                load_name=load, run=run, replace=replace,
            )  # fmt: skip
        except LedgerError:
            assert known not in {None, share}
            assert not replace
            return
        assert posted.new == (known != share)
        assert replace or known in {None, share}
        self.posted[key] = share

    @precondition(lambda self: self.posted)
    @rule(data=st.data(), seat=st.integers(0, 1))
    def reverse(self, data, seat: int) -> None:
        load, run = data.draw(st.sampled_from(sorted(self.posted)))
        self.seats[seat].reverse_run(load, run=run)
        del self.posted[load, run]

    @invariant()
    def each_physical_run_is_in_the_books_once(self) -> None:
        (balance,) = self.seats[0].balances()
        assert balance.runs == len(self.posted)
        assert (balance.share or 0.0) == pytest.approx(sum(self.posted.values()), abs=1e-9)


TestSeats = Seats.TestCase
TestSeats.settings = Books.TestCase.settings
TestSeats = pytest.mark.slow(TestSeats)
