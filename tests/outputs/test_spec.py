"""The spec workbook read back: its figures against the library's, its formulas against other programs."""

from __future__ import annotations

import re
import zipfile
from dataclasses import replace
from functools import cache
from io import BytesIO
from pathlib import Path

import formulas
import numpy as np
import openpyxl
import pytest
from openpyxl.utils import get_column_letter
from pypdf import PdfReader

from grading.audit import audit_run
from grading.audit.tables import audit_table
from grading.drawing.marks import Box, Drawing
from grading.drawing.picture import png
from grading.engine.balance import balanced
from grading.engine.run import SizeRun, grade
from grading.findings import Finding, Place, Severity
from grading.model.sizes import SizeTable
from grading.outputs.size_sheet import size_sheets
from grading.outputs.spec import spec_workbook
from grading.outputs.wording import CAUTIONS
from grading.readings.cut_lines import cut_lines
from grading.readings.measures import measured
from grading.readings.seams import walked_seams
from grading.workbooks.legal import sheet_name

SHEETS = ["Cover", "Body sizes", "Finished measures", "Grade increments", "Grade audit", "Seams", "Cut list"]
SHEETS += ["Cut pieces", "Glove sizes", "Order of making", "Materials"]
#: Millimetres in one of each unit: NIST SP 811.
PER = {"mm": 1.0, "cm": 10.0, "in": 25.4}


@pytest.fixture(scope="module", autouse=True)
def undrawn():
    """What is drawn on the sheets of sizes is looked at in `test_size_sheets`: here every picture is a blank one."""
    blank = png(Drawing(), Box(0, 0, 194, 71), dots_per_mm=1.0)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("grading.outputs.spec.sizes.png", lambda *_, **__: blank)
        patch.setattr("grading.outputs.size_sheet._picture", lambda *_: Drawing())
        yield
    size_sheets.cache_clear()


@cache
def spec(run: SizeRun, unit: str = "mm", findings: tuple[Finding, ...] = ()) -> bytes:
    inputs = ("sizes.xlsx", "block.xlsx")
    return spec_workbook(run, run_id="1f3a9c", inputs=inputs, findings=findings, loops=cut_lines(run), unit=unit)


def sheets(run: SizeRun) -> list[str]:
    """What the sheets are called, in order: one for each size after those of the whole run."""
    return [*SHEETS, *(sheet_name(f"Size {size}", []) for size in run.sizes), "Glossary", "Findings"]


@cache
def read(data: bytes, *, values: bool = True) -> openpyxl.Workbook:
    return openpyxl.load_workbook(BytesIO(data), data_only=values)


def table(sheet, first_heading: str, number: int = 0) -> list[dict]:
    """The rows of the table whose first heading is that one, by heading; it ends at the first blank row.

    Where several tables have that heading, ``number`` says which of them, from 0 or from the end.
    """
    rows = list(sheet.iter_rows(values_only=True))
    start = [place for place, row in enumerate(rows) if row[0] == first_heading][number]
    headings = rows[start]
    found = []
    for row in rows[start + 1 :]:
        if row[0] is None:
            break
        found.append({name: value for name, value in zip(headings, row, strict=True) if name is not None})
    return found


def figures(rows: list[dict], columns: tuple[str, ...]) -> np.ndarray:
    return np.array([[np.nan if row[name] is None else row[name] for name in columns] for row in rows], dtype=float)


def formula_cells(data: bytes) -> dict[tuple[str, str], object]:
    """What every formula cell of a file is said to come to, by sheet and cell."""
    shown = read(data)
    return {
        (sheet.title, cell.coordinate): shown[sheet.title][cell.coordinate].value
        for sheet in read(data, values=False)
        for row in sheet.iter_rows()
        for cell in row
        if cell.data_type == "f"
    }


def slipped(run: SizeRun, column: int, by: float) -> SizeRun:
    """The same run from a table with one wrong figure of fist girth."""
    values = run.table.values.copy()
    values[run.table.measurements.index("fist girth"), column] += by
    return balanced(grade(run.block, replace(run.table, values=values)))


def test_the_sheets_come_in_the_makers_order_and_print_on_a4_across_one_page(runs):
    book = read(spec(runs["Women"]))
    assert book.sheetnames == sheets(runs["Women"])
    for sheet in book:
        assert sheet.page_setup.paperSize == 9  # A4, ECMA-376
        assert sheet.page_setup.fitToWidth in (None, 1)  # 1 unless said otherwise: ECMA-376 part 1, 18.3.1.63
        assert "1f3a9c" in sheet.oddFooter.left.text


@pytest.mark.parametrize("unit", ["mm", "cm", "in"])
@pytest.mark.parametrize("group", ["Women", "Children"])
def test_measures_and_body_sizes_are_the_librarys_in_the_unit_asked(runs, group, unit):
    run, book = runs[group], read(spec(runs[group], unit))
    finished, found = table(book["Finished measures"], "Measure", -1), measured(run)
    assert [row["Measure"] for row in finished] == [measure.name for measure in found.measures]
    assert figures(finished, run.sizes) * PER[unit] == pytest.approx(found.values, abs=2e-5)
    tolerances = [[measure.tolerance_minus, measure.tolerance_plus] for measure in found.measures]
    assert figures(finished, ("tolerance −", "tolerance +")) * PER[unit] == pytest.approx(
        np.array(tolerances), abs=2e-5
    )
    body = table(book["Body sizes"], "Measurement", -1)
    assert figures(body, run.sizes) * PER[unit] == pytest.approx(run.table.values, abs=2e-5)
    told = table(book["Body sizes"], "Measurement")
    assert [row["How to measure"] for row in told] == list(run.table.how_to_measure)


def test_inches_stand_to_the_nearest_sixteenth_above_the_decimals_that_they_follow(runs, tmp_path, office):
    run = runs["Women"]
    data = spec(run, "in")
    book = read(data)
    for sheet, heading, columns in (
        ("Finished measures", "Measure", (*run.sizes, "tolerance +")),
        ("Body sizes", "Measurement", run.sizes),
        ("Grade increments", "Measure", ("W1 to W2", "mean increment")),
        ("Cut pieces", "Piece", run.sizes),
        ("Seams", "Seam", ("side A", "ease")),
    ):
        tape, decimal = (figures(table(book[sheet], heading, number), columns) for number in (0, 1))
        assert (tape * 16 == np.round(tape * 16)).all()
        assert np.abs(tape - decimal).max() <= 1 / 32 + 1e-9
        assert not (decimal * 16 == np.round(decimal * 16)).all()
    written = read(data, values=False)
    cell = next(cell for row in written["Finished measures"].iter_rows() for cell in row if cell.data_type == "f")
    assert "?/" in cell.number_format
    # A decimal that is typed over changes what stands above it, as LibreOffice calculates.
    finished = written["Finished measures"]
    (_, start) = [row[0].row for row in finished.iter_rows() if row[0].value == "Measure"]
    finished.cell(start + 1, 3).value = 5.05
    written.save(tmp_path / "changed.xlsx")
    changed = openpyxl.load_workbook(office(tmp_path / "changed.xlsx", "xlsx"), data_only=True)
    assert table(changed["Finished measures"], "Measure")[0]["W1"] == 5 + 1 / 16


def test_measures_for_the_audit_only_stand_on_no_sheet(runs):
    for_the_audit = {measure.name for measure in runs["Men"].block.measures if measure.tolerance_plus is None}
    assert for_the_audit
    book = read(spec(runs["Men"]))
    shown = {cell for sheet in book for row in sheet.iter_rows(values_only=True) for cell in row}
    assert not for_the_audit & shown


def test_increments_are_live_formulas_with_the_increments_of_measures_and_of_the_hand(runs):
    run, data = runs["Children"], spec(runs["Children"])
    rows = table(read(data)["Grade increments"], "Measure")
    steps = ("2-3 to 4-5", "4-5 to 6-7", "6-7 to 8-9", "8-9 to 10-11")
    body = [row for row, name in enumerate(run.table.measurements) if "Allowance" not in run.table.how_to_measure[row]]
    expected = np.diff(np.vstack([measured(run).values, run.table.values[body]]))
    assert figures(rows, steps) == pytest.approx(expected, abs=2e-5)
    assert figures(rows, ("mean increment",))[:, 0] == pytest.approx(expected.mean(axis=1), abs=2e-5)
    written = table(read(data, values=False)["Grade increments"], "Measure")
    assert all(row[name].startswith("=") for row in written for name in (*steps, "mean increment"))


@pytest.mark.parametrize("column", [0, 3, 5, *(pytest.param(column, marks=pytest.mark.long) for column in (1, 2, 4))])
def test_a_slip_in_a_size_table_stands_out_of_the_grade_audit_where_the_audit_finds_it(runs, column):
    run = slipped(runs["Women"], column, 9.0)
    told = {(finding.place.measure, finding.place.size) for finding in audit_table(run.table)}
    rows = table(read(spec(run))["Grade audit"], "What")
    (row,) = [row for row in rows if (row["What"], row["Measure"]) == ("difference from regular", "palm width")]
    off = figures([row], run.sizes)[0]
    assert ("fist girth", run.sizes[column]) in told
    assert off[column] == pytest.approx(9.0 / 2)  # palm width grows by half of the girth
    assert np.abs(off).max() == off[column]


def test_a_suspected_figure_stands_beside_the_regular_one_in_the_grade_audit(runs):
    run = slipped(runs["Women"], 2, 9.0)
    sheet = read(spec(run))["Grade audit"]
    told = [[value for value in row if value is not None] for row in sheet.iter_rows(values_only=True)]
    assert ["suspected in the size table", "fist girth", "W3", 213, 204] in told
    regular = read(spec(runs["Women"]))["Grade audit"]
    assert not any("suspected" in str(row[0]) for row in regular.iter_rows(values_only=True))


def test_a_suspected_figure_that_moves_no_point_is_shown_too(runs):
    run = runs["Women"]
    values = run.table.values.copy()
    values[run.table.measurements.index("hand girth"), 0] += 9
    sheet = read(spec(replace(run, table=replace(run.table, values=values))))["Grade audit"]
    told = [[value for value in row if value is not None] for row in sheet.iter_rows(values_only=True)]
    assert ["suspected in the size table", "hand girth", "W1", 171, 162] in told


def test_room_between_tolerances_is_used_up_just_where_the_audit_says_that_they_meet(runs):
    run = slipped(runs["Women"], 3, 8.0)  # the next increment of widths is 2 mm, their tolerances take 4
    rows = [row for row in table(read(spec(run))["Grade audit"], "What") if row["What"] == "room between tolerances"]
    meet = {(row["Measure"], size) for row in rows for size in run.sizes[1:] if row[size] <= 0}
    found = {(f.place.measure, f.place.size) for f in audit_run(run) if f.code == "tolerances-meet"}
    assert meet == found == {(row["Measure"], "W5") for row in rows}


def test_the_grade_audit_marks_by_rules_over_its_own_cells_and_has_a_chart_that_is_told_in_words(runs):
    data = spec(runs["Women"])
    sheet = read(data)["Grade audit"]
    marked = {str(area.sqref): rule.formula[0] for area in sheet.conditional_formatting for rule in area.rules}
    assert len(marked) == 3
    drawing = zipfile.ZipFile(BytesIO(data)).read("xl/drawings/drawing1.xml").decode()
    assert re.search('descr="Bar chart of increments[^"]*palm width [+]6.00 to [+]6.00', drawing)
    chart = zipfile.ZipFile(BytesIO(data)).read("xl/charts/chart1.xml").decode()
    tones = re.findall('srgbClr val="([0-9A-F]{6})"/></a:solidFill><a:ln>', chart)
    assert len(tones) == len(set(tones)) == len(runs["Women"].sizes) - 1
    assert all(tone[:2] == tone[2:4] == tone[4:] for tone in tones), "greys: they print the same without colour"


def test_the_chart_of_the_grade_audit_is_no_wider_than_a_page_so_that_nothing_is_made_smaller_for_it(runs):
    sheet = read(spec(runs["Women"]))["Grade audit"]
    (chart,) = sheet._charts
    start, end = chart.anchor._from, chart.anchor.to
    # A column of n signs of seven dots, with five of margin, is at 96 dots an inch: ECMA-376 part 1, 18.3.1.13.
    columns = [sheet.column_dimensions[get_column_letter(at)].width for at in range(start.col + 1, end.col + 1)]
    dots = sum(int(7 * width + 5) for width in columns) + (end.colOff - start.colOff) / 9525
    margins = (sheet.page_margins.left + sheet.page_margins.right) * 25.4
    assert 200 < dots / 96 * 25.4 < 297 - margins


def test_what_rounding_to_even_millimetres_does_is_not_marked_and_a_slip_of_two_is(runs):
    def marked(run: SizeRun) -> set[tuple[str, str]]:
        sheet = read(spec(run))["Grade audit"]
        mark_from = next(row[1] for row in sheet.iter_rows(values_only=True) if str(row[0]).startswith("Mark from"))
        rows = [row for row in table(sheet, "What") if row["What"] == "difference from regular"]
        return {(row["Measure"], size) for row in rows for size in run.sizes if abs(row[size]) > mark_from}

    women = runs["Women"]
    rounded = women.table.values.copy()
    rounded[women.table.measurements.index("fist girth")] = 2 * np.round(90 + 5.6 * np.arange(6))
    even = grade(women.block, replace(women.table, values=rounded))
    assert np.ptp(np.diff(rounded[women.table.measurements.index("fist girth")])) == 2
    assert marked(even) == set()
    assert ("palm width", "W4") in marked(slipped(women, 3, 2.0))


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_seams_are_those_walked_and_what_a_driver_balances_meets_its_target_together(runs, unit):
    run = runs["Men"]
    told, rows = (table(read(spec(run, unit))["Seams"], "Seam", number) for number in (0, -1))
    for walked in walked_seams(run):
        of_seam = [row for row in rows if row["Seam"] == walked.seam.name]
        assert [row["Size"] for row in of_seam] == list(run.sizes)
        expected = np.array([walked.side_a, walked.side_b, walked.ease, walked.least, walked.target, walked.most]).T
        columns = ("side A", "side B", "ease", "least ease", "target ease", "most ease")
        assert figures(of_seam, columns) * PER[unit] == pytest.approx(expected, abs=1e-4)
        share = [row["% of B"] for row in told if row["Seam"] == walked.seam.name]
        assert share == pytest.approx(100 * walked.ease / walked.side_b, abs=1e-3)
    together = [row for row in rows if row["Seam"] == "all by foot fullness"]
    ease, target = figures(together, ("ease", "target ease")).T * PER[unit]
    assert ease == pytest.approx(target, abs=0.01)
    (balance,) = run.balances
    solved = figures([row for row in told if row["Seam"] == "all by foot fullness"], ("solved at",))[:, 0] * PER[unit]
    assert solved == pytest.approx(balance.solved, abs=0.013)  # half of the last decimal shown, in inches


def test_the_sheet_of_seams_marks_eases_and_nothing_else(runs):
    sheet = read(spec(runs["Women"]))["Seams"]
    (headings,) = [row for row in sheet.iter_rows() if row[0].value == "Seam"]
    letters = {cell.value: cell.column_letter for cell in headings}
    ((area, (rule,)),) = ((str(area.sqref), area.rules) for area in sheet.conditional_formatting)
    first, ease = headings[0].row + 1, letters["ease"]
    assert area == f"{ease}{first}:{ease}{sheet.max_row}"
    held_against = {letters["least ease"], letters["most ease"]}
    assert set(re.findall(rf"\$?([A-Z])\$?{first}\b", rule.formula[0])) == {ease, *held_against}


def test_seams_that_nothing_balances_show_no_solved_value(block, tables):
    rows = table(read(spec(grade(block, tables["Women"])))["Seams"], "Seam")
    assert len(rows) == len(block.seams) * len(tables["Women"].sizes)
    assert {row["solved at"] for row in rows} == {None}


def test_the_cut_list_counts_pieces_by_hand_and_gives_each_edge_its_allowance(runs):
    run = runs["Women"]
    sheet = read(spec(run))["Cut list"]
    rows = table(sheet, "Piece")
    assert [(row["Piece"], row["Hand"], row["all sizes"]) for row in rows] == [
        ("Pairs to make", None, 6),
        ("Trank", "left", 6),
        ("Trank", "right", 6),
        ("Thumb", "left", 6),
        ("Thumb", "right", 6),
        ("Pieces in all", None, 24),
    ]
    start = next(cell.row for cell in sheet["B"] if cell.value == "Edge")
    edges = list(sheet.iter_rows(start + 1, start + len(run.block.edges), max_col=5, values_only=True))
    allowances = {kind.name: kind.allowance for kind in run.block.seam_types}
    assert [row[:3] for row in edges] == [(edge.piece, edge.name, edge.seam_type) for edge in run.block.edges]
    assert [row[3] for row in edges] == [allowances[edge.seam_type] for edge in run.block.edges]


def test_glove_sizes_stand_beside_the_sizes_with_their_sources(runs):
    rows = table(read(spec(runs["Women"]))["Glove sizes"], "Size")
    w3 = rows[2]
    # A hand of 184 by 174 mm: EN 420 size 7 is 178 by 171, size 8 is 203 by 182; 184 / 27.07 is 6.797.
    assert (w3["published size by girth"], w3["its girth"], w3["girth less that"]) == ("7", 178, 6)
    assert (w3["published size by length"], w3["its length"], w3["length less that"]) == ("7", 171, 3)
    assert w3["in French inches"] == pytest.approx(6.797, abs=5e-4)
    assert w3["to the nearest half"] == 7
    children = table(read(spec(runs["Children"], "in"))["Glove sizes"], "Size")
    assert children[0]["published size by girth"] == "under 6"
    assert children[0]["in French inches"] == pytest.approx(126 / 27.07, abs=5e-4)


def test_without_the_open_hands_girth_there_are_no_glove_sizes(runs):
    run = runs["Women"]
    kept = [row for row, name in enumerate(run.table.measurements) if name != "hand girth"]

    def only(texts: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(texts[row] for row in kept)

    table_ = run.table
    texts = {name: only(getattr(table_, name)) for name in ("measurements", "units", "how_to_measure", "source")}
    changed = replace(run, table=replace(table_, values=table_.values[kept], **texts))
    book = read(spec(changed))
    assert book.sheetnames == [name for name in sheets(run) if name != "Glove sizes"]


def test_the_cover_tells_the_run_its_inputs_and_cautions_and_leads_to_every_sheet(block, children):
    run = balanced(grade(block, children))
    book = read(spec(replace(run, block=replace(run.block, date="2025-11-03"))))
    sheet = book["Cover"]
    told = {row[0].value: row[1].value for row in sheet.iter_rows(max_col=2)}
    assert (told["Style"], told["Size group"], told["Run"]) == (run.block.name, "Children", "1f3a9c")
    assert told["Date"] == "2025-11-03"
    assert told["Base size"].startswith("none of these")
    assert told["Made from"].startswith("sizes.xlsx, block.xlsx; ")
    used = {row["Allowance used"]: row["mm"] for row in table(book["Materials"], "Allowance used")}
    assert (used["hand ease"], used["thumb ease"]) == (22, 19)  # the children's own, from their table
    text = " ".join(str(cell) for row in sheet.iter_rows(values_only=True) for cell in row if cell)
    for caution in CAUTIONS:
        assert caution in text
    links = {cell.hyperlink.location for row in sheet.iter_rows() for cell in row if cell.hyperlink}
    assert links == {f"'{name}'!A1" for name in sheets(run)[1:]}


def test_findings_come_worst_first_or_none_is_said(runs):
    run = runs["Women"]
    note = Finding("far", Severity.NOTE, Place(group="Women"), "=Far.", "Near.", "Sew a sample.")
    warning = Finding("meet", Severity.WARNING, Place(group="Women", size="W4"), "They meet.", "Room.", "Narrow them.")
    sheet = read(spec(run, findings=(note, warning)))["Findings"]
    rows = table(sheet, "Severity")
    assert [tuple(row.values()) for row in rows] == [
        ("warning", "meet", "group Women, size W4", "They meet.", "Room.", "Narrow them."),
        ("note", "far", "group Women", "=Far.", "Near.", "Sew a sample."),
    ]
    assert [row["Severity"] for row in table(read(spec(run))["Findings"], "Severity")] == ["none"]


def test_findings_that_are_alike_have_a_line_each_since_only_a_screen_is_short_of_room(runs):
    places = [Place("sizes.xlsx", "Women", cell) for cell in ("C4", "D4", "E4", "F4", "G4")]
    alike = tuple(
        Finding("too-large", Severity.WARNING, place, "Large.", "Smaller.", "Look.", "cm") for place in places
    )
    rows = table(read(spec(runs["Women"], findings=alike))["Findings"], "Severity")
    assert [row["Where"] for row in rows] == [str(place) for place in places]


def hostile(run: SizeRun) -> SizeRun:
    """The run under names and texts that look like paths, formulas and markup."""
    changed: SizeTable = replace(
        run.table,
        group="=cmd|'/C calc'!A0 [x]/../O'Neil & <b>",
        sizes=("8/9", "=1+1", "@SUM(A1)", "1e5", "007", "+x"),
        how_to_measure=('=HYPERLINK("http://x")', "-1", *run.table.how_to_measure[2:]),
    )
    return replace(run, table=changed)


def test_text_from_tables_stays_text_whatever_it_looks_like(runs):
    run = hostile(runs["Women"])
    book = read(spec(run), values=False)
    assert book.sheetnames == sheets(run)
    finished = book["Finished measures"]
    headings = next(row for row in finished.iter_rows() if row[0].value == "Measure")
    assert [cell.value for cell in headings[2:8]] == list(run.sizes)
    assert {cell.data_type for cell in headings[2:8]} == {"s"}
    assert run.group in book["Cover"]["A1"].value
    texts = {*run.sizes, run.group, *run.table.how_to_measure}
    typed = {cell.data_type for sheet in book for row in sheet.iter_rows() for cell in row if cell.value in texts}
    assert typed == {"s"}


@pytest.mark.long
def test_libreoffice_comes_to_the_values_that_the_file_carries_and_keeps_hostile_texts(runs, tmp_path, office):
    data = spec(hostile(runs["Women"]), "cm")
    path = tmp_path / "spec.xlsx"
    path.write_bytes(data)
    again = openpyxl.load_workbook(office(path, "xlsx"), data_only=True)
    carried = formula_cells(data)
    assert len(carried) > 300
    for (sheet, cell), value in carried.items():
        assert again[sheet][cell].value == pytest.approx(value, abs=1e-9), (sheet, cell)
    for sheet in read(data):
        for row in sheet.iter_rows():
            for cell in row:
                if isinstance(cell.value, str):
                    assert again[sheet.title][cell.coordinate].value == cell.value


def evaluated(data: bytes, folder: Path) -> None:
    """Holds that another program comes to the values that a file carries."""
    path = folder / "spec.xlsx"
    path.write_bytes(data)
    computed = formulas.ExcelModel().loads(str(path)).finish().calculate()
    for (sheet, cell), value in formula_cells(data).items():
        result = computed[f"'[spec.xlsx]{sheet.upper()}'!{cell}"].value[0, 0]
        assert result == pytest.approx(value, abs=1e-9), (sheet, cell)


def test_a_formula_evaluator_comes_to_the_values_that_the_file_carries(runs, tmp_path):
    men = runs["Men"]
    few = replace(men.table, sizes=men.sizes[:3], values=men.table.values[:, :3])
    evaluated(spec(slipped(balanced(grade(men.block, few)), 1, 5.0), "in"), tmp_path)


@pytest.mark.long
def test_pieces_are_counted_anew_for_the_pairs_that_are_typed_in(runs, tmp_path, office):
    book = openpyxl.load_workbook(BytesIO(spec(runs["Women"])))
    sheet = book["Cut list"]
    row = next(cell.row for cell in sheet["A"] if cell.value == "Pairs to make")
    for column, pairs in enumerate((0, 3, 5, 5, 2, 1), 6):
        sheet.cell(row, column).value = pairs
    path = tmp_path / "filled.xlsx"
    book.save(path)
    counted = table(openpyxl.load_workbook(office(path, "xlsx"), data_only=True)["Cut list"], "Piece")
    assert [counted[-1][size] for size in (*runs["Women"].sizes, "all sizes")] == [0, 12, 20, 20, 8, 4, 64]


@pytest.mark.parametrize(
    ("group", "unit", "more"),
    [pytest.param("Women", "in", 8, marks=pytest.mark.long), pytest.param("Women", "mm", 0, marks=pytest.mark.long),
     pytest.param("Children", "in", 8, marks=pytest.mark.long)],
)  # fmt: skip
def test_printed_by_libreoffice_every_sheet_is_there_and_no_figure_is_too_wide(
    runs, tmp_path, office, group, unit, more
):
    path = tmp_path / "spec.xlsx"
    path.write_bytes(spec(runs[group], unit))
    pages = [page.extract_text() for page in PdfReader(office(path, "pdf")).pages]
    names = sheets(runs[group])
    # The sheet of a size takes two pages, so that its type is large enough; sixteenths stand above their decimals.
    assert len(names) + len(runs[group].sizes) <= len(pages) <= len(names) + len(runs[group].sizes) + more
    assert not any("##" in page for page in pages)
    assert all("run 1f3a9c" in page for page in pages)
    assert {name for name in names if any(name in page for page in pages)} == set(names)
    # A page begins with its book's title and the name of the sheet that it shows.
    for size in runs[group].sizes:
        heads = ["".join(page[:60].split()) for page in pages]
        assert sum(f"Size{size}run" in head for head in heads) == 2


@pytest.mark.long
def test_a_formula_evaluator_comes_to_the_values_of_every_size(runs, tmp_path):
    evaluated(spec(slipped(runs["Men"], 1, 5.0), "in"), tmp_path)


def test_runs_of_one_and_two_sizes_have_no_increments_to_hold_against_each_other(block, tables):
    for count in (1, 2):
        women = tables["Women"]
        few = replace(women, sizes=women.sizes[:count], values=women.values[:, :count])
        run = balanced(grade(block, few))
        book = read(spec(run))
        assert book.sheetnames == sheets(run)
        assert len(table(book["Finished measures"], "Measure")) == len(measured(run).measures)
        assert "too few sizes" in book["Grade audit"]["A2"].value


def test_the_same_run_gives_the_same_bytes(runs):
    assert spec.__wrapped__(runs["Men"]) == spec.__wrapped__(runs["Men"])


@pytest.mark.long
def test_the_sheets_of_sizes_print_from_libreoffice_in_nine_points_or_more(runs, tmp_path, office):
    path = tmp_path / "spec.xlsx"
    path.write_bytes(spec(runs["Children"]))
    sizes = []
    for page in PdfReader(office(path, "pdf")).pages:
        if "Children Size 4-5" in page.extract_text():
            page.extract_text(
                visitor_text=lambda text, ctm, tm, font, size: (
                    sizes.append(size * abs(tm[0] * ctm[0])) if text.strip() else None
                )
            )
    # Headers and footers are the program's own.
    assert len(sizes) > 100
    assert sorted(sizes)[len(sizes) // 20] >= 8.99
