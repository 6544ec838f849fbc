"""Build a workbook that prints well, keeps text as text and carries its formulas' values.

A sheet is written from the top down: a title, notes, lines and tables of cells, each cell with a `Look`.

>>> book = Book("Spec sheet", subject="Women", run_id="1f3a")
>>> sheet = book.sheet("Women")
>>> area = sheet.table([Column("Size"), Column("Width", Look.NUMBER)], [["8/9", 102.0], ["10", 108.0]])
>>> area.cell(0, 1), area.column(1), area.reference(1)
('B2', 'B2:B3', "'Women'!$B$2:$B$3")
>>> sheet.line(["Sum", Formula("=SUM(B2:B3)", 210.0)])
>>> book.to_bytes()[:2]
b'PK'
"""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Iterable, Sequence
from copy import copy
from dataclasses import dataclass
from io import BytesIO
from numbers import Integral, Real
from typing import Any

import openpyxl
from openpyxl.drawing.image import Image
from openpyxl.formatting.rule import FormulaRule
from openpyxl.styles import Alignment, Border, Font, Side
from openpyxl.utils import absolute_coordinate, get_column_letter, quote_sheetname
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.workbook.properties import CalcProperties
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.hyperlink import Hyperlink
from openpyxl.worksheet.page import PageMargins
from openpyxl.worksheet.properties import PageSetupProperties
from openpyxl.worksheet.table import Table

from grading.findings import Finding, Place, Severity
from grading.workbooks.archive import Value, save
from grading.workbooks.fitting import lines, width
from grading.workbooks.looks import FIGURES, GREY, Look, named_styles

__all__ = ["Area", "Book", "Column", "Content", "Formula", "Link", "Look", "Sheet", "Styled", "sheet_name"]


@dataclass(frozen=True, slots=True)
class Formula:
    """A formula (with its leading ``=``) and what it comes to, for programs that do not calculate."""

    text: str
    value: Value


@dataclass(frozen=True, slots=True)
class Link:
    """Text that leads to the top of another sheet of the book, named as it is there."""

    text: str
    sheet: str


@dataclass(frozen=True, slots=True)
class Styled:
    """Content with a look of its own, where it differs from its column's."""

    content: str | float | int | bool | dt.date | Formula | Link | None
    look: Look


Content = str | float | int | bool | dt.date | Formula | Link | Styled | None


@dataclass(frozen=True, slots=True)
class Column:
    """A table's column: heading, look of its cells, and width in characters where it is not computed."""

    heading: str
    look: Look = Look.TEXT
    width: float | None = None


@dataclass(frozen=True, slots=True)
class Area:
    """Where the cells of a table lie (headings apart): first row and column from 1, and how many of each."""

    sheet: str
    top: int
    left: int
    rows: int
    columns: int

    def cell(self, row: int, column: int) -> str:
        """The name of a cell, rows and columns of the table counted from 0."""
        return f"{get_column_letter(self.left + column)}{self.top + row}"

    def column(self, column: int) -> str:
        """All cells of a column, as used within the sheet."""
        return f"{self.cell(0, column)}:{self.cell(self.rows - 1, column)}"

    @property
    def whole(self) -> str:
        """All cells, as used from another sheet."""
        corners = f"{self.cell(0, 0)}:{self.cell(self.rows - 1, self.columns - 1)}"
        return f"{quote_sheetname(self.sheet)}!{absolute_coordinate(corners)}"

    def reference(self, column: int) -> str:
        """All cells of a column, as used from another sheet."""
        return f"{quote_sheetname(self.sheet)}!{absolute_coordinate(self.column(column))}"


_WIDEST, _NARROWEST = 46.0, 7.0  # characters; longer text is wrapped
_USUAL_WIDTH = 8.4  # of a column nobody set, in characters
_NOTE_WIDTH = 76.0  # a remark's least, in characters: it fits across A4
_PLAIN, _BOLD, _SMALL = 0.92, 1.05, 0.83  # breadth of text in noughts, the unit of a column's width
_LINE_HEIGHT = 13.5  # points
_TALLEST_ROW = 409  # points: the format's limit
_MARGIN, _HEADER_MARGIN = 15 / 25.4, 7 / 25.4  # inches
_ILLEGAL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")  # XML 1.0, production 2
_LONGEST_TEXT = 32_767  # what a cell of the format can hold


class Book:
    """A workbook in the making.

    ``title`` and ``run_id`` stand on every printed page. ``day`` is the date in the document's properties;
    without one it is that of the environment's ``SOURCE_DATE_EPOCH`` (reproducible-builds.org) or 1 January
    1980, never the clock's. ``decimals`` is how many of them numbers and differences show; small differences
    show one more. What had to be changed in a text is told in ``findings``.
    """

    def __init__(
        self, title: str, *, subject: str = "", run_id: str = "", day: dt.date | None = None, decimals: int = 1
    ) -> None:
        self.title = title
        self.run_id = run_id
        self._day = day
        self.findings: list[Finding] = []
        self.sheets: list[Sheet] = []
        self._table_names: set[str] = set()
        self._workbook = openpyxl.Workbook()
        self._workbook.remove(self._workbook.active)
        self._styles: dict[Look, Any] = {}
        for look, style in named_styles(decimals).items():
            self._workbook.add_named_style(style)
            self._styles[look] = style.as_tuple()
        self._workbook.calculation = CalcProperties(fullCalcOnLoad=True)
        properties = self._workbook.properties
        properties.creator, properties.title = "grading", _ILLEGAL.sub("", title)
        properties.subject = _ILLEGAL.sub("", subject)

    def sheet(self, wanted: str, *, landscape: bool = False, frozen_columns: int = 1, one_page: bool = False) -> Sheet:
        """A new sheet at the end, on A4, named as near to ``wanted`` as the format allows.

        It prints one page wide, and as many pages long as it takes unless it is to be ``one_page``. Where the sheet
        holds one table, its headings and the first ``frozen_columns`` columns stay in sight, and the headings are
        printed again on every page.
        """
        name = sheet_name(wanted, [sheet.name for sheet in self.sheets])
        sheet = Sheet(self, self._workbook.create_sheet(name), frozen_columns)
        sheet._set_up_page(landscape, one_page)
        self.sheets.append(sheet)
        return sheet

    def define(self, name: str, reference: str) -> None:
        """Let formulas of the book, and those that others add to it, call cells by a name (see `Area.reference`)."""
        self._workbook.defined_names[name] = DefinedName(name, attr_text=reference)

    def to_bytes(self) -> bytes:
        """The finished file. Call it once, when all is written; the same content gives the same bytes."""
        for sheet in self.sheets:
            sheet._finish()
        computed = [sheet._computed for sheet in self.sheets]
        # Charts before pictures: the order in which openpyxl numbers what is drawn on a sheet.
        texts = [sheet._chart_texts + sheet._picture_texts for sheet in self.sheets]
        return save(self._workbook, self._day, computed, [of_sheet for of_sheet in texts if of_sheet])

    def _table_name(self, wanted: str) -> str:
        # The leading T_ keeps the name from reading as a cell's, which the format forbids.
        name = stem = "T_" + re.sub(r"\W", "_", wanted)[:200]
        number = 2
        while name.casefold() in self._table_names:
            name, number = f"{stem}_{number}", number + 1
        self._table_names.add(name.casefold())
        return name


class Sheet:
    """A sheet of a `Book`, written from the top down; made by `Book.sheet`."""

    def __init__(self, book: Book, worksheet: Any, frozen_columns: int) -> None:
        self.name: str = worksheet.title
        self.next_row = 1
        self._book = book
        self._worksheet = worksheet
        self._frozen_columns = frozen_columns
        self._computed: dict[str, Value] = {}
        self._widths: dict[int, float] = {}
        self._set_widths: dict[int, float] = {}
        self._note_rows: list[int] = []
        self._wrapped: list[tuple[int, int, str, float]] = []
        self._heading_rows: list[int] = []
        self._chart_texts: list[str] = []
        self._picture_texts: list[str] = []

    def title(self, text: str) -> None:
        """A line of large type that may run over the cells to its right."""
        self._write(self.next_row, 1, text, Look.TITLE)
        self.next_row += 1

    def note(self, text: str) -> None:
        """A remark in small type, wrapped over the sheet's columns and at least most of a page."""
        self._write(self.next_row, 1, text, Look.NOTE)
        self._note_rows.append(self.next_row)
        self.next_row += 1

    def gap(self) -> None:
        """An empty row."""
        self.next_row += 1

    def line(self, cells: Sequence[Content], look: Look = Look.TEXT) -> None:
        """One row of cells, not part of any table."""
        for column, content in enumerate(cells, 1):
            self._write(self.next_row, column, content, look)
        self.next_row += 1

    def room(self, rows: int, columns: int) -> Area:
        """Where the cells of the next table will lie if it is so large; for formulas within the table."""
        return Area(self.name, self.next_row + 1, 1, rows, columns)

    def table(self, columns: Sequence[Column], rows: Sequence[Sequence[Content]], *, name: str = "") -> Area:
        """Headings and rows of cells; with a ``name`` also a named table that can be filtered and extended.

        A named table needs a row, and headings that differ by more than case; otherwise it stays a plain one.
        Returns where the cells lie. Raises ValueError for a row with more or fewer cells than columns.
        """
        area = self.room(len(rows), len(columns))
        headings = [" ".join(column.heading.split()) for column in columns]
        self._heading_rows.append(self.next_row)
        self.line(headings, Look.HEADING)
        for number, column in enumerate(columns, 1):
            if column.width is not None:
                self._set_widths[number] = column.width
            if column.look in FIGURES:
                cell = self._worksheet.cell(area.top - 1, number)
                cell.alignment = Alignment("right", "bottom", wrap_text=True, indent=1)
        for row in rows:
            for number, (column, content) in enumerate(zip(columns, row, strict=True), 1):
                self._write(self.next_row, number, content, column.look)
            self.next_row += 1
        if name and rows and all(headings) and len({h.casefold() for h in headings}) == len(headings):
            corners = f"A{area.top - 1}:{area.cell(len(rows) - 1, len(columns) - 1)}"
            self._worksheet.add_table(Table(displayName=self._book._table_name(name), ref=corners))
        return area

    def room_for(self, height_mm: float) -> str:
        """An empty row of that height, at most 144 mm, which no page break divides; the name of its first cell."""
        points = height_mm / 25.4 * 72
        if points > _TALLEST_ROW:
            raise ValueError(f"no row of the format is {height_mm:g} mm tall")
        self._worksheet.row_dimensions[self.next_row].height = points
        self.next_row += 1
        return f"A{self.next_row - 1}"

    def picture(self, picture: bytes, cell: str, *, width_mm: float, instead: str) -> None:
        """A PNG picture with its corner at ``cell``; ``instead`` is read out to those who cannot see it."""
        image = Image(BytesIO(picture))
        scale = width_mm / 25.4 * 96 / image.width  # the format's pixel is 1/96 in
        image.width, image.height = image.width * scale, image.height * scale
        self._worksheet.add_image(image, cell)
        self._picture_texts.append(_ILLEGAL.sub("", instead))

    def chart(self, chart: Any, cell: str, *, width_mm: float, height_mm: float, instead: str) -> None:
        """A chart of openpyxl's with its corner at ``cell``; ``instead`` is as for a picture."""
        chart.width, chart.height = width_mm / 10, height_mm / 10
        self._worksheet.add_chart(chart, cell)
        self._chart_texts.append(_ILLEGAL.sub("", instead))

    def choose_among(self, cells: str, words: Sequence[str]) -> None:
        """A drop-down list of a few words. Raises ValueError where they exceed the format's 255 signs."""
        listed = ",".join(words)
        if len(listed) > 255 or any("," in word for word in words):
            raise ValueError(f"too long, or with a comma, for a list in a cell: {listed}")
        self.choose_from(cells, '"' + listed.replace('"', '""') + '"')

    def choose_from(self, cells: str, reference: str) -> None:
        """A drop-down list of what stands in other cells (see `Area.reference`)."""
        rule = DataValidation("list", reference, allow_blank=True, showErrorMessage=True)
        rule.errorTitle, rule.error = "Not on the list", "Please choose from the list."
        rule.add(cells)
        self._worksheet.add_data_validation(rule)

    def choose_number(self, cells: str, least: str, most: str, reason: str) -> None:
        """Numbers only, between two formulas (no ``=``, as for the first cell); ``reason`` is told of any other."""
        rule = DataValidation("decimal", operator="between", formula1=least, formula2=most, allow_blank=True)
        rule.showErrorMessage, rule.errorTitle, rule.error = True, "Not a likely figure", reason
        rule.add(cells)
        self._worksheet.add_data_validation(rule)

    def protect(self) -> None:
        """Keep all cells but those to fill in from being changed by mistake. There is no password."""
        # The format's flags say what is forbidden: columns may still be widened and text selected.
        protection = self._worksheet.protection
        protection.sheet, protection.formatColumns, protection.formatRows = True, False, False

    def explain(self, cell: str, title: str, text: str) -> None:
        """A remark that is shown while the cell is chosen. Cut to what the format can hold."""
        rule = DataValidation(allow_blank=True, showInputMessage=True, promptTitle=title[:32], prompt=text[:255])
        rule.add(cell)
        self._worksheet.add_data_validation(rule)

    def flag(self, cells: str, formula: str) -> None:
        """Draw attention to those cells for which ``formula`` (no ``=``, as for the first cell) holds."""
        edge = Side("thin")
        rule = FormulaRule([formula], font=Font(bold=True), fill=GREY, border=Border(edge, edge, edge, edge))
        self._worksheet.conditional_formatting.add(cells, rule)

    def _write(self, row: int, column: int, content: Content, look: Look) -> None:
        if isinstance(content, Styled):
            look, content = content.look, content.content
        cell = self._worksheet.cell(row, column)
        cell._style = copy(self._book._styles[look])  # by its name, openpyxl would look it up for every cell
        if isinstance(content, Link):
            target = f"{quote_sheetname(content.sheet)}!A1"
            cell.hyperlink = Hyperlink(cell.coordinate, location=target)
            cell.font = Font(name="Arial", size=10, underline="single")
            content = content.text
        if isinstance(content, Formula):
            cell.value = content.text
            if cell.number_format == "@":
                cell.number_format = "General"  # else the program shows the formula itself
            content = self._computed[cell.coordinate] = _plain(content.value)
        elif isinstance(content, str):
            content = self._clean(content, cell.coordinate)
            if content:
                cell.value = content
                cell.data_type = "s"  # whatever it begins with, and whatever error it spells
                if not content[0].isalpha():
                    cell.quotePrefix = True
        elif content is not None:
            cell.value = content = content if isinstance(content, dt.date) else _plain(content)
            if isinstance(content, dt.date):
                cell._style = copy(self._book._styles[look])  # it brought a number format of its own
        if look not in (Look.TITLE, Look.NOTE):
            wide = width(content, look)
            self._widths[column] = max(self._widths.get(column, 0.0), wide)
            if isinstance(content, str) and (wide > _NARROWEST or look is Look.HEADING):
                self._wrapped.append((row, column, content, _BOLD if look is Look.HEADING else _PLAIN))

    def _clean(self, text: str, cell: str) -> str:
        legal = _ILLEGAL.sub("", text)[:_LONGEST_TEXT]
        if legal != text:
            self._book.findings.append(
                Finding(
                    "text-not-writable",
                    Severity.NOTE,
                    Place(workbook=self._book.title, sheet=self.name, cell=cell),
                    "A text has characters that a workbook cannot hold, or is too long for a cell.",
                    "It was written without them.",
                    "Look at the text in the tables and type it anew.",
                )
            )
        # Line ends are written one way; text of blanks only is no text.
        return legal.replace("\r\n", "\n").replace("\r", "\n") if legal.strip() else ""

    def _set_up_page(self, landscape: bool, one_page: bool) -> None:
        sheet = self._worksheet
        sheet.page_setup.paperSize = sheet.PAPERSIZE_A4
        sheet.page_setup.orientation = "landscape" if landscape else "portrait"
        sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, int(one_page)  # 0: as long as it takes
        sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
        side = _HEADER_MARGIN if one_page else _MARGIN
        margins = (side, side, _MARGIN, _MARGIN, _HEADER_MARGIN, _HEADER_MARGIN)
        sheet.page_margins = PageMargins(*margins)
        sheet.oddHeader.left.text = _printed(self._book.title)
        sheet.oddHeader.right.text = "&A"
        sheet.oddFooter.left.text = _printed(f"run {self._book.run_id}" if self._book.run_id else "")
        sheet.oddFooter.right.text = "page &P of &N"

    def _finish(self) -> None:
        sheet = self._worksheet
        widths = {
            column: self._set_widths.get(column, min(max(width + 2, _NARROWEST), _WIDEST))
            for column, width in sorted(self._widths.items())
        }
        for column, wide in widths.items():
            sheet.column_dimensions[get_column_letter(column)].width = wide
        last, across = max(widths, default=0), sum(widths.values())
        # Programs fit a row's height to its text when it is typed, not all of them when a file is opened.
        heights: dict[int, int] = {}
        for row, column, text, breadth in self._wrapped:
            heights[row] = max(heights.get(row, 1), lines(text, widths[column] / breadth))
        for row, count in heights.items():
            if count > 1:
                sheet.row_dimensions[row].height = _LINE_HEIGHT * count
        while across < _NOTE_WIDTH:
            last, across = last + 1, across + _USUAL_WIDTH
        for row in self._note_rows:
            # merge_cells would write every cell that the first one covers.
            sheet.merged_cells.add(f"A{row}:{get_column_letter(last)}{row}")
            count = lines(str(sheet.cell(row, 1).value or ""), across / _SMALL)
            sheet.row_dimensions[row].height = _LINE_HEIGHT * count
        if len(self._heading_rows) == 1:
            row = self._heading_rows[0]
            sheet.print_title_rows = f"{row}:{row}"
            sheet.freeze_panes = sheet.cell(row + 1, self._frozen_columns + 1)


def sheet_name(wanted: str, taken: Iterable[str]) -> str:
    r"""The nearest name to ``wanted`` that a sheet can have and that is not ``taken``, whatever the case.

    A sheet's name holds 1 to 31 UTF-16 units, none of ``/ \ ? * [ ] :``, no apostrophe at either end, and
    is not 'History' (Microsoft, "Rename a worksheet").

    >>> sheet_name("8/9", []), sheet_name("women", ["Women"]), sheet_name("History", []), sheet_name("'", [])
    ('8-9', 'women (2)', 'History (2)', 'Sheet')
    """
    kept = re.sub(r"[/\\?*\[\]:]", "-", _ILLEGAL.sub("", wanted))
    stem = " ".join(kept.split()).strip("' ") or "Sheet"
    used = {name.casefold() for name in taken} | {"history"}
    name, number = _shortened(stem, 31), 2
    while name.casefold() in used:
        ending = f" ({number})"
        name, number = _shortened(stem, 31 - len(ending)) + ending, number + 1
    return name


def _shortened(text: str, units: int) -> str:
    return text.encode("utf-16-le")[: 2 * units].decode("utf-16-le", "ignore").rstrip("' ")


def _plain(value: Any) -> Value:
    """A number of Python's own kind; raises ValueError for one that no cell can hold."""
    if isinstance(value, bool | str):
        return value
    if isinstance(value, Integral):
        return int(value)
    if isinstance(value, Real) and math.isfinite(value):
        return float(value) + 0.0  # no -0.0
    raise ValueError(f"no cell can hold {value!r}")


def _printed(text: str) -> str:
    """Text for a page's header or footer, where & begins a code and a line can hold 255 characters in all."""
    return " ".join(_ILLEGAL.sub("", text).split())[:90].replace("&", "&&")
