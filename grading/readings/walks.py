"""Sides of a seam walked along their sew lines: where one is, and which way the allowance lies, at given lengths."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from grading.engine.run import GradedPiece, SizeRun
from grading.geometry.arrays import Floats
from grading.geometry.beziers import arc_lengths, directions_at, evaluate, partial_lengths, points_at, velocities_at
from grading.geometry.directions import cross, left_of
from grading.model.block import BOUNDARY, Seam, Side

__all__ = ["Walk", "is_left_of_loop", "walked_sides"]

#: Newton's steps to the parameter at a length: each doubles the figures that are right.
STEPS = 6


@dataclass(frozen=True, eq=False)
class Walk:
    """A way along edges of one piece in every size, from a point called ``start`` to one called ``end``.

    ``beziers`` (sizes, segments, 4, 2) in mm, in walking order; for each segment (segments,) its ``allowance`` in
    mm and the ``side`` on which that lies, 1 for the left of the walk, −1 for its right.
    """

    piece: str
    start: str
    end: str
    beziers: Floats
    allowance: Floats
    side: Floats

    @cached_property
    def reached(self) -> Floats:
        """How far (sizes, segments + 1) one has come at each segment's start, and at the end of all."""
        lengths = np.cumsum(arc_lengths(self.beziers), axis=1)
        return np.concatenate([np.zeros((len(lengths), 1)), lengths], axis=1)

    @property
    def length(self) -> Floats:
        """The length (sizes,) of the walk."""
        return self.reached[:, -1]

    def backwards(self) -> Walk:
        """The same way from its end to its start."""
        return replace(
            self,
            start=self.end,
            end=self.start,
            beziers=self.beziers[:, ::-1, ::-1],
            allowance=self.allowance[::-1],
            side=-self.side[::-1],
        )

    def at(self, lengths: Floats) -> tuple[Floats, Floats, Floats]:
        """Where one is after ``lengths`` (sizes,): points (sizes, 2), unit ways to the allowance, allowances."""
        sizes = np.arange(len(lengths))
        segment = np.count_nonzero(self.reached[:, 1:-1] <= lengths[:, None], axis=1)
        curves = self.beziers[sizes, segment]
        rest = lengths - self.reached[sizes, segment]
        t = rest / (self.reached[sizes, segment + 1] - self.reached[sizes, segment])
        for _ in range(STEPS):
            speed = np.linalg.norm(velocities_at(curves, t), axis=-1)
            t = np.clip(t - (partial_lengths(curves, t) - rest) / speed, 0, 1)
        out = left_of(directions_at(curves, t)) * self.side[segment, None]
        return points_at(curves, t), out, self.allowance[segment]


def walked_sides(run: SizeRun, seam: Seam) -> tuple[Walk, Walk]:
    """Both sides of a seam from where they are first sewn together: the ends of the same name meet."""
    a, b = (_walked_side(run.pieces[side.piece], side) for side in seam.sides)
    (start, end), (other_start, other_end) = ((walk.start.rstrip("'"), walk.end.rstrip("'")) for walk in (a, b))
    crossed = start != other_start and (start == other_end or end == other_start)
    return a, b.backwards() if crossed else b


def is_left_of_loop(piece: GradedPiece, loop: str) -> bool:
    """Whether the allowance of a loop lies on the left of it as drawn: outside a boundary, inside a cut-out."""
    points = evaluate(piece.beziers[loop][0], np.linspace(0, 1, 9)[:-1]).reshape(-1, 2)
    anticlockwise = bool(cross(points, np.roll(points, -1, axis=0)).sum() > 0)
    return anticlockwise != (loop == BOUNDARY)


def _walked_side(piece: GradedPiece, side: Side) -> Walk:
    edges = [_along_edge(piece, edge) for edge in side.edges]
    walk = edges[0]
    if len(edges) > 1 and walk.end not in (edges[1].start, edges[1].end):
        walk = walk.backwards()
    for edge in edges[1:]:
        after = edge if edge.start == walk.end else edge.backwards()
        walk = replace(
            walk,
            end=after.end,
            beziers=np.concatenate([walk.beziers, after.beziers], axis=1),
            allowance=np.concatenate([walk.allowance, after.allowance]),
            side=np.concatenate([walk.side, after.side]),
        )
    return walk


def _along_edge(piece: GradedPiece, edge: str) -> Walk:
    stretch = piece.shape.edges[edge]
    names = piece.loops[stretch.loop].names
    segments = stretch.as_drawn
    count = len(segments)
    walk = Walk(
        piece.name,
        names[segments[0]],
        names[(segments[-1] + 1) % len(names)],
        piece.beziers[stretch.loop][:, segments],
        np.full(count, piece.shape.allowances[edge]),
        np.full(count, 1.0 if is_left_of_loop(piece, stretch.loop) else -1.0),
    )
    return walk if stretch.forward else walk.backwards()
