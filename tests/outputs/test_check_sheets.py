"""Check sheets filled with known errors: other programs, and the reader, come to exactly those."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory

import formulas
import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl.worksheet.worksheet import Worksheet

from grading.jobs.returns import check_returns
from grading.model.returns import HANDS, PAIRS
from grading.outputs.check_sheets import check_sheets
from grading.outputs.wording import CAUTIONS_AT_WORK
from grading.readings.returns import Verdict
from grading.readings.targets import targets
from grading.sheets.check_sheet import CHECK
from grading.sheets.opening import open_tables
from grading.sheets.returns import read_check_sheets
from grading.units import MM_PER

RUN = "1f3a9c0123"
FIRST = 6  # the column of pair 1, left hand

#: What is typed beside a figure f with tolerances m and p, and what that comes to.
TYPED = (
    (lambda f, m, p: f, "pass"),
    (lambda f, m, p: f - m, "pass"),
    (lambda f, m, p: f + p, "pass"),
    (lambda f, m, p: f - m - 0.1, "short"),
    (lambda f, m, p: f + p + 0.1, "long"),
    (lambda f, m, p: f / 10, "check"),
    (lambda f, m, p: f * 10, "check"),
    (lambda f, m, p: "about right", "check"),
    (lambda f, m, p: 0, "check"),
    (lambda f, m, p: None, None),
)


def table_at(sheet: Worksheet, number: int = 0) -> int:
    """The row of headings of the boxes, or of the verdicts."""
    return [cell.row for cell in sheet["A"] if cell.value == "Letter"][number]


def made(run, unit: str = "mm") -> dict[str, bytes]:
    return dict(check_sheets(run, run_id=RUN, unit=unit))


def filled(data: bytes) -> tuple[bytes, dict[str, str]]:
    """The sheet with every row filled as TYPED says, turned on by one from row to row; and the verdicts by cell."""
    book = openpyxl.load_workbook(BytesIO(data))
    sheet = book.active
    expected = {}
    row = table_at(sheet) + 1
    while sheet.cell(row, 2).value:
        for column in range(10):
            typed, verdict = TYPED[(row + column) % len(TYPED)]
            cell = sheet.cell(row, FIRST + column)
            value = typed(*(sheet.cell(row, of).value for of in (3, 4, 5)))
            cell.value = round(value, 3) if isinstance(value, float) else value
            if verdict:
                expected[cell.coordinate] = verdict
        row += 1
    sheet["B8"] = "Ann"
    out = BytesIO()
    book.save(out)
    return out.getvalue(), expected


def verdicts(sheet: Worksheet) -> dict[str, str]:
    """What a recalculated sheet says, by the cell that was filled in."""
    boxes, judged = table_at(sheet), table_at(sheet, 1)
    found = {}
    for row in range(1, judged - boxes - 1):
        for column in range(FIRST, FIRST + 10):
            if word := sheet.cell(judged + row, column).value:
                found[sheet.cell(boxes + row, column).coordinate] = word
    return found


@pytest.mark.parametrize("unit", ["mm", "cm", "in"])
def test_the_reader_comes_to_exactly_the_errors_that_were_filled_in(runs, tmp_path, unit):
    data, expected = filled(made(runs["Women"], unit)["W4"])
    if unit != "mm":  # the errors of 0.1 are larger there, and as wrong
        assert set(expected.values()) == {"pass", "short", "long", "check"}
    path = tmp_path / "W4.xlsx"
    path.write_bytes(data)
    returned = check_returns([path], {RUN: runs["Women"]})
    assert {one.reading.place.cell: str(one.verdict) for one in returned.judgement.readings} == expected
    unread = {finding.place.cell for finding in returned.findings}
    wanted = {one.reading.place.cell for one in returned.judgement.readings if one.reading.mm is None}
    assert unread == wanted != set()


def test_libreoffice_recalculates_a_filled_sheet_to_the_same_and_prints_it_on_one_page(runs, tmp_path, office):
    from pypdf import PdfReader

    data, expected = filled(made(runs["Children"], "mm")["6-7"])
    path = tmp_path / "6-7.xlsx"
    path.write_bytes(data)
    sheet = openpyxl.load_workbook(office(path, "xlsx"), data_only=True).active
    assert verdicts(sheet) == expected
    words = list(expected.values())
    counted = {sheet.cell(row, 1).value: sheet.cell(row, 2).value for row in range(1, table_at(sheet))}
    assert counted["Failures"] == words.count("short") + words.count("long")
    assert counted["To check"] == words.count("check")
    assert len(PdfReader(office(path, "pdf")).pages) == 1
    # What LibreOffice saved is read as what was sent out and filled in.
    returned = check_returns([path.parent / "converted" / "6-7.xlsx"], {RUN: runs["Children"]})
    assert {one.reading.place.cell: str(one.verdict) for one in returned.judgement.readings} == expected


def test_a_formula_evaluator_comes_to_the_same(runs, tmp_path):
    data, expected = filled(made(runs["Men"], "cm")["M2"])
    path = tmp_path / "m2.xlsx"
    path.write_bytes(data)
    computed = formulas.ExcelModel().loads(str(path)).finish().calculate()
    sheet = openpyxl.load_workbook(path).active
    boxes, judged = table_at(sheet), table_at(sheet, 1)
    for row in range(1, judged - boxes - 1):
        for column in range(FIRST, FIRST + 10):
            value = computed[f"'[m2.xlsx]CHECK M2'!{sheet.cell(judged + row, column).coordinate}"].value[0, 0]
            assert value == expected.get(sheet.cell(boxes + row, column).coordinate, "")


WORDS = st.text(st.sampled_from('abcÄŁñ 0123,.:;-&<>"é'), max_size=20).map(lambda text: " ".join(text.split()))
BOXES = st.tuples(st.integers(0, 4), st.integers(0, 2 * PAIRS - 1))


@given(
    st.sampled_from(["mm", "cm", "in"]),
    st.dictionaries(BOXES, st.decimals(1, 400, places=3).map(float), min_size=1),
    st.tuples(WORDS.filter(bool), WORDS, WORDS),
)
def test_whatever_is_filled_in_is_read_back_the_same(runs, unit, filled_in, said):
    run = runs["Women"].only(2)
    ((size, data),) = check_sheets(run, run_id=RUN, unit=unit)
    book = openpyxl.load_workbook(BytesIO(data))
    sheet = book.active
    for (row, box), figure in filled_in.items():
        sheet.cell(table_at(sheet) + 1 + row, FIRST + box, figure)
    for row in range(1, table_at(sheet)):
        if sheet.cell(row, 1).value in ("Name", "Date", "Remarks"):
            cell = sheet.cell(row, 2, said[("Name", "Date", "Remarks").index(sheet.cell(row, 1).value)])
            cell.data_type = "s"
    with TemporaryDirectory() as folder:
        book.save(Path(folder) / "sheet.xlsx")
        opened, problems = open_tables(Path(folder) / "sheet.xlsx")
    ((found,), findings) = read_check_sheets(opened)
    assert (problems, findings) == ([], [])
    assert (found.run_id, found.group, found.size, found.unit) == (RUN, run.group, size, unit)
    assert (found.name, found.date, found.remarks) == said
    (asked,) = targets(run, unit)
    assert [name for name, _ in found.given] == [target.measure.name for target in asked]
    for (_, one), target in zip(found.given, asked, strict=True):
        assert (one.figure, one.minus, one.plus) == pytest.approx(target.mm)
    read = {(one.measure, one.pair, one.hand): one.mm for one in found.readings}
    assert read == {
        (asked[row].measure.name, box // 2 + 1, HANDS[box % 2]): float(Fraction(repr(figure)) * MM_PER[unit])
        for (row, box), figure in filled_in.items()
    }


def test_there_is_a_file_for_each_size_that_says_which_run_it_is_of(runs):
    files = made(runs["Women"], "in")
    assert list(files) == list(runs["Women"].sizes)
    sheet = openpyxl.load_workbook(BytesIO(files["W5"]), data_only=True).active
    fields = {sheet.cell(row, 1).value: sheet.cell(row, 2).value for row in range(1, 13)}
    assert {field.name for field in CHECK.fields} <= set(fields)
    assert (fields["Group"], fields["Size"], fields["Run"], fields["Unit"]) == ("Women", "W5", RUN, "in")
    assert (fields["Failures"], fields["To check"]) == (0, 0)
    assert set(sheet.parent.defined_names) == {*(field.name for field in CHECK.fields), "Failures"}


def test_only_the_boxes_can_be_typed_in_and_there_is_no_password(runs):
    sheet = openpyxl.load_workbook(BytesIO(made(runs["Women"])["W1"])).active
    assert sheet.protection.sheet
    assert not sheet.protection.password
    # The format's flags say what is locked: these are not.
    assert not sheet.protection.selectLockedCells
    assert not sheet.protection.selectUnlockedCells
    assert not sheet.protection.formatColumns
    boxes = table_at(sheet)
    open_cells = {cell.coordinate for row in sheet.iter_rows() for cell in row if not cell.protection.locked}
    measures = table_at(sheet, 1) - boxes - 2
    in_table = {
        sheet.cell(boxes + 1 + row, FIRST + mitten).coordinate for row in range(measures) for mitten in range(10)
    }
    assert open_cells == in_table | {"B8", "B9", "B10", "B13", "B14"}
    assert [sheet.cell(row, 1).value for row in (8, 9, 10)] == ["Name", "Date", "Remarks"]


def test_boxes_take_likely_numbers_only_and_wrong_ones_stand_out(runs):
    sheet = openpyxl.load_workbook(BytesIO(made(runs["Women"])["W1"])).active
    (rule,) = sheet.data_validations.dataValidation
    assert (rule.type, rule.showErrorMessage) == ("decimal", True)
    assert rule.operator in (None, "between")  # which it is unless said otherwise: ECMA-376 part 1, 18.3.1.32
    row = table_at(sheet) + 1
    assert (rule.formula1, rule.formula2) == (f"$C{row}/2", f"$C{row}*2")
    assert str(rule.sqref).startswith(f"F{row}:O")
    (area,) = sheet.conditional_formatting
    assert str(area.sqref).startswith(f"F{table_at(sheet, 1) + 1}:O")
    assert {f'"{word}"' in area.rules[0].formula[0] for word in Verdict if word is not Verdict.PASS} == {True}


def test_the_same_run_gives_the_same_bytes(runs):
    assert made(runs["Men"]) == made(runs["Men"])


def test_an_unfilled_sheet_is_read_as_one(runs, tmp_path):
    path = tmp_path / "W1.xlsx"
    path.write_bytes(made(runs["Women"])["W1"])
    assert open_tables(path)[1] == []
    returned = check_returns([path], {RUN: runs["Women"]})
    assert [finding.code for finding in returned.findings] == ["check-sheet-blank"]
    assert returned.judgement.readings == ()


def test_sizes_that_look_like_figures_formulas_or_paths_come_back_as_they_are(runs, tmp_path):
    run = runs["Women"]
    names = ("8/9", "=1+1", "007", "1e5", "8:9", "@x")
    named = replace(run, table=replace(run.table, sizes=names, group="+Fair & Co"))
    paths = []
    for name, data in check_sheets(named, run_id=RUN, unit="mm"):
        book = openpyxl.load_workbook(BytesIO(data))
        book.active.cell(table_at(book.active) + 1, FIRST).value = 114
        paths.append(tmp_path / f"{name}.xlsx")
        book.save(paths[-1])
    returned = check_returns(paths, {RUN: named})
    assert [(sheet.group, sheet.size) for sheet in returned.sheets] == [("+Fair & Co", name) for name in names]
    assert {finding.code for finding in returned.findings} == {"name-missing"}


def test_a_check_sheet_carries_the_cautions_of_the_work(runs):
    sheet = openpyxl.load_workbook(BytesIO(made(runs["Women"])["W3"])).active
    assert CAUTIONS_AT_WORK in [cell.value for cell in sheet["A"]]


def test_rows_to_write_in_are_9_mm_on_paper_with_least_and_most_beside_them_and_only_they_are_printed(runs):
    sheet = openpyxl.load_workbook(BytesIO(made(runs["Women"])["W3"])).active
    boxes, judged = table_at(sheet), table_at(sheet, 1)
    last = judged - 2
    assert sheet.print_area.endswith(f"!$A$8:$Q${last}")
    assert "Women" in sheet.oddHeader.left.text
    assert "figures in mm" in sheet.oddHeader.left.text
    assert RUN in sheet.oddFooter.left.text
    # A sign of the usual width is 7 pixels at 96 an inch; lying A4 leaves 297 mm less two margins of 0.4 in.
    alike = [(one.width, one.max - one.min + 1) for one in sheet.column_dimensions.values()]
    assert sum(count for _, count in alike) == 17
    across = sum(width * count for width, count in alike) * 7 * 25.4 / 96
    high = sum((sheet.row_dimensions[row].height or 15) * 25.4 / 72 for row in range(8, last + 1))
    scale = min(1, (297 - 20) / across, (210 - 40) / high)
    for row in range(boxes + 1, last + 1):
        assert sheet.row_dimensions[row].height * 25.4 / 72 * scale >= 9
        figure, minus, plus, least, most = (sheet.cell(row, of).value for of in (3, 4, 5, 16, 17))
        assert (least, most) == pytest.approx((figure - minus, figure + plus))
    assert [sheet.cell(boxes, of).value for of in (16, 17)] == ["least", "most"]
    assert {"Needles out", "Needles in"} <= {cell.value for cell in sheet["A"]}
