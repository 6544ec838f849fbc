"""Write pages as a PDF file: true scale, true curves, the same bytes each time, each shared drawing stored once."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from io import BytesIO
from math import cos, pi, sin, tan
from typing import Any

import numpy as np
from reportlab import rl_config
from reportlab.pdfbase.pdfmetrics import getFont
from reportlab.pdfgen.canvas import Canvas

from grading.drawing.fonts import em, registered
from grading.drawing.marks import Arrow, Box, Curve, Dot, Drawing, Line, Text
from grading.drawing.pages import Page, Placed
from grading.drawing.styles import Colour, Style, style_of
from grading.epoch import none_that_is_false
from grading.geometry.arrays import Floats

__all__ = ["About", "pdf_bytes", "sheet_count"]

# Streams go in as the bytes they are: as text they would be a quarter larger and take longer to make.
rl_config.useA85 = 0

#: 1 mm in the default user space unit of 1/72 in (ISO 32000-1, 8.3.2.3).
POINTS = 72 / 25.4
#: Decimals of a coordinate in mm: a tenth of a thousandth is far finer than any printer.
DECIMALS = 4
#: The first version in which a file can ask not to be scaled (ISO 32000-1, table 150).
PDF_VERSION = (1, 6)
#: What a line may reach beyond its drawing's box by its width, in mm.
BLEED = 3.0


@dataclass(frozen=True)
class About:
    """What the file says about itself to those who search or list it."""

    title: str
    subject: str = ""
    keywords: tuple[str, ...] = ()


def pdf_bytes(pages: Sequence[Page], about: About, base: int | None = None) -> bytes:
    """The pages as a PDF file whose marks come out at 1 mm for 1 mm.

    Of a drawing of several sizes the ``base`` (from 0) has the wide line. Drawings that pages have in common (the same
    object) are stored once. Nothing in the file comes from the clock. Its readers are asked not to scale it when it is
    printed.
    """
    out = BytesIO()
    with none_that_is_false():
        canvas = Canvas(
            out, invariant=1, pageCompression=1, pdfVersion=PDF_VERSION, initialFontName=registered(), lang="en-GB"
        )
    canvas.setTitle(about.title)
    canvas.setAuthor("")
    canvas.setSubject(about.subject)
    canvas.setKeywords(", ".join(about.keywords))
    canvas.setCreator("grading")
    canvas.setViewerPreference("PrintScaling", "None")
    shared = {id(placed.drawing): placed.drawing for page in pages for placed in page.placed}
    forms = {key: _store(canvas, f"drawing{i}", shared[key], base) for i, key in enumerate(shared)}
    for number, page in enumerate(pages):
        _draw_page(canvas, page, number, forms, base)
    if any(page.bookmarks for page in pages):
        canvas.showOutline()
    canvas.save()
    return out.getvalue()


def sheet_count(written: bytes) -> int:
    """How many pages a file written here has: its page tree has but one node, which counts them."""
    match = re.search(rb"/Count (\d+)\s*/Kids", written)
    return int(match[1]) if match else 0


def _store(canvas: Any, name: str, drawing: Drawing, base: int | None) -> str:
    """Keep the drawing in the file as a form XObject, in its own mm."""
    canvas.beginForm(name, *(drawing.box.grown(BLEED) if drawing.marks else Box(0, 0, 0, 0)))
    _draw(canvas, drawing, base)
    canvas.endForm()
    return name


def _draw_page(canvas: Any, page: Page, number: int, forms: dict[int, str], base: int | None) -> None:
    across, up = (POINTS * factor for factor in page.sheet.scale)
    canvas.setPageSize((page.sheet.width * across, page.sheet.height * up))
    for i, bookmark in enumerate(page.bookmarks):
        key = f"page{number}.{i}"
        canvas.bookmarkPage(key)
        canvas.addOutlineEntry(bookmark.title, key, bookmark.level, closed=bookmark.level > 0)
    canvas.scale(across, up)
    for placed in page.placed:
        _place(canvas, placed, forms)
    _draw(canvas, page.drawing, base)
    canvas.showPage()


def _place(canvas: Any, placed: Placed, forms: dict[int, str]) -> None:
    window = placed.window
    corner, sides = (window.left, window.bottom), (window.width, window.height)
    _add(canvas, f"q {_written([*corner, *sides])} re W n 1 0 0 1 {_written([placed.dx, placed.dy])} cm")
    canvas.doForm(forms[id(placed.drawing)])
    _add(canvas, "Q")


def _draw(canvas: Any, drawing: Drawing, base: int | None) -> None:
    _add(canvas, "1 j")
    current: Style | None = None
    for mark in drawing.marks:
        style = style_of(mark.role, mark.size, base)
        if style is not current:
            _add(canvas, _taken_up(style))
            current = style
        if isinstance(mark, Text):
            _write(canvas, mark, style)
        else:
            _add(canvas, f"{_path(mark)} {_PAINT[style.width > 0, style.fill is not None]}")


# Paths and lines of text are written out here, as ISO 32000-1 has them (8.4.4, 8.5.2, 8.5.3, 9.4): thousands of points
# go in at once. What a typeface takes, its parts in the file and their codes, is left to reportlab (as the text of its
# module ttfonts says how).


def _add(canvas: Any, operators: str) -> None:
    canvas.addLiteral(operators, escaped=1)


#: What paints a path, by whether it is stroked and whether it is filled.
_PAINT = {(True, True): "B", (True, False): "S", (False, True): "f", (False, False): "n"}


def _written(lengths: Sequence[float]) -> str:
    return " ".join([f"{length:.{DECIMALS}f}" for length in lengths])


@cache
def _taken_up(style: Style) -> str:
    """Line width, dashes, and the colours of lines and of what is filled."""
    line = f"{_written([style.width])} w [{_written(style.dash)}] 0 d"
    return f"{line} {_written(style.colour)} RG {_filling(style.fill or style.colour)}"


def _filling(colour: Colour) -> str:
    return f"{_written(colour)} rg"


def _path(mark: Curve | Line | Arrow | Dot) -> str:
    match mark:
        case Curve():
            return _curve(mark.points, mark.closed)
        case Line():
            return _polyline(mark.points, mark.closed)
        case Arrow():
            return " ".join(
                [_polyline(mark.shaft, closed=False), *(_polyline(head, closed=True) for head in mark.heads)]
            )
        case Dot():
            return _curve(_CIRCLE * mark.radius + (mark.x, mark.y), closed=True)


@cache
def _pattern(operators: str, count: int) -> str:
    """The operators of a path after its first point, with places for their coordinates."""
    figure = f"%.{DECIMALS}f "
    return figure * 2 + "m" + (f" {figure * {'l': 2, 'c': 6}[operators]}{operators}") * count


def _polyline(points: Floats, closed: bool) -> str:
    return _pattern("l", len(points) - 1) % tuple(points.ravel().tolist()) + " h" * closed


def _curve(segments: Floats, closed: bool) -> str:
    joined = np.concatenate([segments[0, :1], segments[:, 1:].reshape(-1, 2)])
    return _pattern("c", len(segments)) % tuple(joined.ravel().tolist()) + " h" * closed


def _circle() -> Floats:
    """Four Bézier segments (4, 4, 2) round (0, 0), within 0.03 % of a circle of radius 1."""
    reach = 4 / 3 * tan(pi / 8)  # where the middle of a segment lies on the circle
    quarter = np.array([(1, 0), (1, reach), (reach, 1), (0, 1)])
    turn = np.array([(0, 1), (-1, 0)])
    return np.array([quarter @ np.linalg.matrix_power(turn, times) for times in range(4)])


_CIRCLE = _circle()


#: What has a meaning of its own within a text (ISO 32000-1, 7.3.4.2).
_ESCAPED = str.maketrans({sign: f"\\{sign}" for sign in "\\()"})


def _write(canvas: Any, text: Text, style: Style) -> None:
    if style.fill is not None:
        _add(canvas, f"{_polyline(np.array(text.corners), closed=True)} f {_filling(style.colour)}")
    c, s = cos(text.angle), sin(text.angle)
    x, y = text.x + text.indent * c, text.y + text.indent * s
    name, size = registered(text.bold), f"{em(text.height):.{DECIMALS}f} Tf"
    font, document = getFont(name), canvas._doc
    if text.text.isascii() and text.text.isprintable():
        # Of these reportlab keeps a code of their own in a font's first part, so that a file can be searched as it is.
        spelled = [(0, text.text.translate(_ESCAPED))]
    else:
        spelled = [(subset, canvas._escape(part)) for subset, part in font.splitString(text.text, document)]
    parts = [f"{font.getSubsetInternalName(subset, document)} {size} ({part}) Tj" for subset, part in spelled]
    _add(canvas, f"BT {c:.6f} {s:.6f} {-s:.6f} {c:.6f} {_written([x, y])} Tm {' '.join(parts)} ET")
    if style.fill is not None:
        _add(canvas, _filling(style.fill))
