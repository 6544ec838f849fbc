"""The nested grade sheet: every size of a piece over the others at its stacking point, with its grade rules."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product
from math import ceil, pi

import numpy as np
import shapely
from numpy.typing import NDArray

from grading import units
from grading.drawing.composing import on_few_sheets
from grading.drawing.fonts import text_width
from grading.drawing.laying import Thing
from grading.drawing.marks import Align, Arrow, Curve, Dot, Drawing, Mark, Role, Text, line, paragraph
from grading.drawing.pages import TitleBlock, numbered
from grading.drawing.paper import Printing
from grading.drawing.pdf import About, pdf_bytes
from grading.drawing.placing import Placing, leader
from grading.drawing.ruled import ruled_table
from grading.drawing.system import PLAIN, SMALL
from grading.engine.run import GradedPiece, SizeRun
from grading.geometry.arrays import Floats
from grading.geometry.flattening import flatten
from grading.model.block import BOUNDARY
from grading.outputs.pieces import mirror_line
from grading.outputs.wording import CAUTIONS_IN_SHORT, sizes_told
from grading.readings.marks import fold_lines, slits

__all__ = ["grade_table", "nest", "nested"]

#: A text and the places where it may stand.
Named = tuple[Text, list[tuple[float, float]]]

_TEXT = Text("", 0, 0, SMALL)
_NUMBER = Text("", 0, 0, SMALL, align=Align.CENTRE)
#: Increments that differ by less than this, mm, are the same.
SAME = 0.005
#: How far apart the names of sizes stand, at the most and at the least, and how far outside the largest size, mm.
PITCH, CLOSEST, OUTSIDE = 5.0, 4.2, 7.0
#: The widest table of grade points that goes on a sheet beside others, mm; its steps are parted into several beyond.
WIDEST_TABLE = 180.0
#: The highest such table, mm; its points are parted into several beyond.
TALLEST_TABLE = 210.0
#: How far from its point a number is tried, mm; from where on a line leads to it; and in which directions.
_FAR, _LED = (2.6, 4.0, 6.0, 9.0, 12.0, 16.0, 21.0), 5.0
_TURNS = np.array([turn * 0.26 for step in range(12) for turn in ((0,) if step == 0 else (step, -step))])
WIDTHS = (92.0, 122.0, 62.0)
#: The lines of sizes in one list, mm high: with notes below it goes upright on any paper.
TALLEST_KEY = 140.0
#: Of the kinds of line beside the notes, where these lie below the pieces, mm, and how wide both are together.
_KEY, _ACROSS = 58.0, 188.0


def nest(run: SizeRun, printing: Printing, *, run_id: str, unit: str) -> bytes:
    """The nest of a run as a PDF file: each piece at true scale, the tables of its grade points, and how to read it."""
    sizes = sizes_told(run)
    title = TitleBlock("nest", run.block.name, run.group, size=sizes, date=run.block.date, run=run_id)
    things = [Thing.piece(f"{name}, all sizes", nested(run, piece)) for name, piece in run.pieces.items()]
    for piece in run.pieces.values():
        tables = grade_tables(piece, run.sizes, unit, -1 if run.block.shown.reversed else 1)
        things += [Thing("Grade points", (table,)) for table in tables]
    first_sizes, *others = _sizes_told(run, unit)
    told = (*(_reading(run, first_sizes, width, unit) for width in WIDTHS), _reading_across(run, first_sizes, unit))
    things.append(Thing("How to read this nest", told))
    things += [
        Thing("Lines of the sizes", tuple(_lines_of_sizes(run, sizes, width, unit) for width in WIDTHS))
        for sizes in others
    ]
    contents = on_few_sheets(things, printing, title)
    words = f"{run.block.name} · {run.group} · nest of sizes {sizes}"
    about = About(words, subject=f"Nested grade sheet, run {run_id}", keywords=("mitten", "grading", run.group, run_id))
    return pdf_bytes(numbered(contents), about, run.base)


def nested(run: SizeRun, piece: GradedPiece) -> Drawing:
    """One piece in all sizes, the origin at its stacking point, with labels, grade points and their paths.

    Of a mirrored piece the half that was drafted, which bears all the points; its mirror line is the drawing's edge.
    """
    at = piece.stacking_point
    loops = {loop: _shown(piece, loop) - at[:, None, None] for loop in piece.beziers}
    outlines: list[Mark] = [
        Curve(beziers[size], Role.SEW_LINE, size, closed=piece.loops[loop].drawn == len(piece.loops[loop].names))
        for size in _base_last(run)
        for loop, beziers in loops.items()
    ]
    outlines += _slits(run, piece)
    reach = loops[BOUNDARY][-1, ..., 1]
    fixed: list[Mark] = [line([(-3, 0), (3, 0)], Role.STACKING_POINT), line([(0, -3), (0, 3)], Role.STACKING_POINT)]
    if piece.mirrored:
        fixed += [mark.moved(float(-at[0, 0]), 0) for mark in mirror_line(float(reach.min()), float(reach.max()))]
    folds, fold_names = _fold_lines(run, piece)
    names = [mark for loop, beziers in loops.items() for mark in _size_names(run, loop, beziers)]
    fixed += [*folds, *(mark for mark in names if not isinstance(mark, Text))]
    points = [_GradePoint.of(piece, number, name) for number, name in enumerate(piece.shape.names, 1)]
    paths = [mark for point in points for mark in point.marks()]
    placing = Placing([*outlines, *fixed, *paths])
    for name in names:
        if isinstance(name, Text):
            placing.take(name)
    texts: list[Mark] = [_fold_name(named, placing) for named in fold_names]
    texts += _piece_label(run, piece, placing, texts)
    low, high = float(loops[BOUNDARY][..., 1].min()), float(loops[BOUNDARY][..., 1].max())
    numbers = [mark for point in points for mark in point.numbered(placing, low, high)]
    labels = [mark for mark in names if isinstance(mark, Text)]
    drawing = Drawing((*fixed, *outlines, *paths, *labels, *numbers, *texts))
    return drawing.mirrored() if run.block.shown.reversed else drawing


def _slits(run: SizeRun, piece: GradedPiece) -> Iterator[Mark]:
    """The slits of every size; of a mirrored piece those on the drafted side."""
    for _, start, end in slits(run.block, piece.name):
        ends = np.stack([piece.point(start), piece.point(end)], axis=1)
        if not piece.mirrored or (ends[0, :, 0] >= -1e-6).all():
            for size in _base_last(run):
                yield line(ends[size] - piece.stacking_point[size], Role.SEW_LINE, size)


def _shown(piece: GradedPiece, loop: str) -> Floats:
    """The handles (sizes, segments, 4, 2) of a loop: of a mirrored piece those on the drafted side, as one chain."""
    beziers = piece.beziers[loop]
    own: NDArray[np.bool_] = np.all(beziers[0, ..., 0] >= -1e-6, axis=1)
    if not piece.mirrored or own.all():
        return beziers
    start = int(np.flatnonzero(own & ~np.roll(own, 1))[0])
    return beziers[:, (start + np.arange(own.sum())) % len(own)]


def _size_names(run: SizeRun, loop: str, beziers: Floats) -> Iterator[Mark]:
    """The names of sizes in a column, each led level to its own line: outside the boundary, inside a cut-out.

    ``beziers`` (sizes, segments, 4, 2) are of one loop. Where there is no room for all, some between first and last.
    """
    lines = [shapely.LineString(flatten(one, 0.05)) for one in beziers]
    boxes = np.array([one.bounds for one in lines])
    low, high = float(boxes[:, 1].max()), float(boxes[:, 3].min())
    inside = loop != BOUNDARY
    room = (high - low) * (0.62 if inside else 0.8)
    named = min(len(run.sizes), max(2, int(room // CLOSEST) + 1))
    sizes = np.linspace(0, len(run.sizes) - 1, named).round().astype(int).tolist()
    pitch = min(PITCH, room / max(1, named - 1))
    widest = max(text_width(run.sizes[size], SMALL, bold=True) for size in sizes)
    x = float(boxes[0, 0] + boxes[0, 2]) / 2 if inside else float(boxes[:, 2].max()) + OUTSIDE
    middle = (low + high) / 2
    for place, size in enumerate(sizes):
        y = middle + (place - (len(sizes) - 1) / 2) * pitch
        level = shapely.LineString([(-1e4, y), (1e4, y)])
        crossings = shapely.get_coordinates(shapely.intersection(lines[size], level))[:, 0]
        if not len(crossings):
            continue
        end = float(crossings.max())
        left = x - widest / 2 if inside else x
        name = Text(run.sizes[size], left, y - SMALL / 2, SMALL, bold=True)
        start = left + name.width + 0.8 if inside else left - 0.8
        yield name
        yield line([(start, y), (end, y)], Role.REFERENCE_LINE)
        yield Dot(end, y, radius=0.6)


def grade_tables(piece: GradedPiece, sizes: Sequence[str], unit: str, to_the_right: int) -> list[Drawing]:
    """The table of a piece's grade points, parted into several where one would be too wide or too high for a sheet."""
    whole = grade_table(piece, sizes, unit, to_the_right)
    points = _parts(len(piece.points[0]), ceil(whole.box.height / TALLEST_TABLE))
    steps = max(1, len(sizes) - 1)
    words = grade_table(piece, sizes, unit, to_the_right, slice(0)).box.width
    # The least number of parts: the names of points stand in each.
    fewest = ceil((whole.box.width - words) / max(1.0, WIDEST_TABLE - words))
    for number in range(min(max(1, fewest), steps), steps + 1):
        tables = [
            grade_table(piece, sizes, unit, to_the_right, *part) for part in product(_parts(steps, number), points)
        ]
        if max(table.box.width for table in tables) <= WIDEST_TABLE:
            break
    return tables


def _parts(count: int, parts: int) -> list[slice]:
    each = ceil(count / parts)
    return [slice(start, start + each) for start in range(0, count, each)]


def grade_table(
    piece: GradedPiece,
    sizes: Sequence[str],
    unit: str,
    to_the_right: int = 1,
    steps: slice = slice(None),
    points: slice = slice(None),
) -> Drawing:
    """How each grade point of a piece moves from size to size at the stacking point: dx and dy for every step.

    ``to_the_right`` is the sign of the block's x to the right of the sheet: -1 where the nest is reversed.
    """
    moves = np.diff(piece.points - piece.stacking_point[:, None], axis=0) * [to_the_right, 1]
    alike = len(moves) > 0 and float(np.ptp(moves, axis=0).max()) < SAME
    named = [("step", moves[0])] if alike else [(f"to {sizes[i + 1]}", step) for i, step in enumerate(moves)]
    headings = ["", "point", *(f"{name}\n{axis}" for name, _ in named[steps] for axis in ("dx", "dy"))]
    rows = [
        [str(number + 1), point, *(_signed(move, unit) for _, step in named[steps] for move in step[number])]
        for number, point in [*enumerate(piece.shape.names)][points]
    ]
    title = f"{piece.name}: grade points, {units.UNIT_WORDS[unit]}"
    return ruled_table(headings, rows, words=2, title=title)


def _signed(move: float, unit: str) -> str:
    """An increment as figures, two decimals of a millimetre or what is as fine in another unit; inches by the tape too.

    >>> _signed(-5.994, "mm"), _signed(5.994, "in"), _signed(0.25, "in"), _signed(0.0, "in")
    ('-5.99', '+1/4 (+0.236)', '0 (+0.010)', '0')
    """
    in_unit = float(move) / float(units.MM_PER[unit])
    places = 2 if unit == "mm" else 3
    rounded = round(in_unit, places)
    decimal = f"{rounded:+.{places}f}" if rounded else f"{0:.{places}f}"
    if unit != "in":
        return decimal
    tape = units.signed(move, unit)
    return f"{tape} ({decimal})" if float(decimal) else tape


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
        loops = [loop for loop in piece.loops if name in piece.loops[loop].names]
        if not loops:
            return cls(number, places, np.array([1.0, 0.0]))
        around = piece.beziers[loops[0]][-1].reshape(-1, 2) - piece.stacking_point[-1]
        away = places[-1] - (around.min(axis=0) + around.max(axis=0)) / 2
        return cls(number, places, away / (np.hypot(*away) or 1.0))

    def marks(self) -> list[Mark]:
        dots: list[Mark] = [Dot(x, y, radius=0.35) for x, y in sorted(set(map(tuple, self.places.tolist())))]
        return [*dots, line(self.places, Role.GRADE_PATH)] if len(dots) > 1 else dots

    def numbered(self, placing: Placing, low: float, high: float) -> list[Mark]:
        """The point's number in the nearest free place outside, with a line to it where that is far."""
        outermost = self.places[np.argmax(self.places @ self.outward)]
        turned = float(np.arctan2(*self.outward[::-1])) + _TURNS
        ways = np.column_stack([np.cos(turned), np.sin(turned)])
        around = [(far, (x, y - SMALL / 2)) for far in _FAR for x, y in (outermost + far * ways).tolist()]
        # A number beyond the piece's ends would take another sheet.
        inside = [(far, (x, y)) for far, (x, y) in around if low <= y - SMALL / 2 and y + 1.5 * SMALL <= high] or around
        number = replace(_NUMBER, text=str(self.number))
        if near := placing.free(number, [at for far, at in inside if far < _LED]):
            return [near]
        for text in placing.all_free(number, [at for far, at in inside if far >= _LED]):
            led = leader(outermost, text)
            if placing.clear(led):
                placing.take(text)
                placing.take(led)
                return [led, text]
        # Crowded: a line that crosses others is clearer than a number on another, and beyond the ends than either.
        places = [at for _, at in (*inside, *around)]
        free = (text for text in placing.all_free(number, places) if placing.legible(leader(outermost, text)))
        if crowded := next(free, None) or next(placing.all_free(number, places), None):
            placing.take(crowded)
            return [leader(outermost, crowded), crowded]
        return [placing.put(number, places[:1])]


def _fold_name(named: Sequence[Named], placing: Placing) -> Text:
    """The name of a fold line at the first place that is free, level before upright, or else at the very first."""
    free = filter(None, (placing.free(text, places) for text, places in named))
    (text, places), *_ = named
    return next(free, None) or placing.put(text, places[:1])


def _fold_lines(run: SizeRun, piece: GradedPiece) -> tuple[list[Mark], list[list[Named]]]:
    """The fold lines of one size, the base if it is in the run, and for each its name and where that could stand."""
    size = _of_folds(run)
    lines: list[Mark] = []
    names = []
    for mark, start, end in fold_lines(run.block, piece.name):
        (left, y), (right, _) = (piece.point(name)[size] - piece.stacking_point[size] for name in (start, end))
        if piece.mirrored:
            left = max(left, -piece.stacking_point[size, 0])
        lines.append(line([(left, y), (right, y)], Role.FOLD_LINE))
        text = replace(_NUMBER, text=mark.name)
        along = [float(left + (right - left) * part) for part in np.linspace(0.1, 0.9, 33)]
        along.sort(key=lambda x: abs(x - left - (right - left) * 0.3))
        level = [(x, float(y) + shift) for shift in (1.5, -1.5 - SMALL) for x in along]
        far = 1.5 + text.width / 2
        upright = replace(text, angle=pi / 2)
        up = [(x, float(y) + shift) for shift in (-far, far, -far - 6, far + 6, -far - 15) for x in along]
        names.append([(text, level), (upright, up)])
    return lines, names


def _of_folds(run: SizeRun) -> int:
    """The size whose fold lines are drawn."""
    return len(run.sizes) // 2 if run.base is None else run.base


def _piece_label(run: SizeRun, piece: GradedPiece, placing: Placing, taken: Sequence[Mark]) -> list[Mark]:
    """What the piece is, and which way its pile runs, in the widest free place of the smallest size."""
    boundary = shapely.Polygon(flatten(_shown(piece, BOUNDARY)[0] - piece.stacking_point[0], 0.5))
    holes = [
        shapely.Polygon(flatten(beziers, 0.5))
        for loop in piece.beziers
        if loop != BOUNDARY
        for beziers in _shown(piece, loop) - piece.stacking_point[:, None, None]
    ]
    free = boundary.difference(shapely.union_all([*holes, shapely.box(-1000, -4, 1000, 4)]))
    free = free.difference(shapely.union_all([shapely.box(*mark.box.grown(2)) for mark in taken]))
    circle = shapely.maximum_inscribed_circle(free, 0.5)
    x, y = (float(value) for value in shapely.get_coordinates(circle)[0])
    radius = min(float(shapely.length(circle)), 40.0)
    of = piece.shape.piece
    facts = [str(run.block.shown), *(["pile arrow"] if of.pile else [])]
    left, width = x - 0.8 * radius, 1.6 * radius - 4
    heading = Text("", 0, 0, PLAIN, bold=True)
    words = paragraph([of.name], left + 4, y + radius * 0.5, width, heading)
    words += paragraph(facts, left + 4, words.box.bottom, width, _TEXT)
    marks: list[Mark] = [*words.marks]
    if of.pile:
        low, high = ((left, y + way * radius * 0.5) for way in (-of.pile, of.pile))
        marks.insert(0, Arrow(low, high, Role.PILE))
    for mark in marks:
        placing.take(mark)
    return marks


def _sizes_told(run: SizeRun, unit: str) -> list[range]:
    """The sizes parted so that their lines go on any paper, even in the narrowest form and with notes below them."""
    count = len(run.sizes)
    height = _lines_of_sizes(run, range(count), min(WIDTHS), unit).box.height
    each = ceil(count / ceil(height / TALLEST_KEY))
    return [range(start, min(start + each, count)) for start in range(0, count, each)]


def _reading(run: SizeRun, sizes: range, width: float, unit: str) -> Drawing:
    """How to read the nest: each size's line, and below it the marks, and where the base size is."""
    key = _lines_of_sizes(run, sizes, width, unit)
    return key + paragraph(_notes(run, unit), 0, key.box.bottom - 1.5, width, _TEXT)


def _reading_across(run: SizeRun, sizes: range, unit: str) -> Drawing:
    """The same in the least height: the notes beside the lines."""
    key = _lines_of_sizes(run, sizes, _KEY, unit)
    return key + paragraph(_notes(run, unit), _KEY + 4, key.box.top, _ACROSS - _KEY - 4, _TEXT)


def _lines_of_sizes(run: SizeRun, sizes: range, width: float, unit: str) -> Drawing:
    heading = "Lines of the sizes" if sizes.start else "How to read this nest"
    marks: list[Mark] = [Text(heading, 0, -PLAIN, PLAIN, bold=True)]
    lead = run.table.measurements[0]
    y = -PLAIN - 3.0
    for size in sizes:
        name, base = run.sizes[size], " (base)" if size == run.base else ""
        figure = _with_unit(float(run.table.values[0, size]), unit)
        told = paragraph([f"{name}{base}: {lead} {figure}"], 26, y, width - 26, _TEXT)
        middle = y - (told.box.top - told.box.bottom) / 2
        marks += [line([(0, middle), (22, middle)], Role.SEW_LINE, size), *told.marks]
        y = told.box.bottom
    return Drawing(tuple(marks))


def _notes(run: SizeRun, unit: str) -> list[str]:
    folded = any(fold_lines(run.block, piece.name) for piece in run.block.pieces)
    notes = [
        "" if run.base is not None else _drafted_for(run, unit),
        "Sew lines, without seam allowance: for checking, not for cutting.",
        f"Fold lines are those of size {run.sizes[_of_folds(run)]}." if folded else "",
        "Sizes lie over one another at the cross, the stacking point. A dot is a grade point, the line through its "
        "dots the way that it takes; its number is that of the table: dx across, dy up.",
        "Only the half beside the mirror line is drawn; the other is its image.",
        CAUTIONS_IN_SHORT,
    ]
    return [note for note in notes if note]


def _with_unit(mm: float, unit: str) -> str:
    return f"{units.with_decimal(mm, unit)} {units.UNIT_WORDS[unit]}"


def _drafted_for(run: SizeRun, unit: str) -> str:
    """For which hand a block was drafted that is none of the sizes."""
    lead = run.table.measurements[0]
    value = run.block.value(lead)
    if value is None:
        return "The base block was drafted for another hand than these."
    row = run.table.values[0]
    below, above = np.flatnonzero(row < value.drafted), np.flatnonzero(row > value.drafted)
    if not len(below) or not len(above):
        return f"The base block was drafted for a hand outside these: {lead} {_with_unit(value.drafted, unit)}."
    between = f"{run.sizes[below[np.argmax(row[below])]]} and {run.sizes[above[np.argmin(row[above])]]}"
    return f"The base block was drafted for a hand between {between}: {lead} {_with_unit(value.drafted, unit)}."
