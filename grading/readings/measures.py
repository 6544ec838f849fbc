"""Points of measure: what each finished measure comes to in every size, taken on the sew lines."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from numpy.typing import NDArray

from grading.engine.run import GradedPiece, SizeRun
from grading.geometry.arrays import Floats
from grading.geometry.crossings import extent_at_height
from grading.geometry.lengths import curvatures, derivatives, evaluate
from grading.model.block import BOUNDARY, Measure

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["MIRROR_LINE", "WAYS", "Measured", "measured", "taken", "width_at"]

#: What a clearance may be taken to, besides the boundary.
MIRROR_LINE = "mirror line"
#: Chords a segment for a clearance: on a hole of 15 mm radius they leave the curve by less than 0.05 mm.
CLEARANCE_STEPS = np.linspace(0, 1, 9)


#: Parameters in a segment at which its radius is looked at; a spline's tightest bends lie at or near its joints.
RADIUS_STEPS = np.linspace(0, 1, 17)
#: What is flatter than this, mm, has no radius to speak of.
FLATTEST = 5000.0
#: Shares of the way from one height to another at which a piece may be narrowest.
WAIST_STEPS = np.linspace(0, 1, 33)


@dataclass(frozen=True, eq=False)
class Measured:
    """Measures of a run: ``values`` (measures, sizes) in mm, rows in the order of ``measures``.

    >>> from grading.drafting.scenario import demo_block, demo_sizes
    >>> from grading.engine.run import grade
    >>> figures = measured(grade(demo_block(), demo_sizes()[0]))
    >>> figures.frame().shape == (len(figures.measures), 6)
    True
    """

    measures: tuple[Measure, ...]
    sizes: tuple[str, ...]
    values: Floats

    def __repr__(self) -> str:
        return f"<Measured: {len(self.measures)} measures, sizes {', '.join(self.sizes)}>"

    def frame(self) -> pd.DataFrame:
        """The figures in mm, angles in degrees: one row a measure and one column a size."""
        import pandas as pd  # slow to import, and a run needs none

        rows = pd.Index([measure.name for measure in self.measures], name="measure")
        return pd.DataFrame(self.values, index=rows, columns=pd.Index(self.sizes, name="size"))

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
    """The finished measures of a run, those with tolerances: what the spec sheet asks a maker to measure."""
    measures = run.block.measures
    return taken(run, [m for m in measures if m.tolerance_minus is not None and m.tolerance_plus is not None])


def taken(run: SizeRun, measures: Iterable[Measure]) -> Measured:
    """Some measures in every size, in mm: the length found times the measure's own factor."""
    measures = tuple(measures)
    rows = [WAYS[m.how](run.pieces[m.piece], m.start, m.end) * m.times for m in measures]
    return Measured(measures, run.sizes, np.array(rows).reshape(len(rows), len(run.sizes)))


def width_at(piece: GradedPiece, heights: Floats) -> Floats:
    """The width (..., sizes) between the outermost crossings of the boundary at ``heights`` (..., sizes).

    Of a mirrored piece only the drawn half is looked at: the other is its image. NaN where the piece does not
    reach so far.
    """
    extent = extent_at_height(piece.drawn, heights)
    if piece.shape.piece.mirrored:
        both: Floats = 2 * np.abs(extent).max(axis=-1)
        return both
    width: Floats = extent[..., 1] - extent[..., 0]
    return width


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
    return width_at(piece, piece.point(start)[:, 1])


def _perimeter(piece: GradedPiece, start: str, end: str) -> Floats:
    """The whole length of a loop: the boundary, or the cut-out that is named."""
    loop = piece.shape.loops[start or BOUNDARY]
    return loop.length(piece.points, np.arange(len(loop.names)))


def _height(piece: GradedPiece, start: str, end: str) -> Floats:
    """The distance of two points up the piece."""
    height: Floats = np.abs(piece.point(end)[:, 1] - piece.point(start)[:, 1])
    return height


def _sideways(piece: GradedPiece, start: str, end: str) -> Floats:
    """The distance of two points across the piece."""
    apart: Floats = np.abs(piece.point(end)[:, 0] - piece.point(start)[:, 0])
    return apart


def _narrowest(piece: GradedPiece, start: str, end: str) -> Floats:
    """The least width between the outermost crossings of the boundary from one point's height to another's."""
    low, high = np.sort([piece.point(start)[:, 1], piece.point(end)[:, 1]], axis=0)
    heights = low + np.multiply.outer(WAIST_STEPS, high - low)
    coarse = heights[width_at(piece, heights).argmin(axis=0), np.arange(len(low))]
    step = heights[1] - heights[0]
    finer = np.clip(coarse + np.multiply.outer(2 * WAIST_STEPS - 1, step), low, high)
    narrowest: Floats = width_at(piece, finer).min(axis=0)
    return narrowest


def _angle(piece: GradedPiece, start: str, end: str) -> Floats:
    """The angle inside a loop at one of its points, in degrees: more than 180 at a corner that points inwards."""
    name = piece.shape.loop_of(start)
    at, beziers = piece.shape.loops[name].names.index(start), piece.beziers[name]
    arriving = derivatives(beziers[:, at - 1], np.array([1.0]))[:, 0]
    leaving = derivatives(beziers[:, at], np.array([0.0]))[:, 0]
    cross = arriving[:, 0] * leaving[:, 1] - arriving[:, 1] * leaving[:, 0]
    turn = np.degrees(np.arctan2(cross, (arriving * leaving).sum(axis=1)))
    corners = beziers[:, :, 0]
    area = (
        corners[..., 0] * np.roll(corners[..., 1], -1, axis=1) - corners[..., 1] * np.roll(corners[..., 0], -1, 1)
    ).sum(1)
    inside: Floats = 180 - np.sign(area) * turn
    return inside


def _radius(piece: GradedPiece, start: str, end: str) -> Floats:
    """The smallest radius of the curves of a loop, its turn points not counted."""
    with np.errstate(divide="ignore", invalid="ignore"):  # a stretch of no length
        tightest = np.abs(curvatures(piece.beziers[start or BOUNDARY], RADIUS_STEPS)).max(axis=(1, 2))
    radius: Floats = 1 / np.maximum(tightest, 1 / FLATTEST)
    return radius


def _clearance(piece: GradedPiece, start: str, end: str) -> Floats:
    """How near a cut-out comes to the boundary, or to the mirror line: below zero where it lies across the latter."""
    loop = evaluate(piece.beziers[start], CLEARANCE_STEPS)
    if end == MIRROR_LINE:
        nearest: Floats = loop[..., 0].min(axis=(1, 2))
        return nearest
    size, segment = np.nonzero(_may_be_nearest(piece.beziers[start], piece.boundary))
    rings = shapely.linearrings(loop.reshape(len(loop), -1, 2))
    lines = shapely.linestrings(evaluate(piece.boundary[size, segment], CLEARANCE_STEPS))
    distance = np.full(len(loop), np.inf)
    np.minimum.at(distance, size, shapely.distance(rings[size], lines))
    return distance


def _may_be_nearest(loop: Floats, around: Floats) -> NDArray[np.bool_]:
    """Which segments (sizes, segments) of one loop may hold its point nearest to the other, by the box of each.

    None lies nearer than its box does to the loop's, and the nearest one no further than any two joints are apart.
    """
    low, high = around.min(axis=2), around.max(axis=2)
    beyond = np.maximum(low - loop.max(axis=(1, 2))[:, None], loop.min(axis=(1, 2))[:, None] - high).clip(min=0)
    across, up = np.moveaxis(loop[:, :, None, 0] - around[:, None, :, 0], -1, 0)
    apart = (across * across + up * up).min(axis=(1, 2))
    may_be: NDArray[np.bool_] = (beyond * beyond).sum(axis=-1) <= apart[:, None]
    return may_be


#: The ways of measuring, by the word that a block uses for each.
WAYS: dict[str, Callable[[GradedPiece, str, str], Floats]] = {
    "straight": _straight,
    "along": _along,
    "across": _across,
    "perimeter": _perimeter,
    "height": _height,
    "sideways": _sideways,
    "clearance": _clearance,
    "narrowest": _narrowest,
    "radius": _radius,
    "angle": _angle,
}
