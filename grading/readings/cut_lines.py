"""Cut lines of every piece in every size: each edge's seam allowance laid on, and what stands in its way."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from grading.engine.run import GradedPiece, SizeRun
from grading.findings import Finding, Place, Severity
from grading.geometry.arrays import Floats
from grading.geometry.lengths import evaluate
from grading.geometry.offsets import CutLine, Problem, SewEdge, Trouble, boundary_cut_line, cutout_cut_line
from grading.geometry.outlines import image
from grading.model.block import BOUNDARY, Block

__all__ = ["CutLoop", "CutMeasure", "allowances", "cut_line_findings", "cut_lines", "cut_measures"]

#: Points a segment where a sew line is drawn as chords to be measured beside a cut line.
STEPS = np.linspace(0, 1, 33)[:-1]


@dataclass(frozen=True, eq=False)
class CutLoop:
    """The cut lines of one loop of a piece, one a size; ``edges`` are its edges in order, images too."""

    piece: str
    loop: str
    edges: tuple[str, ...]
    lines: tuple[CutLine, ...]


@dataclass(frozen=True, eq=False)
class CutMeasure:
    """What one loop of a piece measures in every size (sizes,) mm, on its cut line and on its sew line."""

    piece: str
    loop: str
    name: str
    on_cut_line: Floats
    on_sew_line: Floats


def cut_lines(run: SizeRun) -> tuple[CutLoop, ...]:
    """The cut line of every loop in every size. Raises KeyError for an edge whose seam type the block lacks."""
    widths = allowances(run.block)
    return tuple(
        _cut_loop(name, piece, loop, widths, len(run.sizes))
        for name, piece in run.pieces.items()
        for loop in piece.shape.loops
    )


def allowances(block: Block) -> Mapping[tuple[str, str], float]:
    """The seam allowance in mm of every edge, by piece and edge, images too."""
    widths = {(edge.piece, edge.name): block.seam_type(edge.seam_type).allowance for edge in block.edges}
    return widths | {(piece, image(edge)): width for (piece, edge), width in widths.items()}


def _cut_loop(name: str, piece: GradedPiece, loop: str, widths: Mapping[tuple[str, str], float], sizes: int) -> CutLoop:
    stretches = {
        edge: stretch.segments if stretch.forward else stretch.segments[::-1]
        for edge, stretch in piece.shape.edges.items()
        if stretch.loop == loop
    }
    drawn = [edge for edge in stretches if piece.shape.edges[edge].forward]
    edges = [*drawn, *(image(edge) for edge in reversed(drawn) if image(edge) in stretches)]
    lay_on = boundary_cut_line if loop == BOUNDARY else cutout_cut_line
    beziers = piece.beziers[loop]
    lines = tuple(
        lay_on([SewEdge(beziers[size, stretches[edge]], widths[name, edge]) for edge in edges]) for size in range(sizes)
    )
    return CutLoop(name, loop, tuple(edges), lines)


def cut_measures(run: SizeRun, loops: Sequence[CutLoop]) -> tuple[CutMeasure, ...]:
    """How wide, how high and how far round each loop is, on its cut line and on its sew line."""
    found = []
    for loop in loops:
        sew = evaluate(run.pieces[loop.piece].beziers[loop.loop], STEPS).reshape(len(run.sizes), -1, 2)
        both = [[_extent(line.polygon) for line in loop.lines], [_extent(ring) for ring in sew]]
        cut_figures, sew_figures = np.array(both).transpose(0, 2, 1)
        for name, cut, sewn in zip(("width", "height", "round"), cut_figures, sew_figures, strict=True):
            found.append(CutMeasure(loop.piece, loop.loop, name, cut, sewn))
    return tuple(found)


def _extent(ring: Floats) -> tuple[float, float, float]:
    """The width, the height and the length round a closed polygon."""
    if len(ring) == 0:
        return 0.0, 0.0, 0.0
    width, height = np.ptp(ring, axis=0).tolist()
    return width, height, float(shapely.length(shapely.linearrings(ring)))


def cut_line_findings(run: SizeRun, loops: Sequence[CutLoop]) -> Iterator[Finding]:
    """An error for every edge whose allowance cannot be laid on, with the sizes in which it cannot."""
    for loop in loops:
        found: dict[tuple[Trouble, int | None], list[tuple[int, Problem]]] = {}
        for size, line in enumerate(loop.lines):
            for problem in line.problems:
                found.setdefault((problem.trouble, problem.edge), []).append((size, problem))
        for (trouble, edge), problems in found.items():
            place = Place(
                group=run.group,
                size=", ".join(dict.fromkeys(run.sizes[size] for size, _ in problems)),
                piece=loop.piece,
                edge=loop.loop if edge is None else loop.edges[edge],
            )
            worst = (min if trouble is Trouble.TIGHT_CURVE else max)((p for _, p in problems), key=lambda p: p.figure)
            code, said, expected, action = _TOLD[trouble]
            words = {"figure": f"{worst.figure:.1f}", "allowance": f"{worst.allowance:g}", "loop": loop.loop}
            where = f" (near x {worst.x:.0f}, y {worst.y:.0f} mm)"
            yield Finding(code, Severity.ERROR, place, said.format(**words) + where + ".", expected, action)


_NARROWER = "Give the edge a seam type with a narrower allowance, or redraft its points."

#: For each trouble its code, what was found, what is expected, and what to do.
_TOLD = {
    Trouble.TIGHT_CURVE: (
        "allowance-on-tight-curve",
        "The edge bends with a radius of {figure} mm towards its allowance of {allowance} mm",
        "A bend no tighter than the allowance: or the cut line cannot follow it.",
        _NARROWER,
    ),
    Trouble.CLOSED_BAY: (
        "allowance-without-room",
        "Along {figure} mm of the edge another allowance lies where its own, {allowance} mm, belongs",
        "Room for the allowance all along the edge.",
        _NARROWER,
    ),
    Trouble.VANISHED_HOLE: (
        "allowance-fills-hole",
        "The allowances, up to {allowance} mm, take up the whole of the {loop}",
        "A hole that is left when the allowances are laid into it.",
        "Give its edges seam types with a narrower allowance, or make the hole larger.",
    ),
    Trouble.SPLIT_HOLE: (
        "allowance-splits-hole",
        "The allowances, up to {allowance} mm, part the {loop} into {figure} holes",
        "One hole.",
        "Give its edges seam types with a narrower allowance, or make its neck wider.",
    ),
    Trouble.CROSSED_SEW_LINE: (
        "allowance-on-crossed-line",
        "The sew line of the {loop} crosses itself and bounds no one area",
        "A loop that goes round once.",
        "Check the order of its points, and the moves of those near the crossing.",
    ),
}
