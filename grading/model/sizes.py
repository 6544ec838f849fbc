"""A size group's table of body measurements, as typed, in millimetres."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from grading.findings import Place

__all__ = ["SizeTable"]


@dataclass(frozen=True, eq=False)
class SizeTable:
    """One size group: the figure of each measurement in each size.

    ``values`` is (measurements, sizes) in mm; rows follow ``measurements`` and columns follow ``sizes``, both in
    the order of the sheet. ``units`` are those of the rows as typed. A row may also name an allowance of the
    block, which then holds for this group.
    """

    group: str
    sizes: tuple[str, ...]
    measurements: tuple[str, ...]
    values: NDArray[np.float64]
    units: tuple[str, ...]
    how_to_measure: tuple[str, ...]
    source: tuple[str, ...]
    places: Mapping[tuple[int, int], Place] = field(default_factory=dict, repr=False)

    def row(self, measurement: str) -> NDArray[np.float64] | None:
        """The figures of one measurement in every size, or None if the table has no such row. Case is ignored."""
        names = [name.casefold() for name in self.measurements]
        key = measurement.casefold()
        return self.values[names.index(key)] if key in names else None

    def only(self, measurements: Sequence[str]) -> SizeTable:
        """The table with these of its rows, in this order. Raises ValueError for a name it does not have."""
        kept = [self.measurements.index(name) for name in measurements]

        def picked(column: tuple[str, ...]) -> tuple[str, ...]:
            return tuple(column[row] for row in kept) if column else ()

        return replace(
            self,
            measurements=tuple(measurements),
            values=self.values[kept],
            units=picked(self.units),
            how_to_measure=picked(self.how_to_measure),
            source=picked(self.source),
            places={
                (new, column): place
                for (row, column), place in self.places.items()
                for new in [kept.index(row) if row in kept else -1]
                if new >= 0
            },
        )

    def unit(self, measurement: str) -> str:
        """The unit in which a row was typed, mm where none is known. Raises ValueError for a name it does not have."""
        row = [name.casefold() for name in self.measurements].index(measurement.casefold())
        return (self.units[row] if self.units else "") or "mm"

    def place(self, measurement: str, size: str = "") -> Place:
        """The cell of a figure, or of the row's name where no size is given."""
        names = [name.casefold() for name in self.measurements]
        row = names.index(measurement.casefold())
        column = self.sizes.index(size) if size else -1
        return self.places.get((row, column), Place(group=self.group, size=size, measure=measurement))
