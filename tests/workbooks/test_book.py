"""Workbooks read back by openpyxl, by LibreOffice and by a formula evaluator."""

from __future__ import annotations

import datetime as dt
import hashlib
import os
import re
import subprocess
import sys
import textwrap
import zipfile
from io import BytesIO
from pathlib import Path

import formulas
import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from pypdf import PdfReader

from grading.workbooks.book import Bar, BarChart, Book, Formula, Heading, Link, Look, Styled
from grading.workbooks.legal import sheet_name

HOSTILE = [
    "=1+1", "+3", "-3", "@SUM(A1)", "8/9", "1e5", "#N/A", "TRUE", "'quoted", "<b>&amp;</b>", "]]>",
    " padded ", "two\nlines", "=HYPERLINK(\"http://x\")", "\u202eright to left", "😀", "007",
]  # fmt: skip


def example(day: dt.date | None = None, group: str = "O'Neil/s sizes") -> Book:
    book = Book("Spec sheet R&D", subject="Women", run_id="1f3a9c", day=day)
    front = book.sheet("Cover")
    front.title("Mitten, women")
    front.note("Blades, needles and adhesives can hurt. " * 6)
    sheet = book.sheet(group, landscape=True)
    front.line(["Measures", Link("see the sheet", sheet.name)])
    sheet.title("Finished measures, mm")
    area = sheet.room(2, 4)
    sheet.table(
        [Heading("Measure"), *(Heading(size, Look.NUMBER) for size in ("8/9", "10")), Heading("Step", Look.SIGNED)],
        [
            [name, low, high, Formula(f"={area.cell(row, 2)}-{area.cell(row, 1)}", high - low)]
            for row, (name, low, high) in enumerate([("Palm width", 102.0, 108.5), ("=Thumb", 39.0, 41.0)])
        ],
        name="Measures of 1",
    )
    sheet.line(["Wide?", Formula(f'=IF(MAX({area.column(1)})>100,"yes & <so>","no")', "yes & <so>")])
    sheet.line(["All?", Formula(f"=AND({area.cell(0, 1)}>1,{area.cell(1, 1)}>1)", True)])
    sheet.line(["To fill in", Styled(None, Look.INPUT), Styled("look", Look.FLAGGED)])
    sheet.choose_among("B7", ["yes", "no"])
    sheet.choose_from("C7", area.reference(0))
    sheet.flag(area.column(3), f"{area.cell(0, 3)}<3")
    return book


def test_every_formula_carries_its_value_and_stays_a_formula():
    data = example().to_bytes()
    shown = openpyxl.load_workbook(BytesIO(data), data_only=True).worksheets[1]
    kept = openpyxl.load_workbook(BytesIO(data)).worksheets[1]
    assert [shown[cell].value for cell in ("D3", "D4", "B5", "B6")] == [6.5, 2, "yes & <so>", True]
    assert kept["D3"].value == "=C3-B3"
    assert kept.parent.calculation.fullCalcOnLoad


def test_a_formula_evaluator_comes_to_the_values_that_the_file_carries(tmp_path):
    path = tmp_path / "spec.xlsx"
    path.write_bytes(example(group="Women").to_bytes())  # the evaluator stumbles over an apostrophe
    computed = formulas.ExcelModel().loads(str(path)).finish().calculate()
    carried = openpyxl.load_workbook(path, data_only=True)["Women"]
    for cell in ("D3", "D4", "B5", "B6"):
        assert computed[f"'[spec.xlsx]WOMEN'!{cell}"].value[0, 0] == carried[cell].value


def test_libreoffice_recalculates_each_formula_and_keeps_each_text(tmp_path, office):
    book = Book("Texts")
    sheet = book.sheet("Texts")
    for text in HOSTILE:
        sheet.line([text])
    sheet.line([Formula("=2*21", 0.0), Formula('="a"&"b"', "stale")])  # wrong on purpose
    path = tmp_path / "texts.xlsx"
    path.write_bytes(book.to_bytes())
    again = openpyxl.load_workbook(office(path, "xlsx"), data_only=True).active
    assert [again.cell(row, 1).value for row in range(1, len(HOSTILE) + 1)] == HOSTILE
    assert [cell.value for cell in again[len(HOSTILE) + 1]] == [42, "ab"]


@pytest.mark.parametrize("text", HOSTILE)
def test_a_text_stays_text_whatever_it_looks_like(text):
    book = Book("Texts")
    book.sheet("Texts").table([Heading(text)], [[text]])
    sheet = openpyxl.load_workbook(BytesIO(book.to_bytes())).active
    for cell, written in ((sheet["A1"], " ".join(text.split())), (sheet["A2"], text)):
        assert (cell.value, cell.data_type, cell.number_format) == (written, "s", "@")
        assert cell.quotePrefix or written[0].isalpha()


def test_characters_that_xml_forbids_are_left_out_and_told():
    book = Book("Te\x00xts", subject="\x01", run_id="\x02a")
    book.sheet("A\x0b").line(["bell\x07", "\ud800half", "\ufffe", "fine"])
    sheet = openpyxl.load_workbook(BytesIO(book.to_bytes())).active
    assert [cell.value for cell in sheet[1]] == ["bell", "half", None, "fine"]
    told = [(finding.code, finding.place.cell) for finding in book.findings]
    assert told == [("text-not-writable", cell) for cell in ("A1", "B1", "C1")]


def test_a_number_that_no_cell_can_hold_is_refused():
    with pytest.raises(ValueError, match="nan"):
        Book("Numbers").sheet("Numbers").line([float("nan")])


@pytest.mark.parametrize("imported_first", ["lxml.etree, openpyxl", "grading, openpyxl"])
def test_the_same_content_gives_the_same_bytes_whatever_was_imported_first(imported_first, monkeypatch):
    monkeypatch.delenv("SOURCE_DATE_EPOCH", raising=False)
    program = textwrap.dedent(
        f"""
        import {imported_first}
        import sys, hashlib; sys.path.insert(0, sys.argv[1])
        import test_book
        print(hashlib.sha256(test_book.example().to_bytes()).hexdigest(), test_book.openpyxl.LXML)
        """
    )
    environment = {key: value for key, value in os.environ.items() if key != "OPENPYXL_LXML"}
    command = [sys.executable, "-c", program, str(Path(__file__).parent)]
    printed = subprocess.run(command, env=environment, check=True, capture_output=True, text=True).stdout.split()
    assert printed[0] == hashlib.sha256(example().to_bytes()).hexdigest()
    assert printed[1] == "True"  # lxml is installed and taken


def test_the_file_is_signed_by_the_program_that_made_it():
    archive = zipfile.ZipFile(BytesIO(example().to_bytes()))
    assert "<Application>grading</Application>" in archive.read("docProps/app.xml").decode()


def test_nothing_in_the_file_comes_from_the_clock(monkeypatch):
    monkeypatch.delenv("SOURCE_DATE_EPOCH", raising=False)
    archive = zipfile.ZipFile(BytesIO(example().to_bytes()))
    assert {entry.date_time for entry in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
    properties = openpyxl.load_workbook(BytesIO(example().to_bytes())).properties
    assert (properties.created, properties.modified) == (dt.datetime(1980, 1, 1),) * 2
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "86400")
    properties = openpyxl.load_workbook(BytesIO(example().to_bytes())).properties
    assert properties.modified == dt.datetime(1970, 1, 2)
    properties = openpyxl.load_workbook(BytesIO(example(dt.date(2025, 11, 3)).to_bytes())).properties
    assert properties.created == dt.datetime(2025, 11, 3)
    assert (properties.creator, properties.title) == ("grading", "Spec sheet R&D")


def test_a_sheet_prints_on_a4_with_its_headings_on_every_page_and_the_run_in_its_footer():
    sheet = openpyxl.load_workbook(BytesIO(example().to_bytes())).worksheets[1]
    assert (sheet.page_setup.paperSize, sheet.page_setup.orientation) == (9, "landscape")  # 9: A4, ECMA-376
    assert sheet.sheet_properties.pageSetUpPr.fitToPage
    assert (sheet.print_title_rows, sheet.freeze_panes) == ("$2:$2", "B3")
    assert "run 1f3a9c" in sheet.oddFooter.left.text
    assert "R&&D" in sheet.oddHeader.left.text


def test_columns_are_as_wide_as_their_content_up_to_a_limit():
    book = Book("Widths")
    sheet = book.sheet("Widths")
    sheet.table([Heading("Word"), Heading("Long"), Heading("Set", width=20)], [["a" * 20, "word " * 60, "x"]])
    sheet = openpyxl.load_workbook(BytesIO(book.to_bytes())).active
    widths = [sheet.column_dimensions[column].width for column in "ABC"]
    assert 20 <= widths[0] <= 26
    assert widths[1] < 50
    assert widths[2] == 20
    assert sheet["B2"].alignment.wrap_text


def test_a_heading_that_is_longer_than_its_column_goes_on_below():
    book = Book("Headings")
    book.sheet("Headings").table([Heading("room between tolerances", Look.NUMBER, 8)], [[1.0]])
    sheet = openpyxl.load_workbook(BytesIO(book.to_bytes())).active
    assert sheet["A1"].alignment.wrap_text
    assert sheet.row_dimensions[1].height >= 3 * 13, "as many lines as its words take"


def test_a_row_is_as_tall_as_its_wrapped_text_and_a_row_for_a_chart_as_asked():
    book = Book("Heights")
    sheet = book.sheet("Heights")
    sheet.line(["one line"])
    sheet.line(["word " * 40])
    assert sheet.room_for(100) == "A3"
    with pytest.raises(ValueError, match="200 mm"):
        sheet.room_for(200)
    heights = openpyxl.load_workbook(BytesIO(book.to_bytes())).active.row_dimensions
    assert heights[1].height is None
    assert 4 * 13 < heights[2].height < 6 * 14  # 200 signs, 46 a line at the widest
    assert heights[3].height == pytest.approx(100 / 25.4 * 72, abs=0.75 / 2)  # rows are as tall as whole pixels


def test_numbers_show_as_many_decimals_as_asked_and_small_differences_one_more():
    book = Book("Inches", decimals=2)
    book.sheet("Inches").line([Styled(8.75, Look.NUMBER), Styled(0.125, Look.FINE)])
    sheet = openpyxl.load_workbook(BytesIO(book.to_bytes())).active
    assert sheet["A1"].number_format == "0.00_0"
    assert sheet["B1"].number_format == "+0.000_0;-0.000_0;0.000_0"


def test_a_named_table_is_declared_only_where_its_headings_differ():
    book = Book("Tables")
    book.sheet("One").table([Heading("s"), Heading("m")], [[1.0, 2.0]], name="8/9 sizes")
    book.sheet("Two").table([Heading("s"), Heading("m")], [[1.0, 2.0]], name="8-9 SIZES")
    book.sheet("Three").table([Heading("s"), Heading("S")], [[1.0, 2.0]], name="twins")
    sheets = openpyxl.load_workbook(BytesIO(book.to_bytes())).worksheets
    assert [list(sheet.tables) for sheet in sheets] == [["T_8_9_sizes"], ["T_8_9_SIZES_2"], []]
    assert sheets[0].tables["T_8_9_sizes"].ref == "A1:B2"


def test_lists_and_rules_and_links_reach_the_file():
    front, sheet = openpyxl.load_workbook(BytesIO(example().to_bytes())).worksheets
    rules = {str(rule.sqref): rule.formula1 for rule in sheet.data_validations.dataValidation}
    assert rules == {"B7": '"yes,no"', "C7": "'O''Neil-s sizes'!$A$3:$A$4"}
    assert [str(area.sqref) for area in sheet.conditional_formatting] == ["D3:D4"]
    assert front["B3"].hyperlink.location == "'O''Neil-s sizes'!A1"
    with pytest.raises(ValueError, match="comma"):
        Book("Lists").sheet("Lists").choose_among("A1", ["one, two"])


def test_pictures_and_charts_carry_the_text_that_stands_for_them():
    png = BytesIO()
    Image.new("L", (200, 100)).save(png, "PNG")
    book = Book("Pictures")
    book.sheet("None here").line(["text"])
    sheet = book.sheet("Some")
    area = sheet.table([Heading("Size"), Heading("Width", Look.NUMBER)], [["8", 1.0], ["9", 2.0]])
    sheet.picture(png.getvalue(), "D2", width_mm=40, instead='The "nest" of <trank>')
    bar = Bar(name=area.fixed(-1, 1), labels=area.reference(0), values=area.reference(1), colour="6A6A6A")
    chart = BarChart("Widths", (bar,), number_format="0", gap=40)
    sheet.chart(chart, "D20", width_mm=80, height_mm=50, instead="Width by size")
    data = book.to_bytes()
    drawing = zipfile.ZipFile(BytesIO(data)).read("xl/drawings/drawing1.xml").decode()
    assert set(re.findall('descr="([^"]*)"', drawing)) == {"The &quot;nest&quot; of &lt;trank&gt;", "Width by size"}
    # 36,000 EMU a millimetre, ECMA-376 part 1
    assert f'<a:ext cx="{40 * 36000}" cy="{20 * 36000}"/>' in drawing


@given(st.lists(st.text(max_size=40), max_size=6))
def test_sheet_names_are_legal_and_distinct_whatever_the_names_of_the_groups(wanted):
    taken: list[str] = []
    for name in [*wanted, *wanted]:
        taken.append(sheet_name(name, taken))
    assert len({name.casefold() for name in taken}) == len(taken)
    for name in taken:
        assert 1 <= len(name.encode("utf-16-le")) // 2 <= 31
        assert not set(name) & set("/\\?*[]:")
        assert name.strip("'") == name
        assert name.casefold() != "history"


def test_sheet_names_stay_close_to_what_was_asked():
    taken: list[str] = []
    for wanted in ["Women", "women", "", "History", "'''", "a" * 40, "a" * 40]:
        taken.append(sheet_name(wanted, taken))
    assert taken == ["Women", "women (2)", "Sheet", "History (2)", "Sheet (2)", "a" * 31, "a" * 27 + " (2)"]


def test_a_whole_workbook_prints_from_libreoffice_one_page_a_sheet(tmp_path, office):
    path = tmp_path / "spec.xlsx"
    path.write_bytes(example().to_bytes())
    pages = [page.extract_text() for page in PdfReader(office(path, "pdf")).pages]
    assert len(pages) == 2
    assert all("run 1f3a9c" in page and "R&D" in page for page in pages)
    assert "page 2 of 2" in pages[1]


@pytest.mark.parametrize("epoch", ["9" * 30, "99999999999999", "-1" * 3000, "²", "soon"])
def test_an_epoch_that_no_calendar_has_counts_as_none(epoch, monkeypatch):
    monkeypatch.delenv("SOURCE_DATE_EPOCH", raising=False)
    plain = Book("t")
    plain.sheet("s").title("t")
    usual = plain.to_bytes()
    monkeypatch.setenv("SOURCE_DATE_EPOCH", epoch)
    book = Book("t")
    book.sheet("s").title("t")
    assert book.to_bytes() == usual


def test_help_is_shown_in_a_columns_cells_and_headings_stand_as_their_figures_do():
    book = Book("Help")
    columns = [Heading("Size"), Heading("pairs", Look.INPUT, help="Whole pairs."), Heading("Note", Look.INPUT)]
    book.sheet("Help").table(columns, [["W1", Styled(3, Look.INPUT), None], ["W2", Styled(4, Look.INPUT), None]])
    sheet = openpyxl.load_workbook(BytesIO(book.to_bytes())).active
    (rule,) = sheet.data_validations.dataValidation
    assert (str(rule.sqref), rule.promptTitle, rule.prompt) == ("B1:B3", "pairs", "Whole pairs.")
    assert [sheet.cell(1, column).alignment.horizontal for column in (1, 2, 3)] == [None, "right", None]


def test_words_give_way_where_a_sheet_would_print_too_small():
    book = Book("Wide")
    for landscape in (False, True):
        sheet = book.sheet(f"Wide {landscape}", landscape=landscape)
        figures = [Heading(f"size {number}", Look.NUMBER, 9) for number in range(6)]
        sheet.table([Heading("Measure"), *figures, Heading("How")], [["palm width", *[1.0] * 6, "word " * 60]])
    across = [
        sum(column.width for column in sheet.column_dimensions.values() for _ in range(column.max - column.min + 1))
        for sheet in openpyxl.load_workbook(BytesIO(book.to_bytes()))
    ]
    # A character is 7 pixels of 1/96 in; 7 mm stay free at each side.
    for wide, paper in zip(across, (210, 297), strict=True):
        assert wide * 7 * 25.4 / 96 <= paper - 14
