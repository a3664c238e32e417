"""Messages in the units that a screen is asked for."""

from __future__ import annotations

import pytest

from edgetime.errors import Where
from edgetime.report.wording import in_units, place_in_units
from edgetime.units import UnitSystem

METRIC, IMPERIAL = UnitSystem


@pytest.mark.parametrize(
    ("metric", "imperial"),
    [
        ("it is 12.5 mm, tool needs 40.0 mm.", "it is 0.492 in, tool needs 1.57 in."),
        ("measures 2500 × 600 mm; at", "measures 8' 2-7/16\" × 1' 11-5/8\"; at"),
        ("0 to 3600 by 0 to 2000 mm", "0 to 11' 9-3/4\" by 0 to 6' 6-3/4\""),
        ("from (25.4, -50.8) to (254, 0) mm", "from (1.00, -2.00) to (10.00, 0.00) in"),
        ("from 12.7 to 25.4 mm", "from 0.5 to 1 in"),
        ("at 75 mm/min; 3 to 12 m/min", "at 2.953 in/min; 118.1 to 472.4 in/min"),
        ("10 mm/s", "23.62 in/min"),
        # 1 m/s is 60 / 0.3048 = 196.85 feet a minute.
        ("45 m/s with 8000 rev/min", "8858 ft/min with 8000 rev/min"),
        ("7.194 m of eased", "23.60 ft of eased"),
        ("2.5 m² and 64.52 cm²", "26.91 sq ft and 10 sq in"),
        ("granite 30 mm thick, 12 mm nominal", "granite 3 cm thick, 12 mm nominal"),
        ("the wheel's 25.4 mm and the part's 50.8 mm", "the wheel's 1 in and the part's 2 in"),
        # Left alone: quoted text, values behind =, parts' names, other units.
        ("layer '20 mm saw' and \"30 mm\"", "layer '20 mm saw' and \"30 mm\""),
        ("write `gap = 0.5 mm`, thickness=20 mm", "write `gap = 0.5 mm`, thickness=20 mm"),
        ("--apart 200mm", "--apart 200mm"),
        ("P3 (Bar 40 mm) has 25.4 mm", "P3 (Bar 40 mm) has 1 in"),
        ("12 min 30 s, 5 moves, 3 m/s2", "12 min 30 s, 5 moves, 3 m/s2"),
    ],
)
def test_quantities_are_rewritten_and_names_are_not(metric, imperial):
    """Every form of quantity that messages use, and everything that only looks like one."""
    assert in_units(metric, IMPERIAL) == imperial
    assert in_units(metric, METRIC) == metric


def test_layers_keep_their_names():
    """A layer called by its thickness is not a quantity, once the finding names it."""
    said = in_units("Layer SLAB 20 mm has 25.4 mm of it.", IMPERIAL, names=("SLAB 20 mm", None))
    assert said == "Layer SLAB 20 mm has 1 in of it."


def test_the_decimal_sign_of_a_locale():
    """Quantities get it; versions, names and quoted text do not."""
    text = "It is 12.5 mm (7.25 %), file v1.2, 'a 3.5 mm'."
    assert in_units(text, METRIC, decimal=",") == "It is 12,5 mm (7,25 %), file v1.2, 'a 3.5 mm'."
    assert in_units("It is 12.7 mm.", IMPERIAL, decimal=",") == "It is 0,5 in."
    assert in_units("at (2.5, 3.5) mm", METRIC, decimal=",") == "at (2.5, 3.5) mm"


def test_places():
    """Coordinates follow, file and layer stay."""
    where = Where(path="a 20 mm.dxf", layer="L 5 mm", x_mm=25.4, y_mm=-50.8)
    assert place_in_units(where, IMPERIAL) == "a 20 mm.dxf, layer L 5 mm, at (1.00, -2.00) in"
    assert place_in_units(where, METRIC) == str(where)
    assert place_in_units(Where(key="--with"), IMPERIAL) == "--with"
