"""The README tells of every column as the reader declares it, and of every command there is."""

from __future__ import annotations

from pathlib import Path

import pytest

from grading.cli import COMMANDS
from grading.outputs.wording import CAUTIONS
from grading.sheets.block_sheets import BLOCK, BLOCK_SHEETS
from grading.sheets.columns import Column, Sheet
from grading.sheets.declared import SIZE_GROUP

README = (Path(__file__).parents[1] / "README.md").read_text(encoding="utf-8")


def described(sheet: Sheet) -> str:
    """A sheet's columns as the README lists them."""
    columns = [*sheet.columns, *([sheet.others] if sheet.others else [])]
    return "\n".join(["| column | what it is for |", "| --- | --- |", *(row(column) for column in columns)])


def row(column: Column) -> str:
    words = f" One of: {', '.join(column.choices)}." if column.choices and ":" not in column.help else ""
    return f"| {column.name}{' *(may be blank)*' if column.optional else ''} | {column.help}{words} |"


@pytest.mark.parametrize("sheet", [SIZE_GROUP, *BLOCK_SHEETS], ids=lambda sheet: sheet.name)
def test_every_column_is_described_as_it_is_declared(sheet):
    assert described(sheet) in README


def test_every_field_of_the_block_is_described():
    for field in BLOCK.fields:
        assert row(field) in README


def test_every_caution_of_the_covers_is_told():
    *listed, last = CAUTIONS
    assert "".join(f"- {caution}\n" for caution in listed) + f"\n{last}\n" in README


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_is_told_of(command):
    assert f"grading {command}" in README


def test_the_first_paragraph_states_the_job():
    title, first = README.split("\n\n")[:2]
    assert title == "# grading"
    assert all(word in first for word in ("mitten", "size", "outworker", "spreadsheets"))
