"""Where on a piece there still is room: for labels and arrows, clear of its edges, its lines and one another."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from grading.drawing.marks import Box, Mark
from grading.drawing.shapes import shapes

__all__ = ["Room"]

#: The side of the squares (mm) into which a piece is divided: nothing is placed more finely.
CELL = 1.5
#: What is kept free round each thing given a place, mm.
ROUND = 0.8
#: What it keeps from lines and edges besides, mm. The middle of a free square keeps half a diagonal more, so that its
#: corners keep that.
CLEAR = 0.5
_FROM_MIDDLE = CLEAR + CELL * 0.71
#: How far a line may be off where room is looked for, mm.
ROUGH = 0.05


class Room:
    """The part of an ``area`` that is free: clear of its edges, of ``lines``, and of what was given a place."""

    def __init__(self, area: shapely.Geometry, lines: Sequence[Mark]) -> None:
        drawn = shapely.simplify(shapes(lines), ROUGH)
        inside = shapely.buffer(area, -_FROM_MIDDLE, quad_segs=2)
        # Line by line, and then as one: much quicker than round all the lines at once.
        free = inside.difference(shapely.union_all(shapely.buffer(drawn, _FROM_MIDDLE, quad_segs=2)))
        #: The middle of the widest stretch that no line divides.
        self.middle = _middle(free)
        bounds: list[float] = [0.0] * 4 if inside.is_empty else shapely.bounds(inside).tolist()
        self._left, self._bottom, right, top = bounds
        self._across = self._left + CELL * (np.arange(int((right - self._left) / CELL)) + 0.5)
        self._up = self._bottom + CELL * (np.arange(int((top - self._bottom) / CELL)) + 0.5)
        shapely.prepare(free)
        self._free = shapely.contains_xy(free, *np.meshgrid(self._across, self._up))
        self._counted = _counted(self._free)

    def take(self, width: float, height: float, near: tuple[float, float]) -> Box | None:
        """A free place of that size, its middle as near as can be; it is free no more. None if there is none."""
        columns, rows = (int(np.ceil((side + 2 * ROUND) / CELL)) for side in (width, height))
        counted = self._counted
        if rows >= len(counted) or columns >= counted.shape[1]:
            return None
        inside = counted[rows:, columns:] - counted[:-rows, columns:] - counted[rows:, :-columns]
        row, column = np.nonzero(inside + counted[:-rows, :-columns] == rows * columns)
        if len(row) == 0:
            return None
        away = (self._left + (column + columns / 2) * CELL - near[0]) ** 2
        away += (self._bottom + (row + rows / 2) * CELL - near[1]) ** 2
        nearest = int(away.round(6).argmin())
        first_row, first_column = int(row[nearest]), int(column[nearest])
        self._free[first_row : first_row + rows, first_column : first_column + columns] = False
        self._counted = _counted(self._free)
        left, bottom = self._left + first_column * CELL, self._bottom + first_row * CELL
        place = Box(left, bottom, left + columns * CELL, bottom + rows * CELL)
        x, y = place.centre
        return Box(x - width / 2, y - height / 2, x + width / 2, y + height / 2)


def _counted(free: NDArray[np.bool_]) -> NDArray[np.int32]:
    """How many squares (rows + 1, columns + 1) are free below and to the left of each corner."""
    counted = np.zeros((free.shape[0] + 1, free.shape[1] + 1), dtype=np.int32)
    counted[1:, 1:] = free.cumsum(axis=0, dtype=np.int32).cumsum(axis=1, dtype=np.int32)
    return counted


def _middle(free: shapely.Geometry) -> tuple[float, float]:
    if free.is_empty:
        return 0.0, 0.0
    parts = shapely.get_parts(free)
    # Of parts that are images of one another the left one, whatever the last bits of their areas.
    largest = min(parts, key=lambda part: (-round(part.area), part.centroid.x))
    return largest.centroid.x, largest.centroid.y
