"""Points of measure: what each finished measure comes to in every size, taken on the sew lines."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely

from grading.engine.run import GradedPiece, SizeRun
from grading.geometry.arrays import Floats
from grading.geometry.crossings import extent_at_height
from grading.geometry.lengths import evaluate
from grading.model.block import BOUNDARY, Measure

__all__ = ["MIRROR_LINE", "WAYS", "Measured", "measured"]

#: What a clearance may be taken to, besides the boundary.
MIRROR_LINE = "mirror line"
#: Chords a segment for a clearance: on a hole of 15 mm radius they leave the curve by less than 0.05 mm.
CLEARANCE_STEPS = np.linspace(0, 1, 9)[:-1]


@dataclass(frozen=True, eq=False)
class Measured:
    """The finished measures of a run: ``values`` (measures, sizes) in mm, rows in the block's order."""

    measures: tuple[Measure, ...]
    sizes: tuple[str, ...]
    values: Floats

    def __getitem__(self, name: str) -> Floats:
        """One measure in every size, whatever the name's case. Raises KeyError for an unknown one."""
        for row, measure in enumerate(self.measures):
            if measure.name.casefold() == name.casefold():
                values: Floats = self.values[row]
                return values
        raise KeyError(name)

    def __contains__(self, name: str) -> bool:
        return any(measure.name.casefold() == name.casefold() for measure in self.measures)


def measured(run: SizeRun) -> Measured:
    """Every measure of the run's block in every size, in mm: the length found times the measure's own factor."""
    rows = [WAYS[m.how](run.pieces[m.piece], m.start, m.end) * m.times for m in run.block.measures]
    values = np.array(rows).reshape(len(rows), len(run.sizes))
    return Measured(run.block.measures, run.sizes, values)


def _straight(piece: GradedPiece, start: str, end: str) -> Floats:
    """The distance between two points."""
    across, up = (piece.point(end) - piece.point(start)).T
    distance: Floats = np.hypot(across, up)
    return distance


def _along(piece: GradedPiece, start: str, end: str) -> Floats:
    """The length of the sew line walked from one point to the other, as drafted."""
    loop = piece.shape.loops[piece.shape.loop_of(start)]
    return loop.length(piece.points, loop.segments(start, end))


def _across(piece: GradedPiece, start: str, end: str) -> Floats:
    """The width between the outermost crossings of the boundary at a point's height."""
    extent = extent_at_height(piece.boundary, piece.point(start)[:, 1])
    width: Floats = extent[:, 1] - extent[:, 0]
    return width


def _perimeter(piece: GradedPiece, start: str, end: str) -> Floats:
    """The whole length of a loop: the boundary, or the cut-out that is named."""
    loop = piece.shape.loops[start or BOUNDARY]
    return loop.length(piece.points, np.arange(len(loop.names)))


def _height(piece: GradedPiece, start: str, end: str) -> Floats:
    """The distance of two points up the piece."""
    height: Floats = np.abs(piece.point(end)[:, 1] - piece.point(start)[:, 1])
    return height


def _clearance(piece: GradedPiece, start: str, end: str) -> Floats:
    """How near a cut-out comes to the boundary, or to the mirror line: below zero where it lies across that."""
    loop = evaluate(piece.beziers[start], CLEARANCE_STEPS)
    if end == MIRROR_LINE:
        nearest: Floats = loop[..., 0].min(axis=(1, 2))
        return nearest
    around = evaluate(piece.boundary, CLEARANCE_STEPS)
    rings = [shapely.linearrings(points.reshape(len(points), -1, 2)) for points in (loop, around)]
    distance: Floats = shapely.distance(*rings)
    return distance


#: The ways of measuring, by the word that a block uses for each.
WAYS: dict[str, Callable[[GradedPiece, str, str], Floats]] = {
    "straight": _straight,
    "along": _along,
    "across": _across,
    "perimeter": _perimeter,
    "height": _height,
    "clearance": _clearance,
}
