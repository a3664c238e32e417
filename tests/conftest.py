"""What several areas' tests share. Standing here also puts this folder on the import path."""

from __future__ import annotations

import pytest

from edgetime.drawing import read_drawing


@pytest.fixture
def read_text(tmp_path):
    """Return a function that writes text or bytes to a DXF file and reads the drawing."""

    def read(content, *, name="drawing.dxf", **options):
        path = tmp_path / name
        path.write_bytes(content.encode() if isinstance(content, str) else content)
        return read_drawing(path, **options)

    return read
