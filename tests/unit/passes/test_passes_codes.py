"""The findings of load and plan are declared completely."""

from __future__ import annotations

import pytest

import edgetime.load.codes
import edgetime.passes.codes
from edgetime.findings import codes_in


@pytest.mark.parametrize("module", [edgetime.load.codes, edgetime.passes.codes])
def test_every_code_has_its_own_name_and_remedy(module):
    """No two codes share a name, and each says what it means and what to do."""
    declared = codes_in(module)
    assert len({c.name for c in declared}) == len(declared) > 0
    assert all(c.meaning.endswith(".") and c.remedy.endswith(".") for c in declared)
