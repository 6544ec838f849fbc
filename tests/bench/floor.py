"""Writes as many pages, paths, texts and cells as a recipe counts, with reportlab and openpyxl alone.

Run as a process of its own: python tests/bench/floor.py RECIPE FOLDER. It is the least that a program can do
which writes such files with these libraries: no figure in it is computed.
"""

from __future__ import annotations

import json
import sys
from importlib import import_module
from io import BytesIO
from itertools import cycle, islice
from pathlib import Path
from typing import Any

import openpyxl
from openpyxl.drawing.image import Image
from openpyxl.formatting.rule import FormulaRule
from openpyxl.styles import Alignment, Border, Font, NamedStyle, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.table import Table
from PIL import Image as Picture
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

FONTS = Path(__file__).parents[2] / "grading" / "drawing" / "fonts"
#: Coordinates as long as real ones: four decimals of a millimetre.
FIGURES = tuple(round(10 + 0.1237 * i, 4) for i in range(997))
LETTERS = "measured between the edges as the maker lays it flat, 96.5 mm; not stretched, nap combed back " * 40


def write(recipe: dict[str, dict[str, Any]], folder: Path) -> None:
    for name, file in recipe.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        if "pages" in file:
            _write_pdf(path, file)
        elif "sheets" in file:
            _write_workbook(path, file)
        else:
            path.write_bytes(b" " * file["bytes"])


def _write_pdf(path: Path, file: dict[str, Any]) -> None:
    if "Floor" not in pdfmetrics.getRegisteredFontNames():
        pdfmetrics.registerFont(TTFont("Floor", FONTS / "DejaVuSansCondensed.ttf"))
        pdfmetrics.registerFont(TTFont("Floor bold", FONTS / "DejaVuSansCondensed-Bold.ttf"))
    canvas = Canvas(str(path), invariant=1, pageCompression=1, initialFontName="Floor")
    for number, form in enumerate(file["forms"]):
        canvas.beginForm(f"form{number}", 0, 0, 1000, 1000)
        _draw(canvas, form)
        canvas.endForm()
    for page in file["pages"]:
        canvas.setPageSize(page["size"])
        _draw(canvas, page)
        canvas.showPage()
    canvas.save()


def _draw(canvas: Any, stream: dict[str, Any]) -> None:
    figures = cycle(FIGURES)
    for number in stream["calls"]:
        canvas.doForm(f"form{number}")
    for operator, count in stream["state"]:
        for _ in range(count):
            match operator:
                case "w":
                    canvas.setLineWidth(next(figures))
                case "d":
                    canvas.setDash([next(figures), 2.4])
                case "RG":
                    canvas.setStrokeColorRGB(0.35, 0.35, 0.35)
                case "rg":
                    canvas.setFillColorRGB(0.9, 0.9, 0.9)
                case "cm":
                    canvas.translate(*islice(figures, 2))
                case "q":
                    canvas.saveState()
                    canvas.restoreState()
    for shape, count in stream["paths"]:
        for _ in range(count):
            path = canvas.beginPath()
            for operator in shape:
                match operator:
                    case "m":
                        path.moveTo(*islice(figures, 2))
                    case "l":
                        path.lineTo(*islice(figures, 2))
                    case "c":
                        path.curveTo(*islice(figures, 6))
                    case "r":
                        path.rect(*islice(figures, 4))
                    case "h":
                        path.close()
            canvas.drawPath(path)
    for number, length in enumerate(stream["texts"]):
        text = canvas.beginText(*islice(figures, 2))
        text.setFont("Floor bold" if number % 4 == 0 else "Floor", 8)
        text.textOut(_words(number, length))
        canvas.drawText(text)


def _write_workbook(path: Path, file: dict[str, Any]) -> None:
    book = openpyxl.Workbook()
    book.remove(book.active)
    styles = sorted({style for sheet in file["sheets"] for _, style, _, _ in sheet["cells"]})
    for style in styles:
        look = NamedStyle(f"style {style}", font=Font(name="Arial", size=10), border=Border(bottom=Side("hair")))
        look.alignment = Alignment("right", "top", wrap_text=True)
        book.add_named_style(look)
    media = iter(file["media"])
    for number, counted in enumerate(file["sheets"]):
        sheet = book.create_sheet(f"sheet {number}")
        _write_cells(sheet, counted)
        _furnish(sheet, counted, number)
        for size in islice(media, counted["pictures"]):
            sheet.add_image(Image(_picture(size)), "A1")
    book.save(path)


def _furnish(sheet: Any, counted: dict[str, Any], number: int) -> None:
    """What a sheet has besides its cells: widths, heights, merged cells, tables, lists to choose from, flags."""
    for column in range(counted["widths"]):
        sheet.column_dimensions[get_column_letter(column + 1)].width = 12.5
    for row in range(counted["heights"]):
        sheet.row_dimensions[row + 1].height = 27.0
    for row in range(counted["merges"]):
        sheet.merged_cells.add(f"A{row + 1}:F{row + 1}")
    for table in range(counted["tables"]):
        sheet.add_table(Table(displayName=f"T_{number}_{table}", ref=f"A{3 * table + 1}:B{3 * table + 2}"))
    for row in range(counted["lists"]):
        rule = DataValidation("list", '"yes,no"', allow_blank=True)
        rule.add(f"A{row + 1}")
        sheet.add_data_validation(rule)
    for row in range(counted["flags"]):
        sheet.conditional_formatting.add(f"A{row + 1}", FormulaRule(["A1>1"], font=Font(bold=True)))
    sheet.oddHeader.left.text, sheet.oddFooter.right.text = "Floor", "page &P of &N"
    sheet.page_setup.paperSize, sheet.page_setup.fitToHeight = sheet.PAPERSIZE_A4, 0


def _write_cells(sheet: Any, counted: dict[str, Any]) -> None:
    columns, placed = counted["columns"], 0
    for kind, style, length, count in counted["cells"]:
        for _ in range(count):
            cell = sheet.cell(placed // columns + 1, placed % columns + 1)
            cell.style = f"style {style}"
            match kind:
                case "number":
                    cell.value = FIGURES[placed % len(FIGURES)]
                case "text":
                    cell.value = _words(placed, length)
                case "formula":
                    cell.value = ("=" + "A1+" * (length // 3 + 1))[:length].rstrip("+") or "=A1"
            placed += 1


def _words(number: int, length: int) -> str:
    start = number % 50
    return LETTERS[start : start + length].strip() or "-"


def _picture(size: tuple[int, int]) -> BytesIO:
    """A picture of so many dots, blank."""
    file = BytesIO()
    Picture.new("L", tuple(size), "white").save(file, "PNG")
    file.seek(0)
    return file


if __name__ == "__main__":
    told = json.loads(Path(sys.argv[1]).read_text(encoding="utf-8"))
    for module in told["modules"]:
        import_module(module)
    write(told["recipe"], Path(sys.argv[2]))
