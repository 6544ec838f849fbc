"""A drawing as a picture of dots (PNG) for where no vectors can go: the same bytes for the same drawing."""

from __future__ import annotations

import zlib
from functools import cache
from io import BytesIO
from math import cos, degrees, sin

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from grading.drawing.fonts import em, font_file
from grading.drawing.marks import Arrow, Box, Curve, Dot, Drawing, Line, Mark, Text
from grading.drawing.styles import Colour, Style, style_of
from grading.geometry.arrays import Floats
from grading.geometry.flattening import flatten

__all__ = ["png"]

#: Each dot is drawn as a square of finer ones, so many along its side, and is as grey as these are on average.
_FINER = 2
#: Sixteen greys, black to white, and for each shade of a dot the nearest of them: in half the bytes, and no eye tells.
_GREYS = bytes(17 * grey for grey in range(16) for _ in "rgb")
_NEAREST = [round(shade / 17) for shade in range(256)]
#: Corners that turn by more than this are rounded; between others no gap is seen, in radians.
_CORNER = 0.2
#: Chords of a curve stay within this of it, in dots.
_FLAT = 0.2


def png(drawing: Drawing, frame: Box, *, dots_per_mm: float) -> bytes:
    """What lies in the frame (mm), on white, as a PNG picture of ``dots_per_mm`` dots a millimetre, in greys.

    Whatever reaches over the frame is cut off.
    """
    canvas = _Canvas(frame, dots_per_mm * _FINER)
    for mark in drawing.marks:
        canvas.draw(mark, style_of(mark.role, mark.size))
    out = BytesIO()
    image = canvas.image.reduce(_FINER).point(_NEAREST)
    image.putpalette(_GREYS)
    # Long runs of white: looking for runs only is quicker than looking for any likeness, and packs as well.
    image.save(out, "PNG", bits=4, dpi=(dots_per_mm * 25.4,) * 2, compress_type=zlib.Z_RLE)
    return out.getvalue()


@cache
def _font(dots: float, bold: bool) -> ImageFont.FreeTypeFont:
    # The basic layout is in every Pillow; the other depends on a library that may be missing.
    return ImageFont.truetype(str(font_file(bold)), dots, layout_engine=ImageFont.Layout.BASIC)


class _Canvas:
    """An image in the making; ``scale`` is its dots to a millimetre."""

    def __init__(self, frame: Box, scale: float) -> None:
        size = [-(-round(side * scale) // _FINER) * _FINER for side in (frame.width, frame.height)]
        self.image = Image.new("L", (size[0], size[1]), 255)
        self._draw = ImageDraw.Draw(self.image)
        self._corner = np.array([frame.left, frame.top])
        self._scale = scale

    def draw(self, mark: Mark, style: Style) -> None:
        match mark:
            case Text():
                self._write(mark, style)
            case Curve():
                # Flattened in dots, so that small pictures take few chords.
                self._path(self._dots(flatten(mark.points, _FLAT / self._scale)), style, mark.closed)
            case Line():
                self._path(self._dots(mark.points), style, mark.closed)
            case Arrow():
                self._path(self._dots(mark.shaft), style, closed=False)
                for head in mark.heads:
                    self._fill(self._dots(head), style.fill)
            case Dot():
                x, y = self._dots(np.array([[mark.x, mark.y]]))[0]
                radius = mark.radius * self._scale
                fill = style.fill and self._ink(style.fill)
                width = max(1, round(style.width * self._scale)) if style.width else 0
                around = (x - radius, y - radius, x + radius, y + radius)
                self._draw.ellipse(around, fill=fill, outline=self._ink(style.colour), width=width)

    def _dots(self, points: Floats) -> Floats:
        """Points (n, 2) in mm as dots from the upper left corner."""
        dots: Floats = (points - self._corner) * (self._scale, -self._scale)
        return dots

    def _ink(self, colour: Colour) -> int:
        return round(255 * colour.red)

    def _fill(self, points: Floats, colour: Colour | None) -> None:
        if colour is not None:
            self._draw.polygon([(x, y) for x, y in points.tolist()], fill=self._ink(colour))

    def _path(self, points: Floats, style: Style, closed: bool) -> None:
        if closed:
            points = np.concatenate([points, points[:1]])
            self._fill(points, style.fill)
        if not style.width:
            return
        width = max(1, round(style.width * self._scale))
        half, ink = (width - 1) / 2, self._ink(style.colour)
        for part in _dashes(points, np.array(style.dash) * self._scale):
            self._draw.line(part.ravel().tolist(), fill=ink, width=width)
            for x, y in _corners(part) if width > 2 else ():
                self._draw.ellipse((x - half, y - half, x + half, y + half), fill=ink)

    def _write(self, text: Text, style: Style) -> None:
        self._fill(self._dots(text.corners), style.fill)
        font = _font(em(text.height) * self._scale, text.bold)
        start = np.array([text.x + text.indent * cos(text.angle), text.y + text.indent * sin(text.angle)])
        x, y = self._dots(start[None])[0].tolist()
        ink = self._ink(style.colour)
        if not text.angle:
            self._draw.text((x, y), text.text, fill=ink, font=font, anchor="ls")
            return
        # Written level about the middle of an image, which is then turned about its middle: upright it stays narrow.
        high = int(em(text.height) * self._scale) + 2
        half = high + int(font.getlength(text.text))
        if abs(cos(text.angle)) > 1e-9:
            high = half
        level = Image.new("L", (2 * half, 2 * high), 0)
        ImageDraw.Draw(level).text((half, high), text.text, fill=255, font=font, anchor="ls")
        turned = level.rotate(degrees(text.angle), Image.Resampling.BICUBIC, expand=high < half)
        self.image.paste(ink, (round(x) - turned.width // 2, round(y) - turned.height // 2), turned)


def _corners(points: Floats) -> list[list[float]]:
    """The points of a polyline (n, 2) between its ends at which it turns sharply."""
    (x, y) = np.diff(points, axis=0).T
    turn = np.arctan2(x[:-1] * y[1:] - y[:-1] * x[1:], x[:-1] * x[1:] + y[:-1] * y[1:])
    corners: list[list[float]] = points[1:-1][np.abs(turn) > _CORNER].tolist()
    return corners


def _dashes(points: Floats, dash: Floats) -> list[Floats]:
    """A polyline (n, 2) cut into the dashes of a pattern: lengths on, off, on, off; whole where there is none."""
    if not len(dash):
        return [points]
    reached = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))])
    pattern = np.tile(dash, 2) if len(dash) % 2 else dash
    ends = np.cumsum(np.tile(pattern, int(reached[-1] / pattern.sum()) + 1))
    starts, ends = np.concatenate([[0.0], ends[:-1]])[::2], ends[::2].clip(max=reached[-1])
    drawn = starts < reached[-1]
    # All the points of the line and all the ends of dashes, in one order: a dash is a stretch of it.
    at = np.sort(np.concatenate([reached, starts[drawn], ends[drawn]]))
    placed = np.column_stack([np.interp(at, reached, points[:, axis]) for axis in (0, 1)])
    first, last = np.searchsorted(at, starts[drawn]), np.searchsorted(at, ends[drawn])
    return [placed[i : j + 1] for i, j in zip(first.tolist(), last.tolist(), strict=True)]
