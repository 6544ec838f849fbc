"""Cut lines as construction: each edge's seam allowance laid on outside its sew line, one size after another."""

from __future__ import annotations

from dataclasses import dataclass

from grading.engine.shapes import Shape
from grading.geometry.arrays import Floats
from grading.geometry.offsets import CutLine, SewEdge, boundary_cut_line, cutout_cut_line
from grading.geometry.outlines import image
from grading.model.block import BOUNDARY

__all__ = ["CutLoop", "cut_loop"]


@dataclass(frozen=True, eq=False)
class CutLoop:
    """The cut lines of one loop of a piece, one a size; ``edges`` are its edges in order, images too."""

    piece: str
    loop: str
    edges: tuple[str, ...]
    lines: tuple[CutLine, ...]

    def __repr__(self) -> str:
        return f"<CutLoop {self.piece}, {self.loop}: {len(self.lines)} sizes>"


def cut_loop(shape: Shape, loop: str, beziers: Floats) -> CutLoop:
    """The cut line of one loop of a piece in every size, from its sew lines ``beziers`` (sizes, segments, 4, 2), mm.

    Whatever stands in an allowance's way is a `Problem` of the size's line.
    """
    drawn = [edge for edge, stretch in shape.edges.items() if stretch.loop == loop and stretch.forward]
    edges = [*drawn, *(image(edge) for edge in reversed(drawn) if image(edge) in shape.edges)]
    lay_on = boundary_cut_line if loop == BOUNDARY else cutout_cut_line
    lines = tuple(
        lay_on([SewEdge(of_size[shape.edges[edge].as_drawn], shape.allowances[edge]) for edge in edges])
        for of_size in beziers
    )
    return CutLoop(shape.piece.name, loop, tuple(edges), lines)
