"""Processes that post at once, or are killed while they post. Run as a script.

It loads everything once and forks: a child is at work within milliseconds.

    python -m support.ledger_worker kill PLACE NAME KILLS SEED
    python -m support.ledger_worker create PLACE KILLS SEED
    python -m support.ledger_worker flood PLACE PROCESSES OWN COMMON
    python -m support.ledger_worker receive PLACE PROCESSES
"""

from __future__ import annotations

import json
import os
import random
import signal
import sys
import tempfile
import time
from collections.abc import Callable
from importlib import import_module
from itertools import count
from pathlib import Path

from edgetime.ledger import open_ledger
from support.ledgers import pad_wear

PIECES = ("polish-1", "polish-2", "polish-3", "drum-75", "seam-80")
WEAR = pad_wear(0.001, *PIECES)


def _child(work: Callable[[int], None]) -> tuple[int, int]:
    """Fork; return the child's id and the end of a pipe that it writes to."""
    read_end, write_end = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(read_end)
        code = 1
        try:
            work(write_end)
            code = 0
        finally:
            os._exit(code)
    os.close(write_end)
    return child, read_end


def _drain(read_end: int) -> bytes:
    said = b""
    while piece := os.read(read_end, 65536):
        said += piece
    os.close(read_end)
    return said


def kill(place: str, name: str, kills: int, seed: int) -> None:
    """Kill children while they post; print the loads whose posting had returned."""
    dice = random.Random(seed)
    acknowledged: list[str] = []
    for number in range(kills):

        def work(out: int, number: int = number) -> None:
            with open_ledger(place) as ledger:
                for turn in count():
                    load = f"{name}-{number}-{turn}"
                    ledger.post_run(WEAR, digest="d", load_name=load, who="worker")
                    os.write(out, load.encode() + b"\n")

        child, read_end = _child(work)
        # The first posting of a process is slow; from then on it posts all the time.
        first = b""
        while not first.endswith(b"\n"):
            piece = os.read(read_end, 1)
            if not piece:
                raise RuntimeError("the child ended before it had posted")
            first += piece
        time.sleep(dice.uniform(0.0, 0.05))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        # The last line may have been cut off: what was not said in full was not promised.
        acknowledged += (first + _drain(read_end)).decode().split("\n")[:-1]
    print(json.dumps(acknowledged))


def create(place: str, kills: int, seed: int) -> None:
    """Kill children while they make a ledger."""
    dice = random.Random(seed)
    for _ in range(kills):

        def work(out: int) -> None:
            open_ledger(place).close()
            os.write(out, b"made\n")

        child, read_end = _child(work)
        time.sleep(dice.uniform(0.0, 0.25))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        _drain(read_end)
        if Path(place).exists():
            break


def flood(place: str, processes: int, own: int, common: int) -> None:
    """Post from many processes at once; print how many postings were new in each."""
    gate_read, gate_write = os.pipe()

    def work_of(number: int) -> Callable[[int], None]:
        def work(out: int) -> None:
            os.close(gate_write)
            new = 0
            with open_ledger(place, wait_s=120.0) as ledger:
                os.read(gate_read, 1)
                loads = [f"own-{number}-{i}" for i in range(own)]
                loads += [f"common-{i}" for i in range(common)]
                random.Random(number).shuffle(loads)
                for load in loads:
                    new += ledger.post_run(WEAR, digest="d", load_name=load, who="worker").new
            os.write(out, str(new).encode())

        return work

    children = [_child(work_of(number)) for number in range(processes)]
    os.close(gate_write)
    said = [int(_drain(read_end)) for _, read_end in children]
    codes = [os.waitpid(child, 0)[1] for child, _ in children]
    print(json.dumps({"new": said, "codes": codes}))


def receive(place: str, processes: int) -> None:
    """Open a ledger that is not there yet from many processes, each entering one piece."""

    def work(out: int) -> None:
        with open_ledger(place, wait_s=120.0) as ledger:
            os.write(out, ledger.receive("polish-1", who="worker").entries[0].serial.encode())

    children = [_child(work) for _ in range(processes)]
    said = [_drain(read_end).decode() for _, read_end in children]
    codes = [os.waitpid(child, 0)[1] for child, _ in children]
    print(json.dumps({"serials": said, "codes": codes}))


def _load_all(place: str) -> None:
    """Load what opening a ledger loads, so that children need not."""
    with tempfile.TemporaryDirectory() as folder, open_ledger(f"{folder}/warm.sqlite") as ledger:
        ledger.count()
    if "://" in place:
        import_module("sqlalchemy.dialects.postgresql.psycopg")
        import_module("psycopg")


if __name__ == "__main__":
    _load_all(sys.argv[2])
    mode, where, *rest = sys.argv[1:]
    if mode == "kill":
        kill(where, rest[0], int(rest[1]), int(rest[2]))
    else:
        {"create": create, "flood": flood, "receive": receive}[mode](where, *map(int, rest))
