"""Audit the drawn shapes: outlines that cross, curves that lost their character, fold-backs and cut-outs."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
from numpy.typing import NDArray

from grading.audit.subject import RunRule, Subject
from grading.engine.run import GradedPiece
from grading.findings import Finding, Severity
from grading.geometry.arrays import Floats
from grading.geometry.crossings import extent_at_height
from grading.geometry.lengths import bends, evaluate
from grading.model.block import BOUNDARY, Mark

__all__ = ["OUTLINE_RULES", "fold_lines"]

#: Neighbouring sizes may lie on or over one another by this, mm, before they count as crossing.
NEST_SLACK = 0.05
#: A turned part may be narrower than the body it lies on by this, mm.
TURNED_NARROWER = 1.0
#: A curve flatter than this, 1/mm, counts as straight.
STRAIGHT = 1 / 5000
#: Points a segment for tests of crossing; a drawn curve leaves its chords by far less than it misses a neighbour.
STEPS = np.linspace(0, 1, 9)[:-1]
#: Heights at which a turned part is held against the body.
HEIGHTS = np.linspace(0.02, 0.98, 25)


def fold_lines(subject: Subject, piece: str) -> list[tuple[Mark, str, str]]:
    """The fold lines marked on a piece, each with the two points it runs between."""
    lines = []
    for mark in subject.run.block.marks:
        if mark.piece == piece and mark.kind == "fold line":
            start, end = (name.strip() for name in mark.where.split(","))
            lines.append((mark, start, end))
    return lines


def _rings(piece: GradedPiece, loop: str) -> NDArray[np.object_]:
    """A loop as polygons, one a size."""
    return _polygons(evaluate(piece.beziers[loop], STEPS))


def _polygons(points: Floats) -> NDArray[np.object_]:
    """Polygons, one a size, through points (sizes, segments, steps, 2)."""
    polygons: NDArray[np.object_] = shapely.polygons(points.reshape(len(points), -1, 2))
    return polygons


def _crosses_itself(subject: Subject) -> Iterator[Finding]:
    for name, piece in subject.run.pieces.items():
        for loop in piece.shape.loops:
            for size in np.flatnonzero(~shapely.is_valid(_rings(piece, loop))):
                yield Finding(
                    "outline-crosses-itself",
                    Severity.ERROR,
                    subject.place(size, piece=name, edge=loop),
                    "The sew line crosses itself.",
                    "A loop that encloses its piece once.",
                    "Check the order of the points, and the moves of those near the crossing.",
                )


def _cut_outs_inside(subject: Subject) -> Iterator[Finding]:
    for name, piece in subject.run.pieces.items():
        outline = _rings(piece, BOUNDARY)
        for loop in piece.shape.loops:
            if loop == BOUNDARY:
                continue
            for size in np.flatnonzero(~shapely.contains_properly(outline, _rings(piece, loop))):
                yield Finding(
                    "cut-out-outside",
                    Severity.ERROR,
                    subject.place(size, piece=name, edge=loop),
                    f"{loop} is not wholly inside its piece.",
                    "A cut-out with leather all round it.",
                    "Check the moves of its points.",
                )


def _nest_crosses(subject: Subject) -> Iterator[Finding]:
    """Each size lies within the next: a cut-out, which may wander, does not count."""
    lead = subject.run.table.values[0]
    if np.any(np.diff(lead) <= 0):
        return
    for name, piece in subject.run.pieces.items():
        points = evaluate(piece.boundary, STEPS) - piece.stacking_point[:, None, None]
        stacked = _polygons(points)
        grown = shapely.buffer(stacked[1:], NEST_SLACK)
        for size in np.flatnonzero(~shapely.covers(grown, stacked[:-1])):
            outside = shapely.difference(stacked[size], grown[size])
            x, y = (float(value) for value in shapely.get_coordinates(outside.centroid)[0])
            yield Finding(
                "nest-crosses",
                Severity.WARNING,
                subject.place(size + 1, piece=name),
                f"Size {subject.run.sizes[size]} reaches outside it near x {x:.0f}, y {y:.0f} mm, from the stacking "
                "point.",
                "Each size around the one before it.",
                "Check the moves of the points there, or name another stacking point for the piece.",
            )


def _bends_change(subject: Subject) -> Iterator[Finding]:
    """A stretch that is hollow in one size and full in another is not the same curve."""
    for name, piece in subject.run.pieces.items():
        for loop_name, loop in piece.shape.loops.items():
            curvature = bends(piece.beziers[loop_name])
            drafted = bends(loop.beziers(piece.shape.points[None]))
            way, was = (np.where(np.abs(k) < STRAIGHT, 0, np.sign(k)) for k in (curvature, drafted))
            for size, segment in np.argwhere((way * was < 0).any(axis=-1)):
                start = loop.names[segment]
                end = loop.names[(segment + 1) % len(loop.names)]
                yield Finding(
                    "bend-changes",
                    Severity.WARNING,
                    subject.place(size, piece=name, edge=loop_name),
                    f"Between {start} and {end} the curve bends the other way than in the base block.",
                    "A curve that keeps its character.",
                    "Check the moves of these two points and of their neighbours.",
                )


def _turned_parts_lie_flat(subject: Subject) -> Iterator[Finding]:
    """What is turned goes round the outside of the body under it: as wide, or wider by its own thickness."""
    run = subject.run
    most = np.pi * run.block.leather
    for name, piece in run.pieces.items():
        y = evaluate(piece.boundary, STEPS)[..., 1].reshape(len(run.sizes), -1)
        for mark, start, _ in fold_lines(subject, name):
            crease = piece.point(start)[:, 1]
            upward = crease.mean() > y.mean()
            raw = y.max(axis=1) if upward else y.min(axis=1)
            lands = 2 * crease - raw
            wider = np.array(
                [
                    _half_width(piece, crease + (raw - crease) * part)
                    - _half_width(piece, crease - (raw - crease) * part)
                    for part in HEIGHTS
                ]
            )
            for size in np.flatnonzero(wider.min(axis=0) < -TURNED_NARROWER):
                yield Finding(
                    "turned-part-narrow",
                    Severity.WARNING,
                    subject.place(size, piece=name, edge=mark.name),
                    f"Turned, it is up to {-wider[:, size].min():.1f} mm a side narrower than the body under it.",
                    f"Not narrower by more than {TURNED_NARROWER:g} mm: it has to go round the outside.",
                    "Mirror the points of the body about the fold line.",
                )
            for size in np.flatnonzero(wider.max(axis=0) > most + NEST_SLACK):
                yield Finding(
                    "turned-part-wide",
                    Severity.WARNING,
                    subject.place(size, piece=name, edge=mark.name),
                    f"Turned, it is up to {wider[:, size].max():.1f} mm a side wider than the body under it.",
                    f"Wider by no more than the leather takes going round, {most:.1f} mm.",
                    "Mirror the points of the body about the fold line.",
                )
            for loop in piece.shape.loops:
                if loop == BOUNDARY:
                    continue
                hole = evaluate(piece.beziers[loop], STEPS)[..., 1].reshape(len(run.sizes), -1)
                covered = hole.max(axis=1) > lands if upward else hole.min(axis=1) < lands
                for size in np.flatnonzero(covered):
                    yield Finding(
                        "turned-part-reaches-cut-out",
                        Severity.ERROR,
                        subject.place(size, piece=name, edge=mark.name),
                        f"Turned, its raw edge lies at {lands[size]:.1f} mm and covers part of the {loop}.",
                        "A fold-back that ends before it.",
                        "Make the fold-back allowance less.",
                    )


def _half_width(piece: GradedPiece, heights: Floats) -> Floats:
    """Half of the boundary's width (sizes,) at heights (sizes,)."""
    extent = extent_at_height(piece.boundary, heights)
    half: Floats = (extent[:, 1] - extent[:, 0]) / 2
    return half


#: The rules for drawn shapes, in the order in which their findings are told.
OUTLINE_RULES: tuple[RunRule, ...] = (
    _crosses_itself,
    _cut_outs_inside,
    _nest_crosses,
    _bends_change,
    _turned_parts_lie_flat,
)
