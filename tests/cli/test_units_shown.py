"""Figures are shown in the unit that the tables have in common, unless another is asked for."""

from __future__ import annotations

import re
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner

from grading.cli import main
from grading.units import show, signed_length

FIGURE = re.compile(r"-?(?:[0-9]+ )?[0-9]+/[0-9]+|-?[0-9]+(?:\.[0-9]+)?")
TABLES = Path(__file__).parents[2] / "tables"


@pytest.fixture(scope="module")
def tables(tmp_path_factory) -> dict[str, Path]:
    """The women's sizes typed in cm and in inches, and with a slip."""
    folder, told = tmp_path_factory.mktemp("tables"), {}
    for name, unit, per in (("cm", "cm", 10), ("in", "in", 25.4), ("slip", "cm", 10)):
        book = openpyxl.load_workbook(TABLES / "sizes.xlsx")
        for other in book.sheetnames:
            if other != "Women":
                del book[other]
        for row in book["Women"].iter_rows(min_row=2):
            row[1].value = unit
            for cell in row[2:8]:
                cell.value = round(cell.value / per, 4)
        if name == "slip":
            book["Women"]["E2"].value += 0.6
        told[name] = folder / f"{name}.xlsx"
        book.save(told[name])
    return told


@pytest.fixture
def grading(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return lambda *words: CliRunner().invoke(main, [str(word) for word in words])


def words(tables, name, *more):
    return ("--sizes", tables[name], "--block", TABLES / "block.xlsx", "--group", "Women", *more)


def test_tables_in_centimetres_are_shown_in_centimetres_everywhere(grading, tables, tmp_path):
    result = grading("run", *words(tables, "cm"), "--only", "spec", "--only", "cards")
    assert result.exit_code == 0, result.output
    assert "finished measure (cm)" in result.stdout
    check = openpyxl.load_workbook(tmp_path / "output" / "Women" / "check-sheets" / "W3.xlsx").active
    assert {row[0].value: row[1].value for row in check.iter_rows(max_row=10)}["Unit"] == "cm"


def test_another_unit_is_shown_where_it_is_asked_for(grading, tables):
    told = grading("audit", *words(tables, "cm"), "--units", "in").stdout
    assert "sizes, inches" in told


@pytest.mark.parametrize("command", ["check", "audit"])
def test_findings_tell_lengths_in_the_unit_of_the_tables(grading, tables, command):
    told = grading(command, *words(tables, "slip")).stderr
    assert "cm" in told
    assert " mm" not in told


@pytest.mark.parametrize("unit", ["cm", "in"])
def test_increments_add_up_as_they_are_shown(grading, tables, unit):
    lines = grading("audit", *words(tables, unit)).stdout.splitlines()
    fist = next(line for line in lines if line.startswith("fist girth "))
    first, *steps = (signed_length(figure, unit) for figure in FIGURE.findall(fist)[-6:])
    row = openpyxl.load_workbook(tables[unit])["Women"][2]
    last = signed_length(show(signed_length(row[7].value, unit), unit), unit)
    assert first + sum(steps) == last


def test_what_stock_and_returns_find_in_the_tables_is_told_in_their_unit_too(grading, tables, tmp_path):
    book = openpyxl.load_workbook(tables["cm"])
    book["Women"]["E2"].value = 300
    book.save(tmp_path / "wrong.xlsx")
    wrong = ("--sizes", tmp_path / "wrong.xlsx", "--block", TABLES / "block.xlsx", "--group", "Women")
    for command in (("stock", "--stock", TABLES / "stock.xlsx"), ("returns", tables["cm"])):
        told = grading(*command, *wrong).stderr
        assert "300.0 cm" in told
        assert not re.search("[0-9] mm", told)
