"""What differs between two states of a size group: this season's tables and block against the last's."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import dist
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from grading.engine.run import SizeRun
from grading.model.block import Kind
from grading.model.figures import GroupFigures
from grading.model.names import Names
from grading.model.sizes import SizeTable
from grading.readings.measures import measured

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Comparison", "compared", "figures_of_run"]

#: Figures that differ by less than this, mm, are the same.
SAME = 0.005

T = TypeVar("T")


@dataclass(frozen=True, eq=False)
class Comparison:
    """One group against its like: ``change`` has a row for each name and a column for each size that both have.

    The figures are mm, this less that; the tuples name what only one of the two has. ``allowances`` gives that and
    this of each that differs, ``moved`` how far a point is from where it was. ``not_compared`` says in words what one
    of the two does not tell.
    """

    group: str
    change: pd.DataFrame
    rows_added: tuple[str, ...]
    rows_gone: tuple[str, ...]
    sizes_added: tuple[str, ...]
    sizes_gone: tuple[str, ...]
    allowances: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    moved: Mapping[str, float] = field(default_factory=dict)
    not_compared: tuple[str, ...] = ()

    @property
    def changed(self) -> pd.DataFrame:
        """The rows in which any figure changed."""
        return self.change[(self.change.abs() >= SAME).any(axis=1)]

    @property
    def everywhere(self) -> dict[str, float]:
        """The rows that changed by the same in every size, and by how much."""
        rows = {str(name): row.to_numpy() for name, row in self.changed.iterrows()}
        return {name: float(row[0]) for name, row in rows.items() if np.ptp(row) < SAME}

    @property
    def is_whole(self) -> bool:
        """Whether everything that either of the two tells was compared."""
        added_or_gone = self.rows_added + self.rows_gone + self.sizes_added + self.sizes_gone
        return not self.not_compared and not added_or_gone

    @property
    def differs(self) -> bool:
        """Whether anything that was compared differs."""
        return bool(len(self.changed) or self.allowances or self.moved)


def figures_of_run(run: SizeRun) -> GroupFigures:
    """Body figures, finished measures, allowances (those on seams too) and points of a graded group."""
    table, finished = run.table, measured(run)
    # The group's own or the block's, the same in all sizes.
    of_values = [value.name for value in run.block.values if value.kind is Kind.ALLOWANCE]
    allowances = {name: float(run.drivers[name][0]) for name in of_values}
    allowances |= {f"seam allowance {kind.name}": kind.allowance for kind in run.block.seam_types}
    body = [name for name in table.measurements if name not in allowances]
    names = (*body, *finished.names)
    values = np.concatenate([table.only(body).values, finished.values])
    by_size = SizeTable(run.group, run.sizes, names, values)
    points = {f"{point.piece}, {point.name}": (point.x, point.y) for point in run.block.points}
    return GroupFigures(by_size, allowances, points)


def compared(this: GroupFigures, that: GroupFigures) -> Comparison:
    """One state against another, row by row and size by size, by name.

    >>> old = SizeTable("Women", ("S", "M"), ("girth",), np.array([[180.0, 192]]))
    >>> new = SizeTable("Women", ("S", "M"), ("girth",), np.array([[180.0, 194]]))
    >>> difference = compared(GroupFigures(new), GroupFigures(old))
    >>> difference.changed.loc["girth"].tolist(), difference.not_compared
    ([0.0, 2.0], ())
    """
    new, old = this.by_size.frame(), that.by_size.spelled_as(this.by_size.measurements).frame()
    allowances = Names(name for one in (this, that) for name in one.allowances or ())
    new, old = (frame[[name not in allowances for name in frame.index]] for frame in (new, old))
    rows, sizes = new.index.intersection(old.index, sort=False), new.columns.intersection(old.columns, sort=False)
    kept, of_allowances = _in_both(this.allowances, that.allowances, "allowances")
    placed, of_points = _in_both(this.points, that.points, "the block's points")
    return Comparison(
        group=this.by_size.group,
        change=new.loc[rows, sizes] - old.loc[rows, sizes],
        rows_added=tuple(new.index.difference(old.index, sort=False)),
        rows_gone=tuple(old.index.difference(new.index, sort=False)),
        sizes_added=tuple(new.columns.difference(old.columns, sort=False)),
        sizes_gone=tuple(old.columns.difference(new.columns, sort=False)),
        allowances={name: (was, now) for name, (now, was) in kept.items() if abs(now - was) >= SAME},
        moved={name: dist(now, was) for name, (now, was) in placed.items() if dist(now, was) >= SAME},
        not_compared=(*([] if len(rows) and len(sizes) else ["any figure by size"]), *of_allowances, *of_points),
    )


def _in_both(
    this: Mapping[str, T] | None, that: Mapping[str, T] | None, what: str
) -> tuple[dict[str, tuple[T, T]], list[str]]:
    """What both tell of, this first, and in words what only one of them does."""
    if this is None or that is None:
        return {}, [] if this is that else [what]
    known = Names(this)
    old = {known.settled_or_not(name): value for name, value in that.items()}
    both = {name: (value, old[name]) for name, value in this.items() if name in old}
    words = [f"{name} (only here)" for name in this if name not in old]
    return both, words + [f"{name} (only there)" for name in old if name not in this]
