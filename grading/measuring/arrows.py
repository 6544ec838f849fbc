"""What a way of measuring draws on a piece: one of four kinds of arrow, each placed on one size's lines in mm."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from grading.geometry.crossings import extent_at_height
from grading.geometry.flattening import flatten
from grading.measuring.outlined import Outlined
from grading.measuring.taking import MIRROR_LINE, WAIST_STEPS
from grading.model.block import BOUNDARY, Measure

__all__ = [
    "Beside",
    "Lane",
    "NoArrow",
    "Span",
    "across",
    "along",
    "at_corner",
    "clearance",
    "height",
    "narrowest",
    "round_loop",
    "sideways",
    "straight",
]

XY = tuple[float, float]

#: How far the chords of a clearance's lines may leave the curves, mm: less than a printed line is wide.
CHORDS = 0.1


@dataclass(frozen=True, slots=True)
class Span:
    """An arrow with two heads from one place to another."""

    start: XY
    end: XY


@dataclass(frozen=True, slots=True)
class Lane:
    """An arrow up beside the piece, as high as from ``low`` to ``high``, with a line to each of them."""

    low: XY
    high: XY

    @property
    def length(self) -> float:
        return self.high[1] - self.low[1]


@dataclass(frozen=True, slots=True, eq=False)
class Beside:
    """A line that runs along these segments of a loop at a little distance; round all of it where there are none."""

    loop: str
    segments: NDArray[np.intp] | None = None


@dataclass(frozen=True, slots=True)
class NoArrow:
    """No arrow: what is written stands at a place."""

    place: XY


def straight(piece: Outlined, measure: Measure, size: int) -> Span:
    """From point to point."""
    return Span(_place(piece, measure.start, size), _place(piece, measure.end, size))


def sideways(piece: Outlined, measure: Measure, size: int) -> Span:
    """Across, level with the second point."""
    (start, _), (end, y) = _place(piece, measure.start, size), _place(piece, measure.end, size)
    return Span((start, y), (end, y))


def height(piece: Outlined, measure: Measure, size: int) -> Lane:
    """Up the left of the piece: on a mirrored one from the points' images there."""
    ends = [_place(piece, name, size) for name in (measure.start, measure.end)]
    low, high = sorted(((-abs(x) if piece.mirrored else x, y) for x, y in ends), key=lambda end: end[1])
    return Lane(low, high)


def across(piece: Outlined, measure: Measure, size: int) -> Span:
    """The width at a point's height, or its left half where a measure is half of a piece's whole round."""
    y = _place(piece, measure.start, size)[1]
    (left, right), *_ = extent_at_height(piece.boundary[[size]], np.array([y])).tolist()
    return Span((left, y), (0.0 if piece.mirrored and measure.times == 0.5 else right, y))


def narrowest(piece: Outlined, measure: Measure, size: int) -> Span:
    """The width where a piece is narrowest between two heights."""
    start, end = (_place(piece, name, size)[1] for name in (measure.start, measure.end))
    heights = start + WAIST_STEPS * (end - start)
    extents = extent_at_height(piece.boundary[[size]], heights[:, None])[:, 0]
    number = int(np.argmin(extents[:, 1] - extents[:, 0]))
    (left, right), y = extents[number].tolist(), float(heights[number])
    return Span((left, y), (right, y))


def along(piece: Outlined, measure: Measure, size: int) -> Beside:
    """Beside the sew line from point to point."""
    loop = piece.loop_of(measure.start)
    return Beside(loop, piece.loops[loop].segments(measure.start, measure.end))


def round_loop(piece: Outlined, measure: Measure, size: int) -> Beside:
    """Beside the whole of a loop."""
    return Beside(measure.start or BOUNDARY)


def clearance(piece: Outlined, measure: Measure, size: int) -> Span:
    """The shortest way from a cut-out to the boundary or the mirror line."""
    ring, edge = (shapely.LinearRing(flatten(piece.beziers[name][size], CHORDS)) for name in (measure.start, BOUNDARY))
    mirror_line = shapely.LineString([(0, -1e5), (0, 1e5)])
    shortest = shapely.shortest_line(ring, mirror_line if measure.end == MIRROR_LINE else edge)
    (x, y), (other_x, other_y) = shapely.get_coordinates(shortest).tolist()
    return Span((x, y), (other_x, other_y))


def at_corner(piece: Outlined, measure: Measure, size: int) -> NoArrow:
    """At the point."""
    return NoArrow(_place(piece, measure.start, size))


def _place(piece: Outlined, name: str, size: int) -> XY:
    x, y = piece.point(name)[size].tolist()
    return x, y
