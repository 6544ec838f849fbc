"""The nested grade sheet: every size of a piece over the others at its stacking point, with its grade rules."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from grading import units
from grading.drawing.marks import Align, Arrow, Box, Curve, Dot, Drawing, Mark, Role, Text, line, paragraph
from grading.drawing.pages import Wording, room, tiled_pages
from grading.drawing.paper import Printing
from grading.drawing.pdf import About, pdf_bytes
from grading.drawing.placing import Placing
from grading.drawing.ruled import ruled_table
from grading.drawing.styles import Styles
from grading.engine.run import GradedPiece, SizeRun
from grading.geometry.arrays import Floats
from grading.geometry.lengths import evaluate
from grading.model.block import BOUNDARY
from grading.outputs.wording import CAUTIONS_IN_SHORT, dated
from grading.readings.marks import fold_lines

__all__ = ["grade_table", "nest", "nested"]

_BETWEEN = 20.0
_LABEL = Text("", 0, 0, 2.2, Role.LABEL_ON_LINE, Align.CENTRE, bold=True)
_NUMBER = Text("", 0, 0, 1.8, align=Align.CENTRE)
_PLAIN = Text("", 0, 0, 2.2)
#: Increments that differ by less than this, mm, are the same.
SAME = 0.005


def nest(run: SizeRun, printing: Printing, *, run_id: str, unit: str) -> bytes:
    """The nest of a run as a PDF file: how to read it, each piece at true scale, and the table of its grade points."""
    title = f"{run.block.name} · {run.group} · nest of sizes {run.sizes[0]} to {run.sizes[-1]}"
    footer = (
        f"run {run_id} · {dated(run.block)} · scale 1:1 · figures in {unit} · sew lines, no seam allowance",
        CAUTIONS_IN_SHORT,
    )
    wording = Wording(title, footer)
    to_the_right = -1 if run.block.shown.reversed else 1
    tables = [grade_table(piece, run.sizes, unit, to_the_right) for piece in run.pieces.values()]
    if printing.paper.to_fit:
        pieces = [nested(run, piece) for piece in run.pieces.values()]
        pages = tiled_pages(_in_a_row([*pieces, *tables, _reading(run, 180)]), printing, wording)
    else:
        first, *others = _first_page(run, tables, max(area.width for area in room(printing, wording)))
        pages = tiled_pages(first, printing, wording, "How to read this nest")
        for name, piece in run.pieces.items():
            pages += tiled_pages(nested(run, piece), printing, wording, f"{name}, all sizes")
        for table in others:
            pages += tiled_pages(table, printing, wording, "Grade points")
    about = About(title, subject=f"Nested grade sheet, run {run_id}", keywords=("mitten", "grading", run.group, run_id))
    return pdf_bytes(pages, Styles(len(run.sizes), run.base), about)


def _first_page(run: SizeRun, tables: Sequence[Drawing], width: float) -> list[Drawing]:
    """How to read the nest, and below it the tables of grade points if they fit side by side; else on their own."""
    reading, row = _reading(run, width), _in_a_row(tables)
    if row.box.width > width:
        return [reading, *tables]
    return [reading + row.moved(-row.box.left, reading.box.bottom - _BETWEEN / 2 - row.box.top)]


def nested(run: SizeRun, piece: GradedPiece) -> Drawing:
    """One piece in all sizes, the origin at its stacking point, with labels, grade points and their paths."""
    at = piece.stacking_point
    outlines = [
        Curve(beziers[size] - at[size], Role.SEW_LINE, size, closed=True)
        for size in _base_last(run)
        for beziers in piece.beziers.values()
    ]
    frame = piece.boundary[-1] - at[-1]
    low, high = frame[..., 1].min(), frame[..., 1].max()
    fixed: list[Mark] = [
        line([(0, low - 6), (0, high + 6)], Role.MIRROR_LINE),
        line([(-3, 0), (3, 0)], Role.STACKING_POINT),
        line([(0, -3), (0, 3)], Role.STACKING_POINT),
    ]
    if not piece.shape.piece.mirrored:
        fixed = fixed[1:]
    folds, fold_names = _fold_lines(run, piece)
    fixed += folds
    points = [_GradePoint.of(piece, number, name) for number, name in enumerate(piece.shape.names, 1)]
    paths = [mark for point in points for mark in point.marks()]
    placing = Placing([*outlines, *fixed, *paths])
    texts = [*_piece_label(run, piece, placing), *(placing.put(text, places) for text, places in fold_names)]
    labels = [
        label
        for loop in piece.shape.loops
        for size in range(len(run.sizes))
        for label in _size_label(run, piece, loop, size, placing)
    ]
    numbers = [mark for point in points for mark in point.numbered(placing)]
    drawing = Drawing((*fixed, *outlines, *paths, *labels, *numbers, *texts))
    return drawing.mirrored() if run.block.shown.reversed else drawing


def grade_table(piece: GradedPiece, sizes: Sequence[str], unit: str, to_the_right: int = 1) -> Drawing:
    """How each grade point of a piece moves from size to size at the stacking point: dx and dy for every step.

    ``to_the_right`` is the sign of the block's x to the right of the sheet: -1 where the nest is reversed.
    """
    steps = np.diff(piece.points - piece.stacking_point[:, None], axis=0) * [to_the_right, 1]
    alike = len(steps) > 0 and float(np.ptp(steps, axis=0).max()) < SAME
    if alike:
        named = [("each step", steps[0])]
    else:
        named = [(f"{sizes[i]} to {sizes[i + 1]}", step) for i, step in enumerate(steps)]
    headings = ["", "point", *(f"{name} {axis}" for name, _ in named for axis in ("dx", "dy"))]
    rows = [
        [str(number + 1), point, *(_signed(move, unit) for _, step in named for move in step[number])]
        for number, point in enumerate(piece.shape.names)
    ]
    title = f"{piece.shape.piece.name}: grade points, {unit}"
    return ruled_table(headings, rows, words=2, title=title)


def _signed(move: float, unit: str) -> str:
    """An increment as figures, two decimals of a millimetre or what is as fine in another unit."""
    in_unit = float(move) / float(units.MM_PER[unit])
    return f"{in_unit + 0.0:+.{2 if unit == 'mm' else 3}f}"


def _base_last(run: SizeRun) -> list[int]:
    """The sizes in order, the base size last, so that its heavier line lies on top."""
    return sorted(range(len(run.sizes)), key=lambda size: size == run.base)


@dataclass(frozen=True, eq=False)
class _GradePoint:
    """A point in all sizes, (sizes, 2) from the stacking point, its number, and which way is out of the drawing."""

    number: int
    places: Floats
    outward: Floats

    @classmethod
    def of(cls, piece: GradedPiece, number: int, name: str) -> _GradePoint:
        places = piece.point(name) - piece.stacking_point
        loops = [loop for loop in piece.shape.loops if name in piece.shape.loops[loop].names]
        if not loops:
            return cls(number, places, np.array([1.0, 0.0]))
        around = piece.beziers[loops[0]][-1].reshape(-1, 2) - piece.stacking_point[-1]
        away = places[-1] - (around.min(axis=0) + around.max(axis=0)) / 2
        return cls(number, places, away / (np.hypot(*away) or 1.0))

    def marks(self) -> list[Mark]:
        dots: list[Mark] = [Dot(float(x), float(y), radius=0.35) for x, y in np.unique(self.places, axis=0)]
        return [*dots, line(self.places, Role.GRADE_PATH)] if len(dots) > 1 else dots

    def numbered(self, placing: Placing) -> list[Mark]:
        """The point's number in the nearest free place outside, with a line to it where that is far."""
        outermost = self.places[np.argmax(self.places @ self.outward)]
        angle = float(np.arctan2(*self.outward[::-1]))
        turns = (0.0, 0.5, -0.5, 1.0, -1.0, 1.6, -1.6)
        around = [
            (float(outermost[0] + far * np.cos(angle + turn)), float(outermost[1] + far * np.sin(angle + turn)))
            for far in (2.6, 4, 6, 9, 12)
            for turn in turns
        ]
        centred = [(x, y - _NUMBER.height / 2) for x, y in around]
        text = placing.put(Text(str(self.number), 0, 0, _NUMBER.height, align=Align.CENTRE), centred)
        middle = np.array([text.x, text.y + text.height / 2])
        gap = middle - outermost
        far = float(np.hypot(*gap))
        if far < 5:
            return [text]
        leader = line([outermost + gap * 0.6 / far, middle - gap * 1.8 / far], Role.REFERENCE_LINE)
        return [leader, text]


def _size_label(run: SizeRun, piece: GradedPiece, loop: str, size: int, placing: Placing) -> list[Mark]:
    """A size's name on its line where the sizes lie apart, or beside them with a line to it where they do not."""
    at = piece.stacking_point
    on_line = evaluate(piece.beziers[loop] - at[:, None, None], np.linspace(0.1, 0.9, 5)).reshape(len(run.sizes), -1, 2)
    others = [shapely.linearrings(ring) for other, ring in enumerate(on_line) if other != size]
    own = on_line[size]
    apart = (
        np.min([shapely.distance(shapely.points(own), other) for other in others], axis=0)
        if others
        else np.full(len(own), np.inf)
    )
    text = Text(run.sizes[size], 0, 0, _LABEL.height, Role.LABEL_ON_LINE, Align.CENTRE, bold=True)
    if loop == BOUNDARY:
        # The half that bears no grade points first, where there is one; then where the sizes lie furthest apart.
        order = sorted(range(len(own)), key=lambda i: (own[i, 0] > 0, -round(float(apart[i]), 1), i))
        places = [(float(own[i, 0]), float(own[i, 1]) - text.height / 2) for i in order]
        return [placing.put(text, places, on_lines=True)]
    centre = (own.min(axis=0) + own.max(axis=0)) / 2
    start = own[np.argmin(np.hypot(*(own - (centre + np.array([-1000, 600 - 240 * size]))).T))]
    places = [
        (float(own[:, 0].min() - back), float(start[1] + shift - text.height / 2))
        for back in (10, 14, 18, 22)
        for shift in (0, 4, -4, 8, -8, 12, -12, 16, -16, 20, -20)
    ]
    placed = placing.put(text, places)
    end = (placed.x + placed.width / 2 + 0.6, placed.y + placed.height / 2)
    return [line([end, start], Role.REFERENCE_LINE), Dot(float(start[0]), float(start[1]), radius=0.5), placed]


def _fold_lines(run: SizeRun, piece: GradedPiece) -> tuple[list[Mark], list[tuple[Text, list[tuple[float, float]]]]]:
    """The fold lines of one size, the base if it is in the run, and for each its name and where that could stand."""
    size = len(run.sizes) // 2 if run.base is None else run.base
    lines: list[Mark] = []
    names = []
    for mark, start, end in fold_lines(run.block, piece.shape.piece.name):
        (left, y), (right, _) = (piece.point(name)[size] - piece.stacking_point[size] for name in (start, end))
        lines.append(line([(left, y), (right, y)], Role.FOLD_LINE))
        text = Text(f"{mark.name}, size {run.sizes[size]}", 0, 0, _NUMBER.height, align=Align.CENTRE)
        middle = [left + (right - left) * part for part in (0.3, 0.25, 0.35, 0.7, 0.75, 0.5)]
        names.append((text, [(float(x), float(y) + shift) for shift in (1.5, -3.5) for x in middle]))
    return lines, names


def _piece_label(run: SizeRun, piece: GradedPiece, placing: Placing) -> list[Mark]:
    """What the piece is, and which way its pile runs, in the widest free place of the smallest size."""
    smallest = [beziers[0] - piece.stacking_point[0] for beziers in piece.beziers.values()]
    rings = [evaluate(beziers, np.linspace(0, 1, 9)[:-1]).reshape(-1, 2) for beziers in smallest]
    free = shapely.Polygon(rings[0], rings[1:]).difference(shapely.box(-4, -1000, 4, 1000))
    circle = shapely.maximum_inscribed_circle(free, 0.5)
    x, y = (float(value) for value in shapely.get_coordinates(circle)[0])
    radius = float(shapely.length(circle))
    of, seen = piece.shape.piece, run.block.shown
    texts = [of.name, f"{seen}, palm half on the {seen.palm}" if of.mirrored else str(seen)]
    if of.pile:
        texts.append(f"pile {of.pile_arrow}")
    width = 1.5 * radius
    words = paragraph(texts, x - width / 2 + 4, y + radius * 0.5, width - 4, _PLAIN)
    marks: list[Mark] = [*words.marks]
    if of.pile:
        low, high = ((x - width / 2, y + way * radius * 0.5) for way in (-of.pile, of.pile))
        marks.insert(0, Arrow(low, high, Role.PILE))
    for mark in marks:
        placing.take(mark)
    return marks


def _reading(run: SizeRun, width: float) -> Drawing:
    """How to read the nest: each size's line, the marks, and where the base size is."""
    heading = Text("How to read this nest", 0, -3, 3.2, bold=True)
    lead = run.table.measurements[0]
    marks: list[Mark] = [heading]
    y = -10.0
    for size, name in enumerate(run.sizes):
        marks.append(line([(0, y + 0.8), (45, y + 0.8)], Role.SEW_LINE, size))
        base = ", the base size: drafted, and drawn heavier" if size == run.base else ""
        marks.append(Text(f"size {name}: {lead} {run.table.values[0, size]:g} mm{base}", 49, y, 2.2))
        y -= 5.5
    if run.base is None:
        marks += paragraph(
            [f"The base block was drafted for another hand than these: {_base_hand(run)}."], 0, y + 2, width, _PLAIN
        ).marks
        y -= 8
    notes = [
        "Every line is a sew line, with no seam allowance. Do not cut from a nest: it is for checking.",
        "Sizes lie over one another at the stacking point, marked by a cross.",
        "Dots are grade points, the thin line through them is the way that a point takes from size to size. Numbers "
        "refer to the table of grade points: dx is positive to the right, dy upwards.",
        "A long-dashed line is the mirror line: the other half is its mirror image.",
        "Lines keep their dashes in every print, so that sizes can be told apart without colour.",
        "Measure the check bars before you trust a print.",
    ]
    return Drawing(tuple(marks)) + paragraph(notes, 0, y - 2, min(width, 170.0), _PLAIN)


def _base_hand(run: SizeRun) -> str:
    lead = run.table.measurements[0]
    value = run.block.value(lead)
    return f"{lead} {value.drafted:g} mm" if value else "see the block"


def _in_a_row(drawings: Sequence[Drawing]) -> Drawing:
    """Drawings side by side, tops level."""
    row, left = Drawing(), 0.0
    for drawing in drawings:
        box: Box = drawing.box
        row += drawing.moved(left - box.left, -box.top)
        left += box.width + _BETWEEN
    return row
