"""Rows read by a sheet's declaration: what is right comes back parsed, what is wrong is found all at once."""

from __future__ import annotations

import datetime

import pytest

from grading.findings import Severity
from grading.model.block import Amount, Side
from grading.sheets import block_sheets as sheets
from grading.sheets.columns import Cells, Column, Sheet
from grading.sheets.declared import SIZE_GROUP
from grading.sheets.opening import Grid, Opened
from grading.sheets.rows import find_grid, is_headed, read_fields, read_rows


def grid(*rows, **more) -> Grid:
    cells = {
        (row, column): cell
        for row, across in enumerate(rows, start=1)
        for column, cell in enumerate(across, start=1)
        if cell is not None
    }
    return Grid("b.xlsx", "S", cells, **more)


def found(findings) -> list[tuple[str, str]]:
    return [(finding.code, finding.place.cell) for finding in findings]


POINTS = ("Piece", "Point", "x", "y", "Kind", "Moves with")


def test_a_row_comes_back_parsed_with_the_place_of_every_cell():
    table, findings = read_rows(
        grid(POINTS, ("Trank", " A ", "1 1/2 in", "−2,5", "Turn", "hole  place, hole heel")), sheets.POINTS, "cm"
    )
    (row,) = table.rows
    assert not findings
    assert (row["x"], row["y"]) == (38.1, -25)
    assert (row["Point"], row["Kind"], row["Moves with"], row["Note"]) == ("A", True, ("hole place", "hole heel"), "")
    assert str(row.place("y")) == "b.xlsx, sheet S, cell D2"


def test_headings_are_found_in_any_order_case_space_and_dash():
    headings = ("tolerance -", "TOLERANCE +", " Measure", "piece", "How", "from", "HowToMeasure")
    table, findings = read_rows(
        grid(headings, (1, 2, "width", "Trank", "across", "knuckle", "flat")), sheets.MEASURES, "mm"
    )
    row = table.rows[0]
    assert not findings
    assert (row["Tolerance −"], row["Tolerance +"], row["How to measure"]) == (1, 2, "flat")
    assert (row["Times"], row["Tells the size"]) == (1, False)


def test_blank_rows_and_rows_that_begin_with_a_hash_are_left_out():
    rows = ((None,), ("# my block",), POINTS, ("# A", "x"), (None,), ("Trank", "A", 0, 0, "turn"), (None,))
    table, findings = read_rows(grid(*rows), sheets.POINTS, "mm")
    assert [row.number for row in table.rows] == [6]
    assert not findings


def test_every_wrong_cell_is_found_at_once():
    wrong = grid(
        POINTS,
        ("Trank", "A", "abc", None, "corner", "a"),
        ("Trank", "a, b", 1e308, datetime.date(2026, 4, 3), "turn", 1.2),
        ("Thumb", "B", 0, 0, "turn", None),
        ("Thumb", "b ", 0, 0, "turn", None),
    )
    table, findings = read_rows(wrong, sheets.POINTS, "mm")
    assert found(findings) == [
        ("not-a-number", "C2"),
        ("blank-cell", "D2"),
        ("not-a-choice", "E2"),
        ("separator-in-name", "B3"),
        ("too-large", "C3"),
        ("date-for-number", "D3"),
        ("number-for-names", "F3"),
        ("duplicate-name", "B5"),
    ]
    assert [row.sound for row in table.rows] == [False, False, True, True]
    assert all(finding.severity is Severity.ERROR and finding.action for finding in findings)


def test_a_formula_that_was_never_calculated_is_refused():
    unsaved = grid(POINTS, ("Trank", "A", None, 0, "turn"), faults={(2, 3): "formula-without-value"})
    assert found(read_rows(unsaved, sheets.POINTS, "mm")[1]) == [("formula-without-value", "C2")]


def test_missing_unknown_and_doubled_columns_are_told_apart():
    _, findings = read_rows(
        grid(("Piece", "Colour", "piece", "Point", "x", "Kind"), ("T", 1, "T", "A", 0, "turn")), sheets.POINTS, "mm"
    )
    assert found(findings) == [("unknown-column", "B1"), ("duplicate-column", "C1"), ("missing-column", "A1")]
    assert findings[0].severity is Severity.NOTE


def test_merged_cells_are_named_as_the_reason_for_a_blank():
    merged = grid(POINTS, ("Trank", "A", 0, 0, "turn"), (None, "B", 0, 0, "turn"), merges=((1, 2, 1, 3), (6, 2, 6, 3)))
    _, findings = read_rows(merged, sheets.POINTS, "mm")
    assert [(finding.code, finding.severity.value, finding.place.cell) for finding in findings] == [
        ("merged-cell", "error", "A3"),
        ("merged-cell", "warning", "F3"),
    ]


def test_hidden_rows_are_read_with_a_warning():
    table, findings = read_rows(grid(POINTS, ("T", "A", 0, 0, "turn"), hidden_rows=frozenset({2})), sheets.POINTS, "mm")
    assert len(table.rows) == 1
    assert [(finding.code, finding.severity) for finding in findings] == [("hidden-rows", Severity.WARNING)]


def test_a_size_group_has_any_number_of_sizes_and_a_unit_for_each_row():
    sizes = grid(
        ("Measurement", "Unit", 8, "8/9", 10.0, "Source"),
        ("fist girth", "cm", 18, "19,2", "8 1/2 in", "invented"),
        ("palm length", "INCHES", "3 ½", 4, 4.5),
    )
    assert is_headed(sizes, SIZE_GROUP)
    table, findings = read_rows(sizes, SIZE_GROUP, "mm")
    assert not findings
    assert table.others == ("8", "8/9", "10")
    assert [table.rows[0][size] for size in table.others] == [180, 192, 215.9]
    assert [table.rows[1][size] for size in table.others] == [88.9, 101.6, 114.3]
    assert table.rows[0].place("8/9").cell == "D2"


def test_a_size_group_refuses_what_would_shift_or_lose_a_size():
    sizes = grid(
        ("Measurement", "Unit", "W1", datetime.datetime(2026, 9, 8), "w1", None),
        ("fist girth", "mm", 0, -3, None, 190),
        ("palm length", "feet", 1, 2, None),
    )
    assert set(found(read_rows(sizes, SIZE_GROUP, "mm")[1])) == {
        ("date-for-name", "D1"),
        ("duplicate-column", "E1"),
        ("not-above-zero", "C2"),
        ("below-zero", "D2"),
        ("value-without-heading", "F2"),
        ("unknown-unit", "B3"),
    }


def test_seams_name_sides_and_eases_of_every_kind():
    headings = ("Seam", "Side A", "Side B", "Least ease", "Most ease", "Target ease")
    row = read_rows(
        grid(headings, ("rim", "Thumb: foot, foot’", "Trank :hole", "-0.5 mm", "9 %", "thumb ease")), sheets.SEAMS, "cm"
    )[0].rows[0]
    assert (row["Side A"], row["Side B"]) == (Side("Thumb", ("foot", "foot'")), Side("Trank", ("hole",)))
    assert [row[f"{name} ease"] for name in ("Least", "Most", "Target")] == [
        Amount(mm=-0.5),
        Amount(part=0.09),
        Amount(allowance="thumb ease"),
    ]


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("Yes", True), (" y ", True), (True, True), (1, True), ("x", True), ("NO", False), (0, False), (False, False)],
)
def test_yes_and_no_as_people_type_them(typed, meant):
    pieces = grid(("Piece", "Mirror line", "Cut left", "Cut right"), ("Trank", typed, 1, "1"))
    row = read_rows(pieces, sheets.PIECES, "mm")[0].rows[0]
    assert (row["Mirror line"], row["Cut left"], row["Cut right"]) == (meant, 1, 1)


def test_yes_or_no_and_whole_numbers_refuse_the_rest():
    pieces = grid(("Piece", "Mirror line", "Cut left", "Cut right"), ("Trank", "maybe", 1.5, -1))
    assert [code for code, _ in found(read_rows(pieces, sheets.PIECES, "mm")[1])] == [
        "not-yes-or-no",
        "not-a-whole-number",
        "not-a-whole-number",
    ]


FIELDS = (
    ("Field", "Value"),
    ("name", "Fair mitten"),
    ("Leather thickness", "0,1"),
    ("Compressed pile", "1.8 mm"),
    ("Unit", "cm"),
    ("Drawn from", "Inside"),
    ("Marked on", "outside"),
    ("Date", datetime.datetime(2026, 11, 2)),
)


def test_fields_are_read_as_one_row_in_their_own_unit():
    row, findings = read_fields(grid(*FIELDS), sheets.BLOCK, "mm")
    assert not findings
    assert row.sound
    assert (row["Name"], row["Leather thickness"], row["Compressed pile"]) == ("Fair mitten", 1, 1.8)
    assert (row["Drawn from"], row["Date"], row["Groups"]) == ("inside", "2026-11-02", ())
    assert row.place("Leather thickness").cell == "B3"


def test_missing_unknown_doubled_and_blank_fields_are_found():
    rows = [*FIELDS[:5], ("Marked on", None), ("NAME", "Other"), ("Colour", "blue")]
    row, findings = read_fields(grid(*rows), sheets.BLOCK, "mm")
    assert [finding.code for finding in findings] == ["duplicate-name", "unknown-field", "missing-field", "blank-cell"]
    assert not row.sound


def test_a_missing_sheet_is_an_error_only_where_it_is_needed(tmp_path):
    book = Opened(tmp_path / "b.xlsx", grids=(Grid("b.xlsx", " seam  TYPES", {}, hidden=True),))
    assert find_grid(book, sheets.MARKS) == (None, [])
    assert [finding.code for finding in find_grid(book, sheets.PIECES)[1]] == ["missing-sheet"]
    assert find_grid(book, sheets.SEAM_TYPES) == (book.grids[0], [])


def test_an_empty_sheet_is_one_finding():
    assert found(read_rows(grid(), sheets.POINTS, "mm")[1]) == [("empty-sheet", "")]
    assert found(read_rows(grid(POINTS), sheets.POINTS, "mm")[1]) == [("empty-sheet", "")]


@pytest.mark.parametrize("sheet", [SIZE_GROUP, *sheets.BLOCK_SHEETS], ids=lambda sheet: sheet.name)
def test_every_declaration_holds_together(sheet):
    names = [column.name for column in sheet.columns]
    assert len({name.casefold() for name in names}) == len(names)
    assert set(sheet.key) <= set(names)
    for column in sheet.columns:
        assert column.help.endswith(".")
        assert bool(column.choices) == (column.kind in (Cells.CHOICE, Cells.AREA_UNIT))


@pytest.mark.parametrize(
    ("typed", "meant"), [("Now used", "Use now"), ("Use nwo", "Use now"), ("Drafted wth", "Drafted with")]
)
def test_a_heading_that_nearly_matches_with_figures_under_it_is_an_error_that_names_it(typed, meant):
    headings = [column.name for column in sheets.BASE_VALUES.columns]
    rows = [[typed if heading == meant else heading for heading in headings], [None] * len(headings)]
    rows[1][headings.index(meant)] = 24
    _, findings = read_rows(grid(*rows), sheets.BASE_VALUES, "mm")
    (unknown,) = [one for one in findings if one.code == "unknown-column"]
    assert unknown.severity is Severity.ERROR
    assert meant in unknown.expected


def test_a_heading_that_nearly_matches_with_words_under_it_is_a_warning():
    headings = (*POINTS, "Notes")
    _, findings = read_rows(grid(headings, ("Trank", "A", 0, 0, "turn", None, "see below")), sheets.POINTS, "mm")
    assert [(one.code, one.severity) for one in findings] == [("unknown-column", Severity.WARNING)]


def test_a_heading_of_ones_own_is_a_note():
    headings = (*POINTS, "Checked on")
    _, findings = read_rows(grid(headings, ("Trank", "A", 0, 0, "turn", None, 12)), sheets.POINTS, "mm")
    assert [(one.code, one.severity) for one in findings] == [("unknown-column", Severity.NOTE)]


def test_prices_and_counts_with_their_signs_are_plain_numbers(tmp_path):
    from decimal import Decimal

    from grading.sheets.number_formats import shown_as

    shown = {(2, 1): shown_as(40, '#,##0.00" €"'), (2, 2): shown_as(20, '0" pairs"')}
    rows = (("Price", "Pairs"), (40, 20))
    sheet = Sheet("T", "x", (Column("Price", Cells.NUMBER, "x."), Column("Pairs", Cells.COUNT, "x.")))
    table, findings = read_rows(grid(*rows, shown=shown), sheet, "mm")
    assert findings == []
    assert (table.rows[0]["Price"], table.rows[0]["Pairs"]) == (40, 20)
    assert Decimal(40) == shown[2, 1].figure
