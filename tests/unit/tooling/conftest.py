"""A shop folder to break."""

from __future__ import annotations

import pytest

from edgetime.tooling import shipped_folder


class Shop:
    """A shop folder that holds nothing of its own but what a test puts there."""

    def __init__(self, folder):
        self.folder = folder
        folder.mkdir()

    def path(self, name):
        """Return a file's path, the file copied from the catalogue if it is shipped."""
        path = self.folder / name
        shipped = shipped_folder() / name
        path.parent.mkdir(exist_ok=True)
        if not path.exists() and shipped.is_file():
            path.write_bytes(shipped.read_bytes())
        return path

    def edit(self, name, old, new):
        """Replace the first ``old`` in a file; return the line it stood on."""
        path = self.path(name)
        text = path.read_text(encoding="utf-8")
        assert old in text, f"{old!r} is not in {name}"
        path.write_text(text.replace(old, new, 1), encoding="utf-8")
        return text[: text.index(old)].count("\n") + 1

    def write(self, name, text):
        self.path(name).write_text(text, encoding="utf-8")


@pytest.fixture
def shop(tmp_path):
    return Shop(tmp_path / "shop")
