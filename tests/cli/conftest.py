"""Running the command line inside and outside this process."""

from __future__ import annotations

import contextlib
import io
import json
import os
import re
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from edgetime.cli.app import app
from edgetime.demo import demo_drawings


def joined(err: str) -> str:
    """Return what was said of a failure with its wrapped lines joined, other text as it is."""
    return re.sub(r"\n {4}(?! *edgetime )", " ", err) if err.startswith("edgetime: ") else err


@dataclass(frozen=True)
class Ran:
    """What a command line did; lines of a failure are joined, ``shown`` has them wrapped."""

    code: int
    out: str
    err: str
    shown: str = ""

    def json(self) -> dict[str, Any]:
        """Return the only document on standard output."""
        document = json.loads(self.out)
        assert isinstance(document, dict)
        return document


Run = Callable[..., Ran]


@pytest.fixture(autouse=True)
def _no_shop_above(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Work in an empty folder, so that no shop folder is found by accident."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    for name in ("NO_COLOR", "FORCE_COLOR", "EDGETIME_DEBUG", "EDGETIME_LEDGER", "TERM"):
        monkeypatch.delenv(name, raising=False)


@pytest.fixture
def run() -> Run:
    """Run a command line in this process."""

    def call(*args: object) -> Ran:
        # Not the library's own runner: older releases of it mix the two streams.
        out, err = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8") for _ in range(2))
        with (
            contextlib.redirect_stdout(out),
            contextlib.redirect_stderr(err),
            pytest.raises(SystemExit) as ended,
        ):
            app([str(a) for a in args], prog_name="edgetime")
        texts = []
        for stream in (out, err):
            stream.flush()
            texts.append(stream.buffer.getvalue().decode())
        assert isinstance(ended.value.code, int)
        return Ran(ended.value.code, texts[0], joined(texts[1]), texts[1])

    return call


@pytest.fixture
def spawn(tmp_path: Path) -> Run:
    """Run a command line in a process of its own, as a user does."""

    def call(*args: object, **env: str) -> Ran:
        done = subprocess.run(
            [sys.executable, "-m", "edgetime", *map(str, args)],
            capture_output=True,
            check=False,
            cwd=tmp_path,
            env={**os.environ, "COLUMNS": "80", "PYTHONIOENCODING": "utf-8", **env},
            timeout=120,
        )
        err = done.stderr.decode()
        return Ran(done.returncode, done.stdout.decode(), joined(err), err)

    return call


@pytest.fixture
def drawings(tmp_path: Path) -> list[Path]:
    """Write the demo's drawings into the working folder."""
    paths = []
    for name, text in demo_drawings().items():
        path = tmp_path / name
        path.write_text(text, encoding="ascii")
        paths.append(path)
    return paths
