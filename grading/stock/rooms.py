"""Where footprints may lie: on a skin, and beside one another, as maps over a grid of places."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import reduce
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import affinity

from grading.geometry.arrays import Floats
from grading.stock.footprints import Footprint, grown
from grading.stock.pieces import CutPiece
from grading.stock.skins import Skin

__all__ = ["STEP", "Map", "Rooms"]

#: Places lie so far apart, mm, across and along.
STEP = 1
#: The cost of a place off the skin: more than any overlap comes to.
OFF = 1 << 30
#: Of so many cells across and along, one is looked at first.
APART = 8
#: Depths beyond this, mm, count as this. They are worked out in parts of a mm, so many to each.
DEEPEST, FINE = 250, 16


@dataclass(frozen=True, eq=False)
class Map:
    """A figure for each place of a rectangle of the grid, its first cell at (column, row), and one for all outside."""

    column: int
    row: int
    cells: NDArray[Any]
    outside: int = 0
    _apart: dict[tuple[int, int], NDArray[Any]] = field(default_factory=dict)

    def apart(self, row: int, column: int) -> NDArray[Any]:
        """Every eighth figure across and along from one on."""
        key = (row, column)
        if key not in self._apart:
            self._apart[key] = self.cells[row::APART, column::APART].copy()
        return self._apart[key]

    def at(self, column: int, row: int) -> int:
        """The figure of a place."""
        rows, columns = self.cells.shape
        x, y = column - self.column, row - self.row
        return int(self.cells[y, x]) if 0 <= x < columns and 0 <= y < rows else self.outside


@dataclass(eq=False)
class Rooms:
    """Every footprint so far, equal ones once, and the maps of where they may lie."""

    gap: float
    pile_within: float
    _of: dict[tuple[int, float], Footprint] = field(default_factory=dict)
    _alike: dict[tuple[bytes, ...], Footprint] = field(default_factory=dict)
    _beside: dict[tuple[Footprint, Footprint], Map] = field(default_factory=dict)
    _turns: dict[tuple[int, int], tuple[float, ...]] = field(default_factory=dict)
    _on: dict[tuple[int, Footprint], Map] = field(default_factory=dict)

    def of(self, piece: CutPiece, angle: float) -> Footprint:
        """The footprint of a piece turned by so many degrees. Left and right of a piece may be the same one."""
        key = (id(piece), angle)
        if key not in self._of:
            footprint = grown(piece.polygon, angle, self.gap / 2, piece.unseen)
            alike = _likeness(footprint.parts) + _likeness(footprint.seen)
            self._of[key] = self._alike.setdefault(alike, footprint)
        return self._of[key]

    def beside(self, lying: Footprint, new: Footprint) -> Map:
        """How deep in mm, rounded up, ``new`` lies in ``lying``, by its place as seen from that one; 0 is clear."""
        key = (lying, new)
        if key not in self._beside:
            depths = _depths(lying, new)
            turned = depths.cells[::-1, ::-1]
            rows, columns = turned.shape
            self._beside[new, lying] = Map(1 - depths.column - columns, 1 - depths.row - rows, turned)
            self._beside[key] = depths
        return self._beside[key]

    def turns(self, skin: Skin, piece: CutPiece) -> tuple[float, ...]:
        """The turns at which a piece has a place on a bare skin: with the pile, or else as far off as it may be."""
        key = (id(skin.kind), id(piece))
        if key not in self._turns:
            possible = (
                tuple(angle for angle in angles if not self.on(skin, self.of(piece, angle)).cells.all())
                for angles in ((0.0,), (self.pile_within, -self.pile_within))
            )
            self._turns[key] = next(filter(None, possible), ())
        return self._turns[key]

    def on(self, skin: Skin, new: Footprint) -> Map:
        """Where no part of ``new`` reaches over the edge of what is usable of a bare skin: 0 there, OFF elsewhere.

        A part that does not show its face may lie on what is scratched.
        """
        key = (id(skin.kind), new)
        if key not in self._on:
            places = _all_within(skin.unseen, new.parts)
            if skin.kind.scratched:
                places = places.intersection(_all_within(skin.usable, new.seen))
            inside = _raster(places)
            self._on[key] = Map(inside.column, inside.row, np.where(inside.cells, np.int32(0), np.int32(OFF)), OFF)
        return self._on[key]

    def lies_on(self, skin: Skin, piece: CutPiece, angle: float, column: int, row: int) -> bool:
        """Whether a piece so turned, its origin at a place, lies wholly on what is usable of a skin."""
        return not self.on(skin, self.of(piece, angle)).at(column, row)


def _likeness(parts: Iterable[Floats]) -> tuple[bytes, ...]:
    """What parts that are alike have in common, whatever the order of their corners."""
    return tuple(sorted(np.unique(part + 0.0, axis=0).tobytes() for part in parts))


def _depths(lying: Footprint, new: Footprint) -> Map:
    whole = _grid(lying.box, new.box)
    deepest = np.zeros([len(range(*span)) for span in reversed(whole)], np.uint8)
    (first_column, _), (first_row, _) = whole
    for one in lying.parts:
        for other in new.parts:
            columns, rows = _grid(_box(one), _box(other))
            x, y = np.arange(*columns) * float(STEP), np.arange(*rows) * float(STEP)
            normals, reach = _half_planes(one, other)
            depth = np.full((len(y), len(x)), DEEPEST * FINE, np.int16)
            slope = np.empty_like(depth)
            # Rounded so that what touches at most may seem to overlap, and never the other way round.
            ups = np.ceil((reach[:, None] - normals[:, 1:] * y) * FINE).astype(np.int16)
            asides = np.floor(normals[:, :1] * x * FINE).astype(np.int16)
            for up, aside in zip(ups, asides, strict=True):
                np.subtract(up[:, None], aside, out=slope)
                np.minimum(depth, slope, out=depth)
            np.maximum(depth, 0, out=depth)
            depth += FINE - 1
            depth //= FINE
            window = deepest[
                rows[0] - first_row : rows[1] - first_row, columns[0] - first_column : columns[1] - first_column
            ]
            np.maximum(window, depth.astype(np.uint8), out=window)
    return Map(first_column, first_row, deepest)


def _box(corners: Floats) -> Floats:
    return np.stack([corners.min(axis=0), corners.max(axis=0)])


def _grid(lying: Floats, new: Floats) -> list[tuple[int, int]]:
    """From which column and row to before which one boxes may touch."""
    low = np.floor((lying[0] - new[1]) / STEP).astype(int)
    high = np.ceil((lying[1] - new[0]) / STEP).astype(int)
    return [(first, last + 1) for first, last in zip(low.tolist(), high.tolist(), strict=True)]


def _half_planes(one: Floats, other: Floats) -> tuple[Floats, Floats]:
    """The half-planes, as normals (k, 2) and how far they reach, whose cut is ``one`` plus the reverse of ``other``.

    A convex part at (x, y) overlaps another at (0, 0) just where it lies inside all of them: this is their
    Minkowski sum, the 'no-fit polygon' of the literature on cutting.
    """
    edges = np.concatenate([np.roll(one, -1, axis=0) - one, other - np.roll(other, -1, axis=0)])
    normals = np.stack([edges[:, 1], -edges[:, 0]], axis=1)
    reach = (one @ normals.T).max(axis=0) - (other @ normals.T).min(axis=0)
    lengths = np.sqrt((normals**2).sum(axis=1))
    return normals / lengths[:, None], reach / lengths


def _all_within(usable: shapely.Geometry, parts: Iterable[Floats]) -> shapely.Geometry:
    """Where the origin of convex parts may be, for all of them to lie wholly on what is usable; empty without parts."""
    places = [_within(usable, part) for part in parts] if not usable.is_empty else []
    return reduce(shapely.intersection, places) if places else shapely.Polygon()


def _within(usable: shapely.Geometry, part: Floats) -> shapely.Geometry:
    """Where the origin of a convex part may be, for it to lie wholly on what is usable."""
    ends = [shapely.get_coordinates(ring) for ring in _rings(usable)]
    edges = np.concatenate([np.stack([ring[:-1], ring[1:]], axis=1) for ring in ends])
    over = (edges[:, :, None] - part).reshape(len(edges), -1, 2)
    forbidden = shapely.union_all(shapely.convex_hull(shapely.linestrings(over)))
    inner = part.mean(axis=0)
    return affinity.translate(usable, *(-inner)).difference(forbidden)


def _rings(area: shapely.Geometry) -> list[shapely.LinearRing]:
    parts = (part for part in shapely.get_parts(area) if part.geom_type == "Polygon")
    return [ring for part in parts for ring in (part.exterior, *part.interiors)]


def _raster(area: shapely.Geometry) -> Map:
    """The places of the grid that lie in an area: those with an odd number of its edges beside them in their row."""
    left, bottom, right, top = (0, 0, -1, -1) if area.is_empty else area.bounds
    low = np.ceil(np.array([left, bottom]) / STEP).astype(int)
    high = np.floor(np.array([right, top]) / STEP).astype(int)
    columns, rows = (high - low + 1).tolist()
    if columns < 1 or rows < 1:
        return Map(0, 0, np.zeros((1, 1), bool))
    y = np.arange(low[1], high[1] + 1.0) * STEP
    toggled = np.zeros((rows, columns + 1), np.int32)
    for ring in _rings(area):
        points = shapely.get_coordinates(ring)
        (x0, y0), (x1, y1) = points[:-1].T, points[1:].T
        edge, row = np.nonzero((y0[:, None] <= y) != (y1[:, None] <= y))
        at = x0[edge] + (y[row] - y0[edge]) / (y1[edge] - y0[edge]) * (x1[edge] - x0[edge])
        column = np.clip(np.ceil(at / STEP).astype(int) - low[0], 0, columns)
        np.add.at(toggled, (row, column), 1)
    return Map(int(low[0]), int(low[1]), np.cumsum(toggled, axis=1)[:, :columns] % 2 == 1)
