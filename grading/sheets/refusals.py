"""Bounds that files of tables stay far below, and the errors of files and sheets that are not read.

The file is named in these findings where it is opened.
"""

from __future__ import annotations

from dataclasses import replace

from grading.codes import Code
from grading.findings import Finding, Place, column_letters

__all__ = [
    "EMPTY_FILE",
    "LONGEST_TEXT",
    "MOST_BYTES",
    "MOST_COLUMNS",
    "MOST_ROWS",
    "MOST_UNPACKED_BYTES",
    "PASSWORD_PROTECTED",
    "SAVE_AS",
    "TEXT_TOO_LONG",
    "TOO_MANY_CELLS",
    "UNPACKS_TOO_LARGE",
    "in_workbook",
    "not_a_workbook",
    "too_large",
]

#: What a hand's tables stay far below; anything over is refused before it can fill the memory.
MOST_BYTES, MOST_UNPACKED_BYTES, MOST_ROWS, MOST_COLUMNS = 50_000_000, 60_000_000, 5_000, 200
#: Characters of one cell, as in ISO/IEC 29500-1, 18.3.1.40 and by common practice.
LONGEST_TEXT = 32_767
#: What to do with a file that is not read as it is.
SAVE_AS = "Open it in your spreadsheet program and save it as a workbook (.xlsx)."

_IS_READ = "A workbook (.xlsx, .ods) or CSV is read."
_FAR_LESS = "Tables of a size run fill a small part of that."

EMPTY_FILE = Finding.error(
    Code.NOT_A_WORKBOOK,
    Place(),
    "The file is empty: it was not fully saved, copied or fetched.",
    _IS_READ,
    "Wait until it is, or copy it anew from where it came.",
)
PASSWORD_PROTECTED = Finding.error(
    Code.PASSWORD_PROTECTED,
    Place(),
    "The workbook is protected by a password.",
    "It can be read without one only.",
    "Open it in your spreadsheet program and save a copy without a password.",
)
UNPACKS_TOO_LARGE = Finding.error(
    Code.UNPACKS_TOO_LARGE,
    Place(),
    f"The workbook unpacks to over {MOST_UNPACKED_BYTES // 1_000_000} MB, or to more parts than tables need.",
    _FAR_LESS,
    "Copy the tables, without pictures, into a new workbook.",
)
TOO_MANY_CELLS = Finding.error(
    Code.TOO_MANY_CELLS,
    Place(),
    "The workbook holds far more cells or sheets than tables need, perhaps blank ones that were formatted.",
    _FAR_LESS,
    "Delete the rows and columns outside the tables, or copy the tables into a new workbook.",
)
TEXT_TOO_LONG = Finding.error(
    Code.TEXT_TOO_LONG,
    Place(),
    f"The file holds a text of over {LONGEST_TEXT:,} characters, or far too much text in all.",
    "What a table says of a measurement fits into a line.",
    "Shorten it, or copy the tables into a new workbook.",
)


def not_a_workbook(kind: str, action: str = SAVE_AS) -> Finding:
    """The file is of another kind, in words."""
    return Finding.error(Code.NOT_A_WORKBOOK, Place(), f"The file is {kind}.", _IS_READ, action)


def too_large(sheet: str) -> Finding:
    """The sheet of that name is used beyond what tables need."""
    return Finding.error(
        Code.SHEET_TOO_LARGE,
        Place(sheet=sheet),
        f"The sheet is used beyond row {MOST_ROWS} or column {column_letters(MOST_COLUMNS)}, or merged all over.",
        _FAR_LESS,
        "Clear what stands outside the table, or copy the table into a new workbook.",
    )


def in_workbook(refused: Finding, workbook: str) -> Finding:
    """The finding with the name of the file that it is about."""
    return replace(refused, place=replace(refused.place, workbook=workbook))
