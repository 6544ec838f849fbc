"""A workbook's sheets out of its archive (.xlsx): the parts and their elements are those of ISO/IEC 29500-1.

They are named with the prefix that the root of a part has.
"""

from __future__ import annotations

import posixpath
import re
import zipfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, time, timedelta
from functools import lru_cache

from grading.codes import Code
from grading.findings import StoppedError, column_number
from grading.sheets.grids import CellValue, Grid
from grading.sheets.number_formats import BUILT_IN, is_date, is_duration, shown_as
from grading.sheets.parts import MOST_SHEETS, BrokenError, Parts, Walker, hide, merge, see_room
from grading.sheets.refusals import MOST_COLUMNS, MOST_ROWS, TOO_MANY_CELLS, not_a_workbook

__all__ = ["workbook_grids"]

#: The longest format code (ISO/IEC 29500-1, 18.8.30); a longer one is taken for none.
_LONGEST_FORMAT = 255

_REFERENCE = re.compile(r"([A-Za-z]{1,3})([0-9]{1,7})")
_DAY_0, _DAY_0_FROM_1904 = datetime(1899, 12, 30), datetime(1904, 1, 1)


def workbook_grids(archive: zipfile.ZipFile, workbook: str) -> tuple[Grid, ...]:
    """The sheets of cells, in their order. Raises StoppedError for too much, anything for what is broken."""
    parts = Parts(archive)
    root = _relations(parts, "")
    main = next((target for kind, target in root.values() if kind == "officeDocument"), "xl/workbook.xml")
    book, related = _SheetList(), _relations(parts, main)
    parts.walk(main, book)
    if not book.sheets:
        raise StoppedError(not_a_workbook("a workbook without sheets" if book.root == "workbook" else "no workbook"))
    if len(book.sheets) > MOST_SHEETS:
        raise StoppedError(TOO_MANY_CELLS)
    styles, strings = _Styles(), _Strings()
    for kind, target in related.values():
        if kind == "styles":
            parts.walk(target, styles)
        elif kind == "sharedStrings":
            parts.walk(target, strings)
    grids = []
    for name, shown, key in book.sheets:
        kind, target = related[key]
        if kind == "worksheet":
            grids.append(Grid(workbook, name, hidden=not shown))
            parts.walk(target, _Cells(grids[-1], parts, strings.shared, styles.formats(), book.day_0))
    if not grids:
        raise StoppedError(not_a_workbook("a workbook without sheets"))
    return tuple(grids)


def _relations(parts: Parts, part: str) -> dict[str, tuple[str, str]]:
    """What a part refers to: the kind and the path of each other part, by its key."""
    folder, name = posixpath.split(part)
    relations = _Relations()
    path = posixpath.join(folder, "_rels", f"{name}.rels")
    if path in parts.archive.NameToInfo:
        parts.walk(path, relations)
    return {
        key: (kind, posixpath.normpath(posixpath.join("/", folder, target)).lstrip("/"))
        for key, (kind, target) in relations.related.items()
    }


@dataclass(eq=False)
class _Relations(Walker):
    """The references of a part: the kind and the path of each other part, by its key."""

    related: dict[str, tuple[str, str]] = field(default_factory=dict)

    def start(self, tag: str, has: Mapping[str, str]) -> None:
        if tag == "Relationship" and has.get("TargetMode") != "External":
            self.related[has["Id"]] = (has["Type"].rpartition("/")[2], has["Target"])


@dataclass(eq=False)
class _SheetList(Walker):
    """The sheets' names, whether each is shown, and the keys of their parts."""

    root: str = ""
    day_0: datetime = _DAY_0
    sheets: list[tuple[str, bool, str]] = field(default_factory=list)

    def start(self, tag: str, has: Mapping[str, str]) -> None:
        self.root = self.root or tag
        if tag == "workbookPr" and has.get("date1904") in ("1", "true"):
            self.day_0 = _DAY_0_FROM_1904
        elif tag == "sheet" and self.root == "workbook":
            key = next(has[name] for name in has if name.rpartition(":")[2] == "id")
            self.sheets.append((has["name"], has.get("state", "visible") == "visible", key))


@dataclass(eq=False)
class _Styles(Walker):
    """The number format of each style of cells."""

    room: str = ""
    own: dict[str, str] = field(default_factory=dict)
    used: list[str] = field(default_factory=list)

    def start(self, tag: str, has: Mapping[str, str]) -> None:
        if tag in ("numFmts", "cellXfs"):
            self.room = tag
        elif tag == "numFmt" and self.room == "numFmts":
            self.own[has["numFmtId"]] = has["formatCode"]
        elif tag == "xf" and self.room == "cellXfs":
            self.used.append(has.get("numFmtId", "0"))

    def end(self, tag: str) -> None:
        if tag == self.room:
            self.room = ""

    def formats(self) -> tuple[str, ...]:
        codes = (self.own.get(key) or BUILT_IN.get(key, "General") for key in self.used)
        return tuple(code if len(code) <= _LONGEST_FORMAT else "General" for code in codes)


@dataclass(eq=False)
class _Worded(Walker):
    """Gathers the words of a text from its runs, without those that say how it is read aloud."""

    words: list[str] = field(default_factory=list, init=False)
    aloud: bool = field(default=False, init=False)

    def start(self, tag: str, has: Mapping[str, str]) -> None:
        if tag == "rPh":
            self.aloud = True
        elif tag == "t" and not self.aloud:
            self.begin_text()

    def end(self, tag: str) -> None:
        if tag == "rPh":
            self.aloud = False
        elif tag == "t" and not self.aloud:
            self.words.append(self.taken_text())


@dataclass(eq=False)
class _Strings(_Worded):
    """The texts that cells name by their numbers."""

    shared: list[str] = field(default_factory=list)

    def start(self, tag: str, has: Mapping[str, str]) -> None:
        if tag == "si":
            self.words = []
        super().start(tag, has)

    def end(self, tag: str) -> None:
        super().end(tag)
        if tag == "si":
            self.shared.append("".join(self.words).replace("x005F_", ""))


@dataclass(eq=False)
class _Cells(_Worded):
    """The cells of a sheet, gathered one by one."""

    grid: Grid
    parts: Parts
    shared: Sequence[str]
    formats: Sequence[str]
    day_0: datetime
    row: int = 0
    column: int = 0
    cell: Mapping[str, str] | None = None
    saved: str = ""
    formula: bool = False
    inline: bool = False

    def start(self, tag: str, has: Mapping[str, str]) -> None:
        if self.cell is not None:
            if tag == "v":
                self.begin_text()
            elif tag == "f":
                self.formula = True
            elif tag == "is":
                self.inline, self.words = True, []
            elif self.inline:
                super().start(tag, has)
        elif tag == "c":
            self.cell, self.saved, self.formula, self.inline = has, "", False, False
            self.column = _place(has["r"])[1] if "r" in has else self.column + 1
        elif tag == "row":
            self.row, self.column = int(float(has["r"])) if "r" in has else self.row + 1, 0
            if has.get("hidden") in ("1", "true") or _is_nothing(has.get("ht")):
                hide(self.grid.hidden_rows, self.row, self.row, MOST_ROWS)
        elif tag == "col":
            if has.get("hidden") in ("1", "true") or _is_nothing(has.get("width")):
                hide(self.grid.hidden_columns, int(has.get("min", 1)), int(has.get("max", 1)), MOST_COLUMNS)
        elif tag == "mergeCell":
            first_cell, _, last_cell = has["ref"].partition(":")
            (top, left), (bottom, right) = _place(first_cell), _place(last_cell or first_cell)
            merge(self.grid, left, top, right, bottom)

    def end(self, tag: str) -> None:
        if self.cell is None:
            return
        if tag == "v":
            self.saved = self.taken_text()
        elif tag == "c":
            self._take(self.cell)
            self.cell = None
        elif self.inline:
            super().end(tag)

    def _take(self, cell: Mapping[str, str]) -> None:
        """Keep what the cell holds, if anything."""
        kind, at = cell.get("t", "n"), (self.row, self.column)
        if not (self.saved or self.inline or self.formula):
            return
        see_room(self.grid, *at)
        # A formula that gave empty text is saved as such: as text, with nothing in it.
        if self.formula and not self.saved and not self.inline and kind != "str":
            self.grid.faults[at] = Code.FORMULA_WITHOUT_VALUE
        number_format = self._format(cell.get("s"))
        value = self._value(kind, number_format)
        if kind == "e":
            self.grid.faults[at] = Code.FORMULA_ERROR
        self.parts.count(value)
        if value is None or (isinstance(value, str) and not value.strip()):
            return
        self.grid.cells[at] = value
        if isinstance(value, (int, float)) and not isinstance(value, bool):
            other = shown_as(value, number_format)
            if other is not None and other.after.strip() == "%" and not other.before.strip():
                self.grid.cells[at] = other.typed
            elif other is not None:
                self.grid.shown[at] = other

    def _format(self, style: str | None) -> str:
        number = int(style or 0)
        return self.formats[number] if 0 <= number < len(self.formats) else "General"

    def _value(self, kind: str, number_format: str) -> CellValue:
        """What the cell holds, by its kind (ISO/IEC 29500-1, 18.18.11)."""
        if kind == "inlineStr":
            return "".join(self.words) if self.inline else None
        if not self.saved:
            return None
        match kind:
            case "n":
                value = float(self.saved) if any(sign in self.saved for sign in ".eE") else int(self.saved)
                return self._moment(value, number_format) if is_date(number_format) else value
            case "s":
                if not self.saved.strip().isdecimal():
                    raise BrokenError("a text's number")
                return self.shared[int(self.saved)]
            case "b":
                return bool(int(self.saved))
            case "d":
                # A date or a time of day as ISO 8601 writes it.
                return datetime.fromisoformat(self.saved) if "-" in self.saved else time.fromisoformat(self.saved)
            case _:
                return self.saved

    def _moment(self, value: float, number_format: str) -> CellValue:
        """The date, time of day or duration that a count of days is shown as (ISO/IEC 29500-1, 18.17.4.1)."""
        try:
            after = timedelta(milliseconds=round(timedelta(days=value) / timedelta(milliseconds=1)))
            if is_duration(number_format):
                return after
            if timedelta() <= after < timedelta(days=1):
                return (_DAY_0 + after).time()
            # The system of 1900 counts a 29 February that there was not.
            missed = timedelta(days=self.day_0 == _DAY_0 and timedelta() < after < timedelta(days=60))
            return self.day_0 + after + missed
        except (OverflowError, ValueError):
            self.grid.faults[self.row, self.column] = Code.FORMULA_ERROR
            return "#VALUE!"


@lru_cache(maxsize=10_000)
def _place(reference: str) -> tuple[int, int]:
    """The row and the column of a cell that is named as D5."""
    match = _REFERENCE.fullmatch(reference.replace("$", ""))
    if match is None:
        raise BrokenError("a cell's name")
    return int(match[2]), column_number(match[1])


def _is_nothing(extent: str | None) -> bool:
    """Whether a row's height or a column's width is given as nothing at all."""
    return extent is not None and float(extent) == 0
