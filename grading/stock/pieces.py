"""The pieces of a pair as they are cut: their cut outlines on the marked face of the skin, left and right."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import shapely

from grading.engine.cut_lines import CutLoop
from grading.engine.run import SizeRun
from grading.geometry.arrays import Floats
from grading.model.block import BOUNDARY
from grading.readings.cut_lines import cut_lines
from grading.readings.finished import unseen_parts

__all__ = ["CutPiece", "pieces_of_pairs"]


@dataclass(frozen=True, eq=False)
class CutPiece:
    """One piece of a hand, or for either: its cut lines in mm, as seen on the marked face, any pile running up.

    ``unseen`` is where the leather's face does not show when the mitten is worn: empty where nothing is turned.
    """

    name: str
    hand: str
    outline: Floats
    holes: tuple[Floats, ...]
    has_pile: bool = True
    unseen: shapely.Geometry = field(default_factory=shapely.Polygon)

    @property
    def polygon(self) -> shapely.Polygon:
        return shapely.Polygon(self.outline, self.holes)

    @cached_property
    def area(self) -> float:
        """What of the skin it uses in mm², its holes not counted."""
        return float(self.polygon.area)


def pieces_of_pairs(run: SizeRun, *, faces: bool = False) -> tuple[tuple[CutPiece, ...], ...]:
    """For each size every piece of a pair that is cut from a skin, as often as it is cut, larger ones first.

    Without ``faces`` all of a piece counts as seen.
    """
    loops = cut_lines(run)
    return tuple(
        tuple(sorted(_pieces(run, loops, size, faces), key=lambda piece: -piece.area)) for size in range(len(run.sizes))
    )


def _pieces(run: SizeRun, loops: Sequence[CutLoop], size: int, faces: bool) -> list[CutPiece]:
    block, cut = run.block, []
    for piece in (piece for piece in block.pieces if piece.of_skin):
        lines = {loop.loop: loop.lines[size].polygon for loop in loops if loop.piece == piece.name}
        # A piece whose pile runs down it is turned round, so that every pile runs up the skin.
        up = -1.0 if piece.pile < 0 else 1.0
        unseen = unseen_parts(block, run.pieces[piece.name], size) if faces else shapely.Polygon()
        for hand, count in sorted(block.cut_for(piece)):
            flip = np.array([-up if block.view(hand).reversed else up, up])
            holes = tuple(line * flip for loop, line in lines.items() if loop != BOUNDARY)
            flipped = shapely.transform(unseen, lambda points, flip=flip: points * flip)
            one = CutPiece(piece.name, hand, lines[BOUNDARY] * flip, holes, bool(piece.pile), flipped)
            cut += [one] * count
    return cut
