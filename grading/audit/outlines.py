"""Audit the drawn shapes: outlines that cross, curves that lost their character, fold-backs and cut-outs."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
from numpy.typing import NDArray

from grading.audit.figures import shown
from grading.audit.subject import STEPS, Subject
from grading.codes import Code
from grading.engine.run import GradedPiece, SizeRun
from grading.findings import Finding
from grading.geometry.arrays import Floats
from grading.geometry.beziers import NODES, curvatures, evaluate
from grading.geometry.outlines import Loop
from grading.measuring.taking import width_at
from grading.model.block import BOUNDARY, Mark
from grading.readings.marks import turns
from grading.readings.walks import is_left_of_loop

__all__ = ["OUTLINE_RULES"]

#: Neighbouring sizes may lie on or over one another by this, mm, before they count as crossing.
NEST_SLACK = 0.05
#: A turned part may be wider or narrower than it has to be by this, mm a side.
TURNED_ASTRAY = 1.0
#: Two widths that differ by no more than this, mm, are the same.
SAME_WIDTH = 0.05
#: An allowance of more than this part of the radius it is laid into leaves an edge that cannot turn. Common practice.
OF_RADIUS = 1 / 3
#: A bend of which the bulge is lower than this, mm, is not seen on paper or leather. Common practice.
SEEN = 0.5
#: A curve flatter than this, 1/mm, counts as straight.
STRAIGHT = 1 / 5000
#: Where a turned part is held against the body: so far of the way from its fold to its raw edge.
DEPTHS = np.linspace(0.02, 0.98, 7)
#: Where in a segment its bend is looked at.
BENDS = np.linspace(0, 1, 9)


def _crosses_itself(subject: Subject) -> Iterator[Finding]:
    for (name, loop), rings in subject.rings.items():
        for size in np.flatnonzero(~shapely.is_valid(rings)):
            yield Finding.error(
                Code.OUTLINE_CROSSES_ITSELF,
                subject.place(size, piece=name, edge=loop),
                "The sew line crosses itself.",
                "A loop that goes round once.",
                "Check the order of the points, and the moves of those near the crossing.",
            )


def _cut_outs_inside(subject: Subject) -> Iterator[Finding]:
    for (name, loop), rings in subject.rings.items():
        if loop == BOUNDARY:
            continue
        outlines = subject.rings[name, BOUNDARY]
        sound = np.flatnonzero(shapely.is_valid(outlines) & shapely.is_valid(rings))
        for size in sound[~shapely.contains_properly(outlines[sound], rings[sound])]:
            yield Finding.error(
                Code.CUT_OUT_OUTSIDE,
                subject.place(size, piece=name, edge=loop),
                f"The {loop} is not wholly inside its piece.",
                "A cut-out with leather all round it.",
                "Check the moves of its points.",
            )


def _nest_crosses(subject: Subject) -> Iterator[Finding]:
    """Each size lies within the next: a cut-out, which may wander, does not count."""
    if not subject.ordered:
        return
    for name, piece in subject.run.pieces.items():
        points = evaluate(piece.boundary, STEPS) - piece.stacking_point[:, None, None]
        stacked = shapely.polygons(points.reshape(len(points), -1, 2))
        sound = shapely.is_valid(stacked)
        smaller = np.flatnonzero(sound[:-1] & sound[1:])
        grown = shapely.buffer(stacked[smaller + 1], NEST_SLACK)
        crosses = ~shapely.covers(grown, stacked[smaller])
        for size, larger in zip(smaller[crosses], grown[crosses], strict=True):
            x, y = _furthest_out(stacked[size], larger)
            yield Finding.warning(
                Code.NEST_CROSSES,
                subject.place(size + 1, piece=name),
                f"Size {subject.run.sizes[size]} reaches outside it near x {shown(x, 0)}, y {shown(y, 0)} mm, "
                "from the stacking point.",
                "Each size around the one before it.",
                "Check the moves of the points there, or name another stacking point for the piece.",
            )


def _furthest_out(smaller: shapely.Polygon, larger: shapely.Polygon) -> tuple[float, float]:
    """The middle of the largest part of one outline that lies outside the other."""
    parts = shapely.get_parts(shapely.difference(smaller, larger))
    middle = parts[np.argmax(shapely.area(parts))].centroid
    return middle.x, middle.y


def _bends_change(subject: Subject) -> Iterator[Finding]:
    """A stretch that is hollow in one size and full in another is not the same curve.

    A hollow that lies a little further along than in the base block still is one. So a stretch counts only where
    its whole span, from turn point to turn point, no longer takes the same bends one after the other. The half
    that is the image of the drawn one comes after it in the loop, and bends as that does.
    """
    for name, piece in subject.run.pieces.items():
        for loop_name, loop in piece.loops.items():
            drawn = loop.drawn
            way = _bends(piece.beziers[loop_name][:, :drawn])
            was = _bends(loop.beziers(piece.shape.points[None])[:, :drawn])
            against = (way * was).min(axis=-1) < 0
            for whole in _spans(loop):
                span = whole[whole < drawn]
                if not against[:, span].any():
                    continue
                other = np.abs(_order_of_bends(way[:, span]) - _order_of_bends(was[:, span])).max(axis=-1) > 0
                for size in np.flatnonzero(against[:, span].any(axis=1) & other):
                    for stretch in _side_by_side(against[size, span]):
                        bulge = _bulge(piece.beziers[loop_name][size, span[stretch]])
                        if bulge < SEEN:
                            continue
                        start = loop.names[span[stretch[0]]]
                        end = loop.names[(span[stretch[-1]] + 1) % len(loop.names)]
                        yield Finding.warning(
                            Code.BEND_CHANGES,
                            subject.place(int(size), piece=name, edge=loop_name),
                            f"Between {start} and {end} the curve bends the other way than in the base block, by a "
                            f"bulge of {shown(bulge, 1)} mm.",
                            "A curve that keeps its character.",
                            "Check the moves of these two points and of their neighbours.",
                        )


def _side_by_side(flags: NDArray[np.bool_]) -> list[NDArray[np.intp]]:
    """The stretches of neighbours that are flagged, by their numbers."""
    flagged = np.flatnonzero(flags)
    return np.split(flagged, np.flatnonzero(np.diff(flagged) > 1) + 1)


def _bulge(beziers: Floats) -> float:
    """How high a stretch of segments (n, 4, 2) stands over the straight line between its ends, mm."""
    points = evaluate(beziers, BENDS).reshape(-1, 2)
    chord, away = points[-1] - points[0], points - points[0]
    long = max(float(np.hypot(*chord)), SAME_WIDTH)
    return float(np.abs(chord[0] * away[:, 1] - chord[1] * away[:, 0]).max()) / long


def _spans(loop: Loop) -> list[NDArray[np.intp]]:
    """The loop's segments from turn point to turn point; all of them where it has none."""
    first = int(np.argmax(loop.turns))
    segments = np.roll(np.arange(len(loop.names)), -first)
    return np.split(segments, np.flatnonzero(np.roll(loop.turns, -first))[1:])


def _bends(beziers: Floats) -> NDArray[np.int8]:
    """Which way segments bend at each of their nodes (sizes, segments, nodes): left 1, right −1, straight 0."""
    curvature = curvatures(beziers[..., None, :, :], NODES)
    return (curvature > STRAIGHT).astype(np.int8) - (curvature < -STRAIGHT)


def _order_of_bends(ways: NDArray[np.int8]) -> NDArray[np.intp]:
    """How a span's bends follow one another (sizes, 2): which way the first goes, and how often they change."""
    ways = ways.reshape(len(ways), -1)
    bent = np.maximum.accumulate(np.where(ways != 0, np.arange(ways.shape[1]), -1), axis=1)
    first = np.argmax(ways != 0, axis=1)
    held = np.take_along_axis(ways, np.where(bent < 0, first[:, None], bent), axis=1)
    return np.column_stack([held[:, 0], np.count_nonzero(np.diff(held, axis=1), axis=1)])


def _turned_parts_lie_flat(subject: Subject) -> Iterator[Finding]:
    """What is turned goes round the outside of the body under it: wider by what its leather takes at the raw edge, by
    nothing at the fold, and evenly between."""
    takes = subject.run.block.leather_takes
    for piece, mark, crease, raw in _parts_turned(subject.run):
        away = np.multiply.outer(DEPTHS, raw - crease)
        # Half of the widths; nought where the piece does not reach so far.
        turned, body = np.nan_to_num(width_at(piece, np.array([crease + away, crease - away])) / 2)
        astray = turned - body - takes * DEPTHS[:, None]
        for code, word, off in (
            (Code.TURNED_PART_NARROW, "narrower", -astray),
            (Code.TURNED_PART_WIDE, "wider", astray),
        ):
            for size in np.flatnonzero(off.max(axis=0) > TURNED_ASTRAY + SAME_WIDTH):
                yield Finding.warning(
                    code,
                    subject.place(size, piece=piece.name, edge=mark.name),
                    f"Turned, it is up to {shown(off[:, size].max(), 1)} mm a side {word} than it has to be to go "
                    "round the body under it.",
                    f"As wide as the body at its fold, and {shown(takes, 1)} mm a side wider at its raw edge, what "
                    f"the leather takes; within {TURNED_ASTRAY:g} mm.",
                    "Mirror the points of the body about the fold line, and widen them so.",
                )


def _allowances_turn(subject: Subject) -> Iterator[Finding]:
    """Where an allowance is laid into a hollow, the cut edge is shorter than the sew line, and tears or cannot turn."""
    run = subject.run
    for name, piece in run.pieces.items():
        for loop_name, beziers in piece.beziers.items():
            outward = 1 if is_left_of_loop(piece, loop_name) else -1
            bends = outward * curvatures(beziers[..., None, :, :], BENDS)
            hollow = np.nan_to_num(bends.max(axis=2))
            mm = np.zeros(beziers.shape[1])
            for edge, stretch in piece.shape.edges.items():
                if stretch.loop == loop_name:
                    mm[stretch.segments] = piece.shape.allowances[edge]
            part = hollow * mm
            tight = np.flatnonzero(part.max(axis=1) > OF_RADIUS + 1e-6)
            if not len(tight):
                continue
            worst = tight[part[tight].max(axis=1).argmax()]
            segment = int(part[worst].argmax())
            bend = evaluate(beziers[worst, segment], BENDS)[bends[worst, segment].argmax()]
            radius = 1 / hollow[worst, segment]
            yield Finding.warning(
                Code.ALLOWANCE_IN_HOLLOW,
                subject.place(worst, piece=name, edge=loop_name),
                f"{mm[segment]:g} mm are laid into a hollow of {shown(radius, 1)} mm radius by "
                f"{piece.loops[loop_name].names[segment]}, "
                f"near x {shown(bend[0], 0)}, y {shown(bend[1], 0)} mm"
                f"{f'; in {len(tight)} sizes' if len(tight) > 1 else ''}.",
                f"At most a third of the radius, {shown(radius * OF_RADIUS, 1)} mm: there the cut edge is shorter than "
                "the sew line, cannot turn, and tears first.",
                "Give that seam type less allowance, or make the bend rounder.",
            )


def _turned_parts_clear_cut_outs(subject: Subject) -> Iterator[Finding]:
    """A turned part that lies over a cut-out closes it."""
    for piece, mark, crease, raw in _parts_turned(subject.run):
        lands = 2 * crease - raw
        for loop in (name for name in piece.loops if name != BOUNDARY):
            low, high = _lowest_and_highest(piece, loop)
            overlap = np.where(raw > crease, high - lands, lands - low)
            for size in np.flatnonzero(overlap > 0):
                yield Finding.error(
                    Code.TURNED_PART_REACHES_CUT_OUT,
                    subject.place(size, piece=piece.name, edge=mark.name),
                    f"Turned, its raw edge lies {shown(overlap[size], 1)} mm over the {loop}.",
                    "A fold-back that ends before it.",
                    "Bring the raw edge nearer to its fold, or the cut-out further from it.",
                )


def _parts_turned(run: SizeRun) -> Iterator[tuple[GradedPiece, Mark, Floats, Floats]]:
    """Every part that is turned: its piece, its fold line, and the heights (sizes,) of its fold and its raw edge."""
    for name, piece in run.pieces.items():
        for mark, start, _ in turns(run.block, name):
            crease = piece.point(start)[:, 1]
            low, high = _lowest_and_highest(piece, BOUNDARY)
            yield piece, mark, crease, np.where(high - crease < crease - low, high, low)


def _lowest_and_highest(piece: GradedPiece, loop: str) -> tuple[Floats, Floats]:
    """The lowest and the highest y (sizes,) of a loop."""
    y = evaluate(piece.beziers[loop], STEPS)[..., 1]
    return y.min(axis=(1, 2)), y.max(axis=(1, 2))


#: The rules for drawn shapes, in the order in which their findings are told.
OUTLINE_RULES = (
    _crosses_itself,
    _cut_outs_inside,
    _nest_crosses,
    _bends_change,
    _turned_parts_lie_flat,
    _allowances_turn,
    _turned_parts_clear_cut_outs,
)
