"""Workbooks from anybody: read as saved, or refused by one finding, whatever is in them."""

from __future__ import annotations

import hashlib
import io
import os
import random
import subprocess
import sys
import time
import zipfile
from pathlib import Path

import openpyxl
import pytest

from grading.findings import Severity
from grading.sheets.opening import open_tables

SHEET = '<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">{}</worksheet>'
PART = "xl/worksheets/sheet1.xml"


def saved(book: openpyxl.Workbook) -> bytes:
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


@pytest.fixture
def simple() -> bytes:
    book = openpyxl.Workbook()
    book.active.title = "Women"
    for row in (["Measurement", "Unit", "W1"], ["fist girth", "cm", 18.5], ["palm length", "cm", "9 3/4"], [" "]):
        book.active.append(row)
    return saved(book)


def with_part(data: bytes, content: str, part: str = PART) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as new:
        for name in {*old.namelist(), part}:
            new.writestr(name, content if name == part else old.read(name))
    return stream.getvalue()


def opened(folder: Path, data: bytes, name: str = "t.xlsx"):
    path = folder / name
    path.write_bytes(data)
    return open_tables(path)


def codes(result) -> list[str]:
    return [finding.code for finding in result[1]]


def test_a_workbook_is_read_as_its_cells_show(tmp_path, simple):
    table, findings = opened(tmp_path, simple)
    grid = table.grid(" women ")
    assert not findings
    assert grid.cells[2, 3] == 18.5
    assert (grid.rows, grid.columns) == (3, 3)
    assert str(grid.place(3, 3)) == "t.xlsx, sheet Women, cell C3"
    assert table.digest == hashlib.sha256(simple).hexdigest()


def test_a_percentage_keeps_its_sign(tmp_path):
    book = openpyxl.Workbook()
    book.active["A1"], book.active["A2"] = 0.065, 0.065
    book.active["A1"].number_format = "0%"
    grid = opened(tmp_path, saved(book))[0].grids[0]
    assert (grid.value(1, 1), grid.value(2, 1)) == ("6.5%", 0.065)


def test_a_formula_without_saved_value_is_told_from_one_with(tmp_path, simple):
    rows = (
        '<row r="1"><c r="A1"><f>1+1</f><v></v></c><c r="B1"><f>1+1</f><v>2</v></c>'
        '<c r="C1" t="str"><f>""</f><v></v></c><c r="D1" t="e"><f>1/0</f><v>#DIV/0!</v></c></row>'
    )
    grid = opened(tmp_path, with_part(simple, SHEET.format(f"<sheetData>{rows}</sheetData>")))[0].grids[0]
    assert grid.faults == {(1, 1): "formula-without-value", (1, 4): "formula-error"}
    assert grid.value(1, 2) == 2


def test_merged_and_hidden_are_told(tmp_path):
    book = openpyxl.Workbook()
    sheet = book.active
    sheet["A2"], sheet["A9"] = "x", "y"
    sheet.merge_cells("A2:B4")
    sheet.row_dimensions[9].hidden = True
    book.create_sheet("Other").sheet_state = "hidden"
    first, second = opened(tmp_path, saved(book))[0].grids
    assert (first.merge_over(2, 1), first.merge_over(4, 2), first.merge_over(5, 1)) == ("", "A2:B4", "")
    assert first.hidden_rows == {9}
    assert (first.hidden, second.hidden) == (False, True)


@pytest.mark.parametrize(
    ("name", "data", "code"),
    [
        ("t.xlsx", b"", "not-a-workbook"),
        ("t.xlsx", b"Measurement;Unit;8\n", "not-a-workbook"),
        ("t.xlsx", b"%PDF-1.7\n", "not-a-workbook"),
        ("t.xls", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "not-a-workbook"),
        ("t.xlsx", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + "EncryptedPackage".encode("utf-16-le"), "password-protected"),
        ("t.xlsx", b"PK\x03\x04" + bytes(50), "workbook-broken"),
        ("t.csv", b"a;b\n\x00\x01\x02", "not-a-workbook"),
        ("t.csv", b'a;b\n"1;2\n', "csv-broken"),
        ("t.csv", b"x" * 200_000, "csv-broken"),
    ],
)
def test_what_is_no_table_is_named(tmp_path, name, data, code):
    result = opened(tmp_path, data, name)
    assert codes(result) == [code]
    assert result[0].grids == ()


def test_other_archives_are_named(tmp_path, simple):
    assert "OpenDocument" in opened(tmp_path, with_part(simple, "<a/>", "content.xml"))[1][0].found
    assert "binary" in opened(tmp_path, with_part(simple, "", "xl/workbook.bin"))[1][0].found


def test_a_file_or_folder_that_cannot_be_read_is_a_finding(tmp_path):
    assert codes(open_tables(tmp_path / "none.xlsx")) == ["file-missing"]
    assert codes(open_tables(tmp_path)) == ["not-a-file"]
    assert codes(open_tables(Path("a" * 5000))) == ["file-unreadable"]


BOMBS = {
    "spaces": ("<sheetData/>" + " " * 70_000_000, "unpacks-too-large"),
    "styled rows": (
        "<sheetData>"
        + "".join(f'<row r="{row}" s="1" customFormat="1"/>' for row in range(1, 1_048_577))
        + "</sheetData>",
        "too-many-cells",
    ),
    "far cell": ('<sheetData><row r="1048576"><c r="XFD1048576"><v>1</v></c></row></sheetData>', "sheet-too-large"),
    "merges": ("<mergeCells>" + '<mergeCell ref="A1:XFD1048576"/>' * 2000 + "</mergeCells>", "sheet-too-large"),
}


@pytest.mark.parametrize("bomb", BOMBS)
def test_what_would_fill_the_memory_is_refused_quickly(tmp_path, simple, bomb):
    content, code = BOMBS[bomb]
    data = with_part(simple, SHEET.format(content))
    start = time.perf_counter()
    assert codes(opened(tmp_path, data)) == [code]
    assert time.perf_counter() - start < 5


def test_blank_formatted_rows_below_a_table_do_no_harm(tmp_path, simple):
    rows = '<row r="1"><c r="A1"><v>7</v></c></row>' + "".join(f'<row r="{r}" s="1"/>' for r in range(2, 100_000))
    table, findings = opened(tmp_path, with_part(simple, SHEET.format(f"<sheetData>{rows}</sheetData>")))
    assert not findings
    assert table.grids[0].cells == {(1, 1): 7}


@pytest.mark.parametrize("part", [PART, "xl/workbook.xml", "xl/styles.xml"])
def test_entities_are_refused(tmp_path, simple, part):
    with zipfile.ZipFile(io.BytesIO(simple)) as archive:
        content = archive.read(part).decode().partition("?>")
    body = content[2] or content[0]
    bomb = f'<!DOCTYPE a [<!ENTITY x "y"><!ENTITY z "&x;&x;">]>{body}'
    assert codes(opened(tmp_path, with_part(simple, bomb, part))) == ["workbook-broken"]


def test_a_damaged_workbook_is_read_or_refused_but_never_raises(tmp_path, simple):
    chance = random.Random(5)
    with zipfile.ZipFile(io.BytesIO(simple)) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    refused = 0
    for _ in range(150):
        damaged = bytearray(simple)
        for _ in range(chance.randint(1, 12)):
            damaged[chance.randrange(len(damaged))] = chance.randrange(256)
        inner = dict(parts)
        name = chance.choice([*parts])
        inner[name] = bytearray(inner[name])
        inner[name][chance.randrange(len(inner[name]))] = chance.randrange(256)
        stream = io.BytesIO()
        with zipfile.ZipFile(stream, "w") as archive:
            for part, content in inner.items():
                archive.writestr(part, bytes(content))
        for data in (bytes(damaged), stream.getvalue()):
            table, findings = opened(tmp_path, data)
            assert bool(table.grids) or findings[0].severity is Severity.ERROR
            refused += bool(findings)
    assert refused > 20


@pytest.mark.parametrize(
    ("data", "cells"),
    [
        (b"Measurement;Unit;8\nfist girth;cm;21,5\n", {(2, 3): "21,5"}),
        (b"\xef\xbb\xbfMeasurement,Unit,8\nfist girth,cm,21.5\n", {(1, 1): "Measurement", (2, 3): "21.5"}),
        ("# größe\r\nMeasurement\tUnit\r\nfist girth\t½\r\n".encode("cp1252"), {(1, 1): "# größe", (3, 2): "½"}),
        ("Measurement\tUnit\nfist girth\tcm\n".encode("utf-16"), {(2, 2): "cm"}),
        (b'Measurement,Unit,8\nfist girth,in,"8 3/4"""\n', {(2, 3): '8 3/4"'}),
    ],
)
def test_csv_as_spreadsheets_write_it(tmp_path, data, cells):
    table, findings = opened(tmp_path, data, "Women.csv")
    assert not findings
    assert table.grids[0].sheet == "Women"
    assert cells.items() <= table.grids[0].cells.items()


def test_a_file_that_is_open_elsewhere_is_noted(tmp_path, simple):
    (tmp_path / ".~lock.t.xlsx#").touch()
    table, findings = opened(tmp_path, simple)
    assert [(finding.code, finding.severity) for finding in findings] == [("open-elsewhere", Severity.NOTE)]
    assert table.grids


def test_the_reader_never_uses_lxml():
    code = "import grading.sheets.opening, openpyxl; print(openpyxl.LXML, openpyxl.DEFUSEDXML)"
    environment = {**os.environ, "OPENPYXL_LXML": "True"}
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=environment, check=True)
    assert shown.stdout.split() == ["False", "True"]
