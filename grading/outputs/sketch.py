"""A small labelled drawing of the pieces of one size with their points of measure, drawn from that size's lines."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from math import cos, pi, sin

import numpy as np
import shapely

from grading.drawing.fonts import ASCENT
from grading.drawing.marks import Align, Arrow, Curve, Dot, Drawing, Line, Mark, Role, Text, line
from grading.drawing.placing import Placing
from grading.drawing.system import SMALL
from grading.engine.run import GradedPiece, SizeRun
from grading.geometry.arrays import Floats
from grading.geometry.flattening import flatten
from grading.measuring.arrows import Beside, Lane, NoArrow, Span
from grading.measuring.ways import WAYS
from grading.model.block import BOUNDARY, Measure
from grading.readings.finished import outermost
from grading.readings.marks import fold_lines, slits

__all__ = ["Lettered", "sketch", "sketches"]

#: What is written at a measure, its letter and its figure, and the measure.
Lettered = tuple[str, Measure]
#: What is written at a measure, and what is drawn of it.
Arrowed = tuple[str, Span | Lane | Beside | NoArrow]

#: The largest scale: larger ones would make a thumb look like a trank.
_LARGEST = 0.5
_LEAST = 0.03
_EDGE = 0.4  # mm kept free for the width of lines
_ROUNDING = 1e-6  # mm by which a drawing may be larger: the scale that just fits is worked out
_BETWEEN = 6.0  # mm between pieces
_LANE = 5.0  # mm from one line of heights to the next
_AWAY = 2.8  # mm from a sew line to what is measured along it
_MEASURE = Text("", 0, 0, SMALL, Role.LABEL_ON_LINE, Align.CENTRE, bold=True)
_POINT = Text("", 0, 0, SMALL, align=Align.CENTRE)
_HEAD = 1.8
#: How far from its point a letter stands, mm, as it is tried; further off at a slant first, off the lines there.
_NEAR, _FAR = (2.2, 2.8, 3.6, 4.6), (6.0, 7.0, 8.0, 9.5, 11.0, 12.5, 14.0)
#: What an arrow keeps beside the words on it, so that it still is seen to be one, mm.
_SHAFT = 2 * _HEAD + 1.5

Place = tuple[float, float]


def sketch(run: SizeRun, size: int, measures: Sequence[Lettered], width: float, height: float) -> Drawing:
    """The pieces of one size with the measures taken on them, as large as fits a frame with its corner at (0, 0).

    All pieces have one scale, named below them with the hand that is drawn and the face that is up. ``measures`` are
    those to show, each with what is written at it; letters to sew by are the points whose names are one letter. What
    is worn inside the others is left out.
    """
    (drawn,) = sketches([run], size, measures, width, height)
    return drawn


def sketches(
    runs: Sequence[SizeRun], size: int, measures: Sequence[Lettered], width: float, height: float
) -> list[Drawing]:
    """A `sketch` of each of several runs of one block, in frames of one size and all at one scale."""
    runs = [outermost(run) for run in runs]
    pieces = [[np.ptp(piece.boundary[size].reshape(-1, 2), axis=0) for piece in run.pieces.values()] for run in runs]
    wide = max(float(sum(across for across, _ in of_run)) for of_run in pieces)
    high = max(float(up) for of_run in pieces for _, up in of_run)
    arrows = [_arrows(run, size, measures) for run in runs]

    def begun(scale: float) -> Iterator[list[_Sketch]]:
        return (_begun(run, size, of_run, scale) for run, of_run in zip(runs, arrows, strict=True))

    def rows(parts: Iterable[Iterable[_Sketch]], scale: float) -> list[Drawing]:
        drawn = ((run, [one.captioned(run) for one in of_run]) for run, of_run in zip(runs, parts, strict=True))
        return [_row(run, of_run, scale, width, height) for run, of_run in drawn]

    def fitting(drawn: Sequence[Drawing], scale: float) -> float:
        """The scale at which the drawings would fit, or that which they have if they do."""
        across, up = (max(getattr(one.box, way) for one in drawn) for way in ("width", "height"))
        if max(across - width, up - height) + 2 * _EDGE <= _ROUNDING:
            return scale
        # Letters and distances stay as they are: only the pieces shrink.
        room = (width - 2 * _EDGE - across) / wide, (height - 2 * _EDGE - up) / high
        return float(max(_LEAST, min(0.985 * scale, *(scale + more for more in room))))

    largest = min(_LARGEST, (height - 9) / high, (width - 30) / wide)
    # Without their letters, which seldom take room beyond them, pieces are drawn in half the time.
    smaller = fitting(rows(begun(largest), largest), largest)
    while True:
        scale = smaller
        drawn = rows(([one.labelled() for one in of_run] for of_run in begun(scale)), scale)
        smaller = fitting(drawn, scale)
        if smaller == scale:
            return [
                one.moved((width - one.box.width) / 2 - one.box.left, height - one.box.top - _EDGE) for one in drawn
            ]


def _row(run: SizeRun, pieces: Sequence[Drawing], scale: float, width: float, height: float) -> Drawing:
    """The pieces side by side; what is up, and the scale, below them, or beside them where that has the room."""
    row, left = Drawing(), 0.0
    for drawn in pieces:
        row += drawn.moved(left - drawn.box.left, -drawn.box.top)
        left += drawn.box.width + _BETWEEN
    said = replace(_POINT, text=f"{run.block.shown} · 1 : {1 / scale:.1f}", align=Align.LEFT)
    below = row + Drawing((replace(said, x=row.box.left, y=row.box.bottom - 1.0 - ASCENT * SMALL),))
    if below.box.height <= height - 2 * _EDGE:
        return below
    beside = row + Drawing((replace(said, x=row.box.right + _BETWEEN, y=row.box.top - ASCENT * SMALL),))
    return beside if beside.box.width <= width - 2 * _EDGE else below


def _arrows(run: SizeRun, size: int, measures: Sequence[Lettered]) -> Mapping[str, list[Arrowed]]:
    """What is written at each measure of a piece, by the piece's name, and its arrow, at the piece's own scale."""
    arrows: dict[str, list[Arrowed]] = {name: [] for name in run.pieces}
    for words, measure in measures:
        if measure.piece in arrows:
            arrows[measure.piece].append((words, WAYS[measure.how].arrow(run.pieces[measure.piece], measure, size)))
    return arrows


def _begun(run: SizeRun, size: int, arrows: Mapping[str, list[Arrowed]], scale: float) -> list[_Sketch]:
    """Every piece with its lines and arrows."""
    sketches = [_Sketch(piece, size, scale) for piece in run.pieces.values()]
    for drawn in sketches:
        drawn.draw_lines(run)
        drawn.draw_pile()
        # Of those up the side the shortest comes nearest to the piece.
        of_piece = arrows[drawn.piece.name]
        for words, arrow in sorted(of_piece, key=lambda one: one[1].length if isinstance(one[1], Lane) else 0.0):
            drawn.draw_measure(words, arrow)
    return sketches


@dataclass(eq=False)
class _Sketch:
    """One piece in the making, in mm on paper: ``lines`` first, then the ``labels`` that lie over them.

    A measure's label waits with the places where it may stand until all lines are known.
    """

    piece: GradedPiece
    size: int
    scale: float
    lines: list[Mark] = field(default_factory=list)
    labels: list[Mark] = field(default_factory=list)
    waiting: list[tuple[Text, list[Place], bool]] = field(default_factory=list)
    words: str = ""
    lanes: list[list[tuple[float, float]]] = field(default_factory=list)

    @cached_property
    def rings(self) -> dict[str, shapely.Polygon]:
        """The areas within the loops."""
        return {name: shapely.Polygon(flatten(self.loop(name), 0.03)) for name in self.piece.beziers}

    def loop(self, name: str) -> Floats:
        """The handles (segments, 4, 2) of a loop."""
        handles: Floats = self.piece.beziers[name][self.size] * self.scale
        return handles

    def point(self, name: str) -> Place:
        x, y = (self.piece.point(name)[self.size] * self.scale).tolist()
        return x, y

    def draw_lines(self, run: SizeRun) -> None:
        self.lines += [Curve(self.loop(name), Role.OUTLINE, closed=True) for name in self.piece.beziers]
        for _, start, end in fold_lines(run.block, self.piece.name):
            self.lines.append(line([self.point(start), self.point(end)], Role.FOLD_LINE))
        for _, start, end in slits(run.block, self.piece.name):
            self.lines.append(line([self.point(start), self.point(end)], Role.OUTLINE))
        if self.piece.mirrored:
            y = self.loop(BOUNDARY)[..., 1]
            self.lines.append(line([(0, y.min()), (0, y.max())], Role.MIRROR_LINE))

    def draw_pile(self) -> None:
        """The pile arrow, if the block has one, where the palm half is widest, clear of cut-outs and folds."""
        if not (pile := self.piece.shape.piece.pile):
            return
        rings = [flatten(self.loop(name), 0.1) for name in self.piece.beziers]
        free = shapely.Polygon(rings[0], rings[1:])
        if self.piece.mirrored:
            free = free.intersection(shapely.box(1, -1e4, 1e4, 1e4))
        folds = [mark.points for mark in self.lines if isinstance(mark, Line) and mark.role is Role.FOLD_LINE]
        for fold in folds:
            free = free.difference(shapely.LineString(fold).buffer(1))
        circle = shapely.maximum_inscribed_circle(free, 0.5)
        (x, y), radius = shapely.get_coordinates(circle)[0].tolist(), min(float(shapely.length(circle)), 9.0)
        arrow = Arrow((x, y - pile * radius * 0.6), (x, y + pile * radius * 0.6), Role.PILE, head=2.4)
        self.lines.append(arrow)
        text = replace(_POINT, text="pile")
        # Beside it where that fits, else over its tail, else further off.
        tail = (x, y - radius * 0.6)
        places = _places(tail, text, (2.2, 3.0, 4.0), (1.5, 0, 1, 0.5)) + _places(
            tail, text, (*_NEAR, *_FAR, 12.0, 15.0)
        )
        self.waiting.append((text, places, False))

    def draw_measure(self, words: str, arrow: Span | Lane | Beside | NoArrow) -> None:
        """The arrow of a measure, and what is written on it or, where it is too short for that, beside it."""
        self.words = words
        match arrow:
            case Span():
                self._arrow(self._scaled(arrow.start), self._scaled(arrow.end))
            case Lane():
                self._in_lane(self._scaled(arrow.low), self._scaled(arrow.high))
            case Beside():
                self._beside(arrow)
            case NoArrow():
                self._wait(replace(_MEASURE, text=words), [self._scaled(arrow.place)])

    def _scaled(self, place: Place) -> Place:
        return place[0] * self.scale, place[1] * self.scale

    def _arrow(self, start: Place, end: Place) -> None:
        self.lines.append(Arrow(start, end, Role.MEASURE, both=True, head=_HEAD))
        (dx, dy), text = np.subtract(end, start).tolist(), replace(_MEASURE, text=self.words)
        upright = abs(dy) > abs(dx)
        if np.hypot(dx, dy) >= text.width + _SHAFT:
            self._wait(replace(text, angle=pi / 2 if upright else 0.0), _places_along(start, end))
            return
        x, y = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
        if upright:
            away = text.width / 2 + 1.0
            places = [
                (x + way * (away + far), y + up) for far in (0, 1.5, 4, 8) for way in (-1, 1) for up in (0, 3, -3)
            ]
        else:
            places = [
                (x + along, y + way * (2.6 + far)) for far in (0, 2, 4) for way in (1, -1) for along in (0, 3, -3)
            ]
        self._wait(text, places, on_lines=False)

    def _wait(self, text: Text, middles: Iterable[Place], *, on_lines: bool = True) -> None:
        """Have a text put about the first of these middles that is free, once all lines are known."""
        half = text.height / 2
        turned = abs(text.angle) > 0.1
        self.waiting.append((text, [(x + half, y) if turned else (x, y - half) for x, y in middles], on_lines))

    def _in_lane(self, *ends: Place) -> None:
        """An arrow up the left of the piece, in the nearest lane that is free, with a line to each of its ends."""
        (_, low), (_, high) = ends
        clear = (all(high <= bottom + 0.1 or top <= low + 0.1 for bottom, top in lane) for lane in self.lanes)
        number = next((number for number, free in enumerate(clear) if free), len(self.lanes))
        self.lanes += [[]] if number == len(self.lanes) else []
        self.lanes[number].append((low, high))
        x = float(self.loop(BOUNDARY)[..., 0].min()) - _LANE * (number + 1)
        self.lines += [line([(x - 1, y), (at - 0.6, y)], Role.REFERENCE_LINE) for at, y in ends]
        self._arrow((x, low), (x, high))

    def _beside(self, arrow: Beside) -> None:
        """A line beside the sew line along what is measured, in the leather round a cut-out and else outside."""
        handles, closed = self.loop(arrow.loop), arrow.segments is None
        ring = self.rings[arrow.loop]
        if closed:
            beside = shapely.buffer(ring, _AWAY).exterior
        else:
            beside = _outside(ring, shapely.LineString(flatten(handles[arrow.segments], 0.03)))
        points = shapely.get_coordinates(beside)
        self.lines.append(line(points, Role.MEASURE_LINE, closed=closed))
        if not closed:
            for end in (beside, beside.reverse()):
                tip = end.interpolate(0)
                tail = end.interpolate(_HEAD * 1.2)
                self.lines.append(Arrow((tail.x, tail.y), (tip.x, tip.y), Role.MEASURE, head=_HEAD))
        # Its own middle first; a ring starts where other marks tend to be, and so does its middle.
        shares = np.linspace(0.3, 0.95, 14) if closed else (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.45, 0.55, 0.25, 0.75)
        text = replace(_MEASURE, text=self.words)
        at = [beside.interpolate(share, normalized=True) for share in shares]
        way = [beside.interpolate(min(share + 0.02, 1), normalized=True) for share in shares]
        steep = [abs(b.y - a.y) > abs(b.x - a.x) for a, b in zip(at, way, strict=True)]
        # Words follow the line where it runs up or across; on others they would lie over it.
        if beside.length < text.width + _SHAFT or not any(steep):
            self._wait(text, [(place.x, place.y) for place in at])
            return
        first = steep[0]
        alike = [(place.x, place.y) for place, is_steep in zip(at, steep, strict=True) if is_steep == first]
        self._wait(replace(text, angle=pi / 2 if first else 0.0), alike)

    def labelled(self) -> _Sketch:
        """With all letters, each in the first of its places that is free: those on lines before those beside points."""
        placing = Placing(self.lines, clear=0.3)
        for text, places, on_lines in sorted(self.waiting, key=lambda one: not one[2]):
            self.labels.append(placing.put(text, places, on_lines=on_lines))
        for name, at in self._letters():
            self.lines.append(Dot(*at, radius=0.4))
            text = replace(_POINT, text=name)
            places = _places(at, text, _NEAR) + _places(at, text, _FAR, (0.5, 0.25, 0.75, 1.5, 1.25, 1.75, 0, 1))
            self.labels.append(placing.put(text, places))
        return self

    def _letters(self) -> Iterator[tuple[str, Place]]:
        """The points whose names are one letter, with their images."""
        for name in self.piece.shape.names:
            if len(name) == 1 and name.isalpha():
                x, y = self.point(name)
                yield name, (x, y)
                if self.piece.mirrored and self.piece.loop_of(name) == BOUNDARY and x > 0:
                    yield name, (-x, y)

    def captioned(self, run: SizeRun) -> Drawing:
        """The drawing as its hand lies, with the piece's name below it."""
        drawn = Drawing((*self.lines, *self.labels))
        drawn = drawn.mirrored() if run.block.shown.reversed else drawn
        box = drawn.box
        name = replace(_POINT, text=self.piece.name, bold=True, x=box.centre[0])
        return drawn + Drawing((replace(name, y=box.bottom - 0.8 - ASCENT * SMALL),))


def _outside(ring: shapely.Polygon, sewn: shapely.LineString) -> shapely.LineString:
    """The line beside a stretch of a loop, on the side away from the loop's middle.

    On the inner side of a loop that is smaller than the distance nothing is left of it, whichever way it runs.
    """
    sides = [
        max(shapely.get_parts(sewn.offset_curve(way)), key=shapely.length, default=None) for way in (_AWAY, -_AWAY)
    ]
    lines: list[shapely.LineString] = [side for side in sides if side is not None and not side.is_empty]
    return min(lines, key=lambda side: ring.contains(side.interpolate(0.37, normalized=True)))


def _places_along(start: Place, end: Place) -> list[Place]:
    shares = (0.5, 0.4, 0.6, 0.3, 0.7, 0.45, 0.55, 0.35, 0.65, 0.25, 0.75)
    return [(start[0] + (end[0] - start[0]) * part, start[1] + (end[1] - start[1]) * part) for part in shares]


def _places(
    at: Place, text: Text, distances: Sequence[float], turns: Sequence[float] = (0, 1, 1.5, 0.5, 0.25, 0.75, 1.25, 1.75)
) -> list[Place]:
    """Places round a point, near ones first, by the half turns to them: to the sides, below and above first."""
    (x, y), half, wider = at, text.height / 2, text.width / 2 - text.height / 2
    ways = [(cos(pi * turn), sin(pi * turn)) for turn in turns]
    return [(x + c * (far + wider), y + s * far - half) for far in distances for c, s in ways]
