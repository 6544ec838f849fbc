"""Findings as they are told: alike ones as one, and no character that a terminal would obey."""

from __future__ import annotations

import pytest

from grading.findings import Finding, Place, Severity, folded, harmless


def of(cell: str, cause: str = "unit cm", sheet: str = "Women", found: str = "") -> Finding:
    place = Place("sizes.xlsx", sheet, cell)
    return Finding("figure-out-of-range", Severity.ERROR, place, found or f"{cell} is 1880 mm.", "", "", cause)


def test_findings_of_one_cause_are_one_that_names_every_cell():
    cells = [f"{column}{row}" for row in range(2, 15) for column in ("C", "D", "E")]
    (one,) = folded(map(of, cells))
    assert one.place.cell == "C2:E14"
    assert one.found == "C2 is 1880 mm. And 38 cells more are alike."


def test_cells_that_make_no_rectangle_are_named_row_by_row():
    (one,) = folded(map(of, ("C2", "D2", "F2", "C3", "Z3", "AA3", "AB3")))
    assert one.place.cell == "C2:D2, F2, C3, Z3:AB3"


def test_up_to_three_figures_are_all_told():
    (one,) = folded(map(of, ("C2", "D2", "E2")))
    assert one.found == "C2 is 1880 mm. D2 is 1880 mm. E2 is 1880 mm."


def test_what_has_no_cause_or_another_sheet_or_unit_stands_for_itself():
    found = [of("C2", ""), of("D2", ""), of("C2"), of("C2", sheet="Men"), of("C3", "unit in")]
    assert folded(found) == found


@pytest.mark.parametrize("sign", ["\x1b", "\x07", "\r", "\x7f", "\x9b", "\u202e", "\u2066", "\ud800", "\u2028"])
def test_a_sign_that_a_terminal_obeys_is_spelled_out(sign):
    shown = harmless(f"a{sign}b")
    assert sign not in shown
    assert shown.startswith("a\\")
    assert shown.isascii()


def test_words_of_any_alphabet_stay_as_they_are():
    assert harmless("Größe Ł−¾ 手套 ²\tx\n") == "Größe Ł−¾ 手套 ²\tx\n"
