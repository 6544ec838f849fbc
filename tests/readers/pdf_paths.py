"""The paths of a PDF page as PDFium sees them: a reader that shares no code with the writer."""

from __future__ import annotations

import ctypes
from collections.abc import Iterator

import numpy as np
import pypdfium2
import pypdfium2.raw as pdfium


def paths(data: bytes, page: int = 0) -> list[np.ndarray]:
    """The points (n, 2) of every path on a page, in mm on the page, as PDFium sees them."""
    document = pypdfium2.PdfDocument(data)
    sheet = document[page]  # PDFium frees a page that nobody holds
    handle = sheet.raw
    objects = (pdfium.FPDFPage_GetObject(handle, i) for i in range(pdfium.FPDFPage_CountObjects(handle)))
    found = [path * 25.4 / 72 for path in _paths(objects, np.eye(3))]
    document.close()
    return found


def _paths(objects: Iterator[object], outer: np.ndarray) -> Iterator[np.ndarray]:
    for item in objects:
        raw = pdfium.FS_MATRIX()
        pdfium.FPDFPageObj_GetMatrix(item, raw)
        matrix = np.array([(raw.a, raw.b, 0), (raw.c, raw.d, 0), (raw.e, raw.f, 1)]) @ outer
        if pdfium.FPDFPageObj_GetType(item) == pdfium.FPDF_PAGEOBJ_FORM:
            count = pdfium.FPDFFormObj_CountObjects(item)
            yield from _paths((pdfium.FPDFFormObj_GetObject(item, i) for i in range(count)), matrix)
        elif pdfium.FPDFPageObj_GetType(item) == pdfium.FPDF_PAGEOBJ_PATH:
            yield _path_points(item) @ matrix[:2, :2] + matrix[2, :2]


def _path_points(path: object) -> np.ndarray:
    points = []
    x, y = ctypes.c_float(), ctypes.c_float()
    for i in range(pdfium.FPDFPath_CountSegments(path)):
        pdfium.FPDFPathSegment_GetPoint(pdfium.FPDFPath_GetPathSegment(path, i), x, y)
        points.append((x.value, y.value))
    return np.array(points)
