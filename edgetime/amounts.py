"""Why a number with separators is not read.

Amounts of money are exact decimals and are read as ``1800`` or ``1800.00``: what a comma in one
means depends on who writes it, and a wrong guess is a factor of a thousand.
"""

from __future__ import annotations

import re
from typing import Final

_MARK: Final = ",'\u2019_ \u00a0\u202f"
"""What thousands or decimals are parted by, other than a point."""

_APART: Final = re.compile(rf"\d+(?:[.{_MARK}]\d+)+", re.ASCII)
_GROUPS: Final = re.compile(r"[1-9]\d{0,2},\d{3}")
_MARKS: Final = str.maketrans("", "", _MARK)


def separator_fault(text: str) -> tuple[str, str] | None:
    """Return what is wrong with the separators of a number, and how to write it.

    Returns
    -------
    (str, str) or None
        What and remedy; None when its digits have no separator but one decimal point.
    """
    match = _APART.search(text)
    if match is None:
        return None
    number = match[0]
    points, marks = number.count("."), [c for c in number if not c.isdecimal() and c != "."]
    if not marks and points == 1:
        return None
    if set(marks) == {","} and points == 0 and len(marks) == 1 and _GROUPS.fullmatch(number):
        return (
            f"{number} in {text!r} may have a thousands comma or a decimal comma",
            f"Write {number.translate(_MARKS)} or {number.replace(',', '.')}.",
        )
    if set(marks) == {","} and len(marks) == 1 and points == 0:
        return (
            f"{number} in {text!r} has a decimal comma; amounts are read with a point",
            f"Write {number.replace(',', '.')}.",
        )
    # 1.800,00 and 1,800.00: what stands last parts the decimals, if fewer than three follow it.
    last = max(number.rfind("."), number.rfind(","))
    decimals = number[last + 1 :] if last >= 0 and len(number) - last - 1 != 3 else ""
    whole = number[:last] if decimals else number
    plain = whole.translate(_MARKS).replace(".", "")
    return (
        f"{number} in {text!r} has thousands apart; amounts are read without separators",
        f"Write {plain}.{decimals}." if decimals else f"Write {plain}.",
    )
