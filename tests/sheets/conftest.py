"""Small workbooks, written as a maker's spreadsheet program would."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

import openpyxl
import pytest

Rows = Sequence[Sequence[object]]


@pytest.fixture
def workbook(tmp_path: Path) -> Callable[..., Path]:
    """Writes sheets of plain rows, by name, to a new workbook."""

    def write(name: str = "sizes.xlsx", **sheets: Rows) -> Path:
        book = openpyxl.Workbook()
        book.remove(book.active)
        for title, rows in sheets.items():
            sheet = book.create_sheet(title.replace("_", " "))
            for row in rows:
                sheet.append(list(row))
        path = tmp_path / name
        book.save(path)
        return path

    return write
