"""Opens a workbook or a CSV file from anybody, safely and read-only, as plain grids of saved cell values.

A file is read once, and what is hashed is what is read. Macros, links and pictures are never touched, and whatever is
wrong becomes a finding.
"""

from __future__ import annotations

import csv
import hashlib
import io
import zipfile
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

from grading.codes import Code
from grading.findings import Finding, Place, StoppedError
from grading.model.names import nearest
from grading.publish.beside import conflict_copies, later_save, on_its_way, open_elsewhere
from grading.sheets.grids import CellValue, Grid, Opened, address
from grading.sheets.opendocument import opendocument_grids
from grading.sheets.parts import MOST_CELLS
from grading.sheets.refusals import (
    EMPTY_FILE,
    LONGEST_TEXT,
    MOST_BYTES,
    MOST_COLUMNS,
    MOST_ROWS,
    PASSWORD_PROTECTED,
    SAVE_AS,
    TEXT_TOO_LONG,
    TOO_MANY_CELLS,
    UNPACKS_TOO_LARGE,
    in_workbook,
    not_a_workbook,
    too_large,
)
from grading.sheets.workbook import workbook_grids

__all__ = ["CellValue", "Grid", "Opened", "address", "open_tables"]

#: More parts than this are no workbook of tables.
_MOST_PARTS = 2_000

_CSV_NAMES = (".csv", ".tsv", ".txt")
_DELIMITERS = ";\t,"
_OTHER_ARCHIVES = {
    "xl/workbook.bin": "a binary workbook (.xlsb)",
    "word/document.xml": "a text document (.docx)",
    "Index/Document.iwa": "a spreadsheet in a format of its own (.numbers)",
}
#: How an archive lists a part, and the ways of packing that workbooks use.
_LISTED, _PACKED = b"PK\x01\x02", (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)


def open_tables(path: Path) -> tuple[Opened, list[Finding]]:
    """Every sheet of a workbook (.xlsx, .xlsm, .ods), or the one table of a CSV file, as saved.

    Never raises for what a file holds: a file that cannot be read gives no grids and one error.
    """
    path, digest = Path(path), ""
    try:
        data = _read_bytes(path)
        digest = hashlib.sha256(data).hexdigest()
        return Opened(path, digest, _grids(data, path)), list(_findings_beside(path))
    except StoppedError as stopped:
        return Opened(path, digest), [in_workbook(stopped.finding, path.name)]


def _findings_beside(path: Path) -> Iterator[Finding]:
    """Findings of what lies beside the file: a mark that somebody has it open, and other copies of it."""
    if open_elsewhere(path):
        yield Finding.note(
            Code.OPEN_ELSEWHERE,
            Place(path.name),
            "The file seems to be open in a spreadsheet program.",
            "Only what has been saved is read.",
            "Save it there and run again if you have changed anything.",
        )
    if copies := conflict_copies(path):
        yield Finding.warning(
            Code.CONFLICT_COPY,
            Place(path.name),
            f"Beside it lies {', '.join(copies)}: it was saved in two places at once.",
            f"Only {path.name} is read.",
            "See which has the right figures, keep that under this name, and move the other away.",
        )
    if later := later_save(path):
        yield Finding.warning(
            Code.SAVED_LATER_AS,
            Place(path.name),
            f"Beside it lies {later}, which was saved later and is not read.",
            "One file of a name, so that figures are typed where they are read.",
            f"Save {later} as {path.name}, or move the one away that is not to be used.",
        )


def _not_there(path: Path) -> Finding:
    """The error of a file that is not there, with what may be meant."""
    expected, action = "", "Check the name and the folder."
    if not path.parent.is_dir():
        expected = f"There is no folder {path.parent} either."
        action = "Go into the folder that has it; 'grading' alone says how to make one with tables to fill in."
    elif part := on_its_way(path):
        expected = f"{part} lies there: it seems to be fetched or copied still."
        action = "Wait until it is there, then type the command again."
    elif meant := nearest(path.name, [other.name for other in path.parent.iterdir() if other.is_file()]):
        expected = f"There is {path.with_name(meant)}; is that meant?"
    return Finding.error(Code.FILE_MISSING, Place(path.name), f"There is no file {path}.", expected, action)


def _read_bytes(path: Path) -> bytes:
    try:
        if not path.exists():
            raise StoppedError(_not_there(path))
        if not path.is_file():
            found = f"{path} is {'a folder' if path.is_dir() else 'no file'}."
            action = "Name a workbook or a CSV file."
            raise StoppedError(Finding.error(Code.NOT_A_FILE, Place(), found, "", action))
        if path.stat().st_size > MOST_BYTES:
            found = f"The file has over {MOST_BYTES // 1_000_000} MB."
            expected = "Tables of a size run fill a small part of one."
            action = "Take out pictures and everything that is not a table."
            raise StoppedError(Finding.error(Code.FILE_TOO_LARGE, Place(), found, expected, action))
        return path.read_bytes()
    except (OSError, ValueError) as error:
        found = f"The file cannot be opened ({getattr(error, 'strerror', None) or error})."
        action = "Check the file and its permissions."
        raise StoppedError(Finding.error(Code.FILE_UNREADABLE, Place(), found, "", action)) from error


def _grids(data: bytes, path: Path) -> tuple[Grid, ...]:
    """The grids of a file, told by its content rather than by its name."""
    if not data.strip():
        raise StoppedError(EMPTY_FILE)
    if data.startswith(b"PK\x03\x04"):
        return _workbook_grids(data, path.name)
    if data.startswith(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"):
        if "EncryptedPackage".encode("utf-16-le") in data:
            raise StoppedError(PASSWORD_PROTECTED)
        raise StoppedError(not_a_workbook("a workbook of an old kind (.xls) or another office file"))
    if data.startswith(b"%PDF"):
        raise StoppedError(not_a_workbook("a PDF", "Name the workbook itself."))
    if path.suffix.lower() == ".json":
        raise StoppedError(not_a_workbook("the record of a run", "Name the workbook itself."))
    if path.suffix.lower() not in _CSV_NAMES:
        raise StoppedError(not_a_workbook("neither a workbook nor named as a CSV file"))
    return (_csv_grid(data, path),)


# Workbooks


def _workbook_grids(data: bytes, name: str) -> tuple[Grid, ...]:
    if data.count(_LISTED) > _MOST_PARTS:
        raise StoppedError(UNPACKS_TOO_LARGE)
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            return _reader(archive)(archive, name)
    except StoppedError:
        raise
    except Exception as error:  # a broken file makes zipfile and the XML parser raise nearly anything
        broken = (
            f"The workbook cannot be read ({type(error).__name__}); it is damaged or was not fully saved or copied."
        )
        raise StoppedError(Finding.error(Code.WORKBOOK_BROKEN, Place(), broken, "", SAVE_AS)) from error


def _reader(archive: zipfile.ZipFile) -> Callable[[zipfile.ZipFile, str], tuple[Grid, ...]]:
    """What reads the archive; refuses what is no workbook before anything in it is understood."""
    parts = archive.infolist()
    names = {part.filename for part in parts}
    if any(part.flag_bits & 1 for part in parts):
        raise StoppedError(PASSWORD_PROTECTED)
    for other, kind in _OTHER_ARCHIVES.items():
        if other in names:
            raise StoppedError(not_a_workbook(kind))
    packed = all(part.compress_type in _PACKED for part in parts)
    if packed and "content.xml" in names:
        return opendocument_grids
    if "[Content_Types].xml" not in names or not packed:
        raise StoppedError(not_a_workbook("a zip archive, and no workbook"))
    return workbook_grids


# CSV


def _csv_grid(data: bytes, path: Path) -> Grid:
    text = _decoded(data)
    cells: dict[tuple[int, int], CellValue] = {}
    widths: dict[int, int] = {}
    row = 0
    try:
        lines = csv.reader(io.StringIO(text, newline=""), delimiter=_delimiter(text), strict=True)
        for row, across in enumerate(lines, start=1):
            if row > MOST_ROWS or len(across) > MOST_COLUMNS:
                raise StoppedError(too_large(path.stem))
            widths[row] = len(across)
            if len(cells) > MOST_CELLS:
                raise StoppedError(TOO_MANY_CELLS)
            if any(len(cell) > LONGEST_TEXT for cell in across):
                raise StoppedError(TEXT_TOO_LONG)
            cells.update({(row, column): cell for column, cell in enumerate(across, start=1) if cell.strip()})
    except csv.Error as error:
        found = f"The table breaks off in the row after row {row} ({error})."
        expected, action = "Quotation marks come in pairs.", "Correct that line, or save the table as .xlsx."
        raise StoppedError(Finding.error(Code.CSV_BROKEN, Place(), found, expected, action)) from error
    return Grid(path.name, path.stem, cells, widths=widths)


def _decoded(data: bytes) -> str:
    """The text of a CSV file: UTF-8, or what spreadsheet programs write: UTF-16 with its mark, Windows 1252."""
    encodings = ("utf-16",) if data[:2] in (b"\xff\xfe", b"\xfe\xff") else ("utf-8-sig", "cp1252")
    for encoding in encodings:
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            return text
    raise StoppedError(not_a_workbook("no text, though it is named as a CSV file"))


def _delimiter(text: str) -> str:
    """What parts most lines into equally many columns; a semicolon, and so decimal commas, where in doubt."""
    lines = [line for line in text.splitlines()[:MOST_ROWS] if line.strip() and not line.startswith("#")]
    return max(_DELIMITERS, key=lambda delimiter: _evenness(csv.reader(lines, delimiter=delimiter)))


def _evenness(lines: Iterable[list[str]]) -> tuple[int, int]:
    """How many lines are of the commonest width above one, and that width."""
    widths = Counter(len(line) for line in lines)
    return max(((count, width) for width, count in widths.items() if width > 1), default=(0, 0))
