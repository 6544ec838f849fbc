"""Size tables as people type them: what is taken, what is refused, and which cell is to blame."""

from __future__ import annotations

import time

import numpy as np
import pytest

from grading.sheets.charts import read_chart
from grading.sheets.opening import open_tables
from grading.sheets.sizes import read_sizes

GIRTH = ["fist girth", "mm", 180, 192, 204]
HEADINGS = ["Measurement", "Unit", "S", "M", "L", "How to measure", "Source"]


def read(path):
    opened, problems = open_tables(path)
    tables, findings = read_sizes(opened)
    return tables, [*problems, *findings]


def test_a_sheet_headed_measurement_is_a_group_and_others_are_told_of(workbook):
    tables, findings = read(workbook(Women=[HEADINGS, GIRTH], Notes=[["bought", "in May"]]))
    assert [(finding.code, str(finding.severity)) for finding in findings] == [("sheet-not-read", "note")]
    (table,) = tables
    assert (table.group, table.sizes, table.measurements) == ("Women", ("S", "M", "L"), ("fist girth",))


@pytest.mark.parametrize(
    ("unit", "typed"),
    [
        ("mm", [180, 192.0, "204"]),
        ("cm", [18, "19,2", " 20.4 "]),
        ("CM", ["180 mm", "19.2", "20,4 cm"]),
        ("in", ["180 mm", "19.2cm", "20.4 cm"]),
    ],
)
def test_figures_are_taken_as_people_type_them(workbook, unit, typed):
    (table,), findings = read(workbook(Women=[HEADINGS, ["  Fist  girth ", unit, *typed], [None] * 5, ["# note"]]))
    assert findings == []
    assert table.values.tolist() == [[180, 192, 204]]
    assert table.spelled_as(["fist girth"]).row("fist girth").tolist() == [180, 192, 204]


def test_inches_are_taken_as_fractions_and_are_exact(workbook):
    (table,), findings = read(workbook(Women=[HEADINGS, ["fist girth", "in", "7 1/2", "8 3/4", 9]]))
    assert findings == []
    # 1 in = 25.4 mm (NIST SP 811)
    assert table.values[0] == pytest.approx(np.array([7.5, 8.75, 9]) * 25.4, abs=1e-12)


def test_a_csv_file_is_one_group_named_after_it(tmp_path):
    path = tmp_path / "Sister's hands.csv"
    path.write_text("Measurement;Unit;S;M\nfist girth;cm;18,0;19,2\n", encoding="utf-8")
    (table,), findings = read(path)
    assert findings == []
    assert (table.group, table.values.tolist()) == ("Sister's hands", [[180, 192]])


@pytest.mark.parametrize(
    ("rows", "code", "cell"),
    [
        ([["Measurement", "Unit", "S", "S"], ["fist girth", "mm", 180, 192]], "duplicate-column", "D1"),
        ([HEADINGS, GIRTH, ["Fist Girth", "mm", 1, 2, 3]], "duplicate-name", "A3"),
        ([HEADINGS, ["fist girth", "mm", 180, "wide", 204]], "not-a-number", "D2"),
        ([HEADINGS, ["fist girth", "mm", 180, 0, 204]], "not-above-zero", "D2"),
        ([HEADINGS, ["fist girth", "mm", 180, -192, 204]], "below-zero", "D2"),
        ([HEADINGS, ["fist girth", "mm", 180, None, 204]], "blank-cell", "D2"),
        ([HEADINGS, ["fist girth", "ells", 180, 192, 204]], "unknown-unit", "B2"),
        ([HEADINGS, ["fist girth", "cm", 180, 192, 204]], "figure-out-of-range", "C2"),
        ([HEADINGS, ["fist girth", "mm", "=90*2", 192, 204]], "formula-without-value", "C2"),
        ([["Measurement", "Unit"], ["fist girth", "mm"]], "no-sizes", ""),
        ([["Measurement", "S"], ["fist girth", 180]], "missing-column", "A1"),
    ],
)
def test_what_cannot_be_used_is_refused_and_its_cell_is_named(workbook, rows, code, cell):
    tables, findings = read(workbook(Women=rows))
    assert tables == ()
    place = next(finding.place for finding in findings if finding.code == code)
    assert (place.workbook, place.sheet, place.cell) == ("sizes.xlsx", "Women", cell)


@pytest.mark.parametrize(("least", "most", "taken"), [(1, 600, True), (0.9, 600, False), (1, 600.1, False)])
def test_a_measurement_lies_between_a_millimetre_and_six_hundred(workbook, least, most, taken):
    tables, findings = read(workbook(Women=[HEADINGS[:4], ["fist girth", "mm", least, most]]))
    assert bool(tables) == taken
    assert [finding.code for finding in findings] == ["figure-out-of-range"] * (not taken)


@pytest.mark.parametrize(("least", "most", "taken"), [(0.1, 5000, True), (0.09, 5000, False), (0.1, 5001, False)])
def test_a_chart_may_be_of_whole_bodies_and_what_they_wear(workbook, least, most, taken):
    tables, findings = read_chart(workbook(Women=[HEADINGS[:4], ["full height", "mm", least, most]]))
    assert bool(tables) == taken
    assert [finding.code for finding in findings] == ["figure-out-of-range"] * (not taken)


def test_everything_wrong_is_told_at_once(workbook):
    rows = [HEADINGS, ["fist girth", "mm", "a", 0, 204], ["palm length", "stone", 93, 96, 99]]
    _, findings = read(workbook(Women=rows, Men=[HEADINGS, ["fist girth", "mm", 1e9, 192, 204]]))
    assert len(findings) >= 4
    assert {finding.place.sheet for finding in findings} == {"Women", "Men"}


def test_a_workbook_with_no_group_says_what_a_group_looks_like(workbook):
    _, findings = read(workbook(Notes=[["bought", "in May"]]))
    assert findings[0].code == "missing-sheet"
    assert "Measurement" in findings[0].expected


def test_a_group_whose_heading_is_misspelt_is_an_error_and_not_passed_over(workbook):
    rows = [["Measurment", *HEADINGS[1:]], GIRTH]
    tables, findings = read(workbook(Women=rows, Men=[HEADINGS, GIRTH]))
    assert [table.group for table in tables] == ["Men"]
    assert [(finding.code, str(finding.severity), finding.place.cell) for finding in findings] == [
        ("sheet-not-read", "error", "A1")
    ]
    assert "Measurement" in findings[0].expected


def test_size_names_may_look_like_fractions_and_figures(workbook):
    headings = ["Measurement", "Unit", "8/9", 10, "=1+1"]
    (table,), _ = read(workbook(Women=[headings[:4], ["fist girth", "mm", 180, 192]]))
    assert table.sizes == ("8/9", "10")


def test_a_row_family_says_which_sizes_belong_together(workbook):
    short = ["Family", None, "short", "short", "long"]
    (table,), findings = read(workbook(Women=[HEADINGS, short, GIRTH]))
    assert findings == []
    assert (table.families, table.measurements) == (("short", "short", "long"), ("fist girth",))


def test_a_size_of_no_family_beside_others_that_have_one_is_told(workbook):
    tables, findings = read(workbook(Women=[HEADINGS, GIRTH, ["family", "", "short", None, "long"]]))
    assert tables == ()
    assert [(one.code, one.place.cell) for one in findings] == [("blank-cell", "D3")]


def test_a_unit_that_cannot_be_read_is_told_before_figures_are_held_to_it(workbook):
    tables, findings = read(workbook(Women=[HEADINGS, ["fist girth", 0, "0.001 mm", 198, 210]]))
    assert tables == ()
    assert {finding.place.cell for finding in findings} == {"B2"}


def test_more_figures_than_anybody_measures_are_refused_soon_and_those_of_190_sizes_are_read(tmp_path):
    sizes = ",".join(f"S{size}" for size in range(190))
    path = tmp_path / "Women.csv"
    for rows, codes in ((30, []), (900, ["too-many-cells"])):
        lines = (f"row {row},mm,{','.join(str(100 + row % 9 + size) for size in range(190))}\n" for row in range(rows))
        path.write_text(f"Measurement,Unit,{sizes}\n{''.join(lines)}")
        begun = time.process_time()
        tables, findings = read_sizes(open_tables(path)[0])
        assert time.process_time() - begun < 5
        assert [finding.code for finding in findings if finding.code == "too-many-cells"] == codes
        assert bool(tables) != bool(codes)
