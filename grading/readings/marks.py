"""The marks of a block, found on its pieces in every size."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from grading.engine.run import GradedPiece, SizeRun
from grading.geometry.arrays import Floats
from grading.geometry.beziers import directions_at
from grading.geometry.directions import left_of
from grading.model.block import Block, Mark, Seam
from grading.model.mark_kinds import MARK_KINDS, Drawn
from grading.readings.walks import Walk, is_left_of_loop, walked_sides

__all__ = [
    "LEAST_NOTCHED",
    "EdgeMark",
    "PlacedMark",
    "change_overs",
    "edge_marks",
    "fold_lines",
    "left_open",
    "matching_lengths",
    "placed_marks",
    "point_marks",
    "slits",
    "turns",
]

#: An allowance narrower than this (mm, about 4) has no room for a notch: a tick stands inside the sew line instead.
#: Common practice.
LEAST_NOTCHED = 3.9
#: How far a notch goes into the allowance, as a share of it; it never reaches the sew line.
NOTCH_DEPTH = 0.5
#: The radius of a place to pierce, and how far inside the sew line ticks and change-overs have their middles, mm.
PIERCED, TICK, CHANGE_OVER = 0.75, 2.6, 3.4
#: How far apart the strokes of one mark stand, mm.
APART = 2.5


@dataclass(frozen=True, eq=False)
class EdgeMark:
    """A stroke across an edge: ``places`` (sizes, 2) on the sew line, and there the unit way ``outward`` (sizes, 2)
    into the ``allowance`` (sizes,) mm. Only one that may be ``cut`` becomes a notch.
    """

    piece: str
    name: str
    cut: bool
    places: Floats
    outward: Floats
    allowance: Floats

    def notch(self, size: int) -> Floats | None:
        """The notch (2, 2) from the cut line into the allowance of one size; None where it has no room for one."""
        at, out, width = self.places[size], self.outward[size], self.allowance[size]
        has_room = self.cut and width >= LEAST_NOTCHED
        return np.array([at + out * width, at + out * width * (1 - NOTCH_DEPTH)]) if has_room else None

    def tick(self, size: int) -> Floats:
        """The place (2,) inside the sew line of one size that is pierced where there is no notch."""
        place: Floats = self.places[size] - self.outward[size] * TICK
        return place


@dataclass(frozen=True, eq=False)
class PlacedMark:
    """One mark on one piece in one size: its name, its kind as on the sheet Marks, or 'matching mark' on a seam.

    ``points`` (n, 2) mm is where it stands on the sew line, the points a label belongs to, or those that a line runs
    through. What stands on a sew line also has the unit way ``outward`` (2,) into the allowance there.
    """

    name: str
    kind: str
    points: Floats
    outward: Floats | None = None

    def __repr__(self) -> str:
        at = ", ".join(f"({x:.1f}, {y:.1f})" for x, y in self.points.tolist())
        return f"<PlacedMark {self.kind} '{self.name}': {at}>"


def placed_marks(run: SizeRun, piece: str, size: str) -> tuple[PlacedMark, ...]:
    """Every mark of a piece in one size, matching marks of its seams last. Raises UnknownNameError.

    >>> from grading.drafting.scenario import demo_block, demo_sizes
    >>> from grading.engine.run import grade
    >>> marks = placed_marks(grade(demo_block(), demo_sizes()[0]), "Trank", "W3")
    >>> sorted({mark.kind for mark in marks})
    ['change-over', 'fold line', 'label', 'matching mark']
    """
    graded = run[piece]
    name, number = graded.name, graded.number(size)
    placed = []
    for row in run.block.marks:
        if row.piece != name:
            continue
        if MARK_KINDS[row.kind].drawn.on_edge:
            strokes = point_marks(run, row)
            placed += [PlacedMark(row.name, row.kind, one.places[[number]], one.outward[number]) for one in strokes]
        else:
            points = np.array([graded.point(point)[number] for point in row.points])
            placed.append(PlacedMark(row.name, row.kind, points))
    matching = (mark for seam in run.block.seams for mark in _matching_marks(run, seam) if mark.piece == name)
    placed += [PlacedMark(one.name, "matching mark", one.places[[number]], one.outward[number]) for one in matching]
    return tuple(placed)


def fold_lines(block: Block, piece: str) -> list[tuple[Mark, str, str]]:
    """The fold lines marked on a piece, each with the two points it runs between."""
    return _lines(block, piece, Drawn.FOLD_LINE)


def turns(block: Block, piece: str) -> list[tuple[Mark, str, str]]:
    """Those of its fold lines beyond which a piece is turned to the outside."""
    return [fold for fold in fold_lines(block, piece) if not MARK_KINDS[fold[0].kind].doubles]


def slits(block: Block, piece: str) -> list[tuple[Mark, str, str]]:
    """The slits of a piece, each with the two points between which it is cut."""
    return _lines(block, piece, Drawn.SLIT)


def _lines(block: Block, piece: str, drawn: Drawn) -> list[tuple[Mark, str, str]]:
    """The lines marked on a piece that are drawn so, each with the two points it runs between."""
    return [
        (mark, start, end)
        for mark in block.marks
        if mark.piece == piece and MARK_KINDS[mark.kind].drawn is drawn
        for start, end in zip(mark.points[::2], mark.points[1::2], strict=True)
    ]


def edge_marks(run: SizeRun) -> tuple[EdgeMark, ...]:
    """Every notch and tick, and the matching marks of every seam, on both of its sides."""
    own = (
        mark for row in run.block.marks if MARK_KINDS[row.kind].drawn is Drawn.STROKE for mark in point_marks(run, row)
    )
    return (*own, *(mark for seam in run.block.seams for mark in _matching_marks(run, seam)))


def point_marks(run: SizeRun, row: Mark) -> Iterator[EdgeMark]:
    """A mark's row as one mark for each of its points that lies on a loop."""
    piece = run.pieces[row.piece]
    on_loops = {point for loop in piece.loops.values() for point in loop.names}
    for point in (name for name in row.points if name in on_loops):
        loop = piece.loop_of(point)
        names = piece.loops[loop].names
        after = names.index(point)
        beside = {after, (after - 1) % len(names)}
        least = min(
            piece.shape.allowances[edge]
            for edge, stretch in piece.shape.edges.items()
            if stretch.loop == loop and beside & set(stretch.segments.tolist())
        )
        out, allowance = _outward(piece, loop, after), np.full(len(run.sizes), least)
        yield EdgeMark(row.piece, row.name, MARK_KINDS[row.kind].cut, piece.point(point), out, allowance)


def _outward(piece: GradedPiece, loop: str, point: int) -> Floats:
    """The unit way (sizes, 2) out of the leather at a point of a loop, half-way between its two neighbours'."""
    sizes = len(piece.points)
    before, after = piece.beziers[loop][:, point - 1], piece.beziers[loop][:, point]
    along = directions_at(before, np.ones(sizes)) + directions_at(after, np.zeros(sizes))
    out = left_of(along) * (1 if is_left_of_loop(piece, loop) else -1)
    length: Floats = np.linalg.norm(out, axis=1, keepdims=True)
    return out / np.where(length > 0, length, 1)


def matching_lengths(seam: Seam, a: Walk, b: Walk) -> list[tuple[Floats, Floats]]:
    """How far (sizes,) each matching mark is from the start of side A, and of side B.

    Marks part side B evenly. Up to where ease begins they stand at equal lengths on both sides, from there on at
    equal fractions of what is left.
    """
    flat = seam.without_ease * b.length
    pairs = []
    for number in range(1, seam.matching + 1):
        on_b = b.length * number / (seam.matching + 1)
        eased = flat + (on_b - flat) * (a.length - flat) / (b.length - flat)
        pairs.append((np.where(on_b <= flat, on_b, eased), on_b))
    return pairs


#: Of how many strokes the marks are between which a seam is left open.
OPEN_STROKES = 2


def _matching_marks(run: SizeRun, seam: Seam) -> Iterator[EdgeMark]:
    """The matching marks of a seam on both sides, and those between which it is left open."""
    if not seam.matching and not seam.left_open:
        return
    a, b = sides = walked_sides(run, seam)
    marks = [(lengths, seam.strokes) for lengths in matching_lengths(seam, a, b)]
    if seam.left_open:
        ends = zip(left_open(a, seam.left_open), left_open(b, seam.left_open), strict=True)
        marks += [(lengths, OPEN_STROKES) for lengths in ends]
    for lengths, strokes in marks:
        for walk, length in zip(sides, lengths, strict=True):
            for stroke in range(strokes):
                aside = (stroke - (strokes - 1) / 2) * APART
                yield EdgeMark(walk.piece, seam.name, True, *walk.at(length + aside))


def left_open(walk: Walk, mm: float) -> tuple[Floats, Floats]:
    """From where to where (sizes,) along a side its seam is left open: so many mm in its middle."""
    return (walk.length - mm) / 2, (walk.length + mm) / 2


def change_overs(run: SizeRun) -> dict[str, list[tuple[Floats, Floats]]]:
    """Where seams go on from the other face, by piece: places (sizes, 2), and the unit way into the piece there."""
    by_piece: dict[str, list[tuple[Floats, Floats]]] = {}
    for row in run.block.marks:
        if MARK_KINDS[row.kind].drawn is Drawn.CROSS:
            for mark in point_marks(run, row):
                by_piece.setdefault(row.piece, []).append((mark.places, -mark.outward))
    return by_piece
