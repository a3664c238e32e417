"""Wear of invented loads, and a PostgreSQL server of the tests' own."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path


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


@contextmanager
def postgres_server(binaries: Path) -> Iterator[str]:
    """Run a server with a data folder of its own on a loopback port; yield its address."""
    folder = Path(tempfile.mkdtemp(prefix="ledger-pg-"))
    # The server refuses to run as root; the package brings a user for it.
    other = (
        {"user": "postgres", "group": "postgres", "extra_groups": []} if os.geteuid() == 0 else {}
    )
    if other:
        shutil.chown(folder, "postgres", "postgres")
    data, port = folder / "data", _free_port()
    log = (folder / "log").open("wb")
    try:
        subprocess.run(
            [binaries / "initdb", "-D", data, "-U", "shop", "-A", "trust", "-E", "UTF8",
             "--locale=C", "--no-sync"],
            check=True, stdout=log, stderr=log, cwd=folder, **other,
        )  # fmt: skip
        # No power fails here, so nothing need reach the disk; transactions are as always.
        server = subprocess.Popen(
            [binaries / "postgres", "-D", data, "-p", str(port), "-k", folder,
             "-c", "listen_addresses=127.0.0.1", "-c", "fsync=off", "-c", "max_connections=60",
             "-c", "shared_buffers=64MB"],
            stdout=log, stderr=log, cwd=folder, **other,
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
            server.terminate()
            try:
                server.wait(20)
            except subprocess.TimeoutExpired:
                server.kill()
                server.wait(20)
    finally:
        log.close()
        shutil.rmtree(folder, ignore_errors=True)
