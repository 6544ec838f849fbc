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


def of_run(size: str, seam: str = "thumb in hole", found: str = "Ease 2.5 mm.", severity: Severity = Severity.WARNING):
    return Finding("ease-too-dense", severity, Place(group="Women", size=size, seam=seam), found, "At most 2 mm.", "")


def test_alike_findings_of_sizes_and_seams_are_one_with_the_run_of_its_figures():
    sizes = [f"W{number}" for number in range(1, 12)]
    found = [
        of_run(size, seam, f"Ease {2.5 + at / 10:.1f} mm.")
        for seam in ("palm half", "index half")
        for at, size in enumerate(sizes)
    ]
    assert len(found) == 22
    (one,) = folded(found)
    assert one.found == "Ease 2.5 to 3.5 mm."
    assert one.place.size == "; ".join(sizes)
    assert str(one.place).endswith("seams palm half; index half")


def test_other_words_another_severity_or_another_group_stand_for_themselves():
    found = [of_run("W1"), of_run("W2", severity=Severity.NOTE), of_run("W3", found="Ease 2.5 mm, not balanced.")]
    found.append(
        Finding("ease-too-dense", Severity.WARNING, Place(group="Men", size="M1"), "Ease 2.5 mm.", "At most 2 mm.", "")
    )
    assert folded(found) == found


def test_figures_that_are_part_of_a_name_or_fall_below_nought_are_told_right():
    first, second = of_run("W1", found="From W1, −1 1/2 in."), of_run("W2", found="From W1, 1/4 in.")
    assert folded([first, second])[0].found == "From W1, −1 1/2 to 1/4 in."


@pytest.mark.parametrize("sign", ["\x1b", "\x07", "\r", "\x7f", "\x9b", "\u202e", "\u2066", "\ud800", "\u2028"])
def test_a_sign_that_a_terminal_obeys_is_spelled_out(sign):
    shown = harmless(f"a{sign}b")
    assert sign not in shown
    assert shown.startswith("a\\")
    assert shown.isascii()


def test_words_of_any_alphabet_stay_as_they_are():
    assert harmless("Größe Ł−¾ 手套 ²\tx\n") == "Größe Ł−¾ 手套 ²\tx\n"
