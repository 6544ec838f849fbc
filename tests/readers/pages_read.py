"""What stands on a PDF page, as PDFium reads it: texts and lines with their looks, in mm, as far as they show.

PDFium (BSD-3-Clause) shares no code with the writer.
"""

from __future__ import annotations

import ctypes
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import pypdfium2
import pypdfium2.raw as pdfium
import shapely

#: The capitals of the sheets' typeface, DejaVu Sans Condensed, are so high in parts of its size (its own OS/2 table).
CAPITAL = 0.729
MM = 25.4 / 72


@dataclass(frozen=True)
class ReadText:
    """A text: the rectangle that its letters fill, the height of its capitals, and its baseline's angle in degrees."""

    order: int
    text: str
    shape: shapely.Polygon
    height: float
    angle: float
    whole: bool


@dataclass(frozen=True)
class ReadPath:
    """A path: its lines, how wide they are (0: none drawn), and whether it is filled with white."""

    order: int
    shape: shapely.Geometry
    width: float
    white: bool
    filled: bool


@dataclass(frozen=True)
class ReadPage:
    width: float
    height: float
    texts: tuple[ReadText, ...]
    paths: tuple[ReadPath, ...]


def read_pages(data: bytes) -> list[ReadPage]:
    """Every page of a PDF file."""
    document = pypdfium2.PdfDocument(data)
    pages = []
    for page in document:
        handle, text_page = page.raw, page.get_textpage()
        objects = [pdfium.FPDFPage_GetObject(handle, i) for i in range(pdfium.FPDFPage_CountObjects(handle))]
        found = list(_read(objects, np.eye(3), None, text_page.raw))
        numbered = [make(order) for order, make in enumerate(found)]
        width, height = (side * MM for side in page.get_size())
        texts = tuple(one for one in numbered if isinstance(one, ReadText))
        paths = tuple(one for one in numbered if isinstance(one, ReadPath))
        pages.append(ReadPage(width, height, texts, paths))
    document.close()
    return pages


def _read(objects, outer, window, text_page) -> Iterator:
    for item in objects:
        matrix = _matrix(item) @ outer
        kind = pdfium.FPDFPageObj_GetType(item)
        if kind == pdfium.FPDF_PAGEOBJ_FORM:
            inner = [pdfium.FPDFFormObj_GetObject(item, i) for i in range(pdfium.FPDFFormObj_CountObjects(item))]
            yield from _read(inner, matrix, _window(item), text_page)
        elif kind == pdfium.FPDF_PAGEOBJ_PATH:
            stroked, filled = ctypes.c_int(), ctypes.c_int()
            pdfium.FPDFPath_GetDrawMode(item, filled, stroked)
            width = ctypes.c_float()
            pdfium.FPDFPageObj_GetStrokeWidth(item, width)
            lines = [line @ matrix[:2, :2] * MM + matrix[2, :2] * MM for line in _lines(item)]
            shape = _within(shapely.union_all([shapely.linestrings(line) for line in lines]), window)
            if shape.is_empty:
                continue
            red, green, blue, alpha = (ctypes.c_uint() for _ in range(4))
            pdfium.FPDFPageObj_GetFillColor(item, red, green, blue, alpha)
            wide = float(width.value * np.hypot(*matrix[0, :2]) * MM) if stroked.value else 0.0
            white = bool(filled.value) and red.value == 255
            yield lambda order, a=shape, b=wide, c=white, d=bool(filled.value): ReadPath(order, a, b, c, d)
        elif kind == pdfium.FPDF_PAGEOBJ_TEXT:
            quad = pdfium.FS_QUADPOINTSF()
            pdfium.FPDFPageObj_GetRotatedBounds(item, quad)
            corners = np.array([(quad.x1, quad.y1), (quad.x2, quad.y2), (quad.x3, quad.y3), (quad.x4, quad.y4)])
            whole = shapely.Polygon((corners @ outer[:2, :2] + outer[2, :2]) * MM)
            shape = _within(whole, window)
            if shape.is_empty or shape.area < 1e-6:
                continue
            size = ctypes.c_float()
            pdfium.FPDFTextObj_GetFontSize(item, size)
            height = float(size.value * np.hypot(*matrix[1, :2]) * MM * CAPITAL)
            angle = float(np.degrees(np.arctan2(matrix[0, 1], matrix[0, 0])))
            text, all_of_it = _text_of(item, text_page), shape.area > 0.999 * whole.area
            yield lambda order, a=text, b=shape, c=height, d=angle, e=all_of_it: ReadText(order, a, b, c, d, e)


def _matrix(item) -> np.ndarray:
    raw = pdfium.FS_MATRIX()
    pdfium.FPDFPageObj_GetMatrix(item, raw)
    return np.array([(raw.a, raw.b, 0), (raw.c, raw.d, 0), (raw.e, raw.f, 1)])


def _window(item):
    """The part of the page (mm) in which an object shows, where it is clipped."""
    clip = pdfium.FPDFPageObj_GetClipPath(item)
    count = pdfium.FPDFClipPath_CountPaths(clip) if clip else -1
    points = []
    x, y = ctypes.c_float(), ctypes.c_float()
    for path in range(max(count, 0)):
        for i in range(pdfium.FPDFClipPath_CountPathSegments(clip, path)):
            pdfium.FPDFPathSegment_GetPoint(pdfium.FPDFClipPath_GetPathSegment(clip, path, i), x, y)
            points.append((x.value * MM, y.value * MM))
    return shapely.box(*np.min(points, axis=0), *np.max(points, axis=0)) if points else None


def _within(shape, window):
    return shape if window is None else shapely.intersection(shape, window)


def _lines(item) -> list[np.ndarray]:
    """The lines of a path, its curves as chords."""
    lines: list[list[tuple[float, float]]] = []
    handles: list[tuple[float, float]] = []
    x, y = ctypes.c_float(), ctypes.c_float()
    for i in range(pdfium.FPDFPath_CountSegments(item)):
        segment = pdfium.FPDFPath_GetPathSegment(item, i)
        pdfium.FPDFPathSegment_GetPoint(segment, x, y)
        kind, at = pdfium.FPDFPathSegment_GetType(segment), (x.value, y.value)
        if kind == pdfium.FPDF_SEGMENT_MOVETO:
            lines.append([at])
        elif kind == pdfium.FPDF_SEGMENT_BEZIERTO:
            handles.append(at)
            if len(handles) == 3:
                t = np.linspace(0, 1, 9)[1:, None]
                a, b, c, d = np.array([lines[-1][-1], *handles])
                lines[-1] += list((1 - t) ** 3 * a + 3 * (1 - t) ** 2 * t * b + 3 * (1 - t) * t**2 * c + t**3 * d)
                handles = []
        else:
            lines[-1].append(at)
        if pdfium.FPDFPathSegment_GetClose(segment):
            lines[-1].append(lines[-1][0])
    return [np.array(line) for line in lines if len(line) > 1]


def _text_of(item, text_page) -> str:
    length = pdfium.FPDFTextObj_GetText(item, text_page, None, 0)
    buffer = (pdfium.FPDF_WCHAR * (length // 2 + 1))()
    pdfium.FPDFTextObj_GetText(item, text_page, buffer, length)
    return bytes(buffer).decode("utf-16-le", "ignore").split("\x00")[0]


def breaches(page: ReadPage, heights, widths, margin: float) -> list[str]:
    """What on a page breaks the system of letters and lines, in words."""
    said = []
    for text in page.texts:
        if min(abs(text.height - height) for height in heights) > 0.02:
            said.append(f"'{text.text}' is {text.height:.2f} mm high")
        if not -89 < text.angle < 91:
            said.append(f"'{text.text}' stands at {text.angle:.0f}°")
        if not text.whole:
            said.append(f"'{text.text}' is cut off")
        left, bottom, right, top = text.shape.bounds
        if min(left, bottom, page.width - right, page.height - top) < margin:
            said.append(f"'{text.text}' is nearer to the sheet's edge than it prints")
    for path in page.paths:
        if path.width and min(abs(path.width - width) for width in widths) > 0.01:
            said.append(f"a line is {path.width:.2f} mm wide")
    if not page.texts:
        return said
    inner = shapely.buffer([text.shape for text in page.texts], -0.05)
    first, second = shapely.STRtree(inner).query(inner, predicate="intersects")
    said += [f"'{page.texts[i].text}' over '{page.texts[j].text}'" for i, j in zip(first, second, strict=True) if i < j]
    drawn = [path for path in page.paths if path.width or (path.filled and not path.white)]
    tree = shapely.STRtree([path.shape for path in drawn])
    patches = [path for path in page.paths if path.white and not path.width]
    for i, j in tree.query(inner, predicate="intersects").T:
        text, path = page.texts[i], drawn[j]
        seen = shapely.intersection(path.shape, inner[i])
        for patch in patches:
            if path.order < patch.order < text.order:
                # A letter may reach a fifth of a millimetre beyond its place, as a J does.
                seen = shapely.difference(seen, shapely.buffer(shapely.convex_hull(patch.shape), 0.2))
        if not seen.is_empty:
            said.append(f"a line through '{text.text}'")
    return said
