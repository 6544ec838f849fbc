"""Workbooks from anybody: read as saved, or refused by one finding, whatever is in them."""

from __future__ import annotations

import datetime as dt
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
from hostile import ATTACKS, SLOW, rows, workbook
from openpyxl.cell.rich_text import CellRichText, TextBlock
from openpyxl.cell.text import InlineFont
from openpyxl.utils.datetime import MAC_EPOCH, WINDOWS_EPOCH

from grading.findings import Severity
from grading.sheets.opening import open_tables

SHEET = '<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">{}</worksheet>'
PART = "xl/worksheets/sheet1.xml"
TABLES = Path(__file__).parents[2] / "tables"


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


#: Elements of a sheet, made where they are tried.
BOMBS = {
    "spaces": (lambda: "<sheetData/>" + " " * 70_000_000, "unpacks-too-large"),
    "styled rows": (
        lambda: "".join(
            ["<sheetData>", *(f'<row r="{r}" s="1" customFormat="1"/>' for r in range(1, 1_048_577)), "</sheetData>"]
        ),
        "too-many-cells",
    ),
    "far cell": (
        lambda: '<sheetData><row r="1048576"><c r="XFD1048576"><v>1</v></c></row></sheetData>', "sheet-too-large"
    ),
    "merges": (
        lambda: "<mergeCells>" + '<mergeCell ref="A1:XFD1048576"/>' * 2000 + "</mergeCells>", "sheet-too-large"
    ),
}  # fmt: skip


@pytest.mark.parametrize("bomb", BOMBS)
def test_what_would_fill_the_memory_is_refused_quickly(tmp_path, simple, bomb):
    content, code = BOMBS[bomb]
    data = with_part(simple, SHEET.format(content()))
    start = time.process_time()
    assert codes(opened(tmp_path, data)) == [code]
    assert time.process_time() - start < 5


#: Checks a table as the command does, and prints the seconds and the most memory that it took.
CHECK = """
import sys, time
from grading.cli import main
try:
    main(["check", "--sizes", sys.argv[1], "--block", "none.xlsx"])
finally:
    with open("/proc/self/status") as status:
        peak = next(int(line.split()[1]) for line in status if line.startswith("VmHWM"))
    print(time.process_time(), peak / 1000)
"""


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="the system does not tell the most memory used")
@pytest.mark.parametrize(
    "attack", [pytest.param(name, marks=[pytest.mark.long] if name in SLOW else []) for name in ATTACKS]
)
def test_no_file_of_up_to_10_mb_takes_over_5_seconds_or_300_mb(tmp_path, attack):
    make, code = ATTACKS[attack]
    (tmp_path / "t.xlsx").write_bytes(make())
    assert (tmp_path / "t.xlsx").stat().st_size < 10_000_000
    words = [sys.executable, "-c", CHECK, str(tmp_path / "t.xlsx")]
    # Nobody counts the lines of that process: it would be measured too.
    plain = {name: value for name, value in os.environ.items() if not name.startswith("COVERAGE")}
    told = subprocess.run(words, env=plain, capture_output=True, text=True, timeout=120, check=False)
    assert told.returncode == 1
    assert f"error {code}" in told.stderr
    seconds, megabytes = map(float, told.stdout.split()[-2:])
    assert seconds < 5
    assert megabytes < 300


def test_250_sheets_are_read(tmp_path):
    table, findings = opened(tmp_path, workbook(rows("<c><v>7</v></c>", 1_000), sheets=250))
    assert not findings
    assert len(table.grids) == 250


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


def test_reading_imports_no_other_reader():
    code = "import grading.sheets.opening, sys; print({'openpyxl', 'lxml', 'defusedxml'} & set(sys.modules))"
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert shown.stdout.split() == ["set()"]


def test_cells_are_read_as_another_reader_reads_them(tmp_path):
    book = openpyxl.Workbook()
    sheet = book.active
    moments = [dt.datetime(2026, 9, 8, 7, 6, 5), dt.date(1900, 1, 31), dt.time(8, 9), dt.timedelta(days=2, hours=3)]
    for values in ([1, -2.5, 1e-7, 10**20, True, "x", " two  words ", "ß\n€", 0], moments, ["=1", "#REF!", "_x0041_"]):
        sheet.append(values)
    for column, code in enumerate(("0.00", "[$-409]d mmm", "h:mm", "[mm]:ss", "0%", '0" d"', "mm-dd-yy", "#,##0"), 1):
        for row, figure in enumerate((0, 0.25, 1.5, 59, 60, 61, 45000.75), 10):
            sheet.cell(row, column, figure).number_format = code
    sheet["AB3"] = CellRichText("plain ", TextBlock(InlineFont(b=True), "bold"))
    for epoch in (WINDOWS_EPOCH, MAC_EPOCH):
        book.epoch = epoch
        grid = opened(tmp_path, saved(book))[0].grids[0]
        cells = (cell for row in openpyxl.load_workbook(tmp_path / "t.xlsx", data_only=True).active for cell in row)
        expected = {(cell.row, cell.column): cell.value for cell in cells if cell.value is not None}
        # A percentage keeps its sign here.
        read = {cell: value for cell, value in grid.cells.items() if cell[1] != 5 or cell[0] < 10}
        assert read == {cell: value for cell, value in expected.items() if cell[1] != 5 or cell[0] < 10}


@pytest.mark.parametrize("table", sorted(TABLES.glob("*.xlsx")), ids=lambda path: path.name)
def test_the_demos_tables_are_read_as_another_reader_reads_them(table):
    book = openpyxl.load_workbook(table, data_only=True)
    read = {grid.sheet: dict(grid.cells) for grid in open_tables(table)[0].grids}
    assert read == {
        sheet.title: {(cell.row, cell.column): cell.value for row in sheet for cell in row if cell.value is not None}
        for sheet in book
    }


def test_strict_workbooks_and_prefixed_names_are_read(tmp_path):
    sheet = '<x:sheetData><x:row><x:c t="inlineStr"><x:is><x:t>a</x:t></x:is></x:c><x:c><x:v>2</x:v></x:c></x:row>'
    strict = f'<x:worksheet xmlns:x="http://purl.oclc.org/ooxml/spreadsheetml/main">{sheet}</x:sheetData></x:worksheet>'
    (grid,) = opened(tmp_path, workbook("", parts={PART: strict}))[0].grids
    assert grid.cells == {(1, 1): "a", (1, 2): 2}


def test_how_a_text_is_read_aloud_is_left_out(tmp_path):
    shared = "<si><r><t>fist </t></r><r><t>girth</t></r><rPh><t>aloud</t></rPh></si>"
    (grid,) = opened(tmp_path, workbook(rows('<c t="s"><v>0</v></c>', 1, 1), shared))[0].grids
    assert grid.cells == {(1, 1): "fist girth"}


def test_a_file_that_is_larger_than_tables_are_is_not_read(tmp_path, monkeypatch):
    monkeypatch.setattr("grading.sheets.opening.MOST_BYTES", 10)
    path = tmp_path / "pictures.csv"
    path.write_text("Measurement,Unit,S")
    assert codes(open_tables(path)) == ["file-too-large"]


def test_a_file_that_is_not_there_is_told_with_one_of_like_name_or_with_the_folder_that_lacks(tmp_path):
    (tmp_path / "hands.xlsx").touch()
    (one,) = open_tables(tmp_path / "hand.xlsx")[1]
    assert one.code == "file-missing"
    assert "hands.xlsx; is that meant?" in one.expected
    (one,) = open_tables(tmp_path / "tables" / "sizes.xlsx")[1]
    assert "There is no folder" in one.expected


@pytest.mark.parametrize(
    ("content", "code"),
    [
        ("a;b\n" * 5_100, "sheet-too-large"),
        ("a;" * 300 + "\n", "sheet-too-large"),
        (("a;" * 190 + "\n") * 1_400, "too-many-cells"),
        ("Measurement;Unit;S\n" + "x" * 40_000 + ";mm;1\n", "text-too-long"),
    ],
)
def test_a_text_table_beyond_all_measure_is_refused(tmp_path, content, code):
    assert codes(opened(tmp_path, content.encode(), "t.csv")) == [code]


def test_dates_and_times_are_read_as_the_strict_format_writes_them_and_no_calendar_day_is_a_fault(tmp_path, simple):
    cells = (
        '<c r="A1" t="d"><v>2026-11-20</v></c><c r="B1" t="d"><v>08:30:00</v></c><c r="C1" s="1"><v>99999999999</v></c>'
    )
    styles = '<styleSheet><cellXfs><xf numFmtId="0"/><xf numFmtId="14"/></cellXfs></styleSheet>'
    data = with_part(simple, SHEET.format(f'<sheetData><row r="1">{cells}</row></sheetData>'))
    grid = opened(tmp_path, with_part(data, styles, "xl/styles.xml"))[0].grids[0]
    assert (grid.value(1, 1), grid.value(1, 2)) == (dt.datetime(2026, 11, 20), dt.time(8, 30))
    assert grid.faults == {(1, 3): "formula-error"}


def test_more_sheets_than_any_run_has_are_refused(tmp_path):
    assert codes(opened(tmp_path, workbook(rows("<c><v>7</v></c>", 50), sheets=501))) == ["too-many-cells"]


def test_a_cell_without_a_style_has_the_first_one_of_the_workbook(tmp_path, simple):
    # ISO/IEC 29500-1, 18.3.1.4: the style index is 0 where none is given.
    styles = '<styleSheet><cellXfs><xf numFmtId="9"/><xf numFmtId="0"/></cellXfs></styleSheet>'
    cells = '<c r="A1"><v>0.06</v></c><c r="B1" s="1"><v>0.06</v></c>'
    data = with_part(simple, SHEET.format(f'<sheetData><row r="1">{cells}</row></sheetData>'))
    grid = opened(tmp_path, with_part(data, styles, "xl/styles.xml"))[0].grids[0]
    assert (grid.value(1, 1), grid.value(1, 2)) == ("6%", 0.06)
