"""The marks of a drawing as shapely geometries, in mm: by these it is known what covers what."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from grading.drawing.marks import Arrow, Curve, Dot, Line, Mark, Text
from grading.geometry.arrays import Floats
from grading.geometry.flattening import flatten

__all__ = ["Geometries", "shape", "shapes"]

Geometries = np.ndarray[tuple[int], np.dtype[np.object_]]


def shape(mark: Mark) -> shapely.Geometry:
    """The geometry of one mark (see `shapes`)."""
    return shapes([mark])[0]


def shapes(marks: Sequence[Mark]) -> Geometries:
    """The geometries (marks,): lines without their width, texts as the rectangles that they fill.

    An arrow is the line along it and round its heads, in which there is room for no letter.
    """
    drawn = np.empty(len(marks), dtype=object)
    # Texts and open lines, which most marks are, are made all at once.
    corners: dict[int, Floats] = {}
    lines: dict[int, Floats] = {}
    for i, mark in enumerate(marks):
        match mark:
            case Text():
                corners[i] = mark.corners
            case Dot():
                drawn[i] = shapely.Point(mark.x, mark.y).buffer(mark.radius)
            case Line(closed=True):
                drawn[i] = shapely.linearrings(mark.points)
            case Line():
                lines[i] = mark.points
            case Curve():
                lines[i] = flatten(mark.points)
            case Arrow():
                lines[i] = _round_heads(mark)
    if corners:
        drawn[[*corners]] = shapely.polygons(np.array([*corners.values()]))
    if lines:
        line_of_point = np.repeat(np.arange(len(lines)), [len(points) for points in lines.values()])
        drawn[[*lines]] = shapely.linestrings(np.concatenate([*lines.values()]), indices=line_of_point)
    return drawn


def _round_heads(arrow: Arrow) -> Floats:
    """A line (5 or 9, 2) from the tail of an arrow to its tip and round its heads."""
    tip, *corners = arrow.heads[0]
    tail = [arrow.start] if not arrow.both else [*arrow.heads[1], arrow.start]
    return np.array([*tail, tip, *corners, tip])
