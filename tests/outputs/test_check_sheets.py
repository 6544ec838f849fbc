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
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl.worksheet.worksheet import Worksheet
from pages_read import read_pages
from pypdf import PdfReader

from grading.jobs.returns import check_returns
from grading.model.returns import HANDS, PAIRS, TargetGiven
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

#: What is typed beside the least, the right and the most, and what that comes to.
TYPED = (
    (lambda least, right, most: right, "pass"),
    (lambda least, right, most: least, "pass"),
    (lambda least, right, most: most, "pass"),
    (lambda least, right, most: least - 0.1, "short"),
    (lambda least, right, most: most + 0.1, "long"),
    (lambda least, right, most: right / 10, "check"),
    (lambda least, right, most: right * 10, "check"),
    (lambda least, right, most: "about right", "check"),
    (lambda least, right, most: 0, "check"),
    (lambda least, right, most: None, None),
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
            cell.value = round(value, 4) if isinstance(value, float) else value
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
    for row in range(1, judged - boxes - 2):
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


@pytest.mark.long
def test_libreoffice_recalculates_a_filled_sheet_to_the_same_and_prints_it_on_one_page(runs, tmp_path, office):
    data, expected = filled(made(runs["Children"], "mm")["6-7"])
    path = tmp_path / "6-7.xlsx"
    path.write_bytes(data)
    sheet = openpyxl.load_workbook(office(path, "xlsx"), data_only=True).active
    assert verdicts(sheet) == expected
    words = list(expected.values())
    counted = {sheet.cell(row, 3).value: sheet.cell(row, 4).value for row in range(1, table_at(sheet))}
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
    for row in range(1, judged - boxes - 2):
        for column in range(FIRST, FIRST + 10):
            value = computed[f"'[m2.xlsx]CHECK M2'!{sheet.cell(judged + row, column).coordinate}"].value[0, 0]
            assert value == expected.get(sheet.cell(boxes + row, column).coordinate, "")


WORDS = st.text(st.sampled_from('abcÄŁñ 0123,.:;-&<>"é'), max_size=20).map(lambda text: " ".join(text.split()))
BOXES = st.tuples(st.integers(0, 4), st.integers(0, 2 * PAIRS - 1))


@settings(max_examples=12)
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
    assert [(sheet.cell(row, 3).value, sheet.cell(row, 4).value) for row in (3, 4)] == [
        ("Failures", 0),
        ("To check", 0),
    ]
    assert set(sheet.parent.defined_names) == {*(field.name for field in CHECK.fields), "Failures"}


def test_a_sheet_that_nobody_has_filled_in_has_nothing_judged_yet(runs):
    data = made(runs["Women"])["W3"]
    written, shown = (openpyxl.load_workbook(BytesIO(data), data_only=only).active for only in (False, True))
    worked_out = [cell.coordinate for row in written.iter_rows() for cell in row if str(cell.value).startswith("=")]
    assert len(worked_out) > 20
    assert {shown[place].value for place in worked_out} <= {0, "", None}


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
    measures = table_at(sheet, 1) - boxes - 3
    in_table = {
        sheet.cell(boxes + 1 + row, FIRST + mitten).coordinate for row in range(measures) for mitten in range(10)
    }
    assert open_cells == in_table | {"B8", "B9", "B10", "B11"}
    assert [sheet.cell(row, 1).value for row in (8, 9, 10)] == ["Name", "Date", "Remarks"]


def test_boxes_take_likely_numbers_only_and_wrong_ones_stand_out(runs):
    sheet = openpyxl.load_workbook(BytesIO(made(runs["Women"])["W1"])).active
    (rule,) = sheet.data_validations.dataValidation
    assert (rule.type, rule.showErrorMessage) == ("decimal", True)
    assert rule.operator in (None, "between")  # which it is unless said otherwise: ECMA-376 part 1, 18.3.1.32
    row = table_at(sheet) + 1
    assert (rule.formula1, rule.formula2) == (f"$D{row}/2", f"$D{row}*2")
    assert str(rule.sqref).startswith(f"F{row}:O")
    # A number format puts the word behind what was typed, in its own box.
    told = {one.dxf.numFmt.formatCode for area in sheet.conditional_formatting for one in area.rules}
    words = [word for word in Verdict if word is not Verdict.PASS] + ["apart"]
    assert told == {f'General" {word}";General" {word}";General" {word}";@" {word}"' for word in words}


@pytest.mark.long
def test_libreoffice_shows_the_verdict_behind_the_figure_and_hands_that_differ(runs, tmp_path, office):
    book = openpyxl.load_workbook(BytesIO(made(runs["Women"])["W3"]))
    sheet = book.active
    row = table_at(sheet) + 1
    least, right, most, apart = (sheet.cell(row, of).value for of in (3, 4, 5, 16))
    typed = (least - 1, right, right, right + apart, right - 1, right + apart - 0.9, most + 3, most + 3, "wide")
    for column, value in enumerate(typed):
        sheet.cell(row, FIRST + column).value = value
    path = tmp_path / "W3.xlsx"
    book.save(path)
    (page,) = PdfReader(office(path, "pdf")).pages
    words = " ".join(page.extract_text().split())
    for text in (
        f"{least - 1:g} short",
        f"{right - 1:g} apart",
        f"{right + apart - 0.9:g} apart",
        f"{most + 3:g} long",
        "wide check",
    ):
        assert text in words
    # As far apart as they may be is not told; the hand that is short or long by itself is told that and no more.
    assert words.count("apart") == 3
    assert words.count("short") == 1


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


@pytest.mark.parametrize("unit", ["mm", pytest.param("in", marks=pytest.mark.long)])
def test_rows_to_write_in_are_9_mm_on_paper_and_only_they_are_printed(runs, tmp_path, office, unit):
    sheet = openpyxl.load_workbook(BytesIO(made(runs["Women"], unit)["W3"])).active
    boxes, judged = table_at(sheet), table_at(sheet, 1)
    assert sheet.print_area.endswith(f"!$A$8:$P${judged - 2}")
    assert "Women" in sheet.oddHeader.left.text
    assert f"figures in {'mm' if unit == 'mm' else 'inches'}" in sheet.oddHeader.left.text
    assert RUN in sheet.oddFooter.left.text
    assert [sheet.cell(boxes, of).value for of in (3, 4, 5, 16)] == ["least", "right", "most", "left less right"]
    assert "Needles out and in" in {cell.value for cell in sheet["A"]}
    assert len(sheet._images) == 1
    path = tmp_path / "W3.xlsx"
    path.write_bytes(made(runs["Women"], unit)["W3"])
    (page,) = read_pages(office(path, "pdf").read_bytes())
    # The letters of two rows, as printed, are as far apart as the rows are high.
    letters = {
        text.text.strip(): text.shape.bounds[1]
        for text in page.texts
        if text.text.strip() in ("A", "B") and text.shape.bounds[0] < 20
    }
    assert letters["A"] - letters["B"] >= 9
    assert "Failures" not in [text.text for text in page.texts]


def test_left_and_right_may_differ_by_what_a_pair_is_judged_by(runs):
    for unit, per, step in (("mm", 1.0, 0.1), ("cm", 10.0, 0.01), ("in", 25.4, 1 / 16)):
        for target in targets(runs["Women"], unit)[2]:
            most = TargetGiven(*target.mm, target.measure.pair_within).apart / per
            assert target.apart == pytest.approx(most, abs=step / 2 + 1e-9)
            assert target.apart / step == pytest.approx(round(target.apart / step))
            assert target.apart > 0
