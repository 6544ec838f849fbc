"""The workbook that goes to a fair and comes back: its formulas, and the batch that is planned from it."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO

import formulas
import openpyxl
import pytest
from unlaid import heaped

from grading.drafting.stock_scenario import demo_stock
from grading.outputs.stock.fair import fair_workbook
from grading.sheets.opening import open_tables
from grading.sheets.stock import read_fair
from grading.stock.demand import markets
from grading.stock.plan import prepared

#: What came back, by size: sold, and asked for in vain.
BACK = {"W2": (3, 0), "W3": (9, 4), "W4": (6, None), "M3": (5, 1), "4-5": (2, None), "10-11": (1, 3)}


@pytest.fixture(scope="module")
def plan(runs):
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("grading.stock.search.Search.lays", heaped)
        return prepared(demo_stock(), list(runs.values())).for_pairs(60, lambda *told: None)


@pytest.fixture(scope="module")
def book(plan):
    return fair_workbook(plan, run_id="1f3a9c")


def filled_in(data: bytes, path):
    """The workbook with what came back typed into it."""
    workbook = openpyxl.load_workbook(BytesIO(data))
    for row in workbook["Past sales"].iter_rows(min_row=2):
        if row[1].value in BACK:
            row[3].value, row[4].value = BACK[row[1].value]
    workbook.save(path)
    return path


def test_what_was_brought_is_the_batch_and_the_rest_is_left_to_fill_in(book, plan, tmp_path):
    path = tmp_path / "fair.xlsx"
    path.write_bytes(book)
    sold, findings = read_fair(open_tables(path)[0])
    assert not findings
    assert [(row.group, row.size, row.brought) for row in sold] == [(r.group, r.size, r.pairs) for r in plan.wanted]
    assert not any(row.pairs or row.missing for row in sold)
    assert {row.fair for row in sold} == {"2026-11-23, batch 1f3a9c"}


def expected(runs, sold):
    """The shares, in percent, as the next batch is planned from them."""
    table = replace(demo_stock(), sold=(*demo_stock().sold, *sold))
    found, _ = markets(table, list(runs.values()))
    return {
        (m.group, size): (100 * part, 100 * part * m.share)
        for m in found
        for size, part in zip(m.run.sizes, m.sizes, strict=True)
    }


def shares(sheet) -> dict[tuple[str, str], tuple[float, float]]:
    rows = list(sheet.iter_rows(values_only=True))
    start = next(number for number, row in enumerate(rows) if row[:2] == ("Group", "Size"))
    return {row[:2]: row[5:7] for row in rows[start + 1 :] if row[1]}


def test_the_shares_that_the_workbook_carries_are_those_that_the_batch_was_planned_from(book, runs):
    carried = shares(openpyxl.load_workbook(BytesIO(book), data_only=True)["Next shares"])
    for key, both in expected(runs, []).items():
        assert carried[key] == pytest.approx(both)


def test_a_formula_evaluator_comes_to_the_shares_of_the_next_batch(book, runs, tmp_path):
    path = filled_in(book, tmp_path / "fair.xlsx")
    sold, _ = read_fair(open_tables(path)[0])
    computed = formulas.ExcelModel().loads(str(path)).finish().calculate()
    sheet = openpyxl.load_workbook(path)["Next shares"]
    found = {}
    for row in sheet.iter_rows():
        for cell in row[5:7]:
            if cell.data_type == "f" and (row[0].value, row[1].value) in expected(runs, []):
                value = computed[f"'[fair.xlsx]NEXT SHARES'!{cell.coordinate}"].value[0, 0]
                found.setdefault((row[0].value, row[1].value), []).append(value)
    wanted = expected(runs, sold)
    assert found.keys() == wanted.keys()
    for key, both in wanted.items():
        assert found[key] == pytest.approx(both, abs=1e-9)


@pytest.mark.long
def test_libreoffice_comes_to_the_shares_of_the_next_batch(book, runs, tmp_path, office):
    path = filled_in(book, tmp_path / "fair.xlsx")
    sold, _ = read_fair(open_tables(path)[0])
    found = shares(openpyxl.load_workbook(office(path, "xlsx"), data_only=True)["Next shares"])
    for key, both in expected(runs, sold).items():
        assert found[key] == pytest.approx(both, abs=1e-9)


def test_what_cannot_have_been_sold_is_an_error_and_a_size_sold_out_without_a_word_is_told(book, tmp_path):
    path = filled_in(book, tmp_path / "fair.xlsx")
    workbook = openpyxl.load_workbook(path)
    sheet = workbook["Past sales"]
    first = [sheet.cell(2, column) for column in range(1, 7)]
    first[3].value = first[2].value
    workbook.save(path)
    sold, findings = read_fair(open_tables(path)[0])
    assert [(one.code, one.place.cell) for one in findings] == [("sold-out", "E2")]
    assert sold
    first[3].value = first[2].value + 1
    workbook.save(path)
    sold, findings = read_fair(open_tables(path)[0])
    assert [(one.code, one.place.cell) for one in findings] == [("sold-more-than-brought", "D2")]
    assert not sold


def test_a_workbook_that_went_to_no_fair_is_refused(tmp_path):
    path = tmp_path / "other.xlsx"
    openpyxl.Workbook().save(path)
    sold, findings = read_fair(open_tables(path)[0])
    assert not sold
    assert [one.code for one in findings] == ["missing-sheet"]
