"""What may be chosen by name is what the records hold."""

from __future__ import annotations

from dataclasses import fields
from typing import get_type_hints

import pytest

from edgetime.load import Choices, Options, PartChoice


def test_choices_are_the_fields_of_both_records():
    """Each field once, none besides."""
    names = [f.name for record in (Options, PartChoice) for f in fields(record)]
    assert sorted(Choices.__annotations__) == sorted(names)
    assert Choices.__total__ is False


def test_choices_have_the_types_of_the_records():
    """But that sequences and mappings of any kind are taken."""
    wide = {"place", "diameters_mm", "only", "without", "copies"}
    types = get_type_hints(Choices)
    for record in (Options, PartChoice):
        for name, kind in get_type_hints(record).items():
            if name not in wide:
                assert types[name] == kind, name


def test_choices_of_parts_go_to_their_record():
    """A list becomes a tuple, and what was chosen before stays."""
    made = Options(stone="granite").having(only=["p01"], thickness_mm=30).having(apart_mm=50.0)
    assert made == Options(
        stone="granite", thickness_mm=30, choice=PartChoice(only=("p01",), apart_mm=50.0)
    )
    assert Options(diameters_mm={"t": 1.0}).having(diameters_mm=None).diameters_mm == {}


def test_an_unknown_choice_is_refused():
    """By name."""
    with pytest.raises(TypeError, match="stoen"):
        Options().having(stoen="granite")
