"""A block made ready for grading: each piece's points, rules and loops as fixed arrays, the same for all sizes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from grading.geometry.arrays import Floats
from grading.geometry.outlines import Loop, closed_loop, image, mirrored_loop
from grading.model.block import Block, Edge, Piece, drawn_by_half

__all__ = ["Shape", "Stretch", "loop_points", "shapes"]


@dataclass(frozen=True, eq=False)
class Stretch:
    """An edge as segments of a loop, in the order they are walked; ``forward`` if that is the loop's own order."""

    loop: str
    segments: NDArray[np.intp]
    forward: bool

    @property
    def as_drawn(self) -> NDArray[np.intp]:
        """The segments in the loop's own order."""
        return self.segments if self.forward else self.segments[::-1]


@dataclass(frozen=True, eq=False)
class Shape:
    """One piece of a block as arrays.

    ``points`` (points, 2) mm as drafted; ``rules`` (drivers, points, 2), mm for one unit of each driver, in the
    order of the block's values. ``edges`` has every edge by name and, of a loop drawn by half, every image;
    ``allowances`` the seam allowance of each of them, mm.
    """

    piece: Piece
    names: tuple[str, ...]
    points: Floats
    rules: Floats
    loops: Mapping[str, Loop]
    edges: Mapping[str, Stretch]
    allowances: Mapping[str, float]

    def __repr__(self) -> str:
        return f"<Shape {self.piece.name}: {len(self.names)} points, {', '.join(self.loops)}>"

    def drafted_length(self, edge: str) -> float:
        """The length in mm of an edge of the block as drafted. Raises KeyError for an unknown edge."""
        stretch = self.edges[edge]
        return float(self.loops[stretch.loop].length(self.points[None], stretch.segments)[0])


def shapes(block: Block) -> Mapping[str, Shape]:
    """The shapes of a block's pieces, by piece. Raises KeyError or ValueError where the block's rows do not agree.

    A block read from a workbook has been checked for that, with a finding for each fault. An edge without a seam type
    of the block's has a shape all the same, and no allowance.
    """
    # What its values come to, and what else stands in the block, are no part of its shapes.
    drawing = replace(block, values=(), seams=(), marks=(), measures=(), limits=(), making=(), work=())
    return _shapes(drawing, tuple(value.name for value in block.values))


@lru_cache(maxsize=16)  # a block is audited rule by rule and graded again for one value and another
def _shapes(drawing: Block, drivers: Sequence[str]) -> Mapping[str, Shape]:
    return MappingProxyType({piece.name: _shape(drawing, piece, drivers) for piece in drawing.pieces})


def loop_points(edges: Sequence[Edge]) -> list[str]:
    """The points of a loop drawn by edges that follow one another; a joint is named by both and counted once.

    The last point of a closed cut-out, which is its first again, is left out.
    """
    names = list(edges[0].points[:1])
    for edge in edges:
        names.extend(edge.points[1:])
    return names[:-1] if len(names) > 1 and names[-1] == names[0] else names


def _shape(block: Block, piece: Piece, drivers: Sequence[str]) -> Shape:
    points = [point for point in block.points if point.piece == piece.name]
    names = tuple(point.name for point in points)
    drafted = np.array([[point.x, point.y] for point in points], dtype=float).reshape(-1, 2)
    moves = {move.name: move for move in block.moves}
    laid_on = {kind.name: kind.allowance for kind in block.seam_types}
    rules = np.zeros((len(drivers), len(points), 2))
    for column, point in enumerate(points):
        for name in point.moves:
            for share in moves[name].shares:
                rules[drivers.index(share.value), column] += share.x, share.y
    loops: dict[str, Loop] = {}
    stretches: dict[str, Stretch] = {}
    allowances: dict[str, float] = {}
    for loop_name in dict.fromkeys(edge.loop for edge in block.edges if edge.piece == piece.name):
        edges = [edge for edge in block.edges if edge.piece == piece.name and edge.loop == loop_name]
        own = [names.index(name) for name in loop_points(edges)]
        mirrored = drawn_by_half(piece, edges)
        build = mirrored_loop if mirrored else closed_loop
        loop = build([names[i] for i in own], [points[i].turn for i in own], own, drafted)
        loops[loop_name] = loop
        for edge in edges:
            segments = loop.segments(edge.points[0], edge.points[-1])
            as_sewn = {edge.name: Stretch(loop_name, segments, forward=True)}
            if mirrored:
                as_sewn[image(edge.name)] = Stretch(loop_name, len(loop.names) - 1 - segments, forward=False)
            stretches |= as_sewn
            if edge.seam_type in laid_on:
                allowances |= dict.fromkeys(as_sewn, laid_on[edge.seam_type])
    return Shape(piece, names, drafted, rules, loops, stretches, allowances)
