"""Lines of keys, and figures with their keys."""

import tomllib

from edgetime.tooling.suggest import closest, shown, suggest
from edgetime.tooling.toml_file import flatten, key_lines

TEXT = '''# comment
title = "x"  # [not a header]
"quoted" = 1
text = """
title = "inside a text"
[[step]]
"""
a.b = 3
points = [
  # a comment in a list, with ]
  { u = 1 },

  { u = 2 },
]
short = [1, 2]

[stock]
saw = "2 mm"

[[step]]
tool = "a"

[[step]]
tool = "b"
list = [
  { x = 1 }, # one
  { x = 2 } ]

[step.inner]
deep = true

[[layer]]
match = "#]"
'''


def test_every_key_is_found_on_its_line():
    """Tables, arrays of tables, lists over lines, texts over lines and comments are told apart."""
    lines = key_lines(TEXT)
    assert tomllib.loads(TEXT)["step"][1]["inner"] == {"deep": True}
    rows = TEXT.splitlines()
    expected = {
        "title": 2, "quoted": 3, "text": 4, "a.b": 8, "points": 9, "points[1]": 11,
        "points[2]": 13, "short": 15, "stock": 17, "stock.saw": 18, "step[1]": 20,
        "step[1].tool": 21, "step[2]": 23, "step[2].tool": 24, "step[2].list": 25,
        "step[2].list[1]": 26, "step[2].list[2]": 27, "step[2].inner": 29,
        "step[2].inner.deep": 30, "layer[1]": 32, "layer[1].match": 33,
    }  # fmt: skip
    assert lines == expected
    assert all(
        key.rsplit(".", 1)[-1].split("[")[0] in rows[line - 1] or "{" in rows[line - 1]
        for key, line in expected.items()
    )


def test_figures_have_their_keys():
    """Every scalar and every list of scalars has one text under its dotted key."""
    data = {"a": 1, "b": {"c": True, "d": ["1 mm", "2 mm"]}, "e": [{"f": 1.5}, {"f": 2}]}
    assert dict(flatten(data)) == {
        "a": "1",
        "b.c": "true",
        "b.d": "1 mm, 2 mm",
        "e[1].f": "1.5",
        "e[2].f": "2",
    }


def test_misspelt_words_are_guessed():
    """The nearest word is guessed, nothing when none is near."""
    assert closest("Diametre", ["diameter", "width"]) == "diameter"
    assert closest("xyz", ["diameter", "width"]) is None
    assert (
        suggest("widht", ["diameter", "width"]) == "Did you mean width? Allowed: diameter, width."
    )
    assert suggest("xyz", ["diameter"]) == "Allowed: diameter."
    assert suggest("xyz", []) == ""


def test_values_are_shown_short():
    """A value is shown as its file has it, cut at 60 characters."""
    assert [shown(v) for v in (True, "a", {}, [], 2.5)] == [
        "true",
        '"a"',
        "a table",
        "a list",
        "2.5",
    ]
    assert len(shown("x" * 500)) == 60
