"""Audit the curves of a block as drawn: points that their neighbours contradict, and corners that are called curves."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from grading.codes import Code
from grading.engine.shapes import shapes
from grading.findings import Finding
from grading.geometry.arrays import Floats
from grading.geometry.directions import turn_into
from grading.model.block import Block

__all__ = ["KINK_RULES"]

#: A curve point whose removal makes its loop turn this much less, in degrees, is a zigzag; so is one where the
#: chords turn by more than ``CORNER``. The standard mitten's own points stay well under either.
KINK, CORNER = 20.0, 100.0


def _kinks(block: Block) -> Iterator[Finding]:
    """Curve points that their neighbours contradict: most likely misread by a square."""
    places = {(point.piece, point.name): point.place for point in block.points}
    for piece, shape in shapes(block).items():
        for loop in shape.loops.values():
            corners = loop.beziers(shape.points[None])[0, :, 0]
            turns = _turning(corners)
            for i, name in enumerate(loop.names):
                if loop.turns[i] or (piece, name) not in places:
                    continue
                calmer = turns.sum() - _turning(np.delete(corners, i, axis=0)).sum()
                beside_corner = loop.turns[i - 1] or loop.turns[(i + 1) % len(loop.turns)]
                if (calmer > KINK and not beside_corner) or turns[i] > CORNER:
                    yield Finding.warning(
                        Code.CURVE_KINKED,
                        places[piece, name],
                        f"The curve has a kink at {name} of the {piece}.",
                        "A curve point lies on a smooth line with its neighbours.",
                        "Read its x and y again; if it is a corner, its kind is turn.",
                    )


def _turning(corners: Floats) -> Floats:
    """How far a closed polygon (n, 2) turns at each corner, in degrees, either way."""
    arriving, leaving = corners - np.roll(corners, 1, axis=0), np.roll(corners, -1, axis=0) - corners
    return np.abs(np.degrees(turn_into(arriving, leaving)))


#: The rules for drawn curves.
KINK_RULES = (_kinks,)
