"""How to measure a hand: a page of pictures, each measurement numbered where the tape lies and told below."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from grading.drafting.measuring import HOW_TO_MEASURE
from grading.drawing.composing import on_sheets
from grading.drawing.fonts import DESCENT
from grading.drawing.marks import Align, Arrow, Curve, Dot, Drawing, Line, Mark, Role, Text, line, paragraph
from grading.drawing.pages import TitleBlock, numbered
from grading.drawing.paper import Printing
from grading.drawing.pdf import About, pdf_bytes
from grading.drawing.styles import Styles
from grading.drawing.system import SMALL
from grading.geometry.outlines import closed_loop

__all__ = ["drawn_guide", "measuring_guide"]

#: Outlines, mm, from the wrist crease: (x, y), and True for a corner. A hand drawn for this page, no one's.
_Outline = Sequence[tuple[float, float, bool]]
_FINGERS: _Outline = (
    (-27, -14, True),
    (-28, 2, False),
    (-35, 30, False),
    (-39, 60, False),
    (-39, 84, False),
    (-40, 104, False),
    (-38, 125, False),
    (-32, 133, False),
    (-25, 126, False),
    (-21, 106, False),
    (-20, 94, True),
    (-20, 115, False),
    (-19, 149, False),
    (-11, 160, False),
    (-3, 149, False),
    (-1, 116, False),
    (-0.5, 98, True),
    (0.5, 116, False),
    (1.5, 160, False),
    (10, 174, False),
    (18, 160, False),
    (19, 116, False),
    (19.5, 98, True),
    (21, 114, False),
    (24, 146, False),
    (31, 157, False),
    (38, 147, False),
    (40, 114, False),
    (39, 92, False),
)
_THUMB: _Outline = (
    (40, 70, True),
    (50, 79, False),
    (61, 97, False),
    (70, 105, False),
    (77, 98, False),
    (73, 80, False),
    (64, 56, False),
    (54, 34, False),
    (42, 15, False),
    (31, 1, False),
    (28, -14, True),
)
_NO_THUMB: _Outline = ((40, 70, False), (44, 48, False), (40, 24, False), (30, 2, False), (28, -14, True))
_TUCKED: _Outline = (
    (43.6, 44, True),
    (34, 56, False),
    (12, 66, False),
    (-4, 68, False),
    (-10, 60, False),
    (-3, 51, False),
    (14, 42, False),
    (28, 26, False),
    (40, 24, True),
)
_FIST: _Outline = (
    (-25, -34, True),
    (-27, -16, False),
    (-37, 4, False),
    (-39, 30, False),
    (-30, 42, False),
    (-20, 36, True),
    (-11, 47, False),
    (-1, 38, True),
    (9, 48, False),
    (19, 38, True),
    (29, 44, False),
    (38, 32, False),
    (40, 8, False),
    (33, -14, False),
    (27, -34, True),
)
_FIST_THUMB: _Outline = (
    (39.8, 6, True),
    (24, 10, False),
    (4, 9, False),
    (-6, 1, False),
    (2, -8, False),
    (22, -10, False),
    (34.4, -11, True),
)

_TELL = Text("", 0, 0, SMALL)
_NUMBER = Text("", 0, 0, SMALL, Role.LABEL_ON_LINE, Align.CENTRE, bold=True)
_PICTURE, _SMALL_PICTURE = 0.56, 0.34
_WIDTH = 186.0


def measuring_guide(printing: Printing) -> bytes:
    """The page as a PDF file."""
    title = "How to measure a hand"
    pages = numbered(on_sheets(drawn_guide(), printing, TitleBlock("", title, scale="")))
    return pdf_bytes(pages, Styles(), About(title, subject="Where the tape lies", keywords=("mitten", "measuring")))


def drawn_guide() -> Drawing:
    """The pictures, smaller than life, and below them how each measurement is taken."""
    large = _shrunk(_lengths(), _PICTURE)
    large = large.moved(-large.box.left, -large.box.top)
    small = [_shrunk(picture, _SMALL_PICTURE) for picture in (_girths(), _thumb_tucked(), _fist())]
    pictures, left, low = large, large.box.right + 12, 0.0
    for number, picture in enumerate(small):
        x = left if number < 2 else left + small[0].box.width + 8
        y = 0.0 if number != 1 else low - 6
        placed = picture.moved(x - picture.box.left, y - picture.box.top)
        pictures += placed
        low = placed.box.bottom if number == 0 else low
    texts: list[Mark] = []
    top = pictures.box.bottom - 6
    for number, (name, how) in enumerate(HOW_TO_MEASURE.items(), 1):
        told = paragraph([how], 46, top, _WIDTH - 46, _TELL)
        first = told.marks[0].box.bottom + DESCENT * _TELL.height
        texts += [
            Text(str(number), 5, first, _TELL.height, align=Align.RIGHT, bold=True),
            Text(name, 8, first, _TELL.height, bold=True),
            *told.marks,
        ]
        top = told.box.bottom - 1.2
    notes = [
        "Measure both hands and write both down: they differ, and the mitten is made for the larger.",
        "Pictures are smaller than life. Lay the tape snug, not tight; read it to the nearest millimetre or 1/16 in.",
        "Measure twice, on two days if you can: a hand is larger in the evening and in warmth.",
    ]
    return pictures + Drawing(tuple(texts)) + paragraph(notes, 0, top - 2, _WIDTH, _TELL)


def _lengths() -> Drawing:
    """An open hand with everything that is measured straight."""
    marks: list[Mark] = [_outline((*_FINGERS, *_THUMB))]
    marks += [
        line([(-62, 174), (12, 174)], Role.REFERENCE_LINE),
        line([(-62, 0), (32, 0)], Role.REFERENCE_LINE),
        line([(1, 98), (19, 98)], Role.REFERENCE_LINE),
        line([(22, 92), (41, 92)], Role.REFERENCE_LINE),
        line([(22, 70), (41, 70)], Role.REFERENCE_LINE),
        line([(22, 12), (40, 12)], Role.REFERENCE_LINE),
        line([(19.5, 98), (19.5, 124)], Role.REFERENCE_LINE),
        line([(40, 92), (40, 124)], Role.REFERENCE_LINE),
    ]
    for name, start, end in (
        ("hand length", (-58, 0), (-58, 174)),
        ("hand breadth", (-39, 78), (39.2, 78)),
        ("palm length", (-8, 0), (-8, 98)),
        ("index-middle gap", (19.5, 120), (40, 120)),
        ("web depth", (33, 92), (33, 70)),
        ("thumb root length", (26, 70), (26, 12)),
        ("thumb root breadth", (12, 40), (57, 40)),
        ("web to knuckle", (42, 71), (63, 86)),
    ):
        marks.append(Arrow(start, end, Role.STRETCH, both=True, head=3.5))
        part = 0.3 if name in ("palm length", "thumb root length") else 0.5
        marks.append(_number(name, start[0] + part * (end[0] - start[0]), start[1] + part * (end[1] - start[1])))
    return Drawing(tuple(marks))


def _girths() -> Drawing:
    """An open hand with a tape round hand, wrist and thumb."""
    return Drawing(
        (
            _outline((*_FINGERS, *_THUMB)),
            *_tape("hand girth", (-41, 88), (41, 92)),
            *_tape("wrist girth", (-29, 0), (31, 0)),
            *_tape("thumb girth", (55, 92), (75, 80)),
        )
    )


def _thumb_tucked() -> Drawing:
    """A hand with the thumb in the palm, and a tape round its widest part."""
    thumb = _open_curve(_TUCKED)
    return Drawing((_outline((*_FINGERS, *_NO_THUMB)), thumb, *_tape("entry girth", (-41, 74), (41, 70))))


def _fist() -> Drawing:
    """A fist from the front, with a tape round the knuckles."""
    fingers = [line([(x, y), (x + 1, 14)], Role.RULE) for x, y in ((-20, 36), (-1, 38), (19, 38))]
    return Drawing((_outline(_FIST), *fingers, _open_curve(_FIST_THUMB), *_tape("fist girth", (-40, 24), (41, 26))))


def _outline(points: _Outline) -> Curve:
    at = np.array([(x, y) for x, y, _ in points], dtype=float)
    names = [str(number) for number in range(len(at))]
    loop = closed_loop(names, [turn for *_, turn in points], range(len(at)), at)
    return Curve(loop.beziers(at[None])[0], Role.CUT_LINE, closed=True)


def _open_curve(points: _Outline) -> Curve:
    """The curve through the points, not closed: its last stretch, back to the start, is left out."""
    return Curve(_outline(points).segments[:-1], Role.CUT_LINE)


def _tape(name: str, start: tuple[float, float], end: tuple[float, float]) -> tuple[Mark, ...]:
    """A tape laid round from one side to the other: a band that sags towards who looks at it, and its number."""
    ends = np.array([start, end], dtype=float)
    along = ends[1] - ends[0]
    down = np.array([along[1], -along[0]]) / 7
    across = np.array([-along[1], along[0]]) / np.hypot(*along) * 5
    band = [ends[0], ends[0] + along / 3 + down, ends[0] + along * 2 / 3 + down, ends[1]]
    edges = [Curve(np.array([[point + shift for point in band]]), Role.SEW_LINE) for shift in (0 * across, across)]
    closing = [line([end_, end_ + across], Role.RULE) for end_ in ends]
    x, y = ends.mean(axis=0) + down * 0.75 + across / 2
    return (*edges, *closing, _number(name, float(x), float(y)))


def _number(name: str, x: float, y: float) -> Text:
    """The number that a measurement has in the list, on its line."""
    number = list(HOW_TO_MEASURE).index(name) + 1
    return Text(str(number), x, y, _NUMBER.height, _NUMBER.role, _NUMBER.align, bold=True)


def _shrunk(picture: Drawing, by: float) -> Drawing:
    """The picture smaller, its numbers as large as before and centred where they stood."""
    marks: list[Mark] = []
    for mark in picture.marks:
        match mark:
            case Curve(segments, role, size, closed):
                marks.append(Curve(segments * by, role, size, closed))
            case Arrow(start, end, role):
                marks.append(_shrunk_arrow(start, end, role, by))
            case Text():
                marks.append(
                    Text(
                        mark.text,
                        mark.x * by,
                        mark.y * by - mark.height / 2,
                        mark.height,
                        mark.role,
                        mark.align,
                        bold=True,
                    )
                )
            case Line():
                marks.append(line(mark.points * by, mark.role))
            case Dot():
                raise ValueError("these pictures have no dots")
    return Drawing(tuple(marks))


def _shrunk_arrow(start: tuple[float, float], end: tuple[float, float], role: Role, by: float) -> Arrow:
    return Arrow((start[0] * by, start[1] * by), (end[0] * by, end[1] * by), role, both=True, head=2.5)
