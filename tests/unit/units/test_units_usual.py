"""The unit proposed where one is missing."""

from __future__ import annotations

import pytest

from edgetime.errors import UnitInvalid
from edgetime.tooling.assemble import RECORDS
from edgetime.tooling.declare import keys_of
from edgetime.tooling.kinds import Each, Quantity, Several, Table
from edgetime.tooling.shop_files import shipped_folder
from edgetime.tooling.toml_file import read_toml
from edgetime.units import UNITS, parse_quantity, written_in_inches
from edgetime.usual_units import USUAL, proposed_unit


@pytest.mark.parametrize(
    ("number", "dimension", "usual", "inches", "expected"),
    [
        (450, "speed", "", False, "mm/min"),
        (450, "speed", "", True, "in/min"),
        (2.5, "speed", "", False, "m/min"),
        (30, "speed", "traverse", False, "m/min"),
        (30000, "speed", "traverse", False, "mm/min"),
        (1200, "speed", "traverse", True, "in/min"),
        (45, "speed", "rim speed", False, "m/s"),
        (6000, "rotation", "", False, "rpm"),
        (30, "length", "", False, "mm"),
        (1.25, "length", "", True, "in"),
        (3000, "length", "edge", False, "m"),
        (5, "time", "", False, "s"),
        (14, "time", "delivery", False, "d"),
        (2.5, "time", "handling", False, "min"),
        (90, "time", "handling", False, "s"),
        (2, "time", "block", False, "ms"),
        (0.002, "time", "block", False, "s"),
        (2700, "density", "", False, "kg/m3"),
        (2.7, "density", "", False, "g/cm3"),
        (20, "mass", "", False, "kg"),
        (11, "power", "", False, "kW"),
        (5500, "power", "", False, "W"),
        (1.2, "acceleration", "", False, "m/s2"),
        (30, "flow", "", False, "l/min"),
    ],
)
def test_a_bare_number_gets_the_unit_it_is_usually_written_in(
    number, dimension, usual, inches, expected
):
    """Feeds as programs write them, rapids and marks as data sheets do, times as watches do."""
    with pytest.raises(UnitInvalid) as caught:
        parse_quantity(number, dimension, usual=usual, inches=inches)
    assert caught.value.remedy.startswith(f'Write "{number:g} {expected}"')


def test_no_unit_is_proposed_for_a_size_that_does_not_occur():
    """A feed of ten million is nothing in any unit: the units are listed, none is proposed."""
    with pytest.raises(UnitInvalid) as caught:
        parse_quantity("10000000", "speed")
    assert caught.value.remedy.startswith("Write it with one of: mm/s, mm/min")


def test_every_dimension_has_its_usual_units():
    """Each kind of figure that needs a unit is in the table, with units that exist."""
    assert set(UNITS) - {"ratio"} <= set(USUAL)
    known = {unit for units in UNITS.values() for unit in units}
    assert {u for usual in USUAL.values() for u in (*usual.units, *usual.in_inches)} <= known


def _figures(record, data, key=""):
    """Yield each quantity of a file: key, its kind, and the text."""
    forms = {}
    for declared in keys_of(record).values():
        measures = {name: kind for name, (kind, _) in declared.measures.items()}
        forms |= measures or {declared.name: declared.kind}
    for name, value in data.items():
        kind = forms.get(name)
        if isinstance(kind, Table):
            for table in value if isinstance(value, list) else [value]:
                yield from _figures(kind.record, table, f"{key}{name}.")
            continue
        each = kind.kind if isinstance(kind, (Several, Each)) else kind
        if isinstance(each, Quantity) and each.dimension != "ratio":
            for text in value if isinstance(value, list) else [value]:
                if isinstance(text, str) and text != each.word:
                    yield f"{key}{name}", each, text


@pytest.mark.parametrize("path", sorted(shipped_folder().rglob("*.toml")), ids=lambda p: p.stem)
def test_proposals_for_shipped_figures_are_of_the_right_size(path):
    """Every figure of the catalogue, its unit struck out, gets its own unit or a near one."""
    file = read_toml(path, path.name)
    record = RECORDS.get(path.parent.name) or RECORDS[path.name]
    wrong = []
    for key, kind, text in _figures(record, file.data):
        number = float(text.split()[0].replace(",", "."))
        factors = UNITS[kind.dimension]
        usual = kind.usual or kind.dimension
        unit = proposed_unit(number, usual, factors, inches=file.in_inches)
        if number == 0.0 or unit is None:
            continue
        off = number * factors[unit] / parse_quantity(text, kind.dimension)
        if not 1.0 / 60.0 <= off <= 60.0:
            wrong.append((key, text, unit))
    assert wrong == []


@pytest.mark.parametrize(
    ("text", "expected"),
    [("350 in/min", True), ('3"', True), ("2 ipm", True), ("30 mm", False), ("2 m/min", False),
     ("6000 rpm", None), ("70 %", None), ("granite", None), ("12", None)],
)  # fmt: skip
def test_what_is_written_in_inches(text, expected):
    """Lengths and speeds say which system a file is written in, other figures do not."""
    assert written_in_inches(text) is expected
