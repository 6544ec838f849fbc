"""The drawing of a step of making, computed from the seams, folds and marks that the step shows."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import shapely
import shapely.ops

from grading.drawing.fonts import ASCENT
from grading.drawing.marks import Align, Arrow, Box, Dot, Drawing, Mark, Role, Text, extent, line
from grading.drawing.placing import Placing
from grading.drawing.system import SMALL
from grading.engine.run import SizeRun
from grading.geometry.arrays import Floats
from grading.geometry.flattening import flatten
from grading.model.block import Mark as BlockMark
from grading.model.block import Seam
from grading.model.making import Step
from grading.model.mark_kinds import MARK_KINDS, Drawn
from grading.outputs.finished import pictured, turning
from grading.outputs.wording import hand_told
from grading.readings.finished import finished
from grading.readings.marks import change_overs, edge_marks, fold_lines, left_open, slits
from grading.readings.walks import Walk, walked_sides

__all__ = ["STEP", "step_drawings"]

#: Width and height of a step's drawing, mm.
STEP = (60.0, 45.0)
#: Mm on the sheet: between pieces, from a side to the arrow along it, how long a tick is and the arms of a cross.
_BETWEEN, _BESIDE, _TICK, _ARM, _HEAD = 4.0, 1.7, 1.8, 0.9, 2.2
#: How much of a piece is shown round what is sewn, mm of leather; all of it where that is little more.
_ROUND, _LITTLE = 22.0, 1.5
_WORD = Text("", 0, 0, SMALL, align=Align.CENTRE)
_LETTER = replace(_WORD, bold=True)
#: The lines of words below the pieces: each piece's name, and how it lies.
_WORDS = 2 * 4.4
_LEAST_SCALE = 0.02


def step_drawings(run: SizeRun, size: int) -> tuple[Drawing | None, ...]:
    """What each step of making shows, its corner at (0, 0) and no larger than ``STEP``; None where it shows nothing.

    Folds are shown as they are once turned; of a seam both sides are bold on the flat pieces, each with an arrow the
    way it is sewn from where it begins, and the marks that meet.
    """
    steps = _Steps(run.only(size))
    return tuple(steps.drawn(step) for step in run.block.making)


class _Steps:
    """The drawings of the steps of a run of one size; what holds for all of them is read once."""

    def __init__(self, run: SizeRun) -> None:
        self.run = run
        self.edge_marks = edge_marks(run)
        self.change_overs = change_overs(run)

    def drawn(self, step: Step) -> Drawing | None:
        names = set(step.shown)
        seams = [seam for seam in self.run.block.seams if seam.name in names]
        marks = [mark for mark in self.run.block.marks if mark.name in names]
        if not seams and not marks:
            return None
        if not seams and all(mark.kind == "fold line" for mark in marks):
            return self._turned([mark.name for mark in marks])
        return self._sewn(seams, marks)

    def _turned(self, folds: Sequence[str]) -> Drawing:
        """The finished piece with the parts that are turned, and which way."""
        hand = self.run.block.shown.hand
        layers = finished(self.run, 0, hand).palm
        left, bottom, right, top = shapely.union_all([layer.area for layer in layers]).bounds
        scale = min((STEP[0] - 1) / (right - left), (STEP[1] - _WORDS / 2 - 1) / (top - bottom))
        drawn = Drawing((*pictured(layers, scale, folds), *turning(layers, scale, folds)))
        words = replace(_WORD, text=f"palm of {hand_told(hand)}", x=drawn.box.centre[0])
        return _centred(drawn + Drawing((replace(words, y=drawn.box.bottom - 1 - ASCENT * SMALL),)))

    def _sewn(self, seams: Sequence[Seam], marks: Sequence[BlockMark]) -> Drawing:
        """The flat pieces, as they lie for the hand that is shown, with what is sewn bold."""
        walks = [walk for seam in seams for walk in walked_sides(self.run, seam)]
        pieces = list(dict.fromkeys([*(walk.piece for walk in walks), *(mark.piece for mark in marks)]))
        made = [_Flat(self, name, walks, seams, marks) for name in pieces]
        wide, high = sum(one.window.width for one in made), max(one.window.height for one in made)
        room = STEP[0] - _BETWEEN * (len(made) - 1) - 2 * (_BESIDE + 1)
        scale = min(room / wide, (STEP[1] - _WORDS - 2 * (_BESIDE + 1)) / high)
        drawn = _beside([one.drawn(scale) for one in made], str(self.run.block.shown))
        while (drawn.box.width > STEP[0] or drawn.box.height > STEP[1]) and scale > _LEAST_SCALE:
            # Letters and arrows stay as they are: only the leather shrinks.
            across, up = STEP[0] - drawn.box.width + scale * wide, STEP[1] - drawn.box.height + scale * high
            scale = min(0.98 * scale, max(_LEAST_SCALE, min(across / wide, up / high)))
            drawn = _beside([one.drawn(scale) for one in made], str(self.run.block.shown))
        return _centred(drawn)


def _beside(drawings: Sequence[Drawing], lies: str) -> Drawing:
    row, left = Drawing(), 0.0
    for one in drawings:
        row += one.moved(left - one.box.left, -one.box.centre[1])
        left += one.box.width + _BETWEEN
    words = replace(_WORD, text=lies, x=row.box.centre[0], y=row.box.bottom - 1.2 - ASCENT * SMALL)
    return row + Drawing((words,))


def _centred(drawing: Drawing) -> Drawing:
    box = drawing.box
    return drawing.moved((STEP[0] - box.width) / 2 - box.left, STEP[1] - box.top)


class _Flat:
    """One flat piece: the part of it that is shown, in mm of leather as the block has it, and its drawing."""

    def __init__(
        self, steps: _Steps, name: str, walks: Sequence[Walk], seams: Sequence[Seam], marks: Sequence[BlockMark]
    ) -> None:
        self._steps, self._run, self._name = steps, steps.run, name
        self._piece = self._run.pieces[name]
        self._ways = _in_one_go([walk for walk in walks if walk.piece == name])
        self._seams = {seam.name for seam in seams}
        self._open = [seam for seam in seams if seam.left_open]
        self._marks = [mark for mark in marks if mark.piece == name]
        self.window = self._window()

    def _window(self) -> Box:
        """All of the piece, or what lies round its bold lines where that is much less."""
        whole = extent(self._piece.boundary[0].reshape(-1, 2))
        bold = [walk.beziers[0].reshape(-1, 2) for walk in self._ways]
        bold += [np.array([self._piece.point(name)[0] for name in mark.points]) for mark in self._marks]
        near = extent(np.concatenate(bold)).grown(_ROUND)
        if near.width * _LITTLE > whole.width or near.height * _LITTLE > whole.height:
            return whole
        return Box(
            max(near.left, whole.left), max(near.bottom, whole.bottom), min(near.right, whole.right),
            min(near.top, whole.top),
        )  # fmt: skip

    def drawn(self, scale: float) -> Drawing:
        """The piece at a scale, as it lies for the hand that is shown, with its name below it."""
        lines = [*self._outlines(scale), *self._bold(scale), *self._meeting(scale)]
        placing = Placing(lines, clear=0.2)
        letters = [placing.put(text, places) for text, places in self._letters(scale)]
        drawing = Drawing((*lines, *letters))
        if self._run.block.shown.reversed:
            drawing = drawing.mirrored()
        box = drawing.box
        name = replace(_WORD, text=self._name, x=box.centre[0], y=box.bottom - 1.0 - ASCENT * SMALL)
        return drawing + Drawing((name,))

    def _outlines(self, scale: float) -> Iterator[Mark]:
        """Outline, cut-outs, mirror line and folds, as far as they are shown."""
        window = shapely.box(*self.window.grown(0.5))
        shown: list[tuple[Role, Floats]] = []
        for loop in self._piece.beziers.values():
            ring = flatten(loop[0], 0.2)
            shown.append((Role.RULE, ring))
        for role, drawn in ((Role.FOLD_LINE, fold_lines), (Role.RULE, slits)):
            for _, start, end in drawn(self._run.block, self._name):
                shown.append((role, np.array([self._piece.point(point)[0] for point in (start, end)])))
        if self._piece.mirrored:
            y = self._piece.boundary[0][..., 1]
            shown.append((Role.MIRROR_LINE, np.array([(0, y.min()), (0, y.max())])))
        for role, points in shown:
            for part in shapely.get_parts(shapely.LineString(points).intersection(window)):
                if isinstance(part, shapely.LineString) and not part.is_empty:
                    yield line(shapely.get_coordinates(part) * scale, role)

    def _bold(self, scale: float) -> Iterator[Mark]:
        """The sides that are sewn, each with its arrow, and the fold lines and points that are named."""
        for way in self._ways:
            points = flatten(way.beziers[0], 0.1) * scale
            yield from (line(part, Role.OUTLINE) for part in self._sewn(way, scale))
            yield from _way(points, float(way.side[0]))
        for mark in self._marks:
            points = np.array([self._piece.point(name)[0] for name in mark.points]) * scale
            if MARK_KINDS[mark.kind].paired:
                yield from (line(ends, Role.OUTLINE) for ends in points.reshape(-1, 2, 2))
            elif MARK_KINDS[mark.kind].drawn.is_line:
                yield line(points, Role.OUTLINE)
            else:
                yield from (Dot(float(x), float(y), radius=0.9) for x, y in points)

    def _sewn(self, way: Walk, scale: float) -> Iterator[Floats]:
        """What is sewn of a side: all but what is left open of its seam."""
        path = shapely.LineString(flatten(way.beziers[0], 0.1))
        for seam in self._open:
            for side in walked_sides(self._run, seam):
                if side.piece == self._name:
                    start, end = (float(at[0]) for at in left_open(side, seam.left_open))
                    gap = shapely.ops.substring(shapely.LineString(flatten(side.beziers[0], 0.1)), start, end)
                    path = path.difference(gap.buffer(0.2))
        for part in shapely.get_parts(path):
            yield shapely.get_coordinates(part) * scale

    def _meeting(self, scale: float) -> Iterator[Mark]:
        """The ticks of the seams that are shown, and a cross at every change-over on their sides."""
        for mark in self._steps.edge_marks:
            if mark.piece == self._name and mark.name in self._seams:
                at, out = mark.places[0] * scale, mark.outward[0]
                yield line([at, at - out * _TICK], Role.NOTCH)
        sides = [shapely.LineString(flatten(walk.beziers[0], 0.2)) for walk in self._ways]
        for places, inward in self._steps.change_overs.get(self._name, ()):
            place = places[0]
            if any(side.distance(shapely.Point(place)) < 0.5 for side in sides):
                middle = place * scale + inward[0] * 2 * _ARM
                for arm in np.array([(_ARM, _ARM), (_ARM, -_ARM)]):
                    yield line([middle - arm, middle + arm], Role.RULE)

    def _letters(self, scale: float) -> Iterator[tuple[Text, list[tuple[float, float]]]]:
        """The letters to sew by that stand at what is shown, each with the places where it may stand."""
        window = self.window.grown(0.5)
        for mark in self._run.block.marks:
            if mark.piece == self._name and MARK_KINDS[mark.kind].drawn is Drawn.WORDS:
                for point in mark.points:
                    x, y = self._piece.point(point)[0].tolist()
                    if window.contains(Box(x, y, x, y)):
                        yield replace(_LETTER, text=mark.name), list(_places_round(x * scale, y * scale))


def _in_one_go(walks: Sequence[Walk]) -> list[Walk]:
    """The walks of one piece, those joined that go on where another ends."""
    joined: list[Walk] = []
    for walk in walks:
        before = next((one for one in joined if one.end == walk.start and one.start != walk.end), None)
        after = next((one for one in joined if one.start == walk.end and one is not before), None)
        if before is not None:
            joined.remove(before)
            walk = _joined_walk(before, walk)
        if after is not None and after.end != walk.start:
            joined.remove(after)
            walk = _joined_walk(walk, after)
        joined.append(walk)
    return joined


def _joined_walk(one: Walk, other: Walk) -> Walk:
    return replace(
        one,
        end=other.end,
        beziers=np.concatenate([one.beziers, other.beziers], axis=1),
        allowance=np.concatenate([one.allowance, other.allowance]),
        side=np.concatenate([one.side, other.side]),
    )


def _way(points: Floats, side: float) -> Iterator[Mark]:
    """An arrow beside a side (points on the sheet), off the leather, from where it begins to where it ends."""
    path = shapely.LineString(points)
    beside = max(shapely.get_parts(path.offset_curve(side * _BESIDE)), key=shapely.length, default=None)
    if beside is None or beside.length < 2 * _HEAD:
        return
    inset = min(0.8, beside.length / 8)
    start, tail, tip = (beside.interpolate(at) for at in (inset, beside.length - inset - _HEAD, beside.length - inset))
    shaft = shapely.ops.substring(beside, inset, beside.length - inset - _HEAD)
    yield line(shapely.get_coordinates(shaft), Role.MEASURE_LINE)
    yield Dot(start.x, start.y, radius=0.6)
    yield Arrow((tail.x, tail.y), (tip.x, tip.y), Role.MEASURE, head=_HEAD)


def _places_round(x: float, y: float) -> Iterator[tuple[float, float]]:
    for far in (2.6, 3.4, 4.4, 5.6):
        for turn in np.pi * np.array([0.5, 1.5, 0, 1, 0.25, 0.75, 1.25, 1.75]):
            yield float(x + np.cos(turn) * far), float(y + np.sin(turn) * far - SMALL / 2)
