"""What is read from a run's cut lines: how much they measure, and what stands in an allowance's way."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from grading.codes import Code
from grading.engine.cut_lines import CutLoop
from grading.engine.run import SizeRun
from grading.findings import Finding, Place
from grading.geometry.arrays import Floats
from grading.geometry.beziers import evaluate
from grading.geometry.offsets import Problem, Trouble

__all__ = ["CutMeasure", "cut_line_findings", "cut_lines", "cut_measures"]

#: Points a segment where a sew line is drawn as chords to be measured beside a cut line.
STEPS = np.linspace(0, 1, 33)[:-1]


@dataclass(frozen=True, eq=False)
class CutMeasure:
    """What one loop of a piece measures in every size (sizes,) mm, on its cut line and on its sew line."""

    piece: str
    loop: str
    name: str
    on_cut_line: Floats
    on_sew_line: Floats


def cut_lines(run: SizeRun) -> tuple[CutLoop, ...]:
    """The cut line of every loop in every size, piece by piece."""
    return tuple(loop for piece in run.pieces.values() for loop in piece.cut_lines.values())


def cut_measures(run: SizeRun, loops: Sequence[CutLoop]) -> tuple[CutMeasure, ...]:
    """How wide, how high and how far round each loop is, on its cut line and on its sew line."""
    measures = []
    for loop in loops:
        sew = evaluate(run.pieces[loop.piece].beziers[loop.loop], STEPS).reshape(len(run.sizes), -1, 2)
        both = [[_extent(line.polygon) for line in loop.lines], [_extent(ring) for ring in sew]]
        cut_figures, sew_figures = np.array(both).transpose(0, 2, 1)
        for name, cut, sewn in zip(("width", "height", "round"), cut_figures, sew_figures, strict=True):
            measures.append(CutMeasure(loop.piece, loop.loop, name, cut, sewn))
    return tuple(measures)


def _extent(ring: Floats) -> tuple[float, float, float]:
    """The width, the height and the length round a closed polygon."""
    if len(ring) == 0:
        return 0.0, 0.0, 0.0
    width, height = np.ptp(ring, axis=0).tolist()
    return width, height, float(shapely.length(shapely.linearrings(ring)))


def cut_line_findings(run: SizeRun, loops: Sequence[CutLoop]) -> Iterator[Finding]:
    """An error for every edge whose allowance cannot be laid on, with the sizes in which it cannot."""
    for loop in loops:
        by_trouble: dict[tuple[Trouble, int | None], list[tuple[int, Problem]]] = {}
        for size, line in enumerate(loop.lines):
            for problem in line.problems:
                by_trouble.setdefault((problem.trouble, problem.edge), []).append((size, problem))
        for (trouble, edge), problems in by_trouble.items():
            place = Place(
                group=run.group,
                size=", ".join(dict.fromkeys(run.sizes[size] for size, _ in problems)),
                piece=loop.piece,
                edge=loop.loop if edge is None else loop.edges[edge],
            )
            worst = (min if trouble is Trouble.TIGHT_CURVE else max)((p for _, p in problems), key=lambda p: p.figure)
            code, said, expected, action = _TOLD[trouble]
            found = said.format(figure=worst.figure, allowance=worst.allowance, loop=loop.loop)
            where = f" (near x {worst.x:.0f}, y {worst.y:.0f} mm)"
            yield Finding.error(code, place, found + where + ".", expected, action)


_NARROWER = "Give the edge a seam type with a narrower allowance, or redraft its points."

# fmt: off
#: For each trouble its code, what was found, what is expected, and what to do.
_TOLD = {
    Trouble.TIGHT_CURVE: (Code.ALLOWANCE_ON_TIGHT_CURVE,
        "The edge bends with a radius of {figure:.1f} mm towards its allowance of {allowance:g} mm",
        "A bend no tighter than the allowance: or the cut line cannot follow it.", _NARROWER),
    Trouble.CLOSED_BAY: (Code.ALLOWANCE_WITHOUT_ROOM,
        "Along {figure:.1f} mm of the edge another allowance lies where its own, {allowance:g} mm, belongs",
        "Room for the allowance all along the edge.", _NARROWER),
    Trouble.VANISHED_HOLE: (Code.ALLOWANCE_FILLS_HOLE,
        "The allowances, up to {allowance:g} mm, take up the whole of the {loop}",
        "A hole that is left when the allowances are laid into it.",
        "Give its edges seam types with a narrower allowance, or make the hole larger."),
    Trouble.SPLIT_HOLE: (Code.ALLOWANCE_SPLITS_HOLE,
        "The allowances, up to {allowance:g} mm, part the {loop} into {figure:g} holes", "One hole.",
        "Give its edges seam types with a narrower allowance, or make its neck wider."),
    Trouble.CROSSED_SEW_LINE: (Code.ALLOWANCE_ON_CROSSED_LINE,
        "The sew line of the {loop} crosses itself and bounds no one area", "A loop that goes round once.",
        "Check the order of its points, and the moves of those near the crossing."),
}
# fmt: on
