"""Writes as many pages, paths, texts and cells as a recipe counts, with reportlab and XlsxWriter alone.

Run as a process of its own: python tests/bench/floor.py RECIPE FOLDER. It is the least that a program can do
which writes such files with these libraries: no figure in it is computed, no place is looked for, nothing is read.
Pages have as many forms, paths, texts and bookmarks of the same lengths; workbooks as many sheets, cells, looks, rules
and pictures, each picture of as many dots and as many dark ones. Compressed, files come out smaller than those of a
run, whose coordinates and words repeat less.
"""

from __future__ import annotations

import json
import sys
import zlib
from functools import cache
from importlib import import_module
from io import BytesIO
from itertools import cycle, islice
from pathlib import Path
from typing import Any

from PIL import Image, ImageDraw
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from xlsxwriter import Workbook

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
    for number in range(file["bookmarks"]):
        canvas.addOutlineEntry(f"bookmark {number}", "page0")
    for number, page in enumerate(file["pages"]):
        canvas.setPageSize(page["size"])
        canvas.bookmarkPage(f"page{number}")
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
    book = Workbook(path, {"in_memory": True})
    usual = {"font_name": "Arial", "font_size": 10, "bottom": 7, "align": "right", "valign": "top", "text_wrap": True}
    styles = {style for sheet in file["sheets"] for _, style, _, _ in sheet["cells"]}
    looks = {style: book.add_format({**usual, "indent": number}) for number, style in enumerate(sorted(styles))}
    flag = book.add_format({"bold": True})
    media = {name: _picture(tuple(told["size"]), told["dark"]) for name, told in file["media"].items()}
    for number, counted in enumerate(file["sheets"]):
        sheet = book.add_worksheet(f"sheet {number}")
        _furnish(sheet, counted, number, flag)
        _write_cells(sheet, counted, looks)
        for name in counted["pictures"]:
            sheet.insert_image("A1", "picture.png", {"image_data": BytesIO(media[name])})
    book.close()


def _furnish(sheet: Any, counted: dict[str, Any], number: int, flag: Any) -> None:
    """What a sheet has besides its cells: widths, heights, merged cells, tables, lists to choose from, flags."""
    for column in range(counted["widths"]):
        sheet.set_column_pixels(column, column, 90)
    for row in range(counted["heights"]):
        sheet.set_row(row, 27.0)
    for row in range(counted["merges"]):
        sheet.merge_range(1000 + row, 0, 1000 + row, 5, "")
    for table in range(counted["tables"]):
        sheet.add_table(3 * table, 0, 3 * table + 1, 1, {"name": f"T_{number}_{table}"})
    for row in range(counted["lists"]):
        sheet.data_validation(row, 0, row, 0, {"validate": "list", "source": ["yes", "no"]})
    for row in range(counted["flags"]):
        sheet.conditional_format(row, 0, row, 0, {"type": "formula", "criteria": "=A1>1", "format": flag})
    sheet.set_header("&LFloor")
    sheet.set_footer("&Rpage &P of &N")
    sheet.set_paper(9)
    sheet.fit_to_pages(1, 0)


def _write_cells(sheet: Any, counted: dict[str, Any], looks: dict[int, Any]) -> None:
    columns, placed = counted["columns"], 0
    for kind, style, length, count in counted["cells"]:
        for _ in range(count):
            (row, column), look = divmod(placed, columns), looks[style]
            match kind:
                case "number":
                    sheet.write_number(row, column, FIGURES[placed % len(FIGURES)], look)
                case "text":
                    sheet.write_string(row, column, _words(placed, length), look)
                case "formula":
                    text = ("=" + "A1+" * (length // 3 + 1))[:length].rstrip("+") or "=A1"
                    sheet.write_formula(row, column, text, look, FIGURES[placed % len(FIGURES)])
                case _:
                    sheet.write_blank(row, column, None, look)
            placed += 1


def _words(number: int, length: int) -> str:
    start = number % 50
    return LETTERS[start : start + length].strip() or "-"


@cache  # what several files show is drawn once
def _picture(size: tuple[int, int], dark: int) -> bytes:
    """A picture of so many dots, of which so many lie on lines of three dots' width, most of them at a slant.

    Drawn with twice as many dots to the side and made smaller, as lines are smoothed with Pillow.
    """
    width, height = size
    image = Image.new("L", (2 * width, 2 * height), "white")
    draw = ImageDraw.Draw(image)
    length = 60
    for number in range(dark // (3 * length)):
        x, y = 37 * number % (width - length), 53 * number % (height - length)
        draw.line([(2 * x, 2 * y), (2 * (x + length), 2 * (y + number % length))], fill=0, width=6)
    file = BytesIO()
    image = image.reduce(2).point([shade // 16 for shade in range(256)])
    image.putpalette(bytes(17 * grey for grey in range(16) for _ in "rgb"))
    image.save(file, "PNG", bits=4, compress_type=zlib.Z_RLE)
    return file.getvalue()


if __name__ == "__main__":
    told = json.loads(Path(sys.argv[1]).read_text(encoding="utf-8"))
    for module in told["modules"]:
        import_module(module)
    write(told["recipe"], Path(sys.argv[2]))
