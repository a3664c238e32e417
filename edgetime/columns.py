"""Records whose fields are columns: arrays of one length, row for row."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Self

import numpy as np


class Columns:
    """What such dataclasses have in common."""

    # The table of a dataclass's fields, in their order; read directly because
    # dataclasses.fields() costs more than taking the rows of a short column.
    __dataclass_fields__: dict[str, Any]

    def __len__(self) -> int:
        """Return the number of rows."""
        return len(getattr(self, next(iter(self.__dataclass_fields__))))

    def __getitem__(self, rows: Any) -> Self:
        """Return some of the rows, as :meth:`take` does: a column may itself be a table."""
        return self.take(rows)

    def take(self, rows: Any) -> Self:
        """Return some of the rows, by number, by mask or as a slice."""
        return type(self)(*(getattr(self, name)[rows] for name in self.__dataclass_fields__))

    @classmethod
    def stack(cls, tables: Sequence[Self]) -> Self:
        """Return the rows of several tables, at least one, in order."""
        names = cls.__dataclass_fields__
        return cls(*(np.concatenate([getattr(t, name) for t in tables]) for name in names))
