"""Figures as a sheet shows them: in the unit chosen, and where they stand so that formulas find them."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import SupportsFloat

import numpy as np

from grading.geometry.arrays import Floats
from grading.units import DECIMALS, MM_PER, rounded
from grading.workbooks.book import Area

__all__ = ["DECIMALS", "Figures", "in_unit", "rounded"]


def in_unit(mm: Floats | SupportsFloat, unit: str) -> Floats:
    """Millimetres in another unit, without the noise beyond a millionth of it.

    >>> float(in_unit(222.25, "in"))
    8.75
    """
    figures: Floats = np.round(np.asarray(mm, dtype=float) / float(MM_PER[unit]), 6)
    return figures


@dataclass(frozen=True, eq=False)
class Figures:
    """A table of one row a measure and one column a size: its cells, and what is shown in them.

    ``values`` (measures, sizes) stand in the columns of ``area`` from ``first`` on, ``tolerances`` − and +
    (measures, 2), where there are any, in the two after them.
    """

    names: tuple[str, ...]
    area: Area
    first: int
    values: Floats
    tolerances: Floats = field(default_factory=lambda: np.empty((0, 2)))

    def cell(self, row: int, column: int) -> str:
        """The cell of a figure, as used from another sheet."""
        return self.area.cell_elsewhere(row, self.first + column)
