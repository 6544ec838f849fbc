"""How to measure a hand: pictures with each measurement numbered where the tape lies, and a form to write it down."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from grading.drafting.measuring import HOW_TO_MEASURE
from grading.drawing.composing import on_sheets
from grading.drawing.fonts import ASCENT, DESCENT
from grading.drawing.marks import Align, Arrow, Box, Curve, Drawing, Mark, Role, Text, line, paragraph, rectangle
from grading.drawing.pages import TitleBlock, numbered
from grading.drawing.paper import Printing
from grading.drawing.pdf import About, pdf_bytes
from grading.drawing.system import PLAIN, SMALL
from grading.geometry.outlines import closed_loop

__all__ = ["drawn_guide", "measuring_guide"]

#: Outlines, mm, from the wrist crease: (x, y), and True for a corner. A hand drawn for this page, no one's.
_Outline = Sequence[tuple[float, float, bool]]
_FINGERS: _Outline = (
    (-27, -14, True), (-28, 2, False), (-35, 30, False), (-39, 60, False), (-39, 84, False), (-40, 104, False),
    (-38, 125, False), (-32, 133, False), (-25, 126, False), (-21, 106, False), (-20, 94, True), (-20, 115, False),
    (-19, 149, False), (-11, 160, False), (-3, 149, False), (-1, 116, False), (-0.5, 98, True), (0.5, 116, False),
    (1.5, 160, False), (10, 174, False), (18, 160, False), (19, 116, False), (19.5, 98, True), (21, 114, False),
    (24, 146, False), (31, 157, False), (38, 147, False), (40, 114, False), (39, 92, False),
)  # fmt: skip
_THUMB: _Outline = (
    (40, 70, True), (50, 79, False), (61, 97, False), (70, 105, False), (77, 98, False), (73, 80, False),
    (64, 56, False), (54, 34, False), (42, 15, False), (31, 1, False), (28, -14, True),
)  # fmt: skip
#: The index finger's side, from which the web and the thumb go on: what the thumb's own picture shows.
_INDEX_SIDE: _Outline = ((39.6, 128, True), (40, 112, False), (39, 92, False))
_FORK: _Outline = ((18.6, 124, True), (19.3, 108, False), (19.5, 98, True), (19.9, 108, False), (20.8, 124, True))
_NO_THUMB: _Outline = ((40, 70, False), (44, 48, False), (40, 24, False), (30, 2, False), (28, -14, True))
_TUCKED: _Outline = (
    (43.6, 44, True), (34, 56, False), (12, 66, False), (-4, 68, False), (-10, 60, False), (-3, 51, False),
    (14, 42, False), (28, 26, False), (40, 24, True),
)  # fmt: skip
_FIST: _Outline = (
    (-25, -34, True), (-27, -16, False), (-37, 4, False), (-39, 30, False), (-30, 42, False), (-20, 36, True),
    (-11, 47, False), (-1, 38, True), (9, 48, False), (19, 38, True), (29, 44, False), (38, 32, False), (40, 10, True),
    (48, 17, False), (58, 31, False), (68, 42, False), (75, 38, False), (72, 22, False), (60, 2, False),
    (44, -14, False), (31, -22, False), (27, -34, True),
)  # fmt: skip

_TELL = Text("", 0, 0, SMALL)
_CAPTION = Text("", 0, 0, SMALL, align=Align.CENTRE, bold=True)
_NUMBER = Text("", 0, 0, SMALL, Role.LABEL_ON_LINE, Align.CENTRE, bold=True)
#: By how much each picture is smaller than life.
_OF_HAND, _OF_FIST, _OF_TUCKED, _OF_THUMB = 0.47, 0.45, 0.33, 0.64
_WIDTH, _HEAD = 186.0, 2.5
#: A place to write a figure by hand, mm wide and high, and the columns before it.
_WRITING, _HIGH, _NAMES = 22.0, 8.3, 44.0


def measuring_guide(printing: Printing) -> bytes:
    """The page as a PDF file: on paper that is too short for it the pictures, and on a sheet of its own the form."""
    title = "How to measure a hand"
    block = TitleBlock("", title, scale="")
    contents = on_sheets(drawn_guide(), printing, block)
    if len(contents) > 1:
        contents = [*on_sheets(_pictures(), printing, block), *on_sheets(_form(), printing, block)]
    about = About(title, subject="Where the tape lies", keywords=("mitten", "measuring"))
    return pdf_bytes(numbered(contents), about)


def drawn_guide() -> Drawing:
    """The pictures, smaller than life, and below them how each measurement is taken and where it is written down."""
    pictures = _pictures()
    return pictures + _form().moved(0, pictures.box.bottom - 4)


def _pictures() -> Drawing:
    """The four pictures beside one another, each with its name below it."""
    columns = (
        [("the hand, flat", _lengths(), _OF_HAND)],
        [("a fist, thumb held away", _fist(), _OF_FIST), ("thumb tucked in", _thumb_tucked(), _OF_TUCKED)],
        [("the thumb and its root", _thumb(), _OF_THUMB)],
    )
    drawing, left = Drawing(), 0.0
    for column in columns:
        stacked, top = Drawing(), 0.0
        for caption, picture, by in column:
            small = _centred(picture.scaled(by))
            small = small.moved(left - small.box.left, top - small.box.top)
            middle = (small.box.left + small.box.right) / 2
            named = Text(caption, middle, small.box.bottom - 1 - ASCENT * SMALL, SMALL, align=Align.CENTRE, bold=True)
            stacked += small + Drawing((named,))
            top = stacked.box.bottom - 3
        stacked = stacked.moved(left - stacked.box.left, 0)
        drawing += stacked
        left = drawing.box.right + 8
    return drawing.moved((_WIDTH - drawing.box.width) / 2, 0)


def _form() -> Drawing:
    """Whose hand it is, when, and in which unit; for each measurement its number, how to take it, and room to write."""
    right, left = _WIDTH - _WRITING, _WIDTH - 2 * _WRITING
    marks: list[Mark] = []
    for words, start, end in (("Name", 0.0, left - 78), ("Date", left - 74, left - 38), ("Unit", left - 34, left - 4)):
        label = Text(words, start, -(_HIGH + SMALL) / 2, SMALL, bold=True)
        marks += [label, rectangle(Box(start + 11, -_HIGH, end, 0), Role.RULE)]
    for words, start in (("left", left), ("right", right)):
        at = -_HIGH + DESCENT * PLAIN + 0.3
        marks.append(Text(words, start + _WRITING / 2, at, PLAIN, align=Align.CENTRE, bold=True))
    top = -_HIGH - 1
    for number, (name, how) in enumerate(HOW_TO_MEASURE.items(), 1):
        middle = top - (_HIGH + SMALL) / 2
        told = paragraph([how], _NAMES, 0, left - _NAMES - 2, _TELL)
        shift = top - (_HIGH - told.box.height) / 2
        marks += [
            Text(str(number), 5, middle, SMALL, align=Align.RIGHT, bold=True),
            Text(name, 7, middle, SMALL, bold=True),
            *told.moved(0, shift).marks,
            *(rectangle(Box(x, top - _HIGH, x + _WRITING, top), Role.RULE) for x in (left, right)),
        ]
        top -= _HIGH
    notes = [
        "Measure both hands and write both down: they differ, and the mitten is made for the larger. Lay the tape "
        "snug, not tight; read it to the nearest millimetre or 1/16 in, and write behind Unit which it is: mm, cm or "
        "in. Measure twice, on two days if you can: a hand is larger in the evening and in warmth."
    ]
    form = Drawing(tuple(marks))
    return form + paragraph(notes, 0, form.box.bottom - 1.5, _WIDTH, _TELL)


def _lengths() -> Drawing:
    """An open hand with what is measured straight along it and across it, and the tapes round it and the wrist."""
    marks: list[Mark] = [
        _outline((*_FINGERS, *_THUMB)),
        line([(-60, 174), (12, 174)], Role.REFERENCE_LINE),
        line([(-60, 0), (32, 0)], Role.REFERENCE_LINE),
        line([(-14, 98), (21, 98)], Role.REFERENCE_LINE),
        line([(19.5, 98), (19.5, 128)], Role.REFERENCE_LINE),
        line([(40, 94), (40, 128)], Role.REFERENCE_LINE),
        *_tape("hand girth", (-41, 88), (41, 92)),
        *_measured("hand length", (-56, 0), (-56, 174)),
        *_measured("hand breadth", (-38.6, 66), (39.6, 66), 0.66),
        *_measured("palm length", (-8, 0), (-8, 98), 0.3),
        *_measured("index-middle gap", (19.5, 122), (40, 122)),
        *_measured("web to tip", (36.5, 73.5), (69, 109.5), 0.62),
    ]
    return Drawing(tuple(marks))


def _thumb() -> Drawing:
    """The thumb and its root, larger: from the one level at which palm length ends, down to the web and the ball."""
    side = (*_INDEX_SIDE, *_THUMB)
    marks: list[Mark] = [
        _open_curve(side),
        _open_curve(_FORK),
        line([(15, 98), (43, 98)], Role.REFERENCE_LINE),
        line([(20, 70), (42, 70)], Role.REFERENCE_LINE),
        line([(20, 12), (42, 12)], Role.REFERENCE_LINE),
        *_tape("thumb girth", (55, 93), (76, 81)),
        *_measured("web depth", (32, 98), (32, 70)),
        *_measured("thumb root length", (25, 70), (25, 12), 0.25),
        *_measured("thumb root breadth", (10, 40), (56.5, 40), 0.6),
        *_measured("web to knuckle", (44.5, 66), (60, 84)),
    ]
    return Drawing(tuple(marks))


def _thumb_tucked() -> Drawing:
    """A hand with the thumb in the palm, a tape round its widest part and one round the wrist."""
    tapes = (*_tape("entry girth", (-41, 76), (41, 72)), *_tape("wrist girth", (-29, -2), (31, -2)))
    return Drawing((_outline((*_FINGERS, *_NO_THUMB)), _open_curve(_TUCKED), *tapes))


def _fist() -> Drawing:
    """A fist from the front, the thumb held away, with a tape over the knuckles."""
    fingers = [line([(x, y), (x + 1, 12)], Role.RULE) for x, y in ((-20, 36), (-1, 38), (19, 38))]
    return Drawing((_outline(_FIST), *fingers, *_tape("fist girth", (-40, 24), (40.5, 26))))


def _measured(name: str, start: tuple[float, float], end: tuple[float, float], part: float = 0.5) -> tuple[Mark, ...]:
    """An arrow from where a measurement begins to where it ends, a stroke across each end, and its number on it."""
    (x0, y0), (x1, y1) = start, end
    along = np.array([x1 - x0, y1 - y0])
    across = np.array([-along[1], along[0]]) / np.hypot(*along) * 3.5
    ends = [line([np.array(at) - across, np.array(at) + across], Role.OUTLINE) for at in (start, end)]
    arrow = Arrow(start, end, Role.STRETCH, both=True, head=_HEAD)
    return (*ends, arrow, _number(name, x0 + part * (x1 - x0), y0 + part * (y1 - y0)))


def _outline(points: _Outline) -> Curve:
    at = np.array([(x, y) for x, y, _ in points], dtype=float)
    names = [str(number) for number in range(len(at))]
    loop = closed_loop(names, [turn for *_, turn in points], range(len(at)), at)
    return Curve(loop.beziers(at[None])[0], Role.CUT_LINE, closed=True)


def _open_curve(points: _Outline) -> Curve:
    """The curve through the points, not closed: its last stretch, back to the start, is left out."""
    return Curve(_outline(points).points[:-1], Role.CUT_LINE)


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


def _centred(picture: Drawing) -> Drawing:
    """The picture with its numbers' middles where their baselines were."""
    return Drawing(tuple(mark.moved(0, -SMALL / 2) if isinstance(mark, Text) else mark for mark in picture.marks))
