"""Commands as they are typed on the demo's tables, and check sheets as outworkers fill them in."""

from __future__ import annotations

from pathlib import Path

import openpyxl
from click.testing import CliRunner

from grading.cli import main

TABLES = Path(__file__).parents[2] / "tables"
WOMEN = ["--sizes", TABLES / "sizes.xlsx", "--block", TABLES / "block.xlsx", "--group", "Women"]


def typed(*words: object) -> None:
    done = CliRunner().invoke(main, [str(word) for word in words], catch_exceptions=False)
    assert done.exit_code == 0, done.output


def filled_in(path: Path, name: str, off: float) -> None:
    """Fill in every box, each a little off what is right."""
    book = openpyxl.load_workbook(path)
    sheet = book.active
    fields = {cell.value: cell.row for cell in reversed(sheet["A"])}  # the boxes stand above the verdicts
    if name:
        sheet.cell(fields["Name"], 2).value = name
    heads = {sheet.cell(fields["Letter"], column).value: column for column in range(1, 16)}
    for row in range(fields["Letter"] + 1, sheet.max_row + 1):
        if not isinstance(right := sheet.cell(row, heads["right"]).value, float | int):
            break
        for pair, column in enumerate(column for head, column in heads.items() if str(head).startswith("Pair")):
            sheet.cell(row, column).value = round(right * (1 + (off + pair - 5) / 300), 2)
    book.save(path)
