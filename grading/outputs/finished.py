"""The finished mitten as a picture: its palm and its back beside one another, at one scale, each named."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

import numpy as np
import shapely

from grading.drawing.fonts import ASCENT, text_width
from grading.drawing.marks import Align, Arrow, Drawing, Mark, Role, Text, line
from grading.drawing.system import SMALL
from grading.engine.run import SizeRun
from grading.outputs.wording import hand_told
from grading.readings.finished import Finished, Layer, finished

__all__ = ["both_sides", "fitting", "pictured", "turning"]

_CAPTION = Text("", 0, 0, SMALL, align=Align.CENTRE)
#: What is left free between the two sides, and below each for its name, mm.
BETWEEN, BELOW = 6.0, 5.5
#: The head of the arrow that shows which way a part is turned, mm.
_HEAD = 2.5


def both_sides(run: SizeRun, size: int, hand: str, scale: float) -> Drawing:
    """Palm and back of one size for a hand beside one another, hung from (0, 0)."""
    palm, back = _sides(finished(run, size, hand), scale)
    return palm + back.moved(palm.box.right + BETWEEN, 0)


def fitting(run: SizeRun, size: int, hand: str, width: float, height: float) -> Drawing:
    """Palm over back, hung from (0, 0), as large as fits into ``width`` × ``height`` mm."""
    seen = finished(run, size, hand)
    bounds = [shapely.union_all([layer.area for layer in layers]).bounds for layers in (seen.palm, seen.back)]
    wide = max(right - left for left, _, right, _ in bounds)
    high = sum(top - bottom for _, bottom, _, top in bounds)
    palm, back = _sides(seen, min(width / wide, (height - 2 * BELOW - BETWEEN) / high))
    return palm + back.moved(0, palm.box.bottom - BETWEEN)


def _sides(seen: Finished, scale: float) -> tuple[Drawing, Drawing]:
    """Palm and back, each named below it and hung from (0, 0)."""
    palm, back = (
        _captioned(Drawing(tuple(pictured(layers, scale))), f"{side} of {hand_told(seen.hand)}")
        for side, layers in (("palm", seen.palm), ("back", seen.back))
    )
    return palm.moved(-palm.box.left, -palm.box.top), back.moved(-back.box.left, -back.box.top)


def pictured(layers: Sequence[Layer], scale: float, only: Collection[str] | None = None) -> Iterator[Mark]:
    """What is seen: edges wide, seams dashed, turned parts in grey (only those of some folds, where they are named)."""
    for layer in layers:
        if layer.fold and (only is None or layer.fold in only):
            for part in shapely.get_parts(layer.area):
                if isinstance(part, shapely.Polygon) and part.area * scale * scale > 0.2:
                    yield line(shapely.get_coordinates(part.exterior) * scale, Role.SHADE, closed=True)
    for layer in layers:
        for role, shape in ((Role.OUTLINE, layer.edges), (Role.SEW_LINE, layer.seams)):
            for part in shapely.get_parts(shape):
                if part.length * scale > 0.2:
                    yield line(shapely.get_coordinates(part) * scale, role)


def turning(layers: Sequence[Layer], scale: float, only: Collection[str]) -> Iterator[Mark]:
    """An arrow on each turned part of the folds named, from its fold to its raw edge."""
    bodies = {layer.piece: layer.area for layer in layers if not layer.fold}
    for layer in layers:
        if layer.fold in only and layer.piece in bodies:
            # Turned over, a part lies on its body: its free edge is the side that touches it.
            box = shapely.minimum_rotated_rectangle(layer.area)
            corners = shapely.get_coordinates(box)[:4]
            sides = [(corners[i] + corners[i - 3]) / 2 for i in range(4)]
            near = min(range(4), key=lambda i: bodies[layer.piece].distance(shapely.Point(sides[i])))
            tip, tail = sides[near] * scale, sides[near - 2] * scale
            if np.hypot(*(tip - tail)) > _HEAD:
                yield Arrow((float(tail[0]), float(tail[1])), (float(tip[0]), float(tip[1])), Role.PILE, head=_HEAD)


def _captioned(drawing: Drawing, words: str) -> Drawing:
    """The drawing with its name below it, no narrower than that."""
    box = drawing.box
    x = max(box.centre[0], box.left + text_width(words, SMALL) / 2)
    return drawing + Drawing((replace(_CAPTION, text=words, x=x, y=box.bottom - 1.2 - ASCENT * SMALL),))
