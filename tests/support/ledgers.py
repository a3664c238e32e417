"""Wear of invented loads, and a PostgreSQL server of the tests' own."""

from __future__ import annotations

import os
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

from edgetime.ledger import Delivery, OrderRequest, open_ledger


@dataclass(frozen=True)
class FakeMeasure:
    """Share of life by one measure."""

    by: str
    share: float
    used: float = 0.0


@dataclass(frozen=True)
class FakeToolWear:
    """Wear of one piece."""

    piece: str
    stone: str = "granite"
    thickness_mm: float = 30.0
    contact_mm: float = 0.0
    path_mm: float = 0.0
    volume_mm3: float = 0.0
    cut_s: float = 0.0
    holes: int = 0
    area_mm2: float = 0.0
    measures: tuple[FakeMeasure, ...] = ()
    governing: str | None = None
    cost: Decimal | None = None
    currency: str | None = None


@dataclass(frozen=True)
class FakeConsumables:
    """What a run consumes beside its tools."""

    water_l: float | None = 0.0
    electricity_kwh: float | None = 0.0


@dataclass(frozen=True)
class FakeWear:
    """Wear of one load."""

    tools: tuple[FakeToolWear, ...]
    consumables: FakeConsumables = FakeConsumables(None, None)
    machine: str = ""


def pad_wear(share: float = 0.02, *pieces: str, stone: str = "granite") -> FakeWear:
    """Return a load that uses the same share of each piece's life, by length of 450 m."""
    return FakeWear(
        tuple(
            FakeToolWear(
                piece,
                stone=stone,
                contact_mm=450_000.0 * share,
                path_mm=470_000.0 * share,
                volume_mm3=1000.0 * share,
                cut_s=9000.0 * share,
                measures=(FakeMeasure("length", share),),
                governing="length",
                cost=Decimal(60) * Decimal(repr(share)),
                currency="EUR",
            )
            for piece in pieces or ("polish-1",)
        )
    )


def server_binaries() -> Path | None:
    """Return the folder of PostgreSQL's programs, None when it is not installed."""
    places = sorted(Path("/usr/lib/postgresql").glob("*/bin"), reverse=True)
    found = shutil.which("initdb")
    places += [Path(found).parent] if found else []
    for place in places:
        if (place / "initdb").exists() and (place / "postgres").exists():
            return place
    return None


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _user() -> dict[str, Any]:
    # The server refuses to run as root; the package brings a user for it.
    root = os.geteuid() == 0
    return {"user": "postgres", "group": "postgres", "extra_groups": []} if root else {}


@contextmanager
def postgres_cluster(binaries: Path) -> Iterator[Path]:
    """Make a folder with a server's data in ``data``, for :func:`serving`."""
    folder = Path(tempfile.mkdtemp(prefix="ledger-pg-"))
    if _user():
        shutil.chown(folder, "postgres", "postgres")
    try:
        subprocess.run(
            [binaries / "initdb", "-D", folder / "data", "-U", "shop", "-A", "trust", "-E", "UTF8",
             "--locale=C", "--no-sync"],
            check=True, capture_output=True, cwd=folder, **_user(),
        )  # fmt: skip
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)


@contextmanager
def serving(binaries: Path, folder: Path) -> Iterator[str]:
    """Run a server on a loopback port; yield its address."""
    port = _free_port()
    with (folder / "log").open("ab") as log:
        # No power fails here, so nothing need reach the disk; transactions are as always.
        server = subprocess.Popen(
            [binaries / "postgres", "-D", folder / "data", "-p", str(port), "-k", folder,
             "-c", "listen_addresses=127.0.0.1", "-c", "fsync=off", "-c", "max_connections=60",
             "-c", "shared_buffers=64MB"],
            stdout=log, stderr=log, cwd=folder, **_user(),
        )  # fmt: skip
        try:
            for _ in range(300):
                ready = subprocess.run(
                    [binaries / "pg_isready", "-q", "-h", "127.0.0.1", "-p", str(port)], check=False
                )
                if ready.returncode == 0:
                    break
                assert server.poll() is None, (folder / "log").read_text()
                time.sleep(0.1)
            yield f"postgresql://shop@127.0.0.1:{port}/postgres"
        finally:
            server.send_signal(signal.SIGINT)  # what is still connected is cut off
            try:
                server.wait(20)
            except subprocess.TimeoutExpired:
                server.kill()
                server.wait(20)


@contextmanager
def postgres_server(binaries: Path) -> Iterator[str]:
    """Run a server with a data folder of its own on a loopback port; yield its address."""
    with postgres_cluster(binaries) as folder, serving(binaries, folder) as url:
        yield url


FIRST = datetime(2026, 3, 2, 6, tzinfo=UTC)
"""When the books of :func:`keep_books` begin."""


def keep_books(place) -> dict[str, str]:
    """Enter something of every kind, and return both exports."""
    with open_ledger(place) as ledger:
        ledger.receive(
            "polish-1", count=3, price=Decimal("58.50"), currency="EUR", supplier="Stein AG",
            batch="B7", diameter_mm=100.0, at=FIRST, who="ann", note='he said "½", \u2014 twice',
        )  # fmt: skip
        ledger.receive("metal-1", profile="ogee", serials=["A7"], at=FIRST, who="ann")
        ledger.mount("polish-1-001", pocket=1, machine="small", at=FIRST, who="ben")
        ledger.mount("A7", pocket=2, machine="small", at=FIRST, who="ben")
        for run in range(1, 9):
            wear = replace(
                pad_wear(0.0123 * run),
                machine="small",
                consumables=FakeConsumables(12.5 * run, 1.25 * run),
            )
            ledger.post_run(
                wear, digest=f"d{run}", work_digest=f"w{run}", load_name="kitchen 12", run=run,
                at=FIRST + timedelta(hours=run), who="ben",
            )  # fmt: skip
        late = FIRST + timedelta(days=2)
        ledger.measure("A7", diameter_mm=79.4, at=late, who="ann")
        ledger.dress("A7", diameter_mm=79.1, at=late, who="ann")
        ledger.reprofile(
            "A7", diameter_mm=78.4, life=0.9, price=Decimal(45), currency="EUR", at=late, who="ann"
        )
        ledger.adjust("polish-1-001", share=0.05, at=late, who="ann", note="looks worse")
        ledger.reverse_run("kitchen 12", run=3, at=late, who="ann")
        ledger.retire("polish-1-002", reason="lost", at=late, who="ann")
        ledger.place(
            [
                OrderRequest(
                    tool="metal-1", profile="ogee", count=4, number="4711", price=Decimal("185.5"),
                    currency="EUR", supplier="Stein AG", expected=late.date() + timedelta(days=14),
                )
            ],
            at=late, who="ann", note="by phone",
        )  # fmt: skip
        ledger.receive_all(
            [Delivery(tool="metal-1", profile="ogee", count=2, order="4711")], at=late, who="ann"
        )
        ledger.reschedule("4711", late.date() + timedelta(days=21), at=late, who="ann")
        ledger.cancel("4711", count=1, at=late, who="ann")
        ledger.close_order("4711", at=late, who="ann")
        return {form: ledger.export(form) for form in ("csv", "json")}
