"""Write pages as a PDF file: true scale, true curves, the same bytes each time, each shared drawing stored once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO
from math import cos, sin
from typing import Any

from reportlab import rl_config
from reportlab.pdfgen.canvas import Canvas

from grading.outputs.drawing import Arrow, Box, Curve, Dot, Drawing, Line, Mark, Text
from grading.outputs.fonts import em, registered
from grading.outputs.sheets import Page, Placed
from grading.outputs.styles import Style, Styles

__all__ = ["About", "pdf_bytes"]

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
    author: str = ""
    subject: str = ""
    keywords: tuple[str, ...] = ()


def pdf_bytes(pages: Sequence[Page], styles: Styles, about: About) -> bytes:
    """The pages as a PDF file whose marks come out at 1 mm for 1 mm.

    Drawings that pages have in common (the same object) are stored once. Nothing in the file comes from the
    clock. Its readers are asked not to scale it when it is printed.
    """
    out = BytesIO()
    canvas = Canvas(
        out, invariant=1, pageCompression=1, pdfVersion=PDF_VERSION, initialFontName=registered(), lang="en-GB"
    )
    canvas.setTitle(about.title)
    canvas.setAuthor(about.author)
    canvas.setSubject(about.subject)
    canvas.setKeywords(", ".join(about.keywords))
    canvas.setCreator("grading")
    canvas.setViewerPreference("PrintScaling", "None")
    shared = {id(placed.drawing): placed.drawing for page in pages for placed in page.placed}
    forms = {key: _store(canvas, f"drawing{i}", shared[key], styles) for i, key in enumerate(shared)}
    for number, page in enumerate(pages):
        _draw_page(canvas, page, number, forms, styles)
    if any(page.bookmarks for page in pages):
        canvas.showOutline()
    canvas.save()
    return out.getvalue()


def _store(canvas: Any, name: str, drawing: Drawing, styles: Styles) -> str:
    """Keep the drawing in the file as a form XObject, in its own mm."""
    canvas.beginForm(name, *(drawing.box.grown(BLEED) if drawing.marks else Box(0, 0, 0, 0)))
    _draw(canvas, drawing, styles)
    canvas.endForm()
    return name


def _draw_page(canvas: Any, page: Page, number: int, forms: dict[int, str], styles: Styles) -> None:
    across, up = (POINTS * factor for factor in page.sheet.scale)
    canvas.setPageSize((page.sheet.width * across, page.sheet.height * up))
    for i, bookmark in enumerate(page.bookmarks):
        key = f"page{number}.{i}"
        canvas.bookmarkPage(key)
        canvas.addOutlineEntry(bookmark.title, key, bookmark.level, closed=bookmark.level > 0)
    canvas.scale(across, up)
    for placed in page.placed:
        _place(canvas, placed, forms)
    _draw(canvas, page.drawing, styles)
    canvas.showPage()


def _place(canvas: Any, placed: Placed, forms: dict[int, str]) -> None:
    window = placed.window
    canvas.saveState()
    clip = canvas.beginPath()
    clip.rect(*_rounded(window.left, window.bottom, window.width, window.height))
    canvas.clipPath(clip, stroke=0, fill=0)
    canvas.translate(placed.dx, placed.dy)
    canvas.doForm(forms[id(placed.drawing)])
    canvas.restoreState()


def _draw(canvas: Any, drawing: Drawing, styles: Styles) -> None:
    canvas.setLineJoin(1)
    current: Style | None = None
    for mark in drawing.marks:
        style = styles.of(mark.role, mark.size)
        if style != current:
            _take_up(canvas, style)
            current = style
        _draw_mark(canvas, mark, style)


def _take_up(canvas: Any, style: Style) -> None:
    canvas.setLineWidth(style.width)
    canvas.setDash(list(style.dash))
    canvas.setStrokeColorRGB(*style.colour)
    canvas.setFillColorRGB(*(style.fill or style.colour))


def _draw_mark(canvas: Any, mark: Mark, style: Style) -> None:
    path = canvas.beginPath()
    filled = style.fill is not None
    match mark:
        case Text():
            _write(canvas, mark, style)
            return
        case Curve(segments=segments, closed=closed):
            rounded = segments.round(DECIMALS).tolist()
            path.moveTo(*rounded[0][0])
            for _, first, second, end in rounded:
                path.curveTo(*first, *second, *end)
            if closed:
                path.close()
        case Line(points=points, closed=closed):
            _polyline(path, points.round(DECIMALS).tolist(), closed)
        case Arrow():
            tails = mark.heads[:, 1:].mean(axis=1).round(DECIMALS).tolist()
            start = tails[1] if mark.both else _rounded(*mark.start)
            _polyline(path, [start, tails[0]], closed=False)
            for head in mark.heads.round(DECIMALS).tolist():
                _polyline(path, head, closed=True)
        case Dot(x=x, y=y, radius=radius):
            path.circle(*_rounded(x, y, radius))
    canvas.drawPath(path, stroke=int(style.width > 0), fill=int(filled))


def _polyline(path: Any, points: list[list[float]], closed: bool) -> None:
    path.moveTo(*points[0])
    for point in points[1:]:
        path.lineTo(*point)
    if closed:
        path.close()


def _write(canvas: Any, text: Text, style: Style) -> None:
    if style.fill is not None:
        patch = canvas.beginPath()
        _polyline(patch, text.corners.round(DECIMALS).tolist(), closed=True)
        canvas.drawPath(patch, stroke=0, fill=1)
        canvas.setFillColorRGB(*style.colour)
    turn = cos(text.angle), sin(text.angle)
    line = canvas.beginText()
    line.setTextTransform(
        *turn, -turn[1], turn[0], *_rounded(text.x + text.indent * turn[0], text.y + text.indent * turn[1])
    )
    line.setFont(registered(text.bold), em(text.height))
    line.textOut(text.text)
    canvas.drawText(line)
    if style.fill is not None:
        canvas.setFillColorRGB(*style.fill)


def _rounded(*lengths: float) -> list[float]:
    return [round(float(length), DECIMALS) for length in lengths]
