"""What differs between two tables of figures by size: this season's against the last's."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from grading.model.sizes import SizeTable

__all__ = ["Comparison", "compared"]

#: Figures that differ by less than this, mm, are the same.
SAME = 0.005


@dataclass(frozen=True, eq=False)
class Comparison:
    """One group against its like: ``change`` has a row for each name and a column for each size that both have.

    The figures are mm, this less that; the tuples name what only one of the two has.
    """

    group: str
    change: pd.DataFrame
    rows_added: tuple[str, ...]
    rows_gone: tuple[str, ...]
    sizes_added: tuple[str, ...]
    sizes_gone: tuple[str, ...]

    @property
    def changed(self) -> pd.DataFrame:
        """The rows in which any figure changed."""
        return self.change[(self.change.abs() >= SAME).any(axis=1)]


def compared(this: SizeTable, that: SizeTable) -> Comparison:
    """One table against another, row by row and size by size, by name.

    >>> import numpy as np
    >>> old = SizeTable("Women", ("S", "M"), ("girth",), np.array([[180.0, 192]]), ("mm",), ("",), ("",))
    >>> new = SizeTable("Women", ("S", "M"), ("girth",), np.array([[180.0, 194]]), ("mm",), ("",), ("",))
    >>> compared(new, old).changed.loc["girth"].tolist()
    [0.0, 2.0]
    """
    new, old = (_frame(table) for table in (this, that))
    rows, sizes = new.index.intersection(old.index, sort=False), new.columns.intersection(old.columns, sort=False)
    return Comparison(
        group=this.group,
        change=new.loc[rows, sizes] - old.loc[rows, sizes],
        rows_added=tuple(new.index.difference(old.index, sort=False)),
        rows_gone=tuple(old.index.difference(new.index, sort=False)),
        sizes_added=tuple(new.columns.difference(old.columns, sort=False)),
        sizes_gone=tuple(old.columns.difference(new.columns, sort=False)),
    )


def _frame(table: SizeTable) -> pd.DataFrame:
    names = pd.Index([name.casefold() for name in table.measurements])
    return pd.DataFrame(table.values, index=names, columns=pd.Index(table.sizes))
