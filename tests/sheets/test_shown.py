"""Cells that show something else than they hold: read as a maker sees them, with a word, or refused."""

from __future__ import annotations

import html
import re
import zipfile
from decimal import Decimal

import openpyxl
import pytest

from grading.sheets.as_shown import read_as_shown
from grading.sheets.columns import Cells, Column
from grading.sheets.number_formats import Shown
from grading.sheets.opening import open_tables
from grading.sheets.sizes import read_sizes
from grading.units import UnreadableError

HEADINGS = ["Measurement", "Unit", "S", "M", "Source"]


@pytest.fixture
def read(tmp_path):
    """The size tables of a workbook that a test has prepared, and what was found in it."""

    def saved_and_read(prepare, unit="mm", figures=(180, 192)):
        book = openpyxl.Workbook()
        sheet = book.active
        sheet.title = "Women"
        sheet.append(HEADINGS)
        sheet.append(["fist girth", unit, *figures])
        sheet.append(["palm length", unit, 90, 95] if unit == "mm" else ["palm length", unit, 9, 9.5])
        prepare(sheet)
        book.save(tmp_path / "sizes.xlsx")
        opened, found = open_tables(tmp_path / "sizes.xlsx")
        tables, more = read_sizes(opened)
        return tables, [*found, *more]

    return saved_and_read


def formatted(cell, number_format):
    def prepare(sheet):
        sheet[cell].number_format = number_format

    return prepare


def told(findings):
    return [(one.code, str(one.severity), one.place.cell) for one in findings]


# Each is what LibreOffice Calc and the format's standard (ISO/IEC 29500-1, 18.8.31) show of the figure.
@pytest.mark.parametrize(
    ("number_format", "unit", "figures", "read_mm", "both"),
    [
        ('0.0" cm"', "mm", (18.0, 192), 180, ("'18.0 cm'", "holds 18")),
        ('0" mm"', "cm", (180, 19.2), 180, ("'180 mm'", "holds 180")),
        ('General" in"', "cm", (7.5, 19.2), 190.5, ("'7.5 in'", "holds 7.5")),
        ('# ?/?\\"', "mm", (7.5, 192), 190.5, ("holds 7.5",)),
        ("#,##0,", "mm", (180000, 192), 180, ("'180'", "holds 180000")),
    ],
)
def test_a_unit_or_thousands_in_the_number_format_hold_as_shown(read, number_format, unit, figures, read_mm, both):
    (table,), findings = read(formatted("C2", number_format), unit, figures)
    assert table.values[0, 0] == pytest.approx(read_mm)
    assert told(findings) == [("shown-otherwise", "warning", "C2")]
    for words in both:
        assert words in findings[0].found


@pytest.mark.parametrize("number_format", ['"1"000', "0;0;0", '"8"0', '[>100]"18 cm"'])
def test_a_format_that_shows_another_figure_is_refused(read, number_format):
    def prepare(sheet):
        sheet["C2"] = -5 if ";" in number_format else 180
        sheet["C2"].number_format = number_format

    _, findings = read(prepare)
    assert ("shown-otherwise", "C2") in [(one.code, one.place.cell) for one in findings]


@pytest.mark.parametrize("number_format", [";;;", '""'])
def test_a_figure_that_is_not_shown_at_all_is_told(read, number_format):
    (table,), findings = read(formatted("C2", number_format))
    assert told(findings) == [("shown-otherwise", "warning", "C2")]
    assert table.values[0, 0] == 180


def test_a_figure_rounded_by_a_millimetre_or_more_is_told_and_read_whole(read):
    (table,), findings = read(formatted("C2", "0"), "cm", (18.3, 19.2))
    assert told(findings) == [("shown-otherwise", "warning", "C2")]
    assert table.values[0, 0] == pytest.approx(183)


@pytest.mark.parametrize(
    ("number_format", "unit", "figures"),
    [
        ("0.00", "mm", (180, 192)),
        ('0" mm"', "mm", (180, 192)),
        ('0.0" cm"', "cm", (18.0, 19.2)),
        ("#,##0.0_ ;[Red]-#,##0.0", "mm", (180, 192)),
        ("_-* #,##0.00_-;-* #,##0.00_-", "mm", (180, 192)),
        ("0", "mm", (180.4, 192)),
        ("# ?/?", "in", (7.25, 7.5)),
        ("@", "mm", (180, 192)),
        ("0.00E+00", "mm", (180, 192)),
        ("000", "mm", (180, 192)),
    ],
)
def test_a_format_that_changes_nothing_is_not_told(read, number_format, unit, figures):
    (table,), findings = read(formatted("C2", number_format), unit, figures)
    assert findings == []
    assert table.values[0, 0] == pytest.approx(figures[0] * {"mm": 1, "cm": 10, "in": 25.4}[unit])


def test_a_whole_sheet_of_such_cells_has_one_cause(read):
    def prepare(sheet):
        for cell in ("C2", "D2", "C3", "D3"):
            sheet[cell].number_format = '0" cm"'
            sheet[cell] = sheet[cell].value / 10

    _, findings = read(prepare)
    assert len({one.cause for one in findings}) == 1 != len(findings)


def test_a_size_is_named_as_its_heading_is_shown(read):
    def prepare(sheet):
        sheet["C1"], sheet["D1"] = 7, 8
        sheet["C1"].number_format = sheet["D1"].number_format = '"W"0'

    (table,), findings = read(prepare)
    assert table.sizes == ("W7", "W8")
    assert findings == []


@pytest.mark.parametrize(
    ("one", "other"), [("W1", "W1."), ("W1", "Ｗ１"), ("M", "М"), ("L", "L\u200b"), ("8", "8\xa0")]
)
def test_sizes_that_look_alike_are_twins(read, one, other):
    def prepare(sheet):
        sheet["C1"], sheet["D1"] = one, other

    assert ("duplicate-column", "error", "D1") in told(read(prepare)[1])


@pytest.mark.parametrize(("one", "other"), [("8", "8+"), ("8.5", "85"), ("S", "S-"), ("W1", "W11")])
def test_sizes_that_differ_to_the_eye_are_none(read, one, other):
    def prepare(sheet):
        sheet["C1"], sheet["D1"] = one, other

    assert read(prepare)[1] == []


def test_a_hidden_column_is_told_like_a_hidden_row(read):
    def prepare(sheet):
        sheet.column_dimensions["D"].hidden = True
        sheet.row_dimensions[3].hidden = True

    (table,), findings = read(prepare)
    assert told(findings) == [("hidden-rows", "warning", ""), ("hidden-columns", "warning", "")]
    assert "D" in findings[1].found
    assert table.sizes == ("S", "M")


def test_a_hidden_column_that_is_not_read_is_not_told(read):
    def prepare(sheet):
        sheet.column_dimensions["H"].hidden = True

    assert read(prepare)[1] == []


@pytest.mark.parametrize("state", ["hidden", "veryHidden"])
def test_a_hidden_sheet_is_told(read, state):
    def prepare(sheet):
        sheet.sheet_state = state
        sheet.parent.create_sheet("Notes")

    assert ("hidden-sheet", "warning", "") in told(read(prepare)[1])


def test_a_date_counted_from_1904_is_the_day_that_is_shown(tmp_path):
    book = openpyxl.Workbook()
    book.epoch = openpyxl.utils.datetime.CALENDAR_MAC_1904
    book.active["A1"], book.active["A1"].number_format = 44865, "yyyy-mm-dd"
    book.save(tmp_path / "t.xlsx")
    # 1904-01-01 and 44865 days
    assert str(open_tables(tmp_path / "t.xlsx")[0].grids[0].value(1, 1).date()) == "2026-11-01"


def test_a_heading_that_is_a_formula_without_a_value_is_an_error(read, tmp_path):
    def prepare(sheet):
        sheet["D1"] = '="M"'

    tables, findings = read(prepare)
    assert tables == ()
    assert told(findings) == [("formula-without-value", "error", "D1")]


def csv(tmp_path, text):
    (tmp_path / "Women.csv").write_text(text, encoding="utf-8")
    opened, found = open_tables(tmp_path / "Women.csv")
    tables, more = read_sizes(opened)
    return tables, [*found, *more]


def test_a_line_of_more_or_fewer_cells_than_headings_is_an_error_by_line(tmp_path):
    text = "Measurement,Unit,S,M\nfist girth,cm,18,0,19,2\npalm length,cm,9\nweb depth,cm,2,2.1\n"
    tables, findings = csv(tmp_path, text)
    assert tables == ()
    uneven = [one for one in findings if one.code == "uneven-line"]
    assert [one.place.cell for one in uneven] == ["A2", "A3"]
    assert "Line 2 has 6 cells, the headings are 4." in uneven[0].found


@pytest.mark.parametrize(
    "text",
    [
        "Measurement;Unit;S;M\nfist girth;cm;18,0;19,2\n\n# a remark\npalm length;cm;9;9,5;\n",
        "Measurement,Unit,S,M,Source\nfist girth,cm,18.0,19.2,\n",
    ],
)
def test_even_lines_footnotes_and_trailing_separators_are_taken(tmp_path, text):
    tables, findings = csv(tmp_path, text)
    assert len(tables) == 1
    assert [one for one in findings if one.code == "uneven-line"] == []


def test_a_table_under_a_title_is_an_error_and_not_passed_over(tmp_path):
    book = openpyxl.Workbook()
    book.active.title = "Men"
    for row in (HEADINGS, ["fist girth", "mm", 200, 210], ["palm length", "mm", 100, 105]):
        book.active.append(row)
    titled = book.create_sheet("Women")
    for row in (["Our hands, spring"], [], HEADINGS, ["fist girth", "mm", 180, 192]):
        titled.append(row)
    renamed = book.create_sheet("Old")
    for row in (["Row", "U", "S"], ["Fist girth", "mm", 180], ["palm length", "mm", 90]):
        renamed.append(row)
    left_out = book.create_sheet("Draft")
    for row in (["# Measurement", "Unit", "S"], ["fist girth", "mm", 180], ["palm length", "mm", 90]):
        left_out.append(row)
    book.create_sheet("Sums").append(["fist girth of all", 1, 2, 3])
    book.save(tmp_path / "sizes.xlsx")
    _, findings = read_sizes(open_tables(tmp_path / "sizes.xlsx")[0])
    assert [(one.place.sheet, one.place.cell, str(one.severity)) for one in findings] == [
        ("Women", "A3", "error"),
        ("Old", "A1", "error"),
        ("Draft", "A1", "note"),
        ("Sums", "A1", "note"),
    ]


def test_formats_are_shown_as_a_spreadsheet_shows_them(tmp_path, office):
    """LibreOffice writes what its cells show into a page."""
    from grading.sheets.number_formats import shown_as

    cases = [
        (18.8, '0.0" cm"'), (188000, "#,##0,"), (6, '0"%"'), (0.06, "0%"), (3, '"W"0'), (-5, "0;0"), (7, "000"),
        (188, '"1"000'), (-12.5, "+0.0;-0.0"), (12.5, "+0.0;-0.0"), (1, '[=1]"yes";[=0]"no"'), (0, '0;-0;"none"'),
        (-3.5, "0.0;(0.0)"), (18.8, "0"), (2.5, "0"), (188, '0.0,'), (40, '0.00" EUR"'),
    ]  # fmt: skip
    book = openpyxl.Workbook()
    for row, (value, number_format) in enumerate(cases, start=1):
        book.active.cell(row, 1, value).number_format = number_format
    book.save(tmp_path / "t.xlsx")
    page = office(tmp_path / "t.xlsx", "html").read_text("utf-8")
    lines = [html.unescape(cell) for cell in re.findall(r"<td[^>]*><font[^>]*>(.*?)</font>", page)]
    for (value, number_format), line in zip(cases, lines, strict=True):
        seen = shown_as(value, number_format)
        if seen is not None and "(" not in number_format:
            assert str(seen) == line, number_format


@pytest.mark.parametrize(
    ("height", "hidden", "code"), [("0", {1}, []), ("15", set(), []), ("wide", set(), ["workbook-broken"])]
)
def test_a_row_of_no_height_is_hidden(tmp_path, height, hidden, code):
    book = openpyxl.Workbook()
    book.active.append(["x"])
    book.save(tmp_path / "t.xlsx")
    with zipfile.ZipFile(tmp_path / "t.xlsx") as old, zipfile.ZipFile(tmp_path / "u.xlsx", "w") as new:
        for name in old.namelist():
            part = old.read(name)
            if name.endswith("sheet1.xml"):
                part = part.replace(b'<sheetData><row r="1"', f'<sheetData><row r="1" ht="{height}"'.encode())
            new.writestr(name, part)
    table, findings = open_tables(tmp_path / "u.xlsx")
    assert [one.code for one in findings] == code
    assert {row for grid in table.grids for row in grid.hidden_rows} == hidden


SHARE, COUNT, NAME = (Column(kind.says, kind, "As shown.") for kind in (Cells.NUMBER, Cells.COUNT, Cells.NAME))


@pytest.mark.parametrize(
    ("column", "held", "shown", "read", "told"),
    [
        (COUNT, 12, Shown("", Decimal(12), " pairs", 0), 12, False),
        (COUNT, 0.12, Shown("", Decimal(12), " %", 0), 12, True),
        (NAME, 8, Shown("size ", Decimal(8), "", 0), "size 8", True),
        (NAME, 8, Shown("", Decimal(8), "", 0), "8", False),
    ],
)
def test_counts_and_names_are_read_as_they_are_shown(column, held, shown, read, told):
    found, said = read_as_shown(held, shown, column, "mm")
    assert found == read
    assert bool(said) == told


def test_a_length_shown_with_another_word_behind_it_is_read_as_held_or_refused_where_it_is_another():
    length = Column("a length", Cells.LENGTH, "As shown.")
    found, said = read_as_shown(180, Shown("", Decimal(180), " EUR", 0), length, "mm")
    assert found == 180
    assert "180 mm is read" in said
    with pytest.raises(UnreadableError):
        read_as_shown(180, Shown("", Decimal(18), " EUR", 0), length, "mm")
