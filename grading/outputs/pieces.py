"""One pattern piece in one size as a drawing: its lines, its marks, and what is written on it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product
from math import pi

import numpy as np
import shapely

from grading.drawing.fonts import ASCENT, DESCENT
from grading.drawing.marks import Align, Arrow, Box, Curve, Drawing, Line, Mark, Role, Text, line, paragraph
from grading.drawing.rooms import Room
from grading.engine.run import GradedPiece, SizeRun
from grading.geometry.arrays import Floats
from grading.geometry.flattening import flatten
from grading.model.block import BOUNDARY, Piece
from grading.model.hands import HANDS
from grading.readings.cut_lines import CutLoop, allowances
from grading.readings.marks import LEAST_NOTCHED, EdgeMark, change_overs, edge_marks, fold_lines

__all__ = ["PieceDrawings", "Wanted"]

#: How far a notch goes into the allowance, as a share of it; it never reaches the sew line.
NOTCH_DEPTH = 0.5
#: How long a tick is, and how far inside a change-over is, mm.
TICK, CHANGE_OVER = 3.0, 3.2
#: How near the chords of the outline follow it where room for labels is looked for, mm.
ROUGH = 0.1
#: Capital heights in mm that a piece's words are tried in, and how many of those wide they are broken into lines.
HEIGHTS, WIDTHS = (3.2, 2.7, 2.3, 2.0, 1.7), (24, 18, 14, 11)
#: How long the arrows are tried, mm.
PILE_ARROWS, STRETCH_ARROWS = (70.0, 55.0, 42.0, 32.0), (40.0, 28.0, 18.0, 12.0)
#: What stands beside a pile arrow, by whether it points up the piece or down it, and beside a stretch arrow.
PILE_WORDS, STRETCH = {1: "hand goes in this way", -1: "pile runs this way"}, "stretch"
_LETTER = Text("", 0, 0, 4.0, align=Align.CENTRE, bold=True)
_SMALL = Text("", 0, 0, 1.8, align=Align.CENTRE)


@dataclass(frozen=True)
class Wanted:
    """What kind of patterns: the run's id, and whether ``net``, without seam allowances, to draw round."""

    run_id: str
    net: bool = False


class PieceDrawings:
    """The pieces of a run to be drawn, size by size; what holds for all sizes is read once."""

    def __init__(self, run: SizeRun, loops: Sequence[CutLoop], wanted: Wanted) -> None:
        self._run, self._wanted = run, wanted
        self._cut = {(loop.piece, loop.loop): loop for loop in loops}
        self._allowances = allowances(run.block)
        self._marks = edge_marks(run)
        self._change_overs = change_overs(run)

    def pair(self, size: int) -> Iterator[tuple[str, Drawing]]:
        """Every piece of one pair in a size, with its title: right hands first, each as many times as it is drawn."""
        pieces = {piece.name: self._both_hands(piece, size) for piece in self._run.block.pieces}
        for hand in HANDS:
            for name, drawings in pieces.items():
                if hand in drawings:
                    yield f"{name} {hand}", drawings[hand]

    def _both_hands(self, piece: Piece, size: int) -> Mapping[str, Drawing]:
        """The drawing of a piece for each hand it is cut for; one is the mirror image of the other but for words."""
        graded = self._run.pieces[piece.name]
        cut_for = [hand for hand in HANDS if piece.cut(hand)]
        if not cut_for:
            return {}
        lines = [*self._outlines(graded, size), *self._inner_lines(graded, size)]
        strokes = [self._stroke(mark, size) for mark in self._marks if mark.piece == piece.name]
        crosses = [
            cross
            for place, inward in self._change_overs.get(piece.name, ())
            for cross in _cross(place[size] + inward[size] * CHANGE_OVER)
        ]
        fixed = [*lines, *strokes, *crosses]
        room = Room(_leather(graded, size), [mark for mark in fixed if mark.role is not Role.CUT_LINE])
        common = [*fixed, *self._letters(graded, size, room), *self._fold_names(graded, size, room)]
        words = {hand: self._words(piece, hand, size) for hand in cut_for}
        reverse = {hand: self._run.block.view(hand).reversed for hand in cut_for}
        labels = _labels(words, reverse, room)
        common += [*_pile_arrow(piece, room), *_stretch_arrow(piece, room)]
        drawings = {hand: Drawing((*common, *labels[hand])) for hand in cut_for}
        return {hand: drawing.mirrored() if reverse[hand] else drawing for hand, drawing in drawings.items()}

    def _outlines(self, piece: GradedPiece, size: int) -> Iterator[Mark]:
        """Cut lines, and the sew lines of the edges that have an allowance; net pieces are cut on the sew line."""
        name = piece.shape.piece.name
        for loop, beziers in piece.beziers.items():
            if self._wanted.net:
                yield Curve(beziers[size], Role.CUT_LINE, closed=True)
                continue
            yield Line(self._cut[name, loop].lines[size].polygon, Role.CUT_LINE, closed=True)
            for edge, stretch in piece.shape.edges.items():
                if stretch.loop == loop and self._allowances[name, edge] > 0:
                    segments = stretch.segments if stretch.forward else stretch.segments[::-1]
                    yield Curve(beziers[size, segments], Role.SEW_LINE)

    def _inner_lines(self, piece: GradedPiece, size: int) -> Iterator[Mark]:
        """Mirror line, fold lines and placement lines."""
        if piece.shape.piece.mirrored:
            low, high = _reach(piece.boundary[size])
            yield line([(0, low), (0, high)], Role.MIRROR_LINE)
        for mark in self._run.block.marks:
            if mark.piece == piece.shape.piece.name and mark.kind in _LINES:
                yield line([piece.point(point)[size] for point in mark.points], _LINES[mark.kind])

    def _stroke(self, mark: EdgeMark, size: int) -> Mark:
        """A notch from the cut line into the allowance, or a tick from the sew line into the piece."""
        at, out, allowance = mark.places[size], mark.outward[size], mark.allowance[size]
        notched = mark.cut and allowance >= LEAST_NOTCHED and not self._wanted.net
        start, end = (allowance, allowance * (1 - NOTCH_DEPTH)) if notched else (0.0, -TICK)
        return line([at + out * start, at + out * end], Role.NOTCH)

    def _letters(self, piece: GradedPiece, size: int, room: Room) -> Iterator[Mark]:
        """Every label of the block, on the body as near to its point as there is room."""
        for mark in self._run.block.marks:
            if mark.piece == piece.shape.piece.name and mark.kind == "label":
                for point in mark.points:
                    x, y = piece.point(point)[size].tolist()
                    yield from _put(replace(_LETTER, text=mark.name), room, (x, y))

    def _fold_names(self, piece: GradedPiece, size: int, room: Room) -> Iterator[Mark]:
        for mark, start, end in fold_lines(self._run.block, piece.shape.piece.name):
            left, right = piece.point(start)[size], piece.point(end)[size]
            x, y = (left + (right - left) * 0.25).tolist()
            yield from _put(replace(_SMALL, text=mark.name), room, (x, y))

    def _words(self, piece: Piece, hand: str, size: int) -> tuple[str, ...]:
        """What is written on a piece: the first two lines are what it must say at the least."""
        block, wanted = self._run.block, self._wanted
        dated = " · ".join(text for text in (block.date, f"run {wanted.run_id}") if text)
        words = [
            f"{piece.name} {self._run.sizes[size]}",
            f"{hand.upper()} HAND",
            block.name,
            f"cut {piece.cut(hand)} for the {hand} hand",
            f"mark with the {block.marked_on} of the skin up",
            piece.material,
            f"pile {piece.pile_arrow}" if piece.pile_arrow else "",
            "net: no seam allowance" if wanted.net else "",
            dated,
        ]
        return tuple(text for text in words if text)


_LINES = {"fold line": Role.FOLD_LINE, "placement line": Role.PLACEMENT_LINE}


def _leather(piece: GradedPiece, size: int) -> shapely.Polygon:
    """The piece within its sew lines."""
    rings = {loop: flatten(beziers[size], ROUGH) for loop, beziers in piece.beziers.items()}
    return shapely.Polygon(rings.pop(BOUNDARY), list(rings.values()))


def _reach(beziers: Floats) -> tuple[float, float]:
    """The lowest and the highest y at which a loop crosses its mirror line: there lie ends of its segments."""
    ends = beziers[np.abs(beziers[:, 0, 0]) < 1e-6, 0, 1]
    return float(ends.min()), float(ends.max())


def _cross(at: Floats) -> Iterator[Mark]:
    for arm in np.array([(1.2, 1.2), (1.2, -1.2)]):
        yield line([at - arm, at + arm], Role.NOTCH)


def _put(text: Text, room: Room, near: tuple[float, float]) -> Iterator[Mark]:
    """A centred text where there is room for it, if there is."""
    place = room.take(text.box.width, text.box.height, near)
    if place is not None:
        yield text.moved(*_base(place, text))


def _base(place: Box, text: Text) -> tuple[float, float]:
    """The baseline of a text whose box fills a place: its middle, and as far above the bottom as letters fall."""
    return place.centre[0], place.bottom + DESCENT * text.height


def _labels(
    words: Mapping[str, tuple[str, ...]], reverse: Mapping[str, bool], room: Room
) -> dict[str, tuple[Mark, ...]]:
    """Each hand's words at the one place that has room for either, as large as they go; the least, if not all do.

    Those of a piece that is to be reversed end at the edge of the place that will be its left one.
    """
    for kept, height, width in product((None, 2), HEIGHTS, WIDTHS):
        drawn = {
            hand: _lettered(texts[:kept], width * height, height, Align.RIGHT if reverse[hand] else Align.LEFT)
            for hand, texts in words.items()
        }
        boxes = [one.box for one in drawn.values()]
        wide, high = max(box.width for box in boxes), max(box.height for box in boxes)
        place = room.take(wide, high, room.middle)
        if place is not None:
            return {
                hand: one.moved(place.right if reverse[hand] else place.left, place.top - one.box.top).marks
                for hand, one in drawn.items()
            }
    return dict.fromkeys(words, ())


def _lettered(texts: Sequence[str], width: float, height: float, align: Align) -> Drawing:
    """The texts below one another, ending or beginning at x = 0, the first two bold and larger."""
    head = paragraph(texts[:2], 0, 0, width, Text("", 0, 0, height * 1.3, align=align, bold=True))
    if len(texts) <= 2:
        return head
    return head + paragraph(texts[2:], 0, head.box.bottom - 0.4 * height, width, Text("", 0, 0, height, align=align))


def _pile_arrow(piece: Piece, room: Room) -> list[Mark]:
    """An arrow the way that the block says the pile runs, with what that means written along it; none if blank."""
    if not piece.pile:
        return []
    words = Text(PILE_WORDS[piece.pile], 0, 0, 2.0, align=Align.CENTRE, angle=pi / 2)
    for length in PILE_ARROWS:
        place = room.take(2.4 + words.box.width, length, room.middle)
        if place is not None:
            x = place.left + 1.0
            tail, tip = (place.bottom, place.top)[:: piece.pile]
            arrow = Arrow((x, tail), (x, tip), Role.PILE)
            return [arrow, words.moved(place.right - DESCENT * words.height, place.centre[1])]
    return []


def _stretch_arrow(piece: Piece, room: Room) -> list[Mark]:
    """An arrow both ways along which the block says the leather stretches; none if it says nothing."""
    words = replace(_SMALL, text=STRETCH, angle=pi / 2 if piece.stretch == "along" else 0.0)
    for length in STRETCH_ARROWS if piece.stretch else ():
        if piece.stretch == "along":
            place = room.take(2.4 + words.box.width, length, room.middle)
            if place is not None:
                x = place.left + 1.0
                arrow = Arrow((x, place.bottom), (x, place.top), Role.STRETCH, both=True, head=3.0)
                return [arrow, words.moved(place.right - DESCENT * words.height, place.centre[1])]
            continue
        place = room.take(length, 2.4 + words.box.height, room.middle)
        if place is not None:
            y = place.bottom + 1.0
            arrow = Arrow((place.left, y), (place.right, y), Role.STRETCH, both=True, head=3.0)
            x, base = place.centre[0], place.top - ASCENT * words.height
            return [arrow, words.moved(x, base)]
    return []
