"""Why a file or a sheet of it is not read, as a maker is told."""

from __future__ import annotations

from grading.codes import Code
from grading.findings import Finding, Place
from grading.sheets.grids import column_letters

__all__ = [
    "SAVE_AS",
    "RefusedError",
    "empty_file",
    "no_table",
    "not_a_workbook",
    "password_protected",
    "text_too_long",
    "too_large",
    "too_many_cells",
    "unpacks_too_large",
]

#: What to do with a file that is not read as it is.
SAVE_AS = "Open it in your spreadsheet program and save it as a workbook (.xlsx)."


class RefusedError(Exception):
    """Why a file or a sheet is not read, as a finding's code and three sentences."""

    def __init__(self, code: Code, found: str, expected: str, action: str, sheet: str = "") -> None:
        super().__init__(found)
        self.code, self.found, self.expected, self.action, self.sheet = code, found, expected, action, sheet

    def finding(self, workbook: str) -> Finding:
        place = Place(workbook, self.sheet)
        return Finding.error(self.code, place, self.found, self.expected, self.action)


def not_a_workbook(kind: str) -> RefusedError:
    return RefusedError(
        Code.NOT_A_WORKBOOK, f"The file is {kind}.", "A workbook (.xlsx, .ods) or CSV is read.", SAVE_AS
    )


def empty_file() -> RefusedError:
    return RefusedError(
        Code.NOT_A_WORKBOOK,
        "The file is empty: it was not fully saved, copied or fetched.",
        "A workbook (.xlsx, .ods) or CSV is read.",
        "Wait until it is, or copy it anew from where it came.",
    )


def no_table(kind: str) -> RefusedError:
    action = "Name the workbook itself."
    return RefusedError(Code.NOT_A_WORKBOOK, f"The file is {kind}.", "A workbook (.xlsx, .ods) or CSV is read.", action)


def password_protected() -> RefusedError:
    return RefusedError(
        Code.PASSWORD_PROTECTED,
        "The workbook is protected by a password.",
        "It can be read without one only.",
        "Open it in your spreadsheet program and save a copy without a password.",
    )


def unpacks_too_large(most_bytes: int) -> RefusedError:
    return RefusedError(
        Code.UNPACKS_TOO_LARGE,
        f"The workbook unpacks to over {most_bytes // 1_000_000} MB, or to more parts than tables need.",
        "Tables of a size run fill a small part of that.",
        "Copy the tables, without pictures, into a new workbook.",
    )


def too_many_cells() -> RefusedError:
    return RefusedError(
        Code.TOO_MANY_CELLS,
        "The workbook holds far more cells or sheets than tables need, perhaps blank ones that were formatted.",
        "Tables of a size run fill a small part of that.",
        "Delete the rows and columns outside the tables, or copy the tables into a new workbook.",
    )


def text_too_long(most: int) -> RefusedError:
    return RefusedError(
        Code.TEXT_TOO_LONG,
        f"The file holds a text of over {most:,} characters, or far too much text in all.",
        "What a table says of a measurement fits into a line.",
        "Shorten it, or copy the tables into a new workbook.",
    )


def too_large(sheet: str, rows: int, columns: int) -> RefusedError:
    return RefusedError(
        Code.SHEET_TOO_LARGE,
        f"The sheet is used beyond row {rows} or column {column_letters(columns)}, or merged all over.",
        "Tables of a size run fill a small part of that.",
        "Clear what stands outside the table, or copy the table into a new workbook.",
        sheet,
    )
