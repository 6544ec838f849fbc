"""The pieces of a pair as they are cut: their cut outlines on the marked face of the skin, left and right."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import groupby

import numpy as np
import shapely

from grading.engine.run import GradedPiece, SizeRun
from grading.geometry.arrays import Floats
from grading.geometry.offsets import SewEdge, boundary_cut_line, cutout_cut_line
from grading.model.block import BOUNDARY, Block

__all__ = ["CutPiece", "pieces_of_a_pair"]


@dataclass(frozen=True, eq=False)
class CutPiece:
    """One piece of one hand: its cut lines as polygons in mm, as seen on the marked face, the pile running up."""

    name: str
    hand: str
    outline: Floats
    holes: tuple[Floats, ...]

    @property
    def polygon(self) -> shapely.Polygon:
        return shapely.Polygon(self.outline, self.holes)

    @property
    def area(self) -> float:
        """What of the skin it uses in mm², its holes not counted."""
        return float(self.polygon.area)


def pieces_of_a_pair(run: SizeRun, size: int) -> tuple[CutPiece, ...]:
    """Every piece that a pair of a size is cut from, as often as it is cut, larger ones first."""
    pieces = []
    for graded in run.pieces.values():
        lines = {loop: _cut_line(run.block, graded, loop, size) for loop in graded.beziers}
        piece = graded.shape.piece
        for hand, count in (("left", piece.cut_left), ("right", piece.cut_right)):
            flip = np.array([1.0 if _as_drawn(run.block, hand) else -1.0, 1.0])
            holes = tuple(line * flip for loop, line in lines.items() if loop != BOUNDARY)
            pieces += [CutPiece(piece.name, hand, lines[BOUNDARY] * flip, holes)] * count
    return tuple(sorted(pieces, key=lambda piece: -piece.area))


def _as_drawn(block: Block, hand: str) -> bool:
    """Whether a hand's piece has its palm half on +x, as blocks are drawn, on the face that is marked.

    Fingers up and the palm half on the right: the inside shows a right hand, the outside a left one.
    """
    return (hand == "right") == (block.marked_on == "inside")


def _cut_line(block: Block, graded: GradedPiece, loop: str, size: int) -> Floats:
    """The cut line (m, 2) of one loop, every edge's allowance laid on."""
    beziers = graded.beziers[loop][size]
    allowances = _allowances(block, graded, loop)
    runs = [list(numbers) for _, numbers in groupby(range(len(beziers)), key=allowances.__getitem__)]
    edges = [SewEdge(beziers[numbers], allowances[numbers[0]]) for numbers in runs]
    cut = boundary_cut_line(edges) if loop == BOUNDARY else cutout_cut_line(edges)
    return cut.polygon


def _allowances(block: Block, graded: GradedPiece, loop: str) -> Mapping[int, float]:
    """The allowance of each segment of a loop, by its number; an edge's image has its edge's."""
    types = {edge.name: edge.seam_type for edge in block.edges if edge.piece == graded.shape.piece.name}
    return {
        int(segment): block.seam_type(types[name.removesuffix("'")]).allowance
        for name, stretch in graded.shape.edges.items()
        if stretch.loop == loop
        for segment in stretch.segments
    }
