"""Build a workbook that prints well, keeps text as text and carries its formulas' values.

A sheet is written from the top down: a title, notes, lines and tables of cells, each cell with a `Look`.

>>> book = Book("Spec sheet", subject="Women", run_id="1f3a")
>>> sheet = book.sheet("Women")
>>> area = sheet.table([Heading("Size"), Heading("Width", Look.NUMBER)], [["8/9", 102.0], ["10", 108.0]])
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
from collections.abc import Mapping, Sequence
from io import BytesIO
from numbers import Integral, Real
from typing import Any

from PIL import Image

from grading.codes import Code
from grading.findings import Finding, Place
from grading.workbooks.cells import Area, Bar, BarChart, Content, Formula, Heading, Link, Styled, Value
from grading.workbooks.container import Container
from grading.workbooks.fitting import lines, width
from grading.workbooks.legal import cut, legal, sheet_name
from grading.workbooks.looks import FIGURES, FLAG, LINK, RIGHT, TEXTS, Look, properties

__all__ = ["Area", "Bar", "BarChart", "Book", "BookSheet", "Content", "Formula", "Heading", "Link", "Look", "Styled"]


_WIDEST, _NARROWEST = 46.0, 7.0  # characters; longer text is wrapped
#: Characters across A4, upright and lying, that all programs print as large as they are; where there are more, the
#: widest columns are made narrower, down to the last of these figures.
_ROOM, _LEAST_WORDS = (99.5, 142.0), 16.0
_USUAL_WIDTH = 8.4  # of a column nobody set, in characters
_NOTE_WIDTH = 76.0  # a remark's least, in characters: it fits across A4
_PLAIN, _BOLD, _SMALL = 1.06, 1.14, 0.955  # breadth of their noughts, in that of a column's width
_INSIDE = 0.7  # characters that a cell keeps free at its sides
_LINE_HEIGHT, _TITLE_HEIGHT = 13.1, 19.5  # points
_TALLEST_ROW = 409  # points: the format's limit
_MARGIN, _HEADER_MARGIN = 15 / 25.4, 7 / 25.4  # inches
_SHORT = 6  # signs: what a typed figure may have to be kept off its cell's edge
_CHART_FONT: Mapping[str, Any] = {"size": 9}
_A4 = 9  # ECMA-376 part 1, 18.3.1.63
_PIXELS_PER_SIGN = 7  # the format's nought, in the typeface of a workbook that sets no other
_PIXELS_PER_MM = 96 / 25.4  # the format's pixel is 1/96 in
_MOVES_WITH_CELLS = 2  # and keeps its size: XlsxWriter's word for it
_LONGEST_TEXT = 32_767  # what a cell of the format can hold
_LONGEST_TITLE, _LONGEST_PROMPT = 32, 255  # what the box beside a cell can hold
_NOT_ON_THE_LIST = {"error_title": "Not on the list", "error_message": "Please choose from the list."}


class Book:
    """A workbook in the making.

    ``title`` and ``run_id`` stand on every printed page. ``day`` is the date in the document's properties;
    without one it is that of the environment's ``SOURCE_DATE_EPOCH`` (reproducible-builds.org) or 1 January
    1980, never the clock's. Numbers and differences are shown with that many ``decimals``, small differences with
    one more. In a book that is only to be ``read``, every row is as high as its text; where people type, rows are left
    to the program that opens the file. What had to be changed in a text is told in ``findings``.
    """

    def __init__(
        self,
        title: str,
        *,
        subject: str = "",
        run_id: str = "",
        day: dt.date | None = None,
        decimals: int = 1,
        read: bool = False,
    ) -> None:
        self.title = title
        self.run_id = run_id
        self.findings: list[Finding] = []
        self.sheets: list[BookSheet] = []
        self._decimals = decimals
        self._read = read
        self._table_names: set[str] = set()
        self._container = Container(legal(title), legal(subject), day)
        self._formats: dict[object, Any] = {}
        self._flag = self._container.add_format(FLAG)

    def sheet(
        self, wanted: str, *, landscape: bool = False, frozen_columns: int = 1, one_page: bool = False
    ) -> BookSheet:
        """A new sheet at the end, on A4, named as near to ``wanted`` as the format allows.

        It prints one page wide, and as many pages long as it takes unless it is to be ``one_page``. Where the sheet
        holds one table, its headings and the first ``frozen_columns`` columns stay in sight, and the headings are
        printed again on every page.
        """
        name = sheet_name(wanted, [sheet.name for sheet in self.sheets])
        sheet = BookSheet(self, self._container.add_sheet(name), frozen_columns, _ROOM[landscape])
        sheet._set_up_page(landscape, one_page)
        self.sheets.append(sheet)
        return sheet

    def define(self, name: str, reference: str) -> None:
        """Let formulas of the book, and those that others add to it, call cells by a name (see `Area.reference`)."""
        self._container.define_name(name, f"={reference}")

    def to_bytes(self) -> bytes:
        """The finished file. Call it once, when all is written; the same content gives the same bytes."""
        for sheet in self.sheets:
            sheet._finish()
        return self._container.to_bytes()

    def _format(self, look: Look, change: str = "") -> Any:
        """The format of a look with the changes that are named, by words of `_CHANGES` with blanks between them."""
        key = look, change
        if key not in self._formats:
            made = dict(properties(look, self._decimals))
            for word in change.split():
                made.update(_CHANGES[word])
            self._formats[key] = self._container.add_format(made)
        return self._formats[key]

    def _table_name(self, wanted: str) -> str:
        # The leading T_ keeps the name from reading as a cell's, which the format forbids.
        name = stem = "T_" + re.sub(r"\W", "_", wanted)[:200]
        number = 2
        while name.casefold() in self._table_names:
            name, number = f"{stem}_{number}", number + 1
        self._table_names.add(name.casefold())
        return name


#: What is different about a cell than its look says.
_CHANGES: Mapping[str, Mapping[str, Any]] = {
    "calculated": {"num_format": "General"},  # as text, the program would show the formula itself
    "linked": LINK,
    "quoted": {"quote_prefix": True},  # else a text that was typed over might be taken for a formula or a figure
    "right": RIGHT,
    "apart": {"num_format": "General_0"},  # a figure from the text beside it; a long one takes all the room there is
}


class BookSheet:
    """A sheet of a `Book`, written from the top down; made by `Book.sheet`."""

    def __init__(self, book: Book, worksheet: Any, frozen_columns: int, room: float) -> None:
        self.name: str = worksheet.get_name()
        self.next_row = 1
        self._book = book
        self._worksheet = worksheet
        self._frozen_columns = frozen_columns
        self._room = room
        self._widths: dict[int, float] = {}
        self._set_widths: dict[int, float] = {}
        self._notes: dict[int, str] = {}
        self._wrapped: list[tuple[int, int, str, float]] = []
        self._heading_rows: list[int] = []
        self._tall: dict[int, float] = {}
        self._printed_rows: tuple[int, int] | None = None
        self._breaks: list[int] = []
        self._spans: dict[tuple[int, int], int] = {}
        self._rows: set[int] = set()

    def title(self, text: str) -> None:
        """A line of large type that may run over the cells to its right."""
        self._write(self.next_row, 1, text, Look.TITLE)
        self._tall[self.next_row] = _TITLE_HEIGHT
        self.next_row += 1

    def note(self, text: str) -> None:
        """A remark in small type, wrapped over the sheet's columns and at least most of a page."""
        self._notes[self.next_row] = self._clean(text, self.next_row, 1)
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
        """Where the cells of the next table will lie if it has so many rows and columns: for formulas within it."""
        return Area(self.name, self.next_row + 1, 1, rows, columns)

    def table(self, columns: Sequence[Heading], rows: Sequence[Sequence[Content]], *, name: str = "") -> Area:
        """Headings and rows of cells; with a ``name`` also a named table that can be filtered and extended.

        A named table needs a row, headings that differ by more than case, and columns that are each one of the sheet's;
        otherwise it stays a plain one.
        Returns where the cells lie. Raises ValueError for a row with more or fewer cells than columns.
        """
        across = sum(column.span for column in columns)
        area = self.room(len(rows), across)
        headings = [" ".join(column.text.split()) for column in columns]
        shown = [legal(heading) for heading in headings]
        plain = across > len(columns) or not all(shown) or len({h.casefold() for h in shown}) < len(shown)
        if name and rows and not plain:
            # It writes the headings too, without their looks: they are written over below.
            named = {"name": self._book._table_name(name), "style": None, "columns": [{"header": h} for h in shown]}
            self._worksheet.add_table(area.top - 2, 0, area.top + len(rows) - 2, len(columns) - 1, named)
        self._heading_rows.append(self.next_row)
        numbers = [1 + sum(column.span for column in columns[:place]) for place in range(len(columns))]
        for place, (number, column, heading) in enumerate(zip(numbers, columns, headings, strict=True)):
            self._span(number, column.span, Look.HEADING)
            typed = column.look not in FIGURES and any(_is_figure(row[place]) for row in rows)
            self._write(
                self.next_row, number, heading, Look.HEADING, "right" if typed or column.look in FIGURES else ""
            )
            if column.help:
                last = area.cell(max(0, area.rows - 1), number - 1)
                self.explain(f"{area.cell(-1, number - 1)}:{last}", heading, column.help)
            if column.width is not None:
                self._set_widths[number] = column.width
        self.next_row += 1
        for row in rows:
            for number, column, content in zip(numbers, columns, row, strict=True):
                self._span(number, column.span, column.look)
                self._write(self.next_row, number, content, column.look)
            self.next_row += 1
        return area

    def _span(self, column: int, span: int, look: Look) -> None:
        """Join the next row's cells from ``column`` on, ``span`` of them, into one."""
        if span > 1:
            row = self.next_row
            self._worksheet.merge_range(row - 1, column - 1, row - 1, column + span - 2, "", self._book._format(look))
            self._spans[row, column] = span

    def room_for(self, height_mm: float) -> str:
        """An empty row of that height, at most 144 mm, which no page break divides; the name of its first cell."""
        points = height_mm / 25.4 * 72
        if points > _TALLEST_ROW:
            raise ValueError(f"no row of the format is {height_mm:g} mm tall")
        self._worksheet.set_row(self.next_row - 1, points)
        self.next_row += 1
        return f"A{self.next_row - 1}"

    def new_page(self) -> None:
        """Print what follows on a page of its own, all of the sheet at the size that it is: it is to be no wider."""
        self._breaks.append(self.next_row - 1)

    def tall(self, area: Area, height_mm: float) -> None:
        """Give the rows of an area that height, so that one can write in them by hand."""
        for row in range(area.top, area.top + area.rows):
            self._tall[row] = height_mm / 25.4 * 72

    def repeat_headings(self, area: Area) -> None:
        """Print the headings of that table again on every page that it goes on to."""
        self._worksheet.repeat_rows(area.top - 2)

    def print_rows(self, first: int, last: int) -> None:
        """Print those rows only: the others are for the screen."""
        self._printed_rows = (first, last)

    def picture(self, picture: bytes, cell: str, *, width_mm: float, instead: str) -> None:
        """A PNG picture with its corner at ``cell``; ``instead`` is read out to those who cannot see it."""
        with Image.open(BytesIO(picture)) as image:
            dots, (per_inch, _) = image.width, image.info.get("dpi", (96.0, 96.0))
        scale = width_mm / 25.4 * per_inch / dots
        told = {"description": legal(instead), "object_position": _MOVES_WITH_CELLS}
        given = {"image_data": BytesIO(picture), "x_scale": scale, "y_scale": scale, **told}
        self._worksheet.insert_image(cell, "picture.png", given)

    def chart(self, chart: BarChart, cell: str, *, width_mm: float, height_mm: float, instead: str) -> None:
        """A chart with its corner at ``cell``; ``instead`` is as for a picture."""
        drawn = self._book._container.add_chart({"type": "column"})
        for bar in chart.bars:
            # Newer programs turn falling bars white where a chart does not say otherwise.
            upright = {"invert_if_negative": True, "invert_if_negative_color": f"#{bar.colour}"}
            spaced = {"gap": chart.gap, "overlap": 0, "border": {"color": "#000000"}}
            cells = {"name": f"={bar.name}", "categories": f"={bar.labels}", "values": f"={bar.values}"}
            drawn.add_series({**cells, **spaced, **upright, "fill": {"color": f"#{bar.colour}"}})
        drawn.set_title({"name": chart.title, "overlay": False, "name_font": {"size": 10}})
        drawn.set_legend({"position": "right", "font": _CHART_FONT} if chart.legend else {"none": True})
        drawn.set_x_axis({"label_position": "low", "num_font": _CHART_FONT})
        drawn.set_y_axis({"num_format": chart.number_format, "num_font": _CHART_FONT})
        if not chart.framed:
            drawn.set_chartarea({"border": {"none": True}})
        drawn.set_size({"width": width_mm * _PIXELS_PER_MM, "height": height_mm * _PIXELS_PER_MM})
        told = {"description": legal(instead), "object_position": _MOVES_WITH_CELLS}
        self._worksheet.insert_chart(cell, drawn, told)

    def choose_among(self, cells: str, words: Sequence[str]) -> None:
        """A drop-down list of a few words. Raises ValueError where they exceed the format's 255 signs."""
        listed = ",".join(words)
        if len(listed) > 255 or any("," in word for word in words):
            raise ValueError(f"too long, or with a comma, for a list in a cell: {listed}")
        self._restrict(cells, {"validate": "list", "source": list(words), **_NOT_ON_THE_LIST})

    def choose_from(self, cells: str, reference: str) -> None:
        """A drop-down list of what stands in other cells (see `Area.reference`)."""
        self._restrict(cells, {"validate": "list", "source": f"={reference}", **_NOT_ON_THE_LIST})

    def choose_number(self, cells: str, least: str, most: str, reason: str) -> None:
        """Numbers only, between two formulas (no ``=``, as for the first cell); ``reason`` is told of any other."""
        between = {"criteria": "between", "minimum": f"={least}", "maximum": f"={most}"}
        told = {"error_title": "Not a likely figure", "error_message": cut(reason, _LONGEST_PROMPT)}
        self._restrict(cells, {"validate": "decimal", **between, **told})

    def protect(self) -> None:
        """Keep all cells but those to fill in from being changed by mistake. There is no password."""
        # Columns and rows may still be widened, and pictures are left out of it.
        allowed = ("format_columns", "format_rows", "objects", "scenarios")
        self._worksheet.protect(options=dict.fromkeys(allowed, True))

    def explain(self, cell: str, title: str, text: str) -> None:
        """A remark that is shown while the cell is chosen. Cut to what the format can hold."""
        told = {"input_title": cut(legal(title), _LONGEST_TITLE), "input_message": cut(legal(text), _LONGEST_PROMPT)}
        self._restrict(cell, {"validate": "any", **told})

    def flag(self, cells: str, formula: str) -> None:
        """Draw attention to those cells for which ``formula`` (no ``=``, as for the first cell) holds."""
        rule = {"type": "formula", "criteria": f"={formula}", "format": self._book._flag}
        self._worksheet.conditional_format(cells, rule)

    def remark(self, cells: str, formula: str, word: str) -> None:
        """Put a word behind whatever stands in those cells for which ``formula`` (as for `flag`) holds, and flag them.

        Where several hold of a cell the one that was given first is told.
        """
        shown = ";".join([f'General" {word}"'] * 3 + [f'@" {word}"'])
        flagged = self._book._container.add_format({**FLAG, "num_format": shown})
        self._worksheet.conditional_format(cells, {"type": "formula", "criteria": f"={formula}", "format": flagged})

    def _restrict(self, cells: str, rule: Mapping[str, Any]) -> None:
        if self._worksheet.data_validation(cells, dict(rule)) != 0:
            raise ValueError(f"the format has no such rule for {cells}: {rule}")

    def _write(self, row: int, column: int, content: Content, look: Look, change: str = "") -> None:
        if isinstance(content, Styled):
            look, content = content.look, content.content
        sheet, at = self._worksheet, (row - 1, column - 1)
        if isinstance(content, Formula):
            value = _cell_value(content.value)
            shown = self._book._format(look, "calculated" if look in TEXTS else "")
            sheet.write_formula(*at, content.text, shown, value)
            content = value
        elif isinstance(content, Link):
            target = Area(content.sheet, 1, 1, 1, 1).cell_elsewhere(0, 0)
            text = self._clean(content.text, row, column)
            sheet.write_url(*at, f"internal:{target}", self._book._format(look, f"linked {_quoting(text)}"), text)
            content = text
        elif isinstance(content, str):
            content = self._clean(content, row, column)
            shown = self._book._format(look, f"{change} {_quoting(content)}")
            if content:
                sheet.write_string(*at, content, shown)  # text whatever it begins with, whatever error it spells
            else:
                sheet.write_blank(*at, None, shown)
        elif isinstance(content, dt.date):
            sheet.write_datetime(*at, content, self._book._format(look))
        elif content is None:
            sheet.write_blank(*at, None, self._book._format(look))
        else:
            content = _cell_value(content)
            write = sheet.write_boolean if isinstance(content, bool) else sheet.write_number
            short = look is Look.INPUT and len(f"{content:.10g}") <= _SHORT
            write(*at, content, self._book._format(look, "apart" if short else ""))
        if look is not Look.TITLE:
            self._rows.add(row)
            wide = width(content, look)
            self._widths[column] = max(self._widths.get(column, 0.0), wide if (row, column) not in self._spans else 0.0)
            if isinstance(content, str) and (wide > _NARROWEST or look is Look.HEADING):
                self._wrapped.append((row, column, content, _BOLD if look is Look.HEADING else _PLAIN))

    def _clean(self, text: str, row: int, column: int) -> str:
        held = legal(text)[:_LONGEST_TEXT]
        if held != text:
            self._book.findings.append(
                Finding.note(
                    Code.TEXT_NOT_WRITABLE,
                    Place(workbook=self._book.title, sheet=self.name, cell=Area("", row, column, 1, 1).cell(0, 0)),
                    "A text has characters that a workbook cannot hold, or is too long for a cell.",
                    "It was written without them.",
                    "Look at the text in the tables and type it anew.",
                )
            )
        # Line ends are written one way; text of blanks only is no text.
        return held.replace("\r\n", "\n").replace("\r", "\n") if held.strip() else ""

    def _set_up_page(self, landscape: bool, one_page: bool) -> None:
        sheet = self._worksheet
        sheet.set_paper(_A4)
        if landscape:
            sheet.set_landscape()
        sheet.fit_to_pages(1, int(one_page))  # 0: as long as it takes
        sheet.set_margins(_HEADER_MARGIN, _HEADER_MARGIN, _MARGIN, _MARGIN)
        run = f"&L{_printed(f'run {self._book.run_id}')}" if self._book.run_id else ""
        sheet.set_header(f"&L{_printed(self._book.title)}&R&A", {"margin": _HEADER_MARGIN})
        sheet.set_footer(f"{run}&Rpage &P of &N", {"margin": _HEADER_MARGIN})

    def _finish(self) -> None:
        sheet = self._worksheet
        widths = {
            column: self._set_widths.get(column, min(max(width + 2, _NARROWEST), _WIDEST))
            for column, width in sorted(self._widths.items())
        }
        widest = max(widths.values(), default=0.0)
        while widest > _LEAST_WORDS and sum(min(wide, widest) for wide in widths.values()) > self._room:
            widest -= 0.5
        widths = {column: min(wide, widest) for column, wide in widths.items()}
        for column, wide in widths.items():
            sheet.set_column_pixels(column - 1, column - 1, round(wide * _PIXELS_PER_SIGN))
        last, across = max(widths, default=0), sum(widths.values())
        # Programs fit a row's height to its text when it is typed, not all of them when a file is opened.
        heights = dict.fromkeys(self._rows, 1) if self._book._read else {}
        for row, column, text, breadth in self._wrapped:
            room = sum(widths[column + place] for place in range(self._spans.get((row, column), 1)))
            heights[row] = max(heights.get(row, 1), lines(text, (room - _INSIDE) / breadth))
        for row, count in heights.items():
            if (count > 1 or self._book._read) and row not in self._tall:
                sheet.set_row(row - 1, min(_LINE_HEIGHT * count, _TALLEST_ROW))
        for row, points in self._tall.items():
            sheet.set_row(row - 1, points)
        if self._breaks:
            sheet.set_h_pagebreaks(self._breaks)
            sheet.set_print_scale(100)  # sheets that programs fit to a width are broken where those like
        if self._printed_rows:
            first_row, last_row = self._printed_rows
            sheet.print_area(first_row - 1, 0, last_row - 1, last - 1)
        while across < _NOTE_WIDTH:
            last, across = last + 1, across + _USUAL_WIDTH
        for row, text in self._notes.items():
            shown = self._book._format(Look.NOTE, _quoting(text))
            if last > 1:
                sheet.merge_range(row - 1, 0, row - 1, last - 1, "", shown)
            sheet.write_string(row - 1, 0, text, shown)
            sheet.set_row(row - 1, _LINE_HEIGHT * lines(text, (across - _INSIDE) / _SMALL))
        if len(self._heading_rows) == 1:
            row = self._heading_rows[0]
            sheet.repeat_rows(row - 1)
            sheet.freeze_panes(row, self._frozen_columns)


def _quoting(text: str) -> str:
    """The change of look of a text that might be taken for something else."""
    return "" if not text or text[0].isalpha() else "quoted"


def _is_figure(content: Content) -> bool:
    value = content.content if isinstance(content, Styled) else content
    value = value.value if isinstance(value, Formula) else value
    return isinstance(value, Real) and not isinstance(value, bool)


def _cell_value(value: Any) -> Value:
    """A number of Python's own kind; raises ValueError for one that no cell can hold."""
    if isinstance(value, bool | str):
        return value
    if type(value) is float and math.isfinite(value):
        return value + 0.0  # no -0.0
    if isinstance(value, Integral):
        return int(value)
    if isinstance(value, Real) and math.isfinite(value):
        return float(value) + 0.0
    raise ValueError(f"no cell can hold {value!r}")


def _printed(text: str) -> str:
    """Text for a page's header or footer, where & begins a code and a line can hold 255 characters in all."""
    return " ".join(legal(text).split())[:90].replace("&", "&&")
