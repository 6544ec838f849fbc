"""Size charts as people print them: twelve layouts of our own making, each read right or refused at its cell."""

from __future__ import annotations

from itertools import starmap

import numpy as np
import openpyxl
import pytest

from grading.audit import audit_chart
from grading.findings import Severity
from grading.sheets.charts import read_chart

#: What the charts hold, in cm: hand girth, hand length, and wrist girth of three sizes.
NAMES, SIZES = ("hand girth", "hand length", "wrist girth"), ("S", "M", "L")
FIGURES = [[18.0, 19.5, 21.0], [17.0, 18.0, 19.0], [15.0, 16.0, 17.0]]
ROWS = [[name, *figures] for name, figures in zip(NAMES, FIGURES, strict=True)]
DOWN = [[size, *figures] for size, figures in zip(SIZES, zip(*FIGURES, strict=True), strict=True)]


@pytest.fixture
def read(workbook):
    """The tables and findings of a workbook of one sheet."""
    return lambda rows: read_chart(workbook(Women=rows))


def csv_of(rows, sign=";", point=","):
    lines = (sign.join("" if cell is None else str(cell).replace(".", point) for cell in row) for row in rows)
    return "\n".join(lines) + "\n"


CHARTS = {
    "titles above, sizes across, the unit in the title": [
        ["Hands of our customers, winter"], ["all figures in cm"], [], ["", *SIZES], *ROWS,
    ],
    "sizes down the side, the unit in the corner": [["Size (cm)", *NAMES], *DOWN],
    "sizes down the side, a unit in every heading": [
        ["Size", "hand girth (cm)", "hand length / mm", "wrist girth, cm"],
        *[[size, girth, length * 10, wrist] for size, girth, length, wrist in DOWN],
    ],
    "a row of units under the headings": [["Size", *NAMES], ["", "cm", "cm", "cm"], *DOWN],
    "a column of units without a heading": [["Size", "", *SIZES], *[[name, "cm", *row] for name, *row in ROWS]],
    "blank columns between, footnotes below": [
        ["Chart, cm"], ["What", None, "S", None, "M", None, "L *"],
        *[[name, None, one, None, two, None, three] for name, one, two, three in ROWS],
        ["* the size of the sample"], ["Ask us for others."],
    ],
    "a letter and a number before every row": [
        ["No.", "", "Measured at", *SIZES], *[[i, "ABC"[i - 1], *row] for i, row in enumerate(ROWS, 1)],
        ["", "", "measured in centimetres"],
    ],
    "before every row a code that a size may have too": [
        ["Code", "In cm", *SIZES], *[[f"A{i}", *row] for i, row in enumerate(ROWS, 1)],
    ],
    "figures as text, with the unit behind each": [
        ["", *SIZES], *[[name, *(f"{figure} cm" for figure in row)] for name, *row in ROWS],
    ],
    "signs of footnotes behind figures and names": [
        ["In cm", *SIZES], ["hand girth*", "18,0", "19,5†", "21,0"], *ROWS[1:], ["* over the knuckles"], ["† new"],
    ],
    "the heading 'Measurement' and no column of units": [["Measurement (cm)", *SIZES], *ROWS],
    "inches, as fractions": [
        ["Size chart (in)"], ["Size", *SIZES],
        *[[name, *(f"{figure * 10 / 25.4:.6f}" for figure in row)] for name, *row in ROWS],
    ],
    "numbers for sizes, rows that are told by their figures": [["cm", "7", "8", "9"], *ROWS],
}  # fmt: skip


@pytest.mark.parametrize("rows", CHARTS.values(), ids=CHARTS)
def test_a_chart_is_read_as_it_is_printed_and_told_back(read, rows):
    (table,), findings = read(rows)
    assert [(one.code, str(one.severity)) for one in findings] == [("chart-read-as", "note")]
    assert table.sizes in (SIZES, ("7", "8", "9"))
    assert table.measurements == NAMES
    assert table.values == pytest.approx(np.array(FIGURES) * 10, abs=1e-4)
    assert "3 sizes" in findings[0].found
    assert "3 rows" in findings[0].found


@pytest.mark.parametrize("sign", [";", "\t", ","])
@pytest.mark.parametrize(
    "layout", ["titles above, sizes across, the unit in the title", "sizes down the side, the unit in the corner"]
)
def test_a_csv_file_is_parted_by_what_parts_its_lines_alike(tmp_path, sign, layout):
    path = tmp_path / "Women.csv"
    path.write_text(csv_of(CHARTS[layout], sign, "." if sign == "," else ","), encoding="utf-8")
    (table,), findings = read_chart(path)
    assert [one.code for one in findings] == ["chart-read-as"]
    assert table.values == pytest.approx(np.array(FIGURES) * 10)


@pytest.mark.parametrize(
    ("typed", "middle"),
    [
        ("17–18", 175),
        ("17 to 18", 175),
        ("17-18", 175),
        ("17,5 – 18 cm", 177.5),
        ("170-180 mm", 175),
        ('7"–7 1/2"', 184.15),
    ],
)
@pytest.mark.parametrize("headed", [["Size (cm)"], ["Measurement", "Unit"]])
def test_of_a_range_the_middle_is_read_and_said(read, typed, middle, headed):
    own = ["cm"] if len(headed) == 2 else []
    (table,), findings = read(
        [[*headed, *SIZES], ["hand length", *own, typed, 19, 20], ["wrist girth", *own, 15, 16, 17]]
    )
    assert table.row("hand length").tolist() == [middle, 190, 200]
    (told,) = (one for one in findings if one.code == "range-read")
    assert typed in told.found
    assert told.place.cell == ("C2" if own else "B2")


@pytest.mark.parametrize(
    ("rows", "code", "cell"),
    [
        ([["Size", *SIZES], *ROWS], "chart-unclear", "A2"),
        ([["In cm (and inches)"], ["Size", *SIZES], *ROWS], "chart-unclear", "A1"),
        ([["cm", "new", "old", "odd"], ["one", 18, 18, 18], ["two", 18, 18, 18]], "chart-unclear", "A1"),
        ([["cm", *SIZES], ["hand girth", 18, "ask us", 21], *ROWS[1:]], "not-a-number", "C2"),
        ([["cm", *SIZES], ["hand girth", 18, None, 21], *ROWS[1:]], "blank-cell", "C2"),
        ([["cm", *SIZES], ["hand girth", 18, "17–42", 21], *ROWS[1:]], "not-a-number", "C2"),
        ([["cm", *SIZES], ["hand girth", 18, "19 cm – 20 mm", 21], *ROWS[1:]], "not-a-number", "C2"),
        ([["cm", *NAMES], *DOWN[:2], ["L", 21, "ask us", 17]], "not-a-number", "C4"),
        ([["", "Women", "", "", "Men"], ["cm", *SIZES, *SIZES], *[[*row, *row[1:]] for row in ROWS]],
         "duplicate-column", "E2"),
        ([["in mm", *SIZES], *ROWS[:2], ["wrist girth", 6000, 6500, 7000]], "figure-out-of-range", "B4"),
        ([["cm", *SIZES], *ROWS, ["hand girth", 20, 21, 22]], "duplicate-name", "A5"),
        ([["cm", *SIZES], ["hand girth", 18, 19, 21, 22], *ROWS[1:]], "value-without-heading", "E2"),
        ([["cm", *SIZES], ["hand girth", 18, "=1+1", 21], *ROWS[1:]], "formula-without-value", "C2"),
    ],
)  # fmt: skip
def test_what_is_unclear_is_refused_at_its_cell(read, rows, code, cell):
    tables, findings = read(rows)
    assert tables == ()
    assert (code, cell) in [(one.code, one.place.cell) for one in findings if str(one.severity) == "error"]


def test_decimal_commas_in_a_file_parted_by_commas_are_refused(tmp_path):
    path = tmp_path / "Women.csv"
    path.write_text("Size in cm,S,M,L\nhand girth,18,0,19,5,21,0\nhand length,17,0,18,0,19,0\n", encoding="utf-8")
    tables, findings = read_chart(path)
    assert tables == ()
    assert {one.code for one in findings if str(one.severity) == "error"} == {"uneven-line"}


def test_a_finding_of_the_audit_names_the_cell_as_printed(read):
    sizes = ["XS", "S", "M", "L", "XL", "XXL"]
    girths, lengths = [17.0, 18.0, 19.0, 20.0, 21.0, 22.0], [16.0, 16.6, 17.2, 18.7, 18.4, 19.0]
    wrists = [14.0, 14.5, 15.0, 15.5, 16.0, 16.5]
    down = [
        ["Size (cm)", "hand girth", "hand length", "wrist girth"],
        *starmap(lambda *row: [*row], zip(sizes, girths, lengths, wrists, strict=True)),
    ]
    (table,), _ = read(down)
    assert "C5" in {one.place.cell for one in audit_chart(table)}


def test_what_is_left_out_is_named(read):
    _, (told,) = read(CHARTS["a letter and a number before every row"])
    assert "C5 (measured in centimetres)" in told.expected
    _, (told,) = read([["cm", "Age", *NAMES], *[[size, "2 or 3", *row] for size, *row in DOWN]])
    assert "column B (Age)" in told.expected


def test_a_sheet_of_figures_above_and_below_zero_is_refused_as_no_chart(read):
    tables, findings = read([["", "a", "b"], ["x", -1.0, 2.0], ["y", 3.0, -4.0], ["z", 5.0, 6.0]])
    assert tables == ()
    assert any(str(one.severity) == "error" for one in findings)


FAMILIES = ("short", "short", "long")
OF_FAMILIES = list(zip(FAMILIES, DOWN, strict=True))


@pytest.mark.parametrize("rows", [
    [["Hands in cm"], ["Size", *SIZES], *ROWS, ["Family", *FAMILIES]],
    [["Hands in cm"], ["Size", *SIZES], ["family", *FAMILIES], *ROWS],
    [["Hands in cm"], ["Family", *FAMILIES], ["Size", *SIZES], *ROWS],
    [["Size (cm)", "Family", *NAMES], *([size, family, *rest] for family, (size, *rest) in OF_FAMILIES)],
    [["Family", "Size (cm)", *NAMES], *([family, *row] for family, row in OF_FAMILIES)],
], ids=["last", "first", "over the sizes", "a column", "the first column"])  # fmt: skip
def test_the_families_of_a_printed_chart_are_read_wherever_they_stand(read, rows):
    (table,), findings = read(rows)
    assert (table.sizes, table.measurements, table.families) == (SIZES, NAMES, FAMILIES)
    assert table.values.tolist() == (np.array(FIGURES) * 10).tolist()
    (told,) = findings
    assert told.found.endswith("(hand girth, hand length, wrist girth), families short, long.")
    assert "Family" not in told.expected


def test_a_family_that_stands_once_over_its_sizes_is_that_of_each(tmp_path):
    book = openpyxl.Workbook()
    for row in (["Hands in cm"], ["Family", "short", None, "long"], ["Size", *SIZES], *ROWS):
        book.active.append(row)
    book.active.merge_cells("B2:C2")
    book.save(tmp_path / "chart.xlsx")
    (table,), _ = read_chart(tmp_path / "chart.xlsx")
    assert table.families == FAMILIES


def test_a_size_without_a_family_is_told_at_its_cell(read):
    tables, findings = read([["Size (cm)", *SIZES], ["Family", "short", None, "long"], *ROWS])
    assert not tables
    (error,) = [one for one in findings if one.severity is Severity.ERROR]
    assert (error.code, error.place.cell) == ("blank-cell", "C2")


@pytest.mark.parametrize(("rows", "cell", "says"), [
    ([["Hand girth in cm"], ["Size", "from", "to"], ["S", 15, 16.5], ["M", 16.5, 18]], "B2", "the ends of a range"),
    ([["cm", *SIZES], ["min.", 17, 18, 19], ["max.", 18, 19, 20]], "A2", "the ends of a range"),
    ([["Women, cm", *SIZES], *ROWS, [], ["Men, cm", *SIZES], *ROWS], "A6", "another chart begins"),
    ([["cm", *SIZES], ["hand girth", "ca. 18", 19, 20], *ROWS[1:]], "B2", "'ca. 18' is no figure."),
    ([["cm", *SIZES], ["hand girth", "-", 19, 20], *ROWS[1:]], "B2", "'-' is no figure."),
    ([["", "Women", "", "Men"], ["", "S", "M", "S", "M"], ["girth cm", 18, 19, 20, 21]], "", ""),
])  # fmt: skip
def test_what_is_unclear_in_a_chart_is_told_at_its_cell_and_nothing_is_read(read, rows, cell, says):
    tables, findings = read(rows)
    assert not tables
    errors = [one for one in findings if one.severity is Severity.ERROR]
    assert errors
    assert all(one.place.cell for one in errors)
    if cell:
        assert [one.place.cell for one in errors] == [cell]
        assert says in errors[0].found


def test_a_column_of_tolerances_or_of_steps_is_no_size(read):
    widths = [["palm width", 10, 10.5, 11, 0.3, 0.5], ["length", 22, 22.5, 23, 0.5, 0.5]]
    (table,), (told,) = read([["Point of measure (cm)", *SIZES, "Tol. +/-", "step"], *widths])
    assert table.sizes == SIZES
    assert told.expected == "Not read: column E (Tol. +/-), column F (step)."
    down = [list(line) for line in zip(["Size (cm)", *SIZES, "tolerance", "step"], *widths, strict=True)]
    (table,), (told,) = read(down)
    assert table.sizes == SIZES
    assert told.expected == "Not read: A5 (tolerance), A6 (step)."


def test_a_size_may_have_a_remark_in_brackets_behind_it(read):
    (table,), _ = read(
        [["Measure", "S\n(7–7½)", "M\n(8–8½)", "L\n(9–9½)"], *([f"{name} cm", *row] for name, *row in ROWS)]
    )
    assert table.measurements == NAMES
