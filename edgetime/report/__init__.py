"""Screens and tables for people, rows for spreadsheets; figures come from the stages.

Everything is built as one string before any of it is written, so a failure never leaves
half a table behind.
"""

from edgetime.report.screen import Screen, plain
from edgetime.report.text import clock, share, signed_clock

__all__ = ["Screen", "clock", "plain", "share", "signed_clock"]
