"""The construction sheet: a drafted block over a centimetre grid, its lines named, its points numbered with figures.

After it come the working, line by line, and the pieces at true scale with every point named where it lies.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from math import ceil, floor, pi

import numpy as np

from grading.drafting.base import Drafted
from grading.drafting.draft import own_table
from grading.drafting.parts.part import ORIGINS, TRANK
from grading.drafting.style import mitten, style_of
from grading.drafting.working import figure
from grading.drawing.composing import beside_joints, centring_arrows, on_few_sheets, on_sheets
from grading.drawing.fonts import ASCENT, LINE_SPACING
from grading.drawing.joints import Parting
from grading.drawing.laying import Thing
from grading.drawing.marks import Align, Box, Curve, Dot, Drawing, Mark, Role, Text, line, paragraph
from grading.drawing.pages import PageContent, TitleBlock, frames, numbered
from grading.drawing.paper import Printing
from grading.drawing.pdf import About, pdf_bytes
from grading.drawing.placing import Placing, leader
from grading.drawing.ruled import ruled_table
from grading.drawing.system import PLAIN, SMALL
from grading.engine.run import GradedPiece, SizeRun, grade
from grading.geometry.arrays import Floats
from grading.outputs.pieces import mirror_line, mirror_reach
from grading.outputs.wording import CAUTIONS_IN_SHORT
from grading.units import UNIT_WORDS, said_in

__all__ = ["construction_sheet", "drawn_construction", "traced_sheet"]

_NAME = Text("", 0, 0, SMALL)
_ON_GRID = Text("", 0, 0, SMALL, Role.LABEL_ON_LINE, Align.CENTRE)
#: One square of the grid, mm of the pattern, and how long the strokes of the crosses at its corners are, mm of paper.
SQUARE, CROSS = 10.0, 1.2
#: What a drawing may be shrunk by to fit a page; the first that fits is taken.
SCALES = (1, 2, 3, 4, 5)
#: How wide the notes are written, mm.
TEXT_WIDTH = 88.0
#: The columns of the working, mm: what is worked out and its figure; then comes the sum.
_WHAT, _FIGURE, _SUM = 44.0, 16.0, 112.0
#: From how long a line leads from a point to its name, mm.
_LED = 3.0
_HALF = "Sew lines, no seam allowance; the other half is the mirror image."


def construction_sheet(drafted: Drafted, printing: Printing, *, unit: str) -> bytes:
    """The construction of a block drafted from a hand, as a PDF file: drawing, working, and pieces at true scale."""
    name = drafted.block.name
    title = TitleBlock("construction", name, date=drafted.block.date)
    for shrink in SCALES:
        scaled = replace(title, scale=f"1 : {shrink}")
        try:
            contents = on_few_sheets(list(_things(drafted, shrink, unit)), printing, scaled)
        except ValueError:  # a drawing that is larger than a sheet
            continue
        if len(contents) == 1:
            break
    working = replace(title, document="working", scale="")
    for page in _working(drafted, printing, working, unit):
        contents += on_sheets(page, printing, working)
    if shrink > 1:
        contents += _at_true_scale(drafted, printing, title, unit)
    about = About(f"{name} · construction", subject="Construction of a base block", keywords=("mitten", "block"))
    return pdf_bytes(numbered(contents), about)


def traced_sheet(drafted: Drafted, printing: Printing, *, unit: str) -> bytes:
    """A traced pattern at true scale with its points named, to be laid over the paper that it came from."""
    name = drafted.block.name
    title = TitleBlock("traced pattern", name, date=drafted.block.date)
    about = About(f"{name} · traced pattern", subject="A traced pattern, 1 : 1", keywords=("mitten", "block"))
    return pdf_bytes(numbered(_at_true_scale(drafted, printing, title, unit)), about)


@dataclass(frozen=True)
class _Guide:
    """A construction line: its name and where it lies, in mm of the pattern."""

    name: str
    at: float


def drawn_construction(drafted: Drafted, shrink: float, unit: str) -> tuple[Drawing, ...]:
    """The pieces, shrunk, each on its grid with its construction lines named and its points numbered."""
    worked_out = {one.what: one.mm for one in drafted.sums}
    made = mitten(style_of(drafted.block))
    guides = [(line.guide, line.what, worked_out[line.what]) for line in made.sums if line.guide]
    drawn = []
    for name, piece in _run(drafted).pieces.items():
        across, up = (
            [
                _Guide(called, mm)
                for called, what, mm in guides
                if any(at.piece == name and (at.x, at.y)[axis] == what for at in made.points)
            ]
            for axis in (0, 1)
        )
        across.append(_Guide("mirror line", 0.0))
        if name == TRANK and "hand breadth" in drafted.hand.figures:
            across.append(_Guide("flat breadth", drafted.hand.figures["hand breadth"]))
        if name in ORIGINS:
            up.append(_Guide(ORIGINS[name], 0.0))
        across.sort(key=lambda guide: guide.at)
        up.sort(key=lambda guide: -guide.at)
        drawn.append(_piece(piece, across, up, shrink, unit))
    return tuple(drawn)


def _run(drafted: Drafted) -> SizeRun:
    return grade(drafted.block, own_table(drafted.hand.figures))


def _things(drafted: Drafted, shrink: float, unit: str) -> Iterator[Thing]:
    """What goes on the first sheet: the pieces, the figures of their points, and how to read them."""
    for drawing in drawn_construction(drafted, shrink, unit):
        yield Thing("construction", (drawing,))
    run = _run(drafted)
    for name, piece in run.pieces.items():
        rows = [
            [str(number), point, figure(x, unit), figure(y, unit)]
            for number, (point, (x, y)) in enumerate(zip(piece.shape.names, piece.points[0].tolist(), strict=True), 1)
        ]
        table = ruled_table(["", "point", "across", "up"], rows, words=2, title=f"{name}: points, {UNIT_WORDS[unit]}")
        yield Thing("points", (table,))
    told = [
        said_in(unit, "Crosses are 1 cm apart on the pattern.")
        + " Figures run across from the mirror line, and up from the wrist line or from the thumb's knuckle line.",
        _HALF,
        CAUTIONS_IN_SHORT,
    ]
    yield Thing("notes", tuple(paragraph(told, 0, 0, width, _NAME) for width in (TEXT_WIDTH, 180.0, 60.0)))


def _working(drafted: Drafted, printing: Printing, title: TitleBlock, unit: str) -> Iterator[Drawing]:
    """The working, each line with its number, on as many pages as it takes; a step stays whole if a page holds it."""
    room = frames(printing, title)[0].area.height - 2 if not printing.paper.to_fit else float("inf")
    page = Drawing((Text(f"Working, {UNIT_WORDS[unit]}", 0, -PLAIN, PLAIN, bold=True),))
    base = -ASCENT * SMALL
    for step, sums in groupby(drafted.sums, lambda one: one.step):
        number = step.split(".")[0]
        lines = []
        for place, one in enumerate(sums, 1):
            told = paragraph([f"= {one.made_of(unit)}"], _WHAT + _FIGURE + 14, 0, _SUM, _NAME)
            words = (
                Text(f"{number}.{place}", 0, base, SMALL),
                Text(one.what, 10, base, SMALL),
                Text(figure(one.mm, unit), _WHAT + _FIGURE + 11, base, SMALL, align=Align.RIGHT, bold=True),
            )
            lines.append(Drawing(words) + told)
        heading = paragraph([step], 0, 0, _WHAT + _FIGURE + _SUM, replace(_NAME, bold=True))
        whole = sum(drawing.box.height for drawing in (heading, *lines))
        for number_, drawing in enumerate([heading, *lines]):
            gap = 2.0 if number_ == 0 else 0.0
            # A heading is never the last thing on a page.
            below = 0.0 if number_ else (whole if whole < room else heading.box.height + lines[0].box.height)
            needed = gap + (below or drawing.box.height)
            if page.marks and -page.box.bottom + needed > room:
                yield page
                page = Drawing()
            top = page.box.bottom - gap if page.marks else 0.0
            page += drawing.moved(0, top - drawing.box.top)
    yield page


def _at_true_scale(drafted: Drafted, printing: Printing, title: TitleBlock, unit: str) -> list[PageContent]:
    """The drafted halves of all pieces at true scale, each point named with its figures."""
    run = _run(drafted)
    pieces = list(run.pieces.values())
    told = [f"At each point its figures, {UNIT_WORDS[unit]}: across | up.", _HALF, CAUTIONS_IN_SHORT]
    things = [_named_thing(piece, unit) for piece in pieces]
    things.append(Thing("notes", tuple(paragraph(told, 0, 0, width, _NAME) for width in (TEXT_WIDTH, 60.0))))
    return on_few_sheets(things, printing, title)


def _named_thing(piece: GradedPiece, unit: str) -> Thing:
    """A piece with its names, laid out with the room that these take outside the outline too."""
    drawing = Drawing((*_half_lines(piece), *_dots(piece.points[0])))
    plain = (drawing, drawing.turned())

    def finish(turned: int, parting: Parting | None) -> Drawing:
        return _with_names(piece, plain[turned], turned, unit, parting)

    return Thing(piece.name, (finish(0, None), finish(1, None)), parts=True, finish=finish)


def _half_lines(piece: GradedPiece) -> Iterator[Mark]:
    """The outline of what was drafted, and the mirror line."""
    yield from (Curve(beziers, Role.CUT_LINE) for beziers in _drafted_half(piece))
    if piece.mirrored:
        yield from mirror_line(*mirror_reach(piece.boundary[0]))


def _dots(points: Floats) -> Iterator[Mark]:
    return (Dot(float(x), float(y), radius=0.6) for x, y in points)


def _with_names(piece: GradedPiece, lines: Drawing, turned: int, unit: str, parting: Parting | None) -> Drawing:
    """A piece at true scale with its points named, and its arrows at the joints, none of the names across one."""
    arrows = centring_arrows(lines, parting) if parting is not None else []
    barred = [] if parting is None else [beside_joints(parting)]
    within = lines.box.grown(1e6) if parting is None else parting.box
    placing = Placing([*lines.marks, *arrows], clear=0.4, barred=barred)
    texts: list[Mark] = []
    for name, at, (x, y) in zip(piece.shape.names, _turned(piece.points[0], turned), piece.points[0], strict=True):
        label = f"{name} {figure(float(x), unit)} | {figure(float(y), unit)}"
        texts += _name_led(replace(_NAME, text=label, align=Align.CENTRE), at, placing, within)
    x, y = lines.box.centre
    title = replace(_NAME, text=piece.name, height=PLAIN, bold=True, align=Align.CENTRE)
    places = [(x + dx, y + dy) for dy in (-20, -35, 20, 35, 0, 50) for dx in (0, 15, -15, 30, -30)]
    texts.append(placing.put(title, places))
    return lines + Drawing((*texts, *arrows))


def _name_led(text: Text, at: Floats, placing: Placing, within: Box) -> list[Mark]:
    """A point's name in the nearest free place, with a line to it from where that is far."""
    places = list(_places_round(at, text.text))
    for x, y in places:
        here = replace(text, x=x, y=y)
        if not within.contains(here.box):
            continue
        led = leader(at, here)
        far = float(np.hypot(*(led.box.width, led.box.height)))
        if (far < _LED or placing.clear(led)) and placing.free(here, [(x, y)]):
            if far < _LED:
                return [here]
            placing.take(led)
            return [led, here]
    return [placing.put(text, places)]


def _turned(points: Floats, turned: int) -> Floats:
    return points @ [(0, 1), (-1, 0)] if turned else points


def _places_round(at: Floats, label: str) -> Iterator[tuple[float, float]]:
    """Places round a point for the middle of a label's baseline, the nearest first."""
    half = replace(_NAME, text=label).width / 2
    x, y = at.tolist()
    for far in (1.6, 2.6, 4.0, 6.0, 8.5, 12.0, 16.0, 21.0):
        for across, up in ((1, 0), (-1, 0), (1, 1), (-1, 1), (1, -1), (-1, -1), (0, 1), (0, -1)):
            yield x + across * (half + far), y + up * (SMALL / 2 + far) - SMALL / 2


def _piece(piece: GradedPiece, across: Sequence[_Guide], up: Sequence[_Guide], shrink: float, unit: str) -> Drawing:
    """The drafted half of a piece with its grid, its lines named and its points numbered."""
    points = piece.points[0] / shrink
    left, right = -SQUARE / shrink, ceil(points[:, 0].max() * shrink / SQUARE + 0.3) * SQUARE / shrink
    low, high = points[:, 1].min(), points[:, 1].max()
    bottom = floor(low * shrink / SQUARE - 0.3) * SQUARE / shrink
    top = ceil(high * shrink / SQUARE + 0.3) * SQUARE / shrink
    step = SQUARE / shrink
    grid: list[Mark] = [
        stroke
        for x in np.arange(left, right + step / 2, step)
        for y in np.arange(bottom, top + step / 2, step)
        for stroke in (
            line([(x - CROSS / 2, y), (x + CROSS / 2, y)], Role.REFERENCE_LINE),
            line([(x, y - CROSS / 2), (x, y + CROSS / 2)], Role.REFERENCE_LINE),
        )
    ]
    half = _drafted_half(piece)
    outlines = [Curve(beziers / shrink, Role.CUT_LINE) for beziers in half]
    levels = [guide.at / shrink for guide in up]
    guides: list[Mark] = [line([(left, y), (right, y)], Role.PLACEMENT_LINE) for y in levels]
    guides += [
        line([(x, bottom), (x, top)], Role.MIRROR_LINE if x == 0 else Role.PLACEMENT_LINE)
        for x in (guide.at / shrink for guide in across)
    ]
    names = [*_names_up(up, levels, left, unit), *_names_across(across, shrink, top, unit)]
    dots = list(_dots(points))
    placing = Placing([*guides, *outlines, *dots], clear=0.2)
    for mark in names:
        placing.take(mark)
    labels = [
        placing.put(replace(_ON_GRID, text=str(number)), list(_places_round(at, str(number))))
        for number, at in enumerate(points, 1)
    ]
    title = Text(piece.name, 0, max(mark.box.top for mark in names) + 4, PLAIN, bold=True)
    return Drawing((*grid, *guides, *outlines, *dots, *labels, *names, title))


def _drafted_half(piece: GradedPiece) -> Iterator[Floats]:
    """The handles of what was drawn: the boundary up to the mirror line, and whole cut-outs."""
    for name, beziers in piece.beziers.items():
        yield beziers[0, : piece.loops[name].drawn]


def _names_up(guides: Sequence[_Guide], levels: Sequence[float], left: float, unit: str) -> list[Mark]:
    """The names of lines across, in a column at the left, pushed apart where lines lie close, each led to its line."""
    pitch = LINE_SPACING * _NAME.height * 1.1
    marks: list[Mark] = []
    last = np.inf
    for guide, y in zip(guides, levels, strict=True):
        place = min(y, last - pitch)
        last = place
        text = f"{guide.name}  {figure(guide.at, unit)}"
        marks.append(Text(text, left - 6, place - _NAME.height / 2, _NAME.height, align=Align.RIGHT))
        marks.append(line([(left - 5.4, place), (left - 1.5, y), (left, y)], Role.REFERENCE_LINE))
    return marks


def _names_across(guides: Sequence[_Guide], shrink: float, top: float, unit: str) -> list[Mark]:
    """The names of upright lines, written up from the top of each, pushed apart where lines lie close."""
    pitch = LINE_SPACING * _NAME.height * 1.1
    marks: list[Mark] = []
    last = -np.inf
    for guide in guides:
        x = guide.at / shrink
        place = max(x, last + pitch)
        last = place
        text = f"{guide.name}  {figure(guide.at, unit)}"
        marks.append(Text(text, place + _NAME.height / 2, top + 5, _NAME.height, angle=pi / 2))
        marks.append(line([(place, top + 4.4), (x, top + 1.5), (x, top)], Role.REFERENCE_LINE))
    return marks
