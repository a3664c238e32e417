"""What several folders of tests share: a small catalogue, drawings, records and counterparts.

``pyproject.toml`` puts ``tests/`` on the import path; ``FOLDER`` is for processes that a test starts.
"""

from __future__ import annotations

from pathlib import Path

FOLDER = Path(__file__).parents[1]
