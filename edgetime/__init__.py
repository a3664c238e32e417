"""Cycle time of a stone-countertop load, from its drawing."""

from edgetime._version import __version__

__all__ = ["__version__"]
