"""A size run: every piece of a block in every size of a table."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from grading.engine.grade import Drivers, drivers, graded_points
from grading.engine.shapes import Shape, shapes
from grading.geometry.arrays import Floats
from grading.model.block import BOUNDARY, Block, Kind
from grading.model.sizes import SizeTable

__all__ = ["Balance", "GradedPiece", "SizeRun", "grade", "regraded"]


@dataclass(frozen=True, eq=False)
class GradedPiece:
    """One piece in every size; ``points`` (sizes, points, 2) in mm, in the order of ``shape.names``."""

    shape: Shape
    points: Floats

    @cached_property
    def beziers(self) -> Mapping[str, Floats]:
        """The sew lines: for each loop its Bézier handles (sizes, segments, 4, 2) in mm."""
        return {name: loop.beziers(self.points) for name, loop in self.shape.loops.items()}

    @property
    def boundary(self) -> Floats:
        """The boundary's handles (sizes, segments, 4, 2) in mm."""
        return self.beziers[BOUNDARY]

    @cached_property
    def drawn(self) -> Floats:
        """The handles (sizes, segments, 4, 2) of the boundary as far as it is drawn: half of a mirrored one."""
        loop = self.shape.loops[BOUNDARY]
        return loop.stretch(self.points, np.arange(len(loop.names) // (2 if self.shape.piece.mirrored else 1)))

    def point(self, name: str) -> Floats:
        """A point (sizes, 2) in every size; ``NAME'`` is a mirrored point's image. Raises ValueError if unknown."""
        if name not in self.shape.names and name.endswith("'") and self.shape.piece.mirrored:
            return self.points[:, self.shape.names.index(name[:-1])] * [-1, 1]
        return self.points[:, self.shape.names.index(name)]

    @property
    def stacking_point(self) -> Floats:
        """Where each size (sizes, 2) is laid on the others in a nest: the piece's stacking point, or its origin."""
        name = self.shape.piece.stacking_point
        return self.point(name) if name else np.zeros((len(self.points), 2))

    def edge_lengths(self, edge: str) -> Floats:
        """The length (sizes,) in mm of an edge on the sew line. Raises KeyError for an unknown edge."""
        stretch = self.shape.edges[edge]
        return self.shape.loops[stretch.loop].length(self.points, stretch.segments)


@dataclass(frozen=True, eq=False)
class Balance:
    """What one balance driver was solved to: ``solved`` (sizes,) mm.

    ``missed`` (sizes,) is how much longer (or, below zero, shorter) side A still is than its target asks, mm: zero
    but where the driver's bounds, or the least length that side A can have, stop short of it.
    """

    driver: str
    seams: tuple[str, ...]
    solved: Floats
    missed: Floats


@dataclass(frozen=True, eq=False)
class SizeRun:
    """A block graded to every size of one group."""

    block: Block
    table: SizeTable
    drivers: Drivers
    pieces: Mapping[str, GradedPiece]
    balances: tuple[Balance, ...] = ()

    @property
    def group(self) -> str:
        return self.table.group

    @property
    def sizes(self) -> tuple[str, ...]:
        return self.table.sizes

    @cached_property
    def base(self) -> int | None:
        """Which size is the base size: the one whose body figures are those the block was drafted with, if any."""
        body = [kind is Kind.BODY for kind in self.drivers.kinds]
        same = np.all(self.drivers.values[:, body] == self.drivers.base[body], axis=1)
        return int(np.flatnonzero(same)[0]) if same.any() else None

    def only(self, size: int) -> SizeRun:
        """The run of one of its sizes alone, for what is read of that one; without what was solved for."""
        table = replace(self.table, sizes=(self.sizes[size],), values=self.table.values[:, [size]])
        drivers = replace(self.drivers, values=self.drivers.values[[size]])
        pieces = {name: GradedPiece(piece.shape, piece.points[[size]]) for name, piece in self.pieces.items()}
        return SizeRun(self.block, table, drivers, pieces)


def grade(block: Block, table: SizeTable) -> SizeRun:
    """Grade a block to every size of a table, each balance driver as drafted: ``balanced`` solves for those.

    Raises KeyError if the table lacks a body value of the block.
    """
    found = drivers(block, table)
    pieces = {name: _graded(shape, found) for name, shape in shapes(block).items()}
    return SizeRun(block, table, found, pieces)


def regraded(run: SizeRun, changed: Drivers, balances: tuple[Balance, ...]) -> SizeRun:
    """The same run with other figures for its drivers; a piece that none of those moves is kept as it is."""
    moved = np.any(changed.values != run.drivers.values, axis=0)
    pieces = {
        name: _graded(piece.shape, changed) if piece.shape.rules[moved].any() else piece
        for name, piece in run.pieces.items()
    }
    return SizeRun(run.block, run.table, changed, pieces, balances)


def _graded(shape: Shape, found: Drivers) -> GradedPiece:
    return GradedPiece(shape, graded_points(shape.points, shape.rules, found.change))
