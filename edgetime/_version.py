"""The version, a constant so that reading it costs nothing."""

__version__ = "0.1.0"
