"""Audit what a run comes to, size by size, as its table is audited: finished measures, the sides of seams, points.

A point is judged by its ways to its neighbours on the outline, which no shift of a whole piece changes.

A slip in a block (a share, a move, an allowance of one group) is told as what it does to the run.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from grading.audit.figures import shown
from grading.audit.ladders import slips
from grading.audit.subject import Subject
from grading.audit.witnesses import Figures, steepness
from grading.codes import Code
from grading.engine.run import SizeRun
from grading.findings import Finding
from grading.geometry.arrays import Floats
from grading.model.block import Kind

__all__ = ["RUN_LADDER_RULES"]

#: Increments that differ by no more are even, mm: what a balanced seam bends them by is less.
EVEN = 0.05
#: What is off by less is seen on no mitten, mm.
SEEN = 1.0
#: A finished measure grows, as a share of itself, at most so many times what the body does at most. Common practice:
#: ease and fold-backs, which are the same in every size, only make the share smaller; a part of a measure may be short.
OUTGROWS = 1.6
#: A measure shorter than this is the difference of others, and may grow by any share, mm.
SHORT = 20.0
#: Ways of measuring that follow the body in no even steps: an angle, and the nearest of several edges.
UNEVEN = ("angle", "clearance")


def _rows(subject: Subject) -> tuple[list[str], Floats]:
    """The names of finished measures, seam sides and ways from point to point, and their figures (rows, sizes)."""
    measured, seams = subject.measured, subject.seams
    lengths = [row for row, measure in enumerate(measured.measures) if measure.how not in UNEVEN]
    names = [measured.measures[row].name for row in lengths]
    names += [f"{seam.seam.name}, side {side}" for seam in seams for side in "AB"]
    sides = [length for seam in seams for length in (seam.side_a, seam.side_b)]
    ways = _point_to_point(subject.run)
    names += ways
    return names, np.array([*measured.values[lengths], *sides, *ways.values()]).reshape(-1, len(subject.run.sizes))


def _point_to_point(run: SizeRun) -> dict[str, Floats]:
    """How far it is straight from each point of an outline to the next one (sizes,), mm."""
    ways = {}
    for piece in run.pieces.values():
        at = {name: piece.points[:, number] for number, name in enumerate(piece.shape.names)}
        for loop in piece.loops.values():
            for one, other in pairwise([*loop.names, loop.names[0]]):
                if one in at and other in at:  # the mirrored half is as its points are
                    name = f"{one} to {other} on {piece.name}"
                    ways[name] = np.linalg.norm(at[other] - at[one], axis=1)
    return ways


def _body(subject: Subject) -> Floats:
    """The body figures (rows, sizes) that the block is driven by."""
    body = [value.kind is Kind.BODY for value in subject.run.block.values]
    return subject.run.drivers.values[:, body].T.copy()


def _run_out_of_line(subject: Subject) -> Iterator[Finding]:
    """A measure that in one size is not what the other sizes lead to, where the body is."""
    names, values = _rows(subject)
    if len(subject.run.sizes) < 4 or not subject.ordered or np.abs(np.diff(values, 2)).max(initial=0) <= EVEN:
        return
    body = _body(subject)
    explained = {suspect.column for slip in slips(Figures(body)) for suspect in slip.suspects}
    for slip in slips(Figures(np.concatenate([values, body]))):
        for suspect in slip.suspects:
            row, column = suspect.row, suspect.column
            off = values[row, column] - suspect.regular if row < len(names) else 0.0
            if column not in explained and abs(off) >= SEEN:
                yield Finding.warning(
                    Code.RUN_OUT_OF_LINE,
                    subject.place(column, measure=names[row]),
                    f"{names[row]} comes to {shown(values[row, column], 1)} mm, {shown(abs(off), 1)} mm "
                    f"{'more' if off > 0 else 'less'} than the other sizes lead to.",
                    f"About {shown(suspect.regular, 1)} mm; the body figures are even there.",
                    "Check the block's moves and balance, or leave it if the step is meant.",
                    cause=names[row],
                )


def _run_outgrows_the_body(subject: Subject) -> Iterator[Finding]:
    """A measure that grows by a far larger share of itself than any body measurement, or shrinks while all grow.

    One that steps just as a body measurement does is that one less a fixed length, however short it is.
    """
    if len(subject.run.sizes) < 2 or not subject.ordered:
        return
    body = _body(subject)
    growth = steepness(body) / np.median(body, axis=1)
    if not len(body) or growth.min() < 0:
        return
    names, values = _rows(subject)
    for name, row, step, middle in zip(names, values, steepness(values), np.median(values, axis=1), strict=True):
        if middle < SHORT or -EVEN <= step <= OUTGROWS * growth.max() * middle:
            continue
        if np.abs(np.diff(row) - np.diff(body)).max(axis=1).min() <= EVEN:
            continue
        does = f"grows by {shown(step, 1)}" if step > 0 else f"shrinks by {shown(-step, 1)}"
        yield Finding.warning(
            Code.RUN_OUTGROWS_THE_BODY,
            subject.place(len(subject.run.sizes) - 1, measure=name),
            f"{name} {does} mm from size to size, {shown(100 * step / middle, 0)} % of itself.",
            f"No body measurement grows by more than {shown(100 * growth.max(), 0)} %, and none shrinks.",
            "Check the shares by which its points move.",
        )


#: The rules for what a run comes to, in the order in which their findings are told.
RUN_LADDER_RULES = (_run_out_of_line, _run_outgrows_the_body)
