"""One pattern piece in one size as a drawing: its lines, its marks, and what is written on it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import product
from math import pi

import numpy as np
import shapely

from grading.drawing.composing import beside_joints, centring_arrows
from grading.drawing.fonts import ASCENT, DESCENT, LINE_SPACING, text_width, wrapped
from grading.drawing.joints import Parting
from grading.drawing.marks import Align, Arrow, Curve, Dot, Drawing, Line, Mark, Role, Text, line, paragraph
from grading.drawing.rooms import Room
from grading.drawing.system import LARGE, LARGEST, PLAIN, SMALL
from grading.engine.cut_lines import CutLoop
from grading.engine.run import GradedPiece, SizeRun
from grading.geometry.arrays import Floats
from grading.geometry.flattening import flatten
from grading.model.block import BOUNDARY, Piece
from grading.model.hands import EITHER, HANDS
from grading.model.mark_kinds import MARK_KINDS, Drawn
from grading.readings.marks import CHANGE_OVER, PIERCED, EdgeMark, change_overs, edge_marks, fold_lines, slits

__all__ = ["HandPiece", "PatternKind", "PieceDrawings", "mirror_line", "mirror_reach"]

#: How near the chords of the outline follow it where room for labels is looked for, mm.
ROUGH = 0.1
#: Capital heights in mm of a piece's name and of the words below it, as they are tried, and how wide, in letters.
HEIGHTS, WIDTHS = ((LARGEST, PLAIN), (LARGE, PLAIN), (LARGE, SMALL), (PLAIN, SMALL), (SMALL, SMALL)), (24, 18, 14, 11)
#: How many of its lines are kept, as they are tried.
KEPT = (None, 6, 5, 4, 3, 2)
#: How long the arrows are tried, mm.
PILE_ARROWS, STRETCH_ARROWS = (70.0, 55.0, 44.0, 36.0), (40.0, 28.0, 20.0, 15.0)
#: What stands beside a pile arrow, by whether it points up the piece or down it, and beside a stretch arrow.
PILE_WORDS = {1: "pile arrow: hand goes in this way", -1: "pile arrow: pile runs this way"}
STRETCH = "stretch"
_LETTER = Text("", 0, 0, LARGE, align=Align.CENTRE, bold=True)
_SMALL = Text("", 0, 0, SMALL, align=Align.CENTRE)
#: The pair of strokes that marks each end of a line of symmetry (ISO 128): how far from the end, apart, and how long.
_SYMMETRY = (3.0, 1.2, 4.0)


@dataclass(frozen=True)
class PatternKind:
    """What is printed of the pieces, with the run's id on it: ``net`` templates without seam allowances, to draw round,
    or cutting patterns; a pattern for ``each_hand``, or one for both that is turned over.
    """

    run_id: str
    net: bool = False
    each_hand: bool = False


@dataclass(frozen=True, eq=False)
class HandPiece:
    """A piece in a size, drawn for one ``hand``; turned over, its card serves the ``other``, if one is named."""

    drawings: PieceDrawings
    piece: Piece
    size: int
    hand: str
    other: str = ""

    @property
    def name(self) -> str:
        return f"{self.piece.name} {self.hand}"

    @property
    def reversed(self) -> bool:
        """Whether it is drawn as the mirror image of the block."""
        return self.drawings.reverses(self.hand)

    @cached_property
    def lines(self) -> Drawing:
        """Its lines and marks, without words and arrows, as it lies on the sheet."""
        drawn = Drawing(tuple(self.drawings.fixed(self.piece, self.size)))
        return drawn.mirrored() if self.reversed else drawn

    def finished(self, turned: int, parting: Parting) -> Drawing:
        """The piece with all its words, none of them at a joint of the parting, ``turned`` by a right angle if 1."""
        barred = beside_joints(parting)
        lines = self.lines.turned() if turned else self.lines
        arrows = centring_arrows(lines, parting)
        barred = barred.union(shapely.union_all([shapely.box(*mark.box.grown(1)) for mark in arrows]))
        if turned:
            barred = shapely.transform(barred, lambda points: points @ [(0, -1), (1, 0)])
        if self.reversed:
            barred = shapely.transform(barred, lambda points: points * [-1, 1])
        words = Drawing(tuple(self.drawings.words(self, barred)))
        words = words.mirrored() if self.reversed else words
        return lines + (words.turned() if turned else words) + Drawing(tuple(arrows))


class PieceDrawings:
    """The pieces of a run to be drawn, size by size; what holds for all sizes is read once."""

    def __init__(self, run: SizeRun, loops: Sequence[CutLoop], kind: PatternKind) -> None:
        self._run, self._kind = run, kind
        self._cut = {(loop.piece, loop.loop): loop for loop in loops}
        self._marks = edge_marks(run)
        self._change_overs = change_overs(run)

    def of_size(self, size: int) -> list[HandPiece]:
        """What is drawn of a pair: every piece for each hand, right hands first, or once where it is turned over."""
        pieces = []
        for hand in (*HANDS, EITHER):
            for piece in self._run.block.pieces:
                cut_for = [one for one, _ in self._run.block.cut_for(piece)]
                if hand not in cut_for:
                    continue
                if self._kind.each_hand or len(cut_for) == 1:
                    pieces.append(HandPiece(self, piece, size, hand))
                elif hand == self._run.block.shown.hand:
                    pieces.append(HandPiece(self, piece, size, hand, next(one for one in cut_for if one != hand)))
        return pieces

    def reverses(self, hand: str) -> bool:
        """Whether a hand's pattern is the mirror image of the block as drawn."""
        return self._run.block.view(hand).reversed

    def fixed(self, piece: Piece, size: int) -> Iterator[Mark]:
        """Lines and marks of a piece as the block has it."""
        graded = self._run.pieces[piece.name]
        yield from self._outlines(graded, size)
        yield from self._inner_lines(graded, size)
        for mark in self._marks:
            if mark.piece == piece.name:
                yield self._stroke(mark, size)
        for place, inward in self._change_overs.get(piece.name, ()):
            yield from _change_over(place[size] + inward[size] * CHANGE_OVER)

    def words(self, one: HandPiece, barred: shapely.Geometry) -> Iterator[Mark]:
        """Letters, names of lines, arrows and what the piece is, where there is room outside what is ``barred``."""
        graded, size = self._run.pieces[one.piece.name], one.size
        fixed = [mark for mark in self.fixed(one.piece, size) if mark.role is not Role.CUT_LINE]
        fixed += self._slits(graded, size)
        leather = _leather(graded, size)
        room = Room(leather.difference(barred), fixed)
        yield from self._letters(graded, size, room)
        # Both hands' words are given the same place, so that all else of them is alike.
        hands = (EITHER,) if one.hand == EITHER else HANDS
        spelled = {hand: self._words(replace(one, hand=hand)) for hand in hands}
        labels = list(_label(spelled, one.hand, one.reversed, room))
        arrows = [*_pile_arrow(one.piece, room), *_stretch_arrow(one.piece, room)]
        if graded.mirrored:
            arrows += _placed(replace(_SMALL, text="mirror line", angle=pi / 2), room, (4.0, room.middle[1]))
        yield from (*arrows, *labels)
        yield from self._line_names(graded, size, room)
        yield from self._cut_outs(graded, size, barred)

    def _outlines(self, piece: GradedPiece, size: int) -> Iterator[Mark]:
        """Cut lines, and the sew lines of the edges that have an allowance; net pieces are cut on the sew line."""
        name = piece.name
        for loop, beziers in piece.beziers.items():
            if self._kind.net:
                yield Curve(beziers[size], Role.CUT_LINE, closed=True)
                continue
            yield Line(self._cut[name, loop].lines[size].polygon, Role.CUT_LINE, closed=True)
            for edge, stretch in piece.shape.edges.items():
                if stretch.loop == loop and piece.shape.allowances[edge] > 0:
                    yield Curve(beziers[size, stretch.as_drawn], Role.SEW_LINE)

    def _inner_lines(self, piece: GradedPiece, size: int) -> Iterator[Mark]:
        """Mirror line, fold lines, placement lines and slits."""
        if piece.mirrored:
            yield from mirror_line(*mirror_reach(piece.boundary[size]))
        for mark in self._run.block.marks:
            role = _LINES.get(MARK_KINDS[mark.kind].drawn)
            if mark.piece == piece.name and role:
                yield line([piece.point(point)[size] for point in mark.points], role)
        yield from self._slits(piece, size)

    def _slits(self, piece: GradedPiece, size: int) -> Iterator[Mark]:
        for _, start, end in slits(self._run.block, piece.name):
            yield line([piece.point(start)[size], piece.point(end)[size]], Role.CUT_LINE)

    def _stroke(self, mark: EdgeMark, size: int) -> Mark:
        """A notch from the cut line into the allowance, or a place to pierce inside the sew line."""
        notch = None if self._kind.net else mark.notch(size)
        if notch is not None:
            return line(notch, Role.NOTCH)
        x, y = mark.tick(size).tolist()
        return Dot(x, y, Role.PIERCING, PIERCED)

    def _letters(self, piece: GradedPiece, size: int, room: Room) -> Iterator[Mark]:
        """Every label of the block, on the body as near to its point as there is room."""
        for mark in self._run.block.marks:
            if mark.piece == piece.name and MARK_KINDS[mark.kind].drawn is Drawn.WORDS:
                for point in mark.points:
                    x, y = piece.point(point)[size].tolist()
                    yield from _placed(replace(_LETTER, text=mark.name), room, (x, y))

    def _line_names(self, piece: GradedPiece, size: int, room: Room) -> Iterator[Mark]:
        """What fold lines and slits are called, beside them."""
        block, name = self._run.block, piece.name
        for mark, start, end in (*fold_lines(block, name), *slits(block, name)):
            left, right = piece.point(start)[size], piece.point(end)[size]
            x, y = (left + (right - left) * 0.25).tolist()
            yield from _placed(replace(_SMALL, text=mark.name), room, (x, y))

    def _cut_outs(self, piece: GradedPiece, size: int, barred: shapely.Geometry) -> Iterator[Mark]:
        """What a hole is, in the waste that is cut from it."""
        for loop in piece.beziers:
            if loop != BOUNDARY:
                hole = shapely.Polygon(self._cut_ring(piece, loop, size)).difference(barred)
                room = Room(hole, [])
                for text in (replace(_SMALL, text="CUT OUT"), replace(_SMALL, text="CUT OUT", angle=pi / 2)):
                    if put := list(_placed(text, room, room.middle)):
                        yield from put
                        break

    def _cut_ring(self, piece: GradedPiece, loop: str, size: int) -> Floats:
        if self._kind.net:
            return flatten(piece.beziers[loop][size], ROUGH)
        return self._cut[piece.name, loop].lines[size].polygon

    def _words(self, one: HandPiece) -> tuple[str, ...]:
        """What is written on a piece: the first two lines are what it must say at the least."""
        block, kind, piece, hand = self._run.block, self._kind, one.piece, one.hand
        counts = dict(block.cut_for(piece))
        cut = f"cut {counts[EITHER]}, either hand" if hand == EITHER else f"cut {piece.cut(hand)} for the {hand} hand"
        dated = " · ".join(text for text in (block.date, f"run {kind.run_id}") if text)
        words = [
            f"{piece.name} {self._run.sizes[one.size]}",
            f"{hand.upper()} HAND",
            f"mark with the {block.marked_face(piece)} up",
            cut,
            dated,
            "net: no seam allowance" if kind.net else "",
            block.name,
            piece.material,
            f"pile {piece.pile_arrow}" if piece.pile_arrow else "",
        ]
        return tuple(text for text in words if text)


_LINES = {Drawn.FOLD_LINE: Role.FOLD_LINE, Drawn.PLACEMENT_LINE: Role.PLACEMENT_LINE}


def mirror_line(low: float, high: float) -> list[Mark]:
    """A line of symmetry up x = 0 with the pair of strokes across each of its ends (ISO 128)."""
    inset, apart, length = _SYMMETRY
    ends = [(low, 1), (high, -1)]
    strokes = [at + way * (inset + apart * n) for at, way in ends for n in (0, 1)]
    return [
        line([(0, low), (0, high)], Role.MIRROR_LINE),
        *(line([(-length / 2, y), (length / 2, y)], Role.RULE) for y in strokes),
    ]


def _leather(piece: GradedPiece, size: int) -> shapely.Polygon:
    """The piece within its sew lines."""
    rings = {loop: flatten(beziers[size], ROUGH) for loop, beziers in piece.beziers.items()}
    return shapely.Polygon(rings.pop(BOUNDARY), list(rings.values()))


def mirror_reach(beziers: Floats) -> tuple[float, float]:
    """The lowest and the highest y at which a loop crosses its mirror line: there lie ends of its segments."""
    ends = beziers[np.abs(beziers[:, 0, 0]) < 1e-6, 0, 1]
    return float(ends.min()), float(ends.max())


def _change_over(at: Floats) -> Iterator[Mark]:
    """A place to pierce with a cross through it."""
    x, y = at.tolist()
    yield Dot(x, y, Role.PIERCING, PIERCED)
    for arm in np.array([(1.4, 1.4), (1.4, -1.4)]):
        yield line([at - arm, at + arm], Role.RULE)


def _placed(text: Text, room: Room, near: tuple[float, float]) -> Iterator[Mark]:
    """A centred text where there is room for it, if there is."""
    box = text.box
    place = room.take(box.width, box.height, near)
    if place is not None:
        yield text.moved(place.left - box.left, place.bottom - box.bottom)


def _label(words: Mapping[str, Sequence[str]], hand: str, reverse: bool, room: Room) -> Iterator[Mark]:
    """The words of a hand at the one place that has room for either's, as large as they go; the last left out first.

    Those of a piece that is to be reversed end at the edge of the place that will be its left one.
    """
    align = Align.RIGHT if reverse else Align.LEFT
    for kept, heights, width in product(KEPT, HEIGHTS, WIDTHS):
        sides = [_sides(texts[:kept], width * heights[1], heights) for texts in words.values()]
        wide, high = map(max, zip(*sides, strict=True))
        place = room.take(wide, high, room.middle)
        if place is not None:
            drawn = _lettered(words[hand][:kept], width * heights[1], heights, align)
            across = place.right - drawn.box.right if reverse else place.left - drawn.box.left
            yield from drawn.moved(across, place.top - drawn.box.top).marks
            return


def _sides(texts: Sequence[str], width: float, heights: tuple[float, float]) -> tuple[float, float]:
    """How wide and how high `_lettered` texts come out."""
    wide = high = 0.0
    for part, height, bold in ((texts[:2], heights[0], True), (texts[2:], heights[1], False)):
        if lines := [line for text in part for line in wrapped(text, width, height, bold)]:
            wide = max(wide, *(text_width(line, height, bold) for line in lines))
            high += (LINE_SPACING * (len(lines) - 1) + ASCENT + DESCENT + 0.4 * (not bold)) * height
    return wide, high


def _lettered(texts: Sequence[str], width: float, heights: tuple[float, float], align: Align) -> Drawing:
    """The texts below one another, ending or beginning at x = 0, the first two bold and larger."""
    large, small = heights
    head = paragraph(texts[:2], 0, 0, width, Text("", 0, 0, large, align=align, bold=True))
    if len(texts) <= 2:
        return head
    return head + paragraph(texts[2:], 0, head.box.bottom - 0.4 * small, width, Text("", 0, 0, small, align=align))


def _pile_arrow(piece: Piece, room: Room) -> list[Mark]:
    """An arrow the way that the block says the pile runs, with what that means written along it; none if blank."""
    return _arrow_up(PILE_WORDS[piece.pile], Role.PILE, PILE_ARROWS, room, piece.pile) if piece.pile else []


def _stretch_arrow(piece: Piece, room: Room) -> list[Mark]:
    """An arrow both ways along which the block says the leather stretches; none if it says nothing."""
    if piece.stretch == "along":
        return _arrow_up(STRETCH, Role.STRETCH, STRETCH_ARROWS, room, 0)
    words = replace(_SMALL, text=STRETCH)
    for length in STRETCH_ARROWS if piece.stretch else ():
        place = room.take(length, 2.4 + words.box.height, room.middle)
        if place is not None:
            y = place.bottom + 1.0
            arrow = Arrow((place.left, y), (place.right, y), Role.STRETCH, both=True, head=3.0)
            x, base = place.centre[0], place.top - ASCENT * words.height
            return [arrow, words.moved(x, base)]
    return []


def _arrow_up(words: str, role: Role, lengths: Sequence[float], room: Room, way: int) -> list[Mark]:
    """An arrow up (1), down (-1) or both ways (0) along the piece, with words beside it, as long as there is room."""
    text = replace(_SMALL, text=words, angle=pi / 2)
    for length in lengths:
        place = room.take(2.4 + text.box.width, max(length, text.box.height), room.middle)
        if place is not None:
            x = place.left + 1.0
            tail, tip = (place.top, place.bottom) if way < 0 else (place.bottom, place.top)
            arrow = Arrow((x, tail), (x, tip), role, both=way == 0, head=3.0 if way == 0 else Arrow.head)
            return [arrow, text.moved(place.right - DESCENT * text.height, place.centre[1])]
    return []
