"""Workbooks as LibreOffice prints them and PDFium reads that: letters of 9 points or more, no figure too wide."""

from __future__ import annotations

import ctypes
import math
import shutil
from collections.abc import Iterator
from pathlib import Path

import pypdfium2
import pypdfium2.raw as pdfium
import pytest
from typed_commands import TABLES, WOMEN, filled_in, typed

#: Points: lengths on paper are rounded to hundredths of a millimetre by the program.
LEAST = 8.95


def letters(path: Path) -> Iterator[tuple[int, str, float]]:
    """The number of the page, the sign, and its height in points, of every sign that is printed."""
    document = pypdfium2.PdfDocument(path)
    for number, page in enumerate(document, 1):
        text = page.get_textpage()
        for i in range(text.count_chars()):
            matrix = pdfium.FS_MATRIX()
            pdfium.FPDFText_GetMatrix(text.raw, i, ctypes.byref(matrix))
            size = pdfium.FPDFText_GetFontSize(text.raw, i) * math.hypot(matrix.a, matrix.b)
            yield number, chr(pdfium.FPDFText_GetUnicode(text.raw, i)), size
    document.close()


def hold(folder: Path, office) -> None:
    found = sorted(folder.rglob("*.xlsx"))
    assert found
    for path in found:
        printed = office(path, "pdf")
        signs = [sign for sign in letters(printed) if sign[1].strip() and sign[2]]
        assert signs
        small = {(page, round(size, 2)) for page, _, size in signs if size < LEAST}
        assert not small, f"{path.name}: pages and points {sorted(small)}"
        told = "".join(sign for _, sign, _ in signs)
        assert "##" not in told, path.name


@pytest.mark.long
@pytest.mark.parametrize("unit", ["mm", "cm", "in"])
def test_run_and_returns(tmp_path, office, unit):
    typed("run", *WOMEN, "--only", "spec", "--quiet", "--out", tmp_path / "run", "--units", unit)
    sheets = tmp_path / "run" / "Women" / "check-sheets"
    for path in sorted(sheets.glob("*.xlsx"))[2:]:
        path.unlink()
    back = tmp_path / "back"
    shutil.copytree(sheets, back)
    for number, path in enumerate(sorted(back.glob("*.xlsx"))):
        filled_in(path, f"Somebody {number}", off=number + 1)
    typed("returns", *sorted(back.glob("*.xlsx")), *WOMEN, "--units", unit, "--out", tmp_path / "out")
    hold(tmp_path / "run", office)
    hold(tmp_path / "out", office)


@pytest.mark.long
def test_a_style_with_more_measures_than_a_page_holds(tmp_path, office):
    words = ("--sizes", TABLES / "sizes.xlsx", "--group", "Small children", "--only", "spec", "--quiet")
    typed("run", *words, "--out", tmp_path)
    for path in sorted((tmp_path / "Small children" / "check-sheets").glob("*.xlsx"))[1:]:
        path.unlink()
    hold(tmp_path, office)


@pytest.mark.long
def test_start_and_stock(tmp_path, office):
    typed("start", tmp_path / "own")
    hold(tmp_path / "own", office)
    words = ("--stock", TABLES / "stock.xlsx", "--pairs", "12", "--quiet", "--out", tmp_path / "batch")
    typed("stock", *WOMEN, *words)
    hold(tmp_path / "batch", office)
