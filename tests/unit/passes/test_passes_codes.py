"""The findings of load and plan are declared completely."""

from __future__ import annotations

import pytest

import edgetime.load.codes
import edgetime.passes.codes
from edgetime.findings import Code


@pytest.mark.parametrize("module", [edgetime.load.codes, edgetime.passes.codes])
def test_every_code_is_listed_once_with_its_remedy(module):
    """The reference page is made of ``CODES``, so none may be missing or nameless."""
    declared = [value for value in vars(module).values() if isinstance(value, Code)]
    assert sorted(c.name for c in module.CODES) == sorted(c.name for c in declared)
    assert len({c.name for c in module.CODES}) == len(declared)
    assert all(c.meaning.endswith(".") and c.remedy.endswith(".") for c in declared)
