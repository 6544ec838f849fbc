"""What each way of measuring gives: a length in mm, or an angle in degrees, in every size, on the sew lines."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

from grading.geometry.arrays import Floats
from grading.geometry.beziers import curvatures, evaluate, velocities_at
from grading.geometry.crossings import extent_at_height
from grading.geometry.directions import cross, turn_into
from grading.measuring.outlined import Outlined
from grading.model.block import BOUNDARY

__all__ = [
    "MIRROR_LINE",
    "WAIST_STEPS",
    "across",
    "along",
    "angle",
    "clearance",
    "height",
    "narrowest",
    "perimeter",
    "radius",
    "sideways",
    "straight",
    "width_at",
]

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


def width_at(piece: Outlined, heights: Floats) -> Floats:
    """The width (..., sizes) between the outermost crossings of the boundary at ``heights`` (..., sizes).

    Of a mirrored piece only the drawn half is looked at: the other is its image. NaN where the piece does not
    reach so far.
    """
    extent = extent_at_height(piece.drawn, heights)
    if piece.mirrored:
        both: Floats = 2 * np.abs(extent).max(axis=-1)
        return both
    width: Floats = extent[..., 1] - extent[..., 0]
    return width


def straight(piece: Outlined, start: str, end: str) -> Floats:
    """The distance between two points."""
    across, up = (piece.point(end) - piece.point(start)).T
    distance: Floats = np.hypot(across, up)
    return distance


def along(piece: Outlined, start: str, end: str) -> Floats:
    """The length of the sew line walked from one point to the other, as drafted."""
    loop = piece.loops[piece.loop_of(start)]
    return loop.length(piece.points, loop.segments(start, end))


def across(piece: Outlined, start: str, end: str) -> Floats:
    """The width between the outermost crossings of the boundary at a point's height."""
    return width_at(piece, piece.point(start)[:, 1])


def perimeter(piece: Outlined, start: str, end: str) -> Floats:
    """The whole length of a loop: the boundary, or the cut-out that is named."""
    loop = piece.loops[start or BOUNDARY]
    return loop.length(piece.points, np.arange(len(loop.names)))


def height(piece: Outlined, start: str, end: str) -> Floats:
    """The distance of two points up the piece."""
    apart: Floats = np.abs(piece.point(end)[:, 1] - piece.point(start)[:, 1])
    return apart


def sideways(piece: Outlined, start: str, end: str) -> Floats:
    """The distance of two points across the piece."""
    apart: Floats = np.abs(piece.point(end)[:, 0] - piece.point(start)[:, 0])
    return apart


def narrowest(piece: Outlined, start: str, end: str) -> Floats:
    """The least width between the outermost crossings of the boundary from one point's height to another's."""
    low, high = np.sort([piece.point(start)[:, 1], piece.point(end)[:, 1]], axis=0)
    heights = low + np.multiply.outer(WAIST_STEPS, high - low)
    coarse = heights[width_at(piece, heights).argmin(axis=0), np.arange(len(low))]
    step = heights[1] - heights[0]
    finer = np.clip(coarse + np.multiply.outer(2 * WAIST_STEPS - 1, step), low, high)
    least: Floats = width_at(piece, finer).min(axis=0)
    return least


def angle(piece: Outlined, start: str, end: str) -> Floats:
    """The angle inside a loop at one of its points, in degrees: more than 180 at a corner that points inwards."""
    name = piece.loop_of(start)
    at, beziers = piece.loops[name].names.index(start), piece.beziers[name]
    arriving = velocities_at(beziers[:, at - 1], np.ones(len(beziers)))
    leaving = velocities_at(beziers[:, at], np.zeros(len(beziers)))
    corners = beziers[:, :, 0]
    area = cross(corners, np.roll(corners, -1, axis=1)).sum(axis=1)
    inside: Floats = 180 - np.sign(area) * np.degrees(turn_into(arriving, leaving))
    return inside


def radius(piece: Outlined, start: str, end: str) -> Floats:
    """The smallest radius of the curves of a loop, its turn points not counted."""
    loop = piece.beziers[start or BOUNDARY][..., None, :, :]
    tightest = np.abs(curvatures(loop, RADIUS_STEPS)).max(axis=(1, 2))
    smallest: Floats = 1 / np.maximum(tightest, 1 / FLATTEST)
    return smallest


def clearance(piece: Outlined, start: str, end: str) -> Floats:
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
