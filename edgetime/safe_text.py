"""Text from outside made safe for where it goes: spreadsheets, terminals, and secrets kept back."""

from __future__ import annotations

import re
import unicodedata
from typing import Any, Final

_RUNS: Final = re.compile(r"'*[=+\-@\t\r]")
_KEPT_BACK: Final = re.compile(r"'+[=+\-@\t\r]")
_NUMBER: Final = re.compile(r"[+-]?\d+(?:\.\d*)?(?:[eE][+-]?\d+)?")


def cell(value: Any) -> Any:
    """Return a value as a cell of a CSV file that no spreadsheet runs as a formula.

    A text that begins with ``=``, ``+``, ``-``, ``@``, a tab or a carriage return gets an
    apostrophe before it, and so does one that begins with apostrophes and such a character, so
    that :func:`read_cell` gives every text back. Numbers are left alone.
    """
    if isinstance(value, str) and _RUNS.match(value) and not _NUMBER.fullmatch(value):
        return f"'{value}"
    return value


def read_cell(text: str) -> str:
    """Return the text that :func:`cell` wrote."""
    return text[1:] if _KEPT_BACK.match(text) else text


_CONTROL: Final = {
    number: f"\\x{number:02x}" if number < 256 else f"\\u{number:04x}"
    for number in range(0x2070)
    # Control characters steer a terminal; the directional ones reorder what is read.
    if unicodedata.category(chr(number)) == "Cc"
    or number in {*range(0x202A, 0x202F), *range(0x2066, 0x206A)}
    if chr(number) not in "\n\t"
}


def shown(text: str) -> str:
    r"""Return a text with control characters written out, as ``\x1b``; lines stay lines."""
    return text if text.isprintable() else text.translate(_CONTROL)


_LOGIN: Final = re.compile(r"([A-Za-z][A-Za-z0-9+.-]*://[^\s/@:]*):\S*@")
_NAMED: Final = re.compile(r"(?i)(\b(?:ssl)?pass(?:word|wd|file)?\s*=\s*)[^\s&;'\"]+")


def without_secrets(text: str) -> str:
    """Return a text with ``***`` for the password of any address or parameter in it.

    Parameters
    ----------
    text : str
        A message, an address, a command line. What is between the user's name and the last
        ``@`` of a word is the password, whatever it holds.
    """
    return _NAMED.sub(r"\1***", _LOGIN.sub(r"\1:***@", text))
