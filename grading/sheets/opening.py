"""Opens a workbook or a CSV file from anybody, safely and read-only, as plain grids of saved cell values.

A file is read once, and what is hashed is what is read. Sizes are checked before anything is unpacked, XML is
read by defusedxml, macros, links and pictures are never touched, and whatever is wrong becomes a finding.
"""

from __future__ import annotations

import csv
import hashlib
import io
import warnings
import zipfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, time, timedelta
from pathlib import Path
from typing import IO, Any

from defusedxml.ElementTree import iterparse
from openpyxl import load_workbook
from openpyxl.utils import coordinate_to_tuple, get_column_letter, range_boundaries

from grading.findings import Finding, Place, Severity
from grading.model.names import name_key
from grading.sheets.number_formats import Shown, shown_as

__all__ = ["CellValue", "Grid", "Opened", "address", "open_tables"]

#: What a cell may hold; a blank one is None.
CellValue = str | int | float | bool | date | time | timedelta | None

#: What a hand's tables stay far below; anything over is refused before it can fill the memory.
MAX_FILE_BYTES, MAX_UNPACKED_BYTES, MAX_PARTS = 50_000_000, 60_000_000, 2_000
MAX_ROWS, MAX_COLUMNS = 5_000, 200
#: XML tags in all, the reader's work: a filled cell has four, a blank but formatted row or cell one.
MAX_TAGS, MAX_MERGES = 1_000_000, 1_000

_SAVE_AS = "Open it in your spreadsheet program and save it as a workbook (.xlsx)."
_CSV_NAMES = (".csv", ".tsv", ".txt")
_DELIMITERS = ";\t,"
_OTHER_ARCHIVES = {
    "xl/workbook.bin": "a binary workbook (.xlsb)",
    "content.xml": "an OpenDocument file (.ods)",
    "word/document.xml": "a text document (.docx)",
    "Index/Document.iwa": "a spreadsheet in a format of its own (.numbers)",
}


@dataclass(frozen=True, slots=True)
class Grid:
    """One sheet's cells, by (row, column) counted from 1 as in the spreadsheet; blank ones are left out.

    ``faults`` gives the code of each cell that has no value to trust: 'formula-without-value' where a formula was
    never calculated and saved, 'formula-error' where it shows one (#REF!). ``merges`` are the merged cells' bounds:
    first column and row, last column and row. ``shown`` has what a cell shows where that is other than the figure in
    it; a percentage is its text, 6 % and not 0.06. ``widths`` are how many cells each line of a CSV file has.
    """

    workbook: str
    sheet: str
    cells: Mapping[tuple[int, int], CellValue]
    hidden: bool = False
    hidden_rows: frozenset[int] = frozenset()
    faults: Mapping[tuple[int, int], str] = field(default_factory=dict)
    merges: tuple[tuple[int, int, int, int], ...] = ()
    hidden_columns: frozenset[int] = frozenset()
    shown: Mapping[tuple[int, int], Shown] = field(default_factory=dict)
    widths: Mapping[int, int] = field(default_factory=dict)

    @property
    def rows(self) -> int:
        """The last row that holds anything."""
        return max((row for row, _ in (*self.cells, *self.faults)), default=0)

    @property
    def columns(self) -> int:
        """The last column that holds anything."""
        return max((column for _, column in (*self.cells, *self.faults)), default=0)

    def value(self, row: int, column: int) -> CellValue:
        """What the cell holds, None if it is blank."""
        return self.cells.get((row, column))

    def merge_over(self, row: int, column: int) -> str:
        """The merged range that leaves this cell without a value of its own, or nothing."""
        for left, top, right, bottom in self.merges:
            if top <= row <= bottom and left <= column <= right and (row, column) != (top, left):
                return f"{address(top, left)}:{address(bottom, right)}"
        return ""

    def place(self, row: int = 0, column: int = 0) -> Place:
        """Where a cell is, or the sheet if no cell is given."""
        return Place(self.workbook, self.sheet, address(row, column) if row else "")


@dataclass(frozen=True, slots=True)
class Opened:
    """A file as read: its sheets, in their order, and the SHA-256 of its bytes; neither if it cannot be read."""

    path: Path
    digest: str = ""
    grids: tuple[Grid, ...] = ()

    def grid(self, sheet: str) -> Grid | None:
        """The sheet of that name, whatever its case and spaces, or None."""
        return next((grid for grid in self.grids if name_key(grid.sheet) == name_key(sheet)), None)


class _RefusedError(Exception):
    """Why a file or a sheet is not read, as a finding's code and three sentences."""

    def __init__(self, code: str, found: str, expected: str, action: str, sheet: str = "") -> None:
        super().__init__(found)
        self.code, self.found, self.expected, self.action, self.sheet = code, found, expected, action, sheet

    def finding(self, workbook: str) -> Finding:
        place = Place(workbook, self.sheet)
        return Finding(self.code, Severity.ERROR, place, self.found, self.expected, self.action)


def address(row: int, column: int) -> str:
    """A cell as a spreadsheet names it.

    >>> address(5, 4)
    'D5'
    """
    return f"{get_column_letter(column)}{row}"


def open_tables(path: Path) -> tuple[Opened, list[Finding]]:
    """Every sheet of a workbook (.xlsx, .xlsm), or the one table of a CSV file, as saved.

    Never raises for what a file holds: a file that cannot be read gives no grids and one error.
    """
    path, digest = Path(path), ""
    try:
        data = _bytes(path)
        digest = hashlib.sha256(data).hexdigest()
        return Opened(path, digest, _grids(data, path)), list(_open_elsewhere(path))
    except _RefusedError as refused:
        return Opened(path, digest), [refused.finding(path.name)]


def _open_elsewhere(path: Path) -> Iterator[Finding]:
    """A note where a spreadsheet program's lock file says that somebody is at work on the file."""
    locks = (path.with_name(f"~${path.name}"), path.with_name(f".~lock.{path.name}#"))
    if any(lock.exists() for lock in locks):
        yield Finding(
            "open-elsewhere",
            Severity.NOTE,
            Place(path.name),
            "The file seems to be open in a spreadsheet program.",
            "Only what has been saved is read.",
            "Save it there and run again if you have changed anything.",
        )


def _bytes(path: Path) -> bytes:
    try:
        if not path.exists():
            raise _RefusedError("file-missing", f"There is no file {path}.", "", "Check the name and the folder.")
        if not path.is_file():
            raise _RefusedError("not-a-file", f"{path} is no file.", "", "Name a workbook or a CSV file.")
        if path.stat().st_size > MAX_FILE_BYTES:
            raise _RefusedError(
                "file-too-large",
                f"The file has over {MAX_FILE_BYTES // 1_000_000} MB.",
                "Tables of a size run fill a small part of one.",
                "Take out pictures and everything that is not a table.",
            )
        return path.read_bytes()
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise _RefusedError(
            "file-unreadable", f"The file cannot be opened ({reason}).", "", "Check the file and its permissions."
        ) from error


def _grids(data: bytes, path: Path) -> tuple[Grid, ...]:
    """The grids of a file, told by its content rather than by its name."""
    if data.startswith(b"PK\x03\x04"):
        return _workbook_grids(data, path.name)
    if data.startswith(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"):
        if "EncryptedPackage".encode("utf-16-le") in data:
            raise _password_protected()
        raise _not_a_workbook("a workbook of an old kind (.xls) or another office file")
    if data.startswith(b"%PDF"):
        raise _not_a_workbook("a PDF")
    if path.suffix.casefold() not in _CSV_NAMES:
        kind = "empty" if not data.strip() else "neither a workbook nor named as a CSV file"
        raise _not_a_workbook(kind)
    return (_csv_grid(data, path),)


def _not_a_workbook(kind: str) -> _RefusedError:
    return _RefusedError("not-a-workbook", f"The file is {kind}.", "A workbook (.xlsx) or CSV is read.", _SAVE_AS)


def _password_protected() -> _RefusedError:
    return _RefusedError(
        "password-protected",
        "The workbook is protected by a password.",
        "It can be read without one only.",
        "Open it in your spreadsheet program and save a copy without a password.",
    )


# Workbooks


def _workbook_grids(data: bytes, name: str) -> tuple[Grid, ...]:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive, warnings.catch_warnings():
            # openpyxl warns of what it leaves out (drop-down lists of newer programs, say): nothing read here.
            warnings.simplefilter("ignore")
            _check_archive(archive)
            book = load_workbook(io.BytesIO(data), read_only=True, data_only=True, keep_links=False)
            if not book.worksheets:
                raise _not_a_workbook("a workbook without sheets")
            return tuple(_sheet_grid(archive, sheet, name) for sheet in book.worksheets)
    except _RefusedError:
        raise
    except Exception as error:  # a broken file makes zipfile, the XML parser and openpyxl raise nearly anything
        raise _RefusedError(
            "workbook-broken",
            f"The workbook cannot be read ({type(error).__name__}); it is damaged or was not fully saved or copied.",
            "",
            _SAVE_AS,
        ) from error


def _check_archive(archive: zipfile.ZipFile) -> None:
    """Refuses what is no workbook, or too much of one, before anything in it is understood."""
    parts = archive.infolist()
    names = {part.filename for part in parts}
    if any(part.flag_bits & 1 for part in parts):
        raise _password_protected()
    # zipfile stops at a part's declared size and checks its sum, so a part that lies about its size is broken.
    if len(parts) > MAX_PARTS or sum(part.file_size for part in parts) > MAX_UNPACKED_BYTES:
        raise _RefusedError(
            "unpacks-too-large",
            f"The workbook unpacks to over {MAX_UNPACKED_BYTES // 1_000_000} MB or {MAX_PARTS} parts.",
            "Tables of a size run fill a small part of that.",
            "Copy the tables, without pictures, into a new workbook.",
        )
    for part, kind in _OTHER_ARCHIVES.items():
        if part in names:
            raise _not_a_workbook(kind)
    if "[Content_Types].xml" not in names:
        raise _not_a_workbook("a zip archive, and no workbook")
    # openpyxl walks whole sheets while it opens a workbook, so their number of tags is bounded before it does.
    if sum(archive.read(part).count(b"<") for part in parts) > MAX_TAGS:
        raise _RefusedError(
            "too-many-cells",
            "The workbook holds far more cells than tables need, perhaps blank ones that were formatted.",
            f"Up to {MAX_ROWS} rows are read of a sheet.",
            "Delete the rows and columns outside the tables, or copy the tables into a new workbook.",
        )


def _sheet_grid(archive: zipfile.ZipFile, sheet: Any, workbook: str) -> Grid:
    # openpyxl's streaming sheets keep their part's name to themselves; finding it anew would be a second reader.
    with archive.open(sheet._worksheet_path) as part:
        survey = _survey(part, sheet.title)
    cells: dict[tuple[int, int], CellValue] = {}
    shown: dict[tuple[int, int], Shown] = {}
    faults = dict.fromkeys(survey.unsaved, "formula-without-value")
    sheet.reset_dimensions()
    used = sheet.iter_rows(max_row=survey.rows, max_col=survey.columns) if survey.rows else ()
    for row, across in enumerate(used, start=1):
        for column, cell in enumerate(across, start=1):
            if cell.value is not None and str(cell.value).strip():
                cells[row, column] = cell.value
                if isinstance(cell.value, (int, float)) and not isinstance(cell.value, bool):
                    other = shown_as(cell.value, cell.number_format)
                    if other is not None and other.after.strip() == "%" and not other.before.strip():
                        cells[row, column] = other.typed
                    elif other is not None:
                        shown[row, column] = other
            if cell.data_type == "e":
                faults[row, column] = "formula-error"
    hidden = sheet.sheet_state != "visible"
    rows = survey.hidden_rows
    return Grid(workbook, sheet.title, cells, hidden, rows, faults, survey.merges, survey.hidden_columns, shown)


@dataclass(frozen=True, slots=True)
class _Survey:
    """What openpyxl's streaming reader does not tell of a sheet."""

    rows: int
    columns: int
    hidden_rows: frozenset[int]
    hidden_columns: frozenset[int]
    unsaved: frozenset[tuple[int, int]]
    merges: tuple[tuple[int, int, int, int], ...]


def _survey(part: IO[bytes], sheet: str) -> _Survey:
    """Walks a sheet's XML once, and gives up as soon as it holds too much."""
    row = rows = columns = 0
    hidden_rows: set[int] = set()
    hidden_columns: set[int] = set()
    unsaved: set[tuple[int, int]] = set()
    merges: list[tuple[int, int, int, int]] = []
    for _, element in iterparse(part, forbid_dtd=True):
        tag = element.tag.rpartition("}")[2]
        if tag == "sheetData" and "purl.oclc.org" in element.tag:
            raise _not_a_workbook("a workbook saved as 'Strict Open XML'")
        if tag == "mergeCell":
            merges.append(range_boundaries(element.get("ref", "")))
        elif tag == "col":
            if element.get("hidden") in ("1", "true") or _is_nothing(element.get("width")):
                first, last = int(element.get("min", 1)), int(element.get("max", 1))
                hidden_columns.update(range(first, min(last, MAX_COLUMNS) + 1))
        elif tag == "row":
            row = int(element.get("r", row + 1))
            if element.get("hidden") in ("1", "true") or _is_nothing(element.get("ht")):
                hidden_rows.add(row)
            for column, saved in _filled_cells(element):
                rows, columns = max(rows, row), max(columns, column)
                if not saved:
                    unsaved.add((row, column))
            element.clear()
        if rows > MAX_ROWS or columns > MAX_COLUMNS or len(merges) > MAX_MERGES:
            raise _too_large(sheet)
    return _Survey(rows, columns, frozenset(hidden_rows), frozenset(hidden_columns), frozenset(unsaved), tuple(merges))


def _is_nothing(extent: str | None) -> bool:
    """Whether a row's height or a column's width is given as nothing at all."""
    return extent is not None and float(extent) == 0


def _filled_cells(row: Any) -> Iterator[tuple[int, bool]]:
    """The column of each cell of a row that holds anything, and whether that is more than a formula."""
    column = 0
    for cell in row:
        reference = cell.get("r")
        column = coordinate_to_tuple(reference)[1] if reference else column + 1
        found = {child.tag.rpartition("}")[2]: child for child in cell}
        saved = bool(found["v"].text) if "v" in found else "is" in found
        if saved or "f" in found:
            # A formula that gave empty text is saved as such: as text, with nothing in it.
            yield column, saved or cell.get("t") == "str"


def _too_large(sheet: str) -> _RefusedError:
    return _RefusedError(
        "sheet-too-large",
        f"The sheet is used beyond row {MAX_ROWS} or column {get_column_letter(MAX_COLUMNS)}, or merged all over.",
        "Tables of a size run fill a small part of that.",
        "Clear what stands outside the table, or copy the table into a new workbook.",
        sheet,
    )


# CSV


def _csv_grid(data: bytes, path: Path) -> Grid:
    text = _decoded(data)
    cells: dict[tuple[int, int], CellValue] = {}
    widths: dict[int, int] = {}
    row = 0
    try:
        lines = csv.reader(io.StringIO(text, newline=""), delimiter=_delimiter(text), strict=True)
        for row, across in enumerate(lines, start=1):
            if row > MAX_ROWS or len(across) > MAX_COLUMNS:
                raise _too_large(path.stem)
            widths[row] = len(across)
            cells.update({(row, column): cell for column, cell in enumerate(across, start=1) if cell.strip()})
    except csv.Error as error:
        raise _RefusedError(
            "csv-broken",
            f"The table breaks off in the row after row {row} ({error}).",
            "Quotation marks come in pairs.",
            "Correct that line, or save the table as .xlsx.",
        ) from error
    return Grid(path.name, path.stem, cells, widths=widths)


def _decoded(data: bytes) -> str:
    """The text of a CSV file: UTF-8, or what Excel writes (UTF-16 with a byte order mark, Windows 1252)."""
    encodings = ("utf-16",) if data[:2] in (b"\xff\xfe", b"\xfe\xff") else ("utf-8-sig", "cp1252")
    for encoding in encodings:
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            return text
    raise _not_a_workbook("no text, though it is named as a CSV file")


def _delimiter(text: str) -> str:
    """What parts the heading line into most columns; a semicolon, and so decimal commas, where in doubt."""
    headings = next((line for line in text.splitlines() if line.strip() and not line.startswith("#")), "")
    return max(_DELIMITERS, key=lambda delimiter: len(next(csv.reader([headings], delimiter=delimiter), [])))
