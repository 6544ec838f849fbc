"""What a cutting file holds: every piece of one hand in one size, true to scale, each kind of line on its own layer."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from functools import lru_cache

import numpy as np
import shapely

from grading.engine.cut_lines import CutLoop
from grading.engine.run import GradedPiece, SizeRun
from grading.geometry.arrays import Floats
from grading.geometry.fitting import fitted
from grading.geometry.flattening import flatten
from grading.model.block import BOUNDARY, Piece
from grading.model.hands import EITHER
from grading.model.mark_kinds import MARK_KINDS, Drawn
from grading.readings.marks import CHANGE_OVER, PIERCED, EdgeMark, change_overs, edge_marks, slits

__all__ = ["BAR", "Circle", "CutLayer", "CuttingFile", "PieceShapes", "Words", "cutting_files"]

#: What is left free between pieces and round them, and how long the bar below them is, mm.
BETWEEN, MARGIN, BAR = 20.0, 10.0, 100.0
#: How near a cut line's cubics follow the line that was laid on, mm.
FITTED = 0.003
#: What the name of a mirrored point ends in.
IMAGE = "'"
#: How high words are, and how far apart their lines, mm.
HEIGHT, PITCH = 3.5, 5.6


class CutLayer(StrEnum):
    """The kinds of things in a cutting file, by their plain names."""

    CUT_LINE = "cut line"
    CUT_OUT = "cut-out"
    SLIT = "slit"
    SEW_LINE = "sew line"
    NOTCHES = "notches"
    TICKS = "ticks"
    FOLD_LINE = "fold line"
    MIRROR_LINE = "mirror line"
    PLACEMENT_LINE = "placement line"
    PILE = "pile direction"
    POINTS = "points"
    WORDS = "words"
    BAR = "bar of 100 mm"


#: Notches and ticks of a run, and its change-overs by piece.
_Marks = tuple[tuple[EdgeMark, ...], dict[str, list[tuple[Floats, Floats]]]]


@dataclass(frozen=True)
class Circle:
    """A place to pierce."""

    x: float
    y: float
    radius: float


@dataclass(frozen=True)
class Words:
    """A line of text that begins at (x, y), the lower left corner of its capitals."""

    text: str
    x: float
    y: float
    height: float = HEIGHT


@dataclass(frozen=True, eq=False)
class PieceShapes:
    """One piece: its shapes by layer, in its own mm as it lies, with the curves of its cut and sew lines.

    ``curves`` are closed loops of cubics (n, 4, 2), ``lines`` polylines (n, 2); ``points`` are the drafted points.
    """

    piece: Piece
    curves: dict[CutLayer, list[Floats]] = field(default_factory=dict)
    lines: dict[CutLayer, list[Floats]] = field(default_factory=dict)
    circles: list[Circle] = field(default_factory=list)
    points: list[tuple[str, float, float, bool]] = field(default_factory=list)
    words: list[Words] = field(default_factory=list)

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Left, bottom, right and top of the cut lines, mm."""
        ends = np.concatenate([flatten(curve, 0.1) for curve in self.curves[CutLayer.CUT_LINE]])
        (left, bottom), (right, top) = ends.min(axis=0).tolist(), ends.max(axis=0).tolist()
        return left, bottom, right, top


@dataclass(frozen=True, eq=False)
class CuttingFile:
    """The pieces of a size for a hand or either, what each is moved by (x, y), and the sheet's sides, mm."""

    size: str
    hand: str
    title: str
    pieces: tuple[PieceShapes, ...]
    places: tuple[tuple[float, float], ...]
    width: float
    height: float

    @property
    def bar(self) -> tuple[Floats, ...]:
        """The bar of 100 mm with its end strokes, below the pieces."""
        y = MARGIN
        ends = [np.array([(x, y - 2), (x, y + 2)]) for x in (MARGIN, MARGIN + BAR)]
        return np.array([(MARGIN, y), (MARGIN + BAR, y)]), *ends


@lru_cache(maxsize=1)  # SVG and DXF are made one after the other, of the same
def cutting_files(run: SizeRun, loops: tuple[CutLoop, ...], run_id: str) -> tuple[CuttingFile, ...]:
    """Every size and hand of a run, right hands first; a piece stands as often as it is cut."""
    marks = edge_marks(run), change_overs(run)
    files = []
    for size, name in enumerate(run.sizes):
        fits = _fits(run, loops, size)
        # What is its own mirror image lies in one file for both hands.
        for hand in (EITHER,) if run.block.shown.hand == EITHER else run.block.hands:
            pieces = [
                _piece(run, fits, marks, piece, size, hand, run_id)
                for piece in run.block.pieces
                for _ in range(dict(run.block.cut_for(piece))[EITHER] if hand == EITHER else piece.cut(hand))
            ]
            if pieces:
                files.append(_in_a_row(name, hand, f"{run.block.name} {run.group} {name} {hand} hand", pieces))
    return tuple(files)


def _fits(run: SizeRun, loops: Sequence[CutLoop], size: int) -> dict[tuple[str, str], Floats]:
    """Every cut line as cubics: the sew line itself where nothing is added, else fitted to what was laid on."""
    fits = {}
    for loop in loops:
        piece = run.pieces[loop.piece]
        bare = not any(piece.shape.allowances[edge] for edge in loop.edges)
        own = piece.beziers[loop.loop][size]
        fits[loop.piece, loop.loop] = own if bare else fitted(loop.lines[size].polygon, FITTED)
    return fits


def _piece(
    run: SizeRun, fits: dict[tuple[str, str], Floats], marks: _Marks, piece: Piece, size: int, hand: str, run_id: str
) -> PieceShapes:
    """A piece as it lies for a hand, with the face up that is marked."""
    graded = run.pieces[piece.name]
    made = PieceShapes(piece)
    turning = {point.name for point in run.block.points if point.piece == piece.name and point.turn}
    for loop, beziers in graded.beziers.items():
        layer = CutLayer.CUT_LINE if loop == BOUNDARY else CutLayer.CUT_OUT
        made.curves.setdefault(layer, []).append(fits[piece.name, loop])
        made.curves.setdefault(CutLayer.SEW_LINE, []).append(beziers[size])
        for name in graded.loops[loop].names:
            x, y = graded.point(name)[size].tolist()
            made.points.append((name, x, y, name.rstrip(IMAGE) in turning))
    for layer, ends in _inner(run, graded, size):
        made.lines.setdefault(layer, []).append(ends)
    on_edges, crossed = marks
    for mark in on_edges:
        if mark.piece == piece.name:
            if (notch := mark.notch(size)) is not None:
                made.lines.setdefault(CutLayer.NOTCHES, []).append(notch)
            else:
                made.circles.append(_pierced(mark.tick(size)))
    for place, inward in crossed.get(piece.name, ()):
        made.circles.append(_pierced(place[size] + inward[size] * CHANGE_OVER))
    made = _reversed(made) if run.block.view(hand).reversed else made
    made.words.extend(_words(run, piece, graded, size, hand, run_id))
    return made


def _pierced(at: Floats) -> Circle:
    return Circle(float(at[0]), float(at[1]), PIERCED)


def _inner(run: SizeRun, graded: GradedPiece, size: int) -> Iterator[tuple[CutLayer, Floats]]:
    """Mirror line, fold and placement lines, slits, and an arrow the way the pile runs."""
    piece = graded.shape.piece
    ring = flatten(graded.boundary[size], 0.1)
    low, high = float(ring[:, 1].min()), float(ring[:, 1].max())
    if piece.mirrored:
        on_it = ring[np.abs(ring[:, 0]) < 1e-6, 1]
        yield CutLayer.MIRROR_LINE, np.array([(0, on_it.min()), (0, on_it.max())])
    layers = {Drawn.FOLD_LINE: CutLayer.FOLD_LINE, Drawn.PLACEMENT_LINE: CutLayer.PLACEMENT_LINE}
    for mark in run.block.marks:
        layer = layers.get(MARK_KINDS[mark.kind].drawn)
        if mark.piece == piece.name and layer:
            yield layer, np.array([graded.point(point)[size] for point in mark.points])
    for _, start, end in slits(run.block, piece.name):
        yield CutLayer.SLIT, np.array([graded.point(start)[size], graded.point(end)[size]])
    if piece.pile:
        x = float(ring[:, 0].max()) * 0.5
        tail, tip = (low + (high - low) * share for share in ((0.35, 0.65), (0.65, 0.35))[piece.pile < 0])
        back = 4.0 if tip < tail else -4.0
        yield CutLayer.PILE, np.array([(x, tail), (x, tip)])
        yield CutLayer.PILE, np.array([(x - 1.5, tip + back), (x, tip), (x + 1.5, tip + back)])


def _reversed(made: PieceShapes) -> PieceShapes:
    """The mirror image, curves still running the way they did round the piece."""
    flip = np.array([-1, 1])
    return PieceShapes(
        made.piece,
        {layer: [curve[::-1, ::-1] * flip for curve in curves] for layer, curves in made.curves.items()},
        {layer: [points * flip for points in lines] for layer, lines in made.lines.items()},
        [Circle(-circle.x, circle.y, circle.radius) for circle in made.circles],
        [(name, -x, y, turn) for name, x, y, turn in made.points],
    )


def _words(run: SizeRun, piece: Piece, graded: GradedPiece, size: int, hand: str, run_id: str) -> Iterator[Words]:
    """What the piece is, in its widest free place."""
    rings = [shapely.Polygon(flatten(beziers[size], 0.2)) for beziers in graded.beziers.values()]
    free = shapely.difference(rings[0], shapely.union_all(rings[1:]))
    if piece.mirrored:
        free = free.intersection(shapely.box(-1e4, -1e4, -2, 1e4))
    circle = shapely.maximum_inscribed_circle(free, 1.0)
    (x, y), radius = shapely.get_coordinates(circle)[0].tolist(), float(shapely.length(circle))
    x = -x if run.block.view(hand).reversed else x
    lines = [
        f"{piece.name} {run.sizes[size]}",
        f"{(EITHER if EITHER in dict(run.block.cut_for(piece)) else hand).upper()} HAND",
        f"{run.block.marked_on} up",
        run.block.name,
        f"run {run_id}",
    ]
    top = y + PITCH * (len(lines) - 1) / 2
    for number, text in enumerate(lines):
        yield Words(text, x - radius * 0.8, top - PITCH * number)


def _in_a_row(size: str, hand: str, title: str, pieces: Sequence[PieceShapes]) -> CuttingFile:
    """The pieces in a row over the bar, the lower edges of their cut lines level."""
    left, places, height = MARGIN, [], 0.0
    for piece in pieces:
        low_x, low_y, high_x, high_y = piece.bounds
        places.append((left - low_x, 2 * MARGIN + 4 - low_y))
        left += high_x - low_x + BETWEEN
        height = max(height, high_y - low_y)
    width = max(left - BETWEEN, MARGIN + BAR) + MARGIN
    return CuttingFile(size, hand, title, tuple(pieces), tuple(places), width, height + 3 * MARGIN + 4)
