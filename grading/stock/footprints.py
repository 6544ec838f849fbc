"""What a piece takes of a skin: its outline with half the gap round it, as a few convex parts."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from shapely import affinity

from grading.geometry.arrays import Floats

__all__ = ["Footprint", "grown"]

#: How far in mm an footprint may lie outside the piece and the gap that it stands for; it never lies inside.
SLACK = 0.3
#: Corners lie on whole parts of a mm, so many to each: sums and products of them are exact.
FINENESS = 16
#: Hollows shallower than this, mm, are filled: no other piece could make use of them.
HOLLOW = 2.0
#: What shows of a piece and is narrower than twice this, mm, lies in a seam.
SLIVER = 1.5
#: More parts than this take longer than they are worth.
MOST_PARTS = 4


@dataclass(frozen=True, eq=False)
class Footprint:
    """Convex parts, each (m, 2) in mm and counter-clockwise about the piece's own origin, that cover the piece.

    ``box`` is the least and the greatest x and y of them all: (2, 2). ``seen`` are parts that cover what of the piece
    shows its face.
    """

    parts: tuple[Floats, ...]
    box: Floats
    seen: tuple[Floats, ...]


def grown(polygon: shapely.Polygon, angle: float, margin: float, unseen: shapely.Geometry | None = None) -> Footprint:
    """The footprint of a piece turned by ``angle`` degrees about its origin, with ``margin`` mm all round.

    ``unseen`` is what of it does not show its face.

    >>> square = grown(shapely.box(0, 0, 100, 100), 0.0, 2.0)
    >>> square.box
    array([[ -2.3125,  -2.3125],
           [102.3125, 102.3125]])
    """
    turned = affinity.rotate(shapely.Polygon(polygon.exterior), angle, origin=(0, 0))
    parts = tuple(_corners(part, margin) for part in _convex(turned, MOST_PARTS))
    corners = np.concatenate(parts)
    seen = parts if unseen is None or unseen.is_empty else _seen(turned, angle, margin, unseen)
    return Footprint(parts, np.stack([corners.min(axis=0), corners.max(axis=0)]), seen)


def _seen(turned: shapely.Polygon, angle: float, margin: float, unseen: shapely.Geometry) -> tuple[Floats, ...]:
    """Parts round what shows of a turned piece."""
    shown = turned.difference(affinity.rotate(unseen, angle, origin=(0, 0)))
    # Slivers along the edges, where the cut line lies outside the sew line, show nothing.
    shown = shown.buffer(-SLIVER).buffer(SLIVER)
    return tuple(
        _corners(part, margin)
        for one in _polygons(shown)
        for part in _convex(shapely.Polygon(one.exterior), MOST_PARTS)
    )


def _corners(part: shapely.Polygon, margin: float) -> Floats:
    """The corners of a convex part and its margin, of which what is rounded or simplified leaves nothing outside."""
    around = part.convex_hull.buffer(margin + SLACK, join_style="mitre", mitre_limit=1.5).simplify(SLACK - 1 / FINENESS)
    corners = shapely.get_coordinates(shapely.orient_polygons(around).convex_hull)[:-1]
    rounded = np.round(corners * FINENESS) / FINENESS
    ordered: Floats = shapely.get_coordinates(shapely.orient_polygons(shapely.MultiPoint(rounded).convex_hull))
    return ordered[:-1]


def _convex(polygon: shapely.Polygon, most: int) -> Iterator[shapely.Polygon]:
    """Parts that are convex but for shallow hollows: cut across at the deepest hollow, and again what is left."""
    hull = polygon.convex_hull
    corners = shapely.get_coordinates(polygon.exterior)
    depths = shapely.distance(shapely.points(corners), hull.exterior)
    if most == 1 or depths.max() <= HOLLOW:
        yield hull
        return
    cuts = [_halves(polygon, axis, corners[depths.argmax(), axis]) for axis in (0, 1)]
    parts = min(cuts, key=lambda parts: (sum(part.convex_hull.area for part in parts), len(parts)))
    for part in parts:
        yield from _convex(part, most // 2)


def _halves(polygon: shapely.Polygon, axis: int, at: float) -> list[shapely.Polygon]:
    """What lies on either side of an upright (axis 0) or level (axis 1) line."""
    low, high = np.array(polygon.bounds[:2]) - 1, np.array(polygon.bounds[2:]) + 1
    ends = np.array([low[axis], at, high[axis]])
    parts = []
    for start, end in pairwise(ends):
        low[axis], high[axis] = start, end
        parts += _polygons(polygon.intersection(shapely.box(*low, *high)))
    return parts


def _polygons(area: shapely.Geometry) -> list[shapely.Polygon]:
    return [part for part in shapely.get_parts(area) if part.geom_type == "Polygon" and part.area > 0]
