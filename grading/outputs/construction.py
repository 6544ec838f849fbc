"""The construction sheet: a drafted block on one page, over a centimetre grid, every line of its construction named."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import ceil, floor, pi

import numpy as np

from grading.drafting.base import Drafted
from grading.drafting.mitten import THUMB, TRANK
from grading.drafting.working import figure, own_table
from grading.drawing.composing import on_sheets
from grading.drawing.fonts import LINE_SPACING, text_width
from grading.drawing.marks import Align, Curve, Dot, Drawing, Mark, Role, Text, line, paragraph
from grading.drawing.pages import TitleBlock, frames, numbered
from grading.drawing.paper import LINE_ROOM, Printing
from grading.drawing.pdf import About, pdf_bytes
from grading.drawing.placing import Placing
from grading.drawing.styles import Styles
from grading.drawing.system import PLAIN, SMALL
from grading.engine.run import GradedPiece, grade
from grading.geometry.arrays import Floats
from grading.model.block import BOUNDARY
from grading.outputs.wording import CAUTIONS_IN_SHORT

__all__ = ["construction_sheet", "drawn_construction"]

_NAME = Text("", 0, 0, SMALL)
_POINT = SMALL
#: One square of the grid, mm of the pattern.
SQUARE = 10.0
#: What a drawing may be shrunk by to fit a page; the first that fits is taken.
SCALES = (1, 2, 3, 4, 5)


@dataclass(frozen=True)
class _Guide:
    """A construction line: its name and where it lies, in mm of the pattern."""

    name: str
    at: float


def construction_sheet(drafted: Drafted, printing: Printing, *, unit: str) -> bytes:
    """The construction sheet of a block drafted from a hand, as a PDF file of one page."""
    title = f"{drafted.block.name} · construction"
    notes = ("Sew lines, no seam allowance; the other half is the mirror image.", CAUTIONS_IN_SHORT)
    for shrink in SCALES:
        block = TitleBlock("construction", drafted.block.name, scale=f"1 : {shrink}", date=drafted.block.date)
        drawing = drawn_construction(drafted, shrink, unit)
        told = [f"One square is 1 cm of the pattern; figures in {unit}.", *notes]
        drawing += paragraph(told, drawing.box.left, drawing.box.bottom - 3, drawing.box.width, _NAME)
        if _fits(drawing, printing, block):
            break
    pages = numbered(on_sheets(drawing, printing, block))
    return pdf_bytes(
        pages, Styles(), About(title, subject="Construction of a base block", keywords=("mitten", "block"))
    )


def drawn_construction(drafted: Drafted, shrink: float, unit: str) -> Drawing:
    """Trank and thumb side by side, shrunk, each on its grid with its construction lines and points named."""
    figures = drafted.hand.figures
    found = {one.what: one.mm for one in drafted.sums}
    run = grade(drafted.block, own_table(figures))
    across = {
        TRANK: [
            _Guide("mirror line", 0.0),
            _Guide("thumb line", found["thumb line"]),
            *([_Guide("flat breadth", figures["hand breadth"])] if "hand breadth" in figures else []),
            _Guide("half the round", found["a side"]),
        ],
        THUMB: [_Guide("mirror line", 0.0), _Guide("half the round", found["a side of the thumb"])],
    }
    up = {
        TRANK: [
            _Guide(f"{what[0].upper()}{what[1:]}", found.get(what, 0.0))
            for what in (
                "finger raw edge",
                "finger fold",
                "finger line",
                "T of the hole",
                "H of the hole",
                "wrist line",
                "cuff fold",
                "cuff raw edge",
            )
        ],
        THUMB: [
            _Guide("Raw edge", found["thumb raw edge"]),
            _Guide("Fold", found["thumb fold"]),
            _Guide("Knuckle line", 0.0),
            _Guide("T, lowered", found["T of the thumb"]),
            _Guide("H", found["H of the thumb"]),
        ],
    }
    trank, thumb = (_piece(run.pieces[name], across[name], up[name], shrink, unit) for name in (TRANK, THUMB))
    return trank + thumb.moved(trank.box.right + 6 - thumb.box.left, trank.box.top - thumb.box.top)


def _fits(drawing: Drawing, printing: Printing, title: TitleBlock) -> bool:
    if printing.paper.to_fit:
        return True
    box = drawing.box.grown(LINE_ROOM)
    areas = [frame.area for frame in frames(printing, title)]
    return any(box.width <= area.width and box.height <= area.height for area in areas)


def _piece(piece: GradedPiece, across: Sequence[_Guide], up: Sequence[_Guide], shrink: float, unit: str) -> Drawing:
    """The drafted half of a piece with its grid, lines and names."""
    points = piece.points[0] / shrink
    left, right = -SQUARE / shrink, ceil(points[:, 0].max() * shrink / SQUARE + 0.3) * SQUARE / shrink
    low, high = points[:, 1].min(), points[:, 1].max()
    bottom = floor(low * shrink / SQUARE - 0.3) * SQUARE / shrink
    top = ceil(high * shrink / SQUARE + 0.3) * SQUARE / shrink
    step = SQUARE / shrink
    grid: list[Mark] = [
        *(line([(x, bottom), (x, top)], Role.REFERENCE_LINE) for x in np.arange(left, right + step / 2, step)),
        *(line([(left, y), (right, y)], Role.REFERENCE_LINE) for y in np.arange(bottom, top + step / 2, step)),
    ]
    half = _drafted_half(piece)
    outlines = [Curve(beziers / shrink, Role.CUT_LINE) for beziers in half]
    levels = [guide.at / shrink for guide in up]
    guides: list[Mark] = [line([(left, y), (right, y)], Role.PLACEMENT_LINE) for y in levels]
    guides += [
        line([(x, bottom), (x, top)], Role.MIRROR_LINE if x == 0 else Role.PLACEMENT_LINE)
        for x in (guide.at / shrink for guide in across)
    ]
    names = [*_named_up(up, levels, left, unit), *_named_across(across, shrink, top, unit)]
    dots = [Dot(float(x), float(y), radius=0.6) for x, y in points]
    placing = Placing([*guides, *outlines, *dots], clear=0.2)
    for mark in names:
        placing.take(mark)
    labels = list(_named_points(piece, points, placing))
    title = Text(piece.shape.piece.name, 0, max(mark.box.top for mark in names) + 4, PLAIN, bold=True)
    return Drawing((*grid, *guides, *outlines, *dots, *labels, *names, title))


def _drafted_half(piece: GradedPiece) -> Iterator[Floats]:
    """The handles of what was drawn: the boundary up to the mirror line, and whole cut-outs."""
    for name, beziers in piece.beziers.items():
        names = piece.shape.loops[name].names
        drawn = [i for i in range(len(names)) if not names[i].endswith("'") or i == 0]
        yield beziers[0, drawn[:-1] if name == BOUNDARY and piece.shape.piece.mirrored else drawn]


def _named_up(guides: Sequence[_Guide], levels: Sequence[float], left: float, unit: str) -> list[Mark]:
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


def _named_across(guides: Sequence[_Guide], shrink: float, top: float, unit: str) -> list[Mark]:
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


def _named_points(piece: GradedPiece, points: Floats, placing: Placing) -> Iterator[Mark]:
    """Each point's name at the first free place round it."""
    for name, (x, y) in zip(piece.shape.names, points.tolist(), strict=True):
        width = text_width(name, _POINT)
        text = Text(name, 0, 0, _POINT, Role.LABEL_ON_LINE, Align.CENTRE)
        places = [
            (x + sx * (width / 2 + far), y + sy * (_POINT / 2 + far) - _POINT / 2)
            for far in (1.4, 2.4, 3.6, 5)
            for sx, sy in ((1, 0), (-1, 0), (1, 1), (1, -1), (-1, 1), (-1, -1), (0, 1), (0, -1))
        ]
        yield placing.put(text, places)
