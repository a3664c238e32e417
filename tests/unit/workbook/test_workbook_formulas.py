"""Declared formulas become those of a spreadsheet, and nothing else does."""

from __future__ import annotations

import pytest

from edgetime.workbook.formulas import Names, Range, back_from, is_sum, spreadsheet_formula

CELLS = {"rate": "B2", "time": "(C5*86400)", "value": "D5"}
COLUMNS = {
    ("work", "time"): Range("Work!$C$2:$C$9", "*86400"),
    ("work", "key"): Range("Work!$A$2:$A$9", ""),
    ("work", "value"): Range("Work!$D$2:$D$9", ""),
}
NAMES = Names(CELLS.__getitem__, lambda table, key: COLUMNS[table, key])


@pytest.mark.parametrize(
    ("formula", "written"),
    [
        ("rate", "B2"),
        ("rate * time / 3600", "((B2*(C5*86400))/3600)"),
        # What is taken away stays together.
        ("rate - (value + 1)", "(B2-(D5+1))"),
        ("-rate", "(-B2)"),
        ("1e-7 * rate", "(1E-07*B2)"),
        ("max(rate, value, 0)", "MAX(B2,D5,0)"),
        ("min(rate, 1)", "MIN(B2,1)"),
        ("rate if value > 0 else 1", "IF(D5>0,B2,1)"),
        ("rate if value == 2 else value", "IF(D5=2,B2,D5)"),
        # The time of the column is kept in days.
        ("sum(work.time)", "(SUM(Work!$C$2:$C$9)*86400)"),
        ("sum_if(work.key, value, work.value)", "(SUMIF(Work!$A$2:$A$9,D5,Work!$D$2:$D$9))"),
        ("round_half_up(rate, 0.05)", "(ROUND(ROUND(B2/0.05,6),0)*0.05)"),
        ("round_up(rate, 0.05)", "(ROUNDUP(ROUND(B2/0.05,6),0)*0.05)"),
    ],
)
def test_translation(formula, written):
    """Operators, comparisons and functions, with what turns a kept number back."""
    assert spreadsheet_formula(formula, NAMES) == written


def test_rounding_to_even_and_shares_use_only_their_cells():
    """Their length is not for reading; LibreOffice calculates them in the tests of commands."""
    even = spreadsheet_formula("round_half_even(rate, 0.1)", NAMES)
    assert "MOD(ROUND(ROUND(B2/0.1,6),0),2)" in even
    shared = spreadsheet_formula("apportion(rate, work.value, 0.01)", NAMES)
    assert "SUMPRODUCT" in shared
    assert "ROW(D5)" in shared
    for text in (even, shared):
        assert text.count("(") == text.count(")")


@pytest.mark.parametrize(
    "formula",
    [
        "__import__('os')",
        "rate ** 2",
        "rate // 2",
        "'text'",
        "True",
        "rate.value",
        "max",
        "sum(rate)",
        "round_half_up(rate)",
        "apportion(rate, value, 1)",
        "rate if 0 < value < 1 else 1",
        "rate if value != 1 else 1",
        "[rate]",
        "lambda: rate",
        "cells(rate)",
    ],
)
def test_everything_else_is_refused(formula):
    """Nothing reaches a cell that is not a formula of ours."""
    with pytest.raises((ValueError, KeyError)):
        spreadsheet_formula(formula, NAMES)


def test_an_unknown_name_is_an_error():
    """A misspelt key is found when the workbook is written, not in the office."""
    with pytest.raises(KeyError, match="rtae"):
        spreadsheet_formula("rtae * 2", NAMES)


@pytest.mark.parametrize(
    ("formula", "answer"),
    [("a + b - c", True), ("a", True), ("a * b", False), ("a + 1", False), ("sum(t.a)", False)],
)
def test_which_formulas_only_add(formula, answer):
    """Those need no factor where all figures are kept alike."""
    assert is_sum(formula) is answer


@pytest.mark.parametrize(
    ("factor", "back"),
    [
        (1.0, ""),
        (1.0 / 86400.0, "*86400"),
        (1e-3, "*1000"),
        (1 / 304.8, "*304.8"),
        (100.0, "*0.01"),
    ],
)
def test_what_turns_a_kept_number_back(factor, back):
    """Days to seconds, metres or feet to millimetres, per cent to shares."""
    assert back_from(factor) == back
