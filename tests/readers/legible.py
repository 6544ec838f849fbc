"""Whether a drawing can be read: texts over texts, lines through texts, marks outside their frame."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from grading.drawing.marks import Box, Drawing, Mark, Role, Text
from grading.drawing.shapes import Geometries, shapes

#: Boxes that share less than this, in mm, only touch.
TOUCH = 0.05


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
