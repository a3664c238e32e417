"""Workbooks calculate: LibreOffice gets our figures, and after a change those of a new run."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest
from support.workbooks import cell_of, formulas, half_a_digit, needs_office, number, recalculated

pytestmark = [needs_office, pytest.mark.slow]

RULES = {
    "plain": {},
    # Tax in the prices and line by line, lines rounded to five cents, half to even.
    "lines": {
        "tax": '"19 %"',
        "tax_included": "true",
        "tax_at": '"line"',
        "round_at": '"line"',
        "round_to": '"0.05 EUR"',
        "rounding": '"half-even"',
        "margin_on": '"price"',
        "locale": '"de_DE"',
    },
    # The minimum governs, and is rounded up to it.
    "minimum": {"minimum": '"900.05 EUR"', "round_to": '"0.10 EUR"', "tax": '"8.25 %"'},
    "set-up": {
        "setup_share": '"line"',
        "attendance": '"20 %"',
        "tax": '"8.25 %"',
        "rounding": '"up"',
    },
}
"""Keys of [price] by name of a shop."""

CHANGED = {
    "machine_rate": ('"61.30 EUR/h"', 61.3),
    "labour_rate": ('"38.75 EUR/h"', 38.75),
    "hand_rate": ('"71.00 EUR/m"', 71.0),
    "overhead": ('"12.5 %"', 0.125),
    "margin": ('"27 %"', 0.27),
    "setup": ('"24 min"', 0.4),
    "electricity": ('"0.31 EUR/kWh"', 0.31),
}
"""Key → what the file has then, and what is typed into the cell."""

NAMES = {"overhead": "overhead_rate"}
"""Cells that are called otherwise than the key."""


def write_shop(folder: Path, keys: dict[str, str]) -> Path:
    """Change keys of the table [price] of a shop."""
    file = folder / "shop.toml"
    text = file.read_text(encoding="utf-8")
    head, table, rest = re.split(r"(?m)^(\[price\]\n)", text, maxsplit=1)
    for key, value in keys.items():
        rest, found = re.subn(rf"(?m)^{key} = [^#\n]*", f"{key} = {value} ", rest, count=1)
        assert found, key
    file.write_text(head + table + rest, encoding="utf-8")
    return folder


def type_rates(book: object) -> None:
    """Type the changed rates into their cells."""
    for key, (_, typed) in CHANGED.items():
        cell_of(book, NAMES.get(key, key)).value = typed


@needs_office
def test_price_follows_its_rates(run, tmp_path):
    """Unchanged every formula gives our figure; changed, the totals are those of a new quote."""
    assert run("demo").code == 0
    load = [f"edgetime-demo/cafe-{name}.dxf" for name in ("counters", "washroom")]
    books, quotes = {}, {}
    for name, keys in RULES.items():
        shop = shutil.copytree("edgetime-demo", tmp_path / name)
        write_shop(shop, keys)
        for change in (None, type_rates):
            file = tmp_path / f"{name}{'-changed' * (change is not None)}.xlsx"
            assert run("price", *load, "--shop", shop, "--xlsx", file).code == 0
            books[file] = change
        write_shop(shop, {key: text for key, (text, _) in CHANGED.items()})
        quotes[name] = run("price", *load, "--shop", shop, "--format", "json").json()
    lengths = tmp_path / "lengths.xlsx"
    told = "eased=12.4 m, ogee=3 m, cutouts=2, holes=5"
    assert run("price", "--lengths", told, "--shop", "edgetime-demo", "--xlsx", lengths).code == 0
    books[lengths] = None
    made = recalculated(books, tmp_path)

    for path, change in books.items():
        if change is not None:
            continue
        checked = 0
        for sheet, address, ours, pattern in formulas(path):
            theirs = number(made[path][sheet][address].value)
            # Unit prices are kept to four decimals of the currency, half a digit off at most.
            assert theirs == pytest.approx(ours, abs=half_a_digit(pattern) * 1.01), (
                path.name, sheet, address,
            )  # fmt: skip
            checked += 1
        assert checked > 300

    for name, quote in quotes.items():
        book = made[tmp_path / f"{name}-changed.xlsx"]
        for key in ("net", "tax", "gross"):
            assert f"{cell_of(book, key).value:.2f}" == quote[key], (name, key)
        for sheet, rows in (("Items", quote["lines"]), ("Parts", quote["parts"])):
            column = next(c for c in book[sheet][1] if c.value == "EUR").column
            shown = [f"{book[sheet].cell(n, column).value:.2f}" for n in range(2, 2 + len(rows))]
            assert shown == [row["amount"] for row in rows], (name, sheet)
        kinds = {row[0]: row[1] for row in book["Costs"].iter_rows(min_row=2, values_only=True)}
        for cost in quote["costs"]:
            assert f"{kinds[cost['kind']]:.2f}" == cost["amount"].replace("-0.00", "0.00"), name
