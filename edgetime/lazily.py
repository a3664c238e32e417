"""Names of a package that are loaded when they are first used."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from importlib import import_module
from typing import Any


def lazily(package: str, homes: Mapping[str, str]) -> Callable[[str], Any]:
    """Return the ``__getattr__`` of a package.

    Parameters
    ----------
    package : str
        Its name.
    homes : mapping
        Module below the package → the names that are loaded from it.
    """
    home = {name: module for module, names in homes.items() for name in names.split()}

    def load(name: str) -> Any:
        if name not in home:
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        value = getattr(import_module(f"{package}.{home[name]}"), name)
        setattr(sys.modules[package], name, value)
        return value

    return load
