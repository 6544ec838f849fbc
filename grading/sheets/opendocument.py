"""An OpenDocument spreadsheet's sheets out of its archive (.ods): its elements are those of ISO/IEC 26300.

They are named with the prefixes of that standard, as all that write it do.
"""

from __future__ import annotations

import re
import zipfile
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import ROUND_HALF_UP, Decimal

from grading.codes import Code
from grading.findings import StoppedError
from grading.sheets.grids import CellValue, Grid
from grading.sheets.number_formats import Shown
from grading.sheets.parts import MOST_SHEETS, BrokenError, Parts, Walker, hide, merge, see_room
from grading.sheets.refusals import MOST_COLUMNS, MOST_ROWS, PASSWORD_PROTECTED, TOO_MANY_CELLS, not_a_workbook

__all__ = ["opendocument_grids"]

#: What a spreadsheet says it is, in the part that comes first.
_KIND = b"application/vnd.oasis.opendocument.spreadsheet"
_LONGEST_MANIFEST = 1_000_000
#: What holds texts or cells that are none of the sheet's own: remarks, drawings, what was there before a change.
_ASIDE = frozenset(
    {"annotation", "table:shapes", "table:tracked-changes", "table:dde-links", "table:named-expressions"}
)
_CELLS = ("table:table-cell", "table:covered-table-cell")
_HIDDEN = ("collapse", "filter")
#: What a cell shows where its formula ends in an error.
_ERROR = re.compile(r"#[A-Z/0!?]+|Err:[0-9]+")
_SHOWN = re.compile(
    r"(?P<before>[^0-9.,]*?)(?P<sign>[-−]?)(?P<noughts>(?:0(?=[0-9]))*)(?P<digits>[0-9][0-9.,]*|[.,][0-9]+)(?P<after>[^0-9]*)"
)
#: A figure of more digits than this is none of a hand's, and is not compared with what is shown.
_MOST_DIGITS = 20
_FRACTION = re.compile(r"-?(?:([0-9]{1,9}) )?([0-9]{1,9})/([0-9]{1,9})")
_DURATION = re.compile(r"(?P<sign>-?)PT(?:(?P<h>[0-9]+)H)?(?:(?P<m>[0-9]+)M)?(?:(?P<s>[0-9.]+)S)?")


def opendocument_grids(archive: zipfile.ZipFile, workbook: str) -> tuple[Grid, ...]:
    """The sheets, in their order. Raises StoppedError for too much, anything for what is broken."""
    if _beginning(archive, "mimetype", 200).strip() not in (_KIND, _KIND + b"-template"):
        raise StoppedError(not_a_workbook("an OpenDocument file, and no spreadsheet"))
    if b"encryption-data" in _beginning(archive, "META-INF/manifest.xml", _LONGEST_MANIFEST):
        raise StoppedError(PASSWORD_PROTECTED)
    parts = Parts(archive)
    content = _Content(workbook, parts)
    parts.walk("content.xml", content)
    if not content.sheets:
        raise StoppedError(not_a_workbook("a workbook without sheets"))
    return tuple(content.sheets)


def _beginning(archive: zipfile.ZipFile, part: str, most: int) -> bytes:
    if part not in archive.NameToInfo:
        return b""
    with archive.open(part) as stream:
        return stream.read(most)


@dataclass(eq=False)
class _Content(Walker):
    """The tables of the document. Repeated rows and cells are written out, where they hold anything."""

    workbook: str
    parts: Parts
    sheets: list[Grid] = field(default_factory=list)
    style: str = ""
    hidden_styles: set[str] = field(default_factory=set)
    aside: list[str] = field(default_factory=list)
    within: int = 0
    row: int = 0
    column: int = 0
    rows_alike: int = 1
    cell: Mapping[str, str] | None = None
    words: list[str] = field(default_factory=list)
    filled: list[tuple[int, int, Mapping[str, str], str]] = field(default_factory=list)

    def start(self, tag: str, has: Mapping[str, str]) -> None:
        if self.aside or tag in _ASIDE:
            self.aside.append(tag)
            return
        match tag:
            case "style:style":
                self.style = has.get("style:name", "") if has.get("style:family") == "table" else ""
            case "style:table-properties":
                if self.style and has.get("table:display") == "false":
                    self.hidden_styles.add(self.style)
            case "table:table":
                self._begin_sheet(has)
            case "table:table-column":
                self._columns(has)
            case "table:table-row":
                self.row += self.rows_alike if self.row else 1
                self.column, self.rows_alike = 0, _times(has, "table:number-rows-repeated")
                if has.get("table:visibility") in _HIDDEN:
                    hide(self.sheets[-1].hidden_rows, self.row, self.row + self.rows_alike - 1, MOST_ROWS)
            case "table:table-cell" | "table:covered-table-cell":
                self.cell, self.words = has, []
            case "text:p" | "text:h":
                if self.cell is not None:
                    self.words += [" "] if self.words else []
                    self.begin_text()
            case "text:s" | "text:tab" | "text:line-break":
                if self.texts is not None:
                    self.texts.append(" ")

    def end(self, tag: str) -> None:
        if self.aside:
            self.aside.pop()
            return
        if tag in ("text:p", "text:h") and self.texts is not None:
            self.words.append(self.taken_text())
        elif tag in _CELLS and self.cell is not None:
            self._end_cell(self.cell, "".join(self.words))
            self.cell = None
        elif tag == "table:table-row":
            self._end_row()
        elif tag == "table:table":
            self.within -= 1

    def _begin_sheet(self, has: Mapping[str, str]) -> None:
        self.within += 1
        if self.within > 1:
            raise BrokenError("a table within a table")
        if len(self.sheets) == MOST_SHEETS:
            raise StoppedError(TOO_MANY_CELLS)
        hidden = has.get("table:style-name") in self.hidden_styles
        self.sheets.append(Grid(self.workbook, has.get("table:name", f"Sheet{len(self.sheets) + 1}"), hidden=hidden))
        self.row, self.column, self.rows_alike = 0, 0, 1

    def _columns(self, has: Mapping[str, str]) -> None:
        """Count columns, which are declared before the first row, and take note of hidden ones."""
        first, self.column = self.column + 1, self.column + _times(has, "table:number-columns-repeated")
        if has.get("table:visibility") in _HIDDEN:
            hide(self.sheets[-1].hidden_columns, first, self.column, MOST_COLUMNS)

    def _end_cell(self, has: Mapping[str, str], text: str) -> None:
        """Keep the cell until its row has ended, and the range that it is merged over."""
        first, times = self.column + 1, _times(has, "table:number-columns-repeated")
        self.column += times
        across, down = _times(has, "table:number-columns-spanned"), _times(has, "table:number-rows-spanned")
        sheet = self.sheets[-1]
        if across > 1 or down > 1:
            merge(sheet, first, self.row, first + across - 1, self.row + down - 1)
        if "office:value-type" in has or "table:formula" in has or text.strip():
            see_room(sheet, 1, self.column)
            self.filled.append((first, times, has, text))

    def _end_row(self) -> None:
        sheet, filled, self.filled = self.sheets[-1], self.filled, []
        if filled:
            see_room(sheet, self.row + self.rows_alike - 1, 1)
        for first, times, has, text in filled:
            value, shown, fault = _cell_held(has, text)
            for row in range(self.row, self.row + self.rows_alike):
                for column in range(first, first + times):
                    self.parts.count(value)
                    if fault:
                        sheet.faults[row, column] = fault
                    if value is not None:
                        sheet.cells[row, column] = value
                    if shown is not None:
                        sheet.shown[row, column] = shown


def _times(has: Mapping[str, str], name: str) -> int:
    return max(int(has.get(name, 1)), 1)


def _cell_held(has: Mapping[str, str], text: str) -> tuple[CellValue, Shown | None, Code | None]:
    """What a cell holds, what it shows if that is something else, and the code of its fault, if it has one."""
    kind = has.get("office:value-type", "")
    if "table:formula" in has and not kind and not text:
        return None, None, Code.FORMULA_WITHOUT_VALUE
    if has.get("calcext:value-type") == "error" or ("table:formula" in has and _ERROR.fullmatch(text)):
        return text or "#VALUE!", None, Code.FORMULA_ERROR
    match kind:
        case "float" | "currency":
            saved = has["office:value"]
            number = float(saved) if any(sign in saved for sign in ".eE") else int(saved)
            return number, shown_in(number, text), None
        case "percentage":
            return f"{Decimal(repr(float(has['office:value']))) * 100:f} %", None, None
        case "boolean":
            return has["office:boolean-value"] == "true", None, None
        case "date":
            return datetime.fromisoformat(has["office:date-value"]), None, None
        case "time":
            return _time(has["office:time-value"]), None, None
    words = has.get("office:string-value", text)
    return (words if words.strip() else None), None, None


def _time(said: str) -> CellValue:
    match = _DURATION.fullmatch(said)
    if match is None:
        raise BrokenError("a time")
    after = timedelta(hours=int(match["h"] or 0), minutes=int(match["m"] or 0), seconds=float(match["s"] or 0))
    return (datetime.min + after).time() if after < timedelta(days=1) and not match["sign"] else after


def shown_in(value: int | float, text: str) -> Shown | None:
    """What a cell's text shows of its figure; None where it is that figure, and not rounded.

    >>> shown_in(18.8, "18,8"), str(shown_in(18.8, "18,8 cm")), shown_in(1880, "1.880"), shown_in(7.26, "7 1/4")
    (None, '18.8 cm', None, None)
    >>> str(shown_in(18.84, "18.8")), str(shown_in(3, "W03")), str(shown_in(0.07, "7 %"))
    ('18.8', 'W03', '7 %')
    """
    text = " ".join(text.split())
    exact = Decimal(repr(value))
    if fraction := _FRACTION.fullmatch(text):
        whole, over, under = (int(part or 0) for part in fraction.groups())
        if under and abs(abs(value) - whole - over / under) <= 1 / under:
            return None
    match = _SHOWN.fullmatch(text)
    if match is None:
        return Shown(text, None, "", 0)
    figures = re.split("[.,]", match["digits"])
    if abs(exact.adjusted()) > _MOST_DIGITS or len(match["digits"]) > _MOST_DIGITS:
        return None
    digits = Decimal("".join(figures) or 0)
    below = "-" if match["sign"] or (match["before"].endswith("(") and match["after"].startswith(")")) else ""
    for shift in (0, 2, -3):
        for places in {len(figures[-1]) if len(figures) > 1 else 0, 0}:  # decimals stand behind the sign, or thousands
            figure = abs(exact).scaleb(shift)
            if figure.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP) == digits.scaleb(-places):
                before, after = match["before"] + match["noughts"], match["after"]
                if below and not match["sign"]:
                    before, after = before[:-1], after[1:]
                shown = Shown(before, -figure if below else figure, after, places)
                plain = not before and not after and shown.figure == exact == shown.rounded
                return None if plain else shown
    return Shown(text, None, "", 0)
