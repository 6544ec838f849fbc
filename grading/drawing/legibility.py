"""Whether a drawing can be read: texts over texts, lines through texts, marks outside their frame."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

import numpy as np
import shapely

from grading.drawing.marks import Arrow, Box, Curve, Dot, Drawing, Line, Mark, Role, Text
from grading.geometry.arrays import Floats
from grading.geometry.flattening import flatten

__all__ = ["crossed_texts", "outside", "overlapping_texts", "shape", "shapes"]

Geometries = np.ndarray[tuple[int], np.dtype[np.object_]]

#: Boxes that share less than this, in mm, only touch.
TOUCH = 0.05


def shape(mark: Mark) -> shapely.Geometry:
    """The mark as a shapely geometry: lines without their width, texts as the rectangle that they fill.

    An arrow is the line along it and round its heads, in which there is room for no letter.
    """
    match mark:
        case Curve():
            return shapely.linestrings(flatten(mark.segments))
        case Line(closed=True):
            return shapely.linearrings(mark.points)
        case Line():
            return shapely.linestrings(mark.points)
        case Text():
            return shapely.polygons(mark.corners)
        case Arrow():
            return shapely.linestrings(_round_heads(mark))
        case Dot():
            return shapely.Point(mark.x, mark.y).buffer(mark.radius)


def _round_heads(arrow: Arrow) -> Floats:
    """A line (5 or 9, 2) from the tail of an arrow to its tip and round its heads."""
    tip, *corners = arrow.heads[0]
    tail = [arrow.start] if not arrow.both else [*arrow.heads[1], arrow.start]
    return np.array([*tail, tip, *corners, tip])


def shapes(marks: Sequence[Mark]) -> Geometries:
    """The shapes (marks,) of several marks; those of texts, arrows and simple lines, which most are, all at once."""
    drawn = np.empty(len(marks), dtype=object)
    corners, lines = {}, defaultdict[int, dict[int, Floats]](dict)
    for i, mark in enumerate(marks):
        match mark:
            case Text():
                corners[i] = mark.corners
            case Arrow():
                points = _round_heads(mark)
                lines[len(points)][i] = points
            case Line(points=points, closed=False) if len(points) == 2:
                lines[2][i] = points
            case _:
                drawn[i] = shape(mark)
    if corners:
        drawn[[*corners]] = shapely.polygons(np.array([*corners.values()]))
    for alike in lines.values():
        drawn[[*alike]] = shapely.linestrings(np.array([*alike.values()]))
    return drawn


def overlapping_texts(drawing: Drawing) -> list[tuple[Text, Text]]:
    """The pairs of texts that lie over one another."""
    texts = [mark for mark in drawing.marks if isinstance(mark, Text)]
    boxes = _inner(texts)
    first, second = shapely.STRtree(boxes).query(boxes, predicate="intersects")
    return [(texts[i], texts[j]) for i, j in zip(first, second, strict=True) if i < j]


def crossed_texts(drawing: Drawing) -> list[tuple[Text, Mark]]:
    """The texts that a line, an arrow or a point mark runs into, each with that mark.

    A label on a line covers what was drawn before it, so only later marks can cross it. Shading is no line.
    """
    texts = [(i, mark) for i, mark in enumerate(drawing.marks) if isinstance(mark, Text)]
    others = [
        (i, mark) for i, mark in enumerate(drawing.marks) if not isinstance(mark, Text) and mark.role is not Role.SHADE
    ]
    tree = shapely.STRtree(shapes([mark for _, mark in others]))
    pairs = tree.query(_inner([text for _, text in texts]), predicate="intersects")
    crossed = []
    for (i, text), (j, mark) in ((texts[t], others[o]) for t, o in pairs.T):
        if text.role is not Role.LABEL_ON_LINE or j > i:
            crossed.append((text, mark))
    return crossed


def outside(drawing: Drawing, frame: Box) -> list[Mark]:
    """The marks that do not lie wholly inside the frame."""
    return [mark for mark in drawing.marks if not frame.grown(1e-9).contains(mark.box)]


def _inner(texts: Sequence[Text]) -> Geometries:
    return np.asarray(shapely.buffer(shapes(texts), -TOUCH), dtype=object)
