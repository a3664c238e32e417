"""The generated list of keys."""

import tomllib

import pytest

from edgetime.tooling import shipped_folder
from edgetime.tooling.reference import key_reference
from edgetime.tooling.toml_file import flatten


@pytest.fixture(scope="module")
def reference():
    return {(r.file, r.key): r for r in key_reference()}


def test_every_shipped_key_is_listed(reference):
    """No file uses a key that the reference does not explain."""
    for path in shipped_folder().rglob("*.toml"):
        kind = path.relative_to(shipped_folder())
        file = kind.name if len(kind.parts) == 1 else f"{kind.parts[0]}/*.toml"
        for key, _ in flatten(tomllib.loads(path.read_text())):
            generic = "".join(c for c in key if not c.isdigit()) if "[" in key else key
            if not generic.startswith("source"):
                assert (file, generic) in reference, (path, key)


def test_every_key_has_a_meaning_and_a_form(reference):
    """Each key says what it means, what is allowed, and its default or that it is required."""
    for where, entry in reference.items():
        assert entry.meaning.endswith("."), where
        assert entry.allowed, where
    assert len({r.file for r in reference.values()}) == 7


def test_figures_have_units_ranges_and_defaults(reference):
    """A quantity lists its units and range, and a step's key the operations it is for."""
    feed = reference["stacks/*.toml", "step[].feed"]
    assert "in/min" in feed.unit
    assert feed.allowed == "a speed above 0 mm/min and at most 60 m/min"
    assert feed.default == "required"
    assert reference["stacks/*.toml", "step[].plunge"].default == "2 m/min"
    assert "For: core, cut, gauge." in reference["stacks/*.toml", "step[].depth_step"].meaning
    assert reference["machines/*.toml", "axis_acceleration"].allowed.startswith(
        "a list for X, Y, Z"
    )
    assert reference["machines/*.toml", "axis_jerk"].allowed.endswith('or "none"')
    assert reference["profiles/*.toml", "made_here"].default == "true"
    assert reference["shop.toml", "stock.saw"].default == "2 mm"
    assert reference["tools/*.toml", "life[].holes"].default == ""
