"""A size run: every piece of a block in every size of a table."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely

from grading.engine.cut_lines import CutLoop, cut_loop
from grading.engine.grade import Drivers, drivers, graded_points
from grading.engine.shapes import Shape, shapes
from grading.geometry.arrays import Floats
from grading.geometry.flattening import flatten
from grading.geometry.outlines import Loop
from grading.model.block import BOUNDARY, Block, Kind
from grading.model.names import Names
from grading.model.sizes import SizeTable

__all__ = ["Balance", "GradedPiece", "SizeRun", "grade", "regraded"]


@dataclass(frozen=True, eq=False)
class GradedPiece:
    """One piece in every size; ``points`` (sizes, points, 2) in mm, in the order of ``shape.names``.

    ``sizes`` are the sizes' names, by which the lines of one of them are had; x runs across the hand from the mirror
    line, y up from the wrist line (on a thumb from its knuckle line).

    >>> from grading.drafting.scenario import demo_block, demo_sizes
    >>> trank = grade(demo_block(), demo_sizes()[0])["Trank"]
    >>> trank.points.shape == (6, len(trank.shape.names), 2)
    True
    >>> trank.outline("W3").shape[1], trank.cut_polygon("W3").contains(trank.polygon("W3").buffer(-1))
    (2, True)
    """

    shape: Shape
    points: Floats
    sizes: tuple[str, ...] = ()

    @classmethod
    def as_drafted(cls, shape: Shape) -> GradedPiece:
        """The piece in one size, that of the block."""
        return cls(shape, shape.points[None])

    def __repr__(self) -> str:
        return f"<GradedPiece {self.name}: {', '.join(self.loops)}; {_first_to_last(self.sizes)}>"

    def outline(self, size: str, loop: str = BOUNDARY) -> Floats:
        """The sew line (m, 2) in mm of a loop in one size, as a polyline no further than 0.01 mm from it.

        It is closed, and its first point is not repeated. Raises UnknownNameError for a size or a loop there is not.
        """
        return flatten(self.beziers[self._loop(loop)][self.number(size)])[:-1]

    def cut_outline(self, size: str, loop: str = BOUNDARY) -> Floats:
        """The cut line (m, 2) in mm of a loop in one size, within 0.005 mm; as ``outline`` otherwise.

        It has no points where the allowances cannot be laid on at all.
        """
        return self.cut_lines[self._loop(loop)].lines[self.number(size)].polygon

    def polygon(self, size: str) -> shapely.Polygon:
        """The piece within its sew lines in one size, mm; its cut-outs are holes. Raises UnknownNameError."""
        return _polygon({loop: self.outline(size, loop) for loop in self.loops})

    def cut_polygon(self, size: str) -> shapely.Polygon:
        """The piece as it is cut in one size, mm, seam allowances laid on. Raises UnknownNameError.

        A cut-out of which the allowances leave nothing is no hole of it.
        """
        return _polygon({loop: self.cut_outline(size, loop) for loop in self.loops})

    def number(self, size: str) -> int:
        """Which of the sizes is called so, counted from 0. Raises UnknownNameError."""
        return self.sizes.index(Names(self.sizes).settled(size))

    def _loop(self, name: str) -> str:
        return Names(self.loops).settled(name)

    @cached_property
    def cut_lines(self) -> Mapping[str, CutLoop]:
        """The cut lines of every loop, in every size."""
        return {name: cut_loop(self.shape, name, beziers) for name, beziers in self.beziers.items()}

    @property
    def name(self) -> str:
        return self.shape.piece.name

    @property
    def loops(self) -> Mapping[str, Loop]:
        """Its loops by name, the boundary among them."""
        return self.shape.loops

    @property
    def mirrored(self) -> bool:
        """Whether it is drawn as the half of its mirror line where x ≥ 0."""
        return self.shape.piece.mirrored

    def loop_of(self, point: str) -> str:
        """The first loop that a point lies on. Raises KeyError if it lies on none."""
        for name, loop in self.loops.items():
            if point in loop.names:
                return name
        raise KeyError(point)

    @cached_property
    def beziers(self) -> Mapping[str, Floats]:
        """The sew lines: for each loop its Bézier handles (sizes, segments, 4, 2) in mm."""
        return {name: loop.beziers(self.points) for name, loop in self.loops.items()}

    @property
    def boundary(self) -> Floats:
        """The boundary's handles (sizes, segments, 4, 2) in mm."""
        return self.beziers[BOUNDARY]

    @cached_property
    def drawn(self) -> Floats:
        """The handles (sizes, segments, 4, 2) of the boundary as far as it is drawn: half of a mirrored one."""
        loop = self.loops[BOUNDARY]
        return loop.stretch(self.points, np.arange(loop.drawn))

    def point(self, name: str) -> Floats:
        """A point (sizes, 2) in every size; ``NAME'`` is a mirrored point's image. Raises ValueError if unknown."""
        if name not in self.shape.names and name.endswith("'") and self.mirrored:
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
        return self.loops[stretch.loop].length(self.points, stretch.segments)


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

    def __repr__(self) -> str:
        return f"<Balance {self.driver}: {', '.join(f'{mm:.2f}' for mm in self.solved)} mm>"


@dataclass(frozen=True, eq=False)
class SizeRun:
    """A block graded to every size of one group; ``run["Trank"]`` is a piece of it.

    >>> from grading.drafting.scenario import demo_block, demo_sizes
    >>> run = grade(demo_block(), demo_sizes()[0])
    >>> run
    <SizeRun Women: W1 … W6; Trank, Thumb>
    >>> run["Thumb"].polygon("W6").area > run["Thumb"].polygon("W1").area
    True
    """

    block: Block
    table: SizeTable
    drivers: Drivers
    pieces: Mapping[str, GradedPiece]
    balances: tuple[Balance, ...] = ()

    def __repr__(self) -> str:
        return f"<SizeRun {self.group}: {_first_to_last(self.sizes)}; {', '.join(self.pieces)}>"

    def __getitem__(self, piece: str) -> GradedPiece:
        """The piece of that name. Raises UnknownNameError."""
        return self.pieces[Names(self.pieces).settled(piece)]

    def __iter__(self) -> Iterator[str]:
        """The names of its pieces."""
        return iter(self.pieces)

    @property
    def group(self) -> str:
        return self.table.group

    @property
    def sizes(self) -> tuple[str, ...]:
        return self.table.sizes

    @property
    def body(self) -> SizeTable:
        """Its table without the rows that set an allowance of the block."""
        allowances = {value.name for value in self.block.values if value.kind is not Kind.BODY}
        return self.table.only([name for name in self.table.measurements if name not in allowances])

    @cached_property
    def base(self) -> int | None:
        """Which size is the base size: the one whose body figures are those the block was drafted with, if any."""
        body = [value.kind is Kind.BODY for value in self.block.values]
        same = np.all(self.drivers.values[:, body] == self.drivers.base[body], axis=1)
        return int(np.flatnonzero(same)[0]) if same.any() else None

    def only(self, size: int) -> SizeRun:
        """The run of one of its sizes alone, without its balances."""
        table = replace(self.table, sizes=(self.sizes[size],), values=self.table.values[:, [size]])
        drivers = replace(self.drivers, values=self.drivers.values[[size]])
        pieces = {
            name: GradedPiece(piece.shape, piece.points[[size]], table.sizes) for name, piece in self.pieces.items()
        }
        return SizeRun(self.block, table, drivers, pieces)


def grade(block: Block, table: SizeTable) -> SizeRun:
    """Grade a block to every size of a table, each balance driver as drafted: ``balanced`` solves for those.

    Raises KeyError if the table lacks a body value of the block.

    >>> from grading.drafting.scenario import demo_block, demo_sizes
    >>> grade(demo_block(), demo_sizes()[0])["Trank"].point("T").shape
    (6, 2)
    """
    graded_by = drivers(block, table)
    pieces = {name: _graded(shape, graded_by, table.sizes) for name, shape in shapes(block).items()}
    return SizeRun(block, table, graded_by, pieces)


def regraded(run: SizeRun, changed: Drivers, balances: tuple[Balance, ...]) -> SizeRun:
    """The same run with other figures for its drivers; a piece that none of those moves is kept as it is."""
    moved = np.any(changed.values != run.drivers.values, axis=0)
    pieces = {
        name: _graded(piece.shape, changed, piece.sizes) if piece.shape.rules[moved].any() else piece
        for name, piece in run.pieces.items()
    }
    return SizeRun(run.block, run.table, changed, pieces, balances)


def _graded(shape: Shape, graded_by: Drivers, sizes: tuple[str, ...]) -> GradedPiece:
    return GradedPiece(shape, graded_points(shape.points, shape.rules, graded_by.change), sizes)


def _polygon(loops: Mapping[str, Floats]) -> shapely.Polygon:
    """The area within a boundary and outside its cut-outs; a loop of fewer than three points bounds none."""
    holes = [points for name, points in loops.items() if name != BOUNDARY and len(points) > 2]
    return shapely.Polygon(loops[BOUNDARY], holes)


def _first_to_last(sizes: tuple[str, ...]) -> str:
    return f"{sizes[0]} … {sizes[-1]}" if len(sizes) > 2 else ", ".join(sizes)
