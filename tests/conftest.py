"""Fixtures and options of all tests."""

from __future__ import annotations

import sqlite3

import pytest

from edgetime.drawing import read_drawing


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_auto_num_workers(config):
    """Use all cores for the whole suite alone.

    Starting workers takes longer than the tests of a file or two, and a benchmark wants the
    machine for itself. Zero means no workers, None one for each core; ``-n`` overrules both.
    """
    whole = config.args_source is config.ArgsSource.TESTPATHS
    return None if whole and not config.getoption("benchmark_only") else 0


def pytest_addoption(parser):
    """Add the option that asks for the long targets."""
    parser.addoption("--long", action="store_true", help="run tests that take minutes, too")


def pytest_collection_modifyitems(config, items):
    """Leave the long targets out unless they are asked for."""
    if not config.getoption("--long"):
        for item in items:
            if "long" in item.keywords:
                item.add_marker(pytest.mark.skip(reason="takes minutes; asked for with --long"))


@pytest.fixture
def read_text(tmp_path):
    """Return a function that writes text or bytes to a DXF file and reads the drawing."""

    def read(content, *, name="drawing.dxf", **options):
        path = tmp_path / name
        path.write_bytes(content.encode() if isinstance(content, str) else content)
        return read_drawing(path, **options)

    return read


@pytest.fixture
def closed_connections(monkeypatch):
    """Fail a test that leaves a connection to a SQLite file open.

    Python 3.13 warns of one when it is collected; this tells it at once, on every Python.
    """
    left = []

    class Watched(sqlite3.Connection):
        def __init__(self, *args, **options):
            super().__init__(*args, **options)
            left.append(self)

        def close(self):
            super().close()
            if self in left:
                left.remove(self)

    plain = sqlite3.connect
    monkeypatch.setattr(
        sqlite3, "connect", lambda *args, **options: plain(*args, factory=Watched, **options)
    )
    yield
    for link in left[:]:
        link.close()
        left.append(link)
    assert not left, f"{len(left)} connections were left open"
