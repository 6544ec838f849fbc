import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from grading.drawing.paper import MARGIN, PAPERS, Printing


def test_iso_papers_halve_into_the_next_and_a0_is_a_square_metre() -> None:
    # ISO 216: A0 is 1 m² with sides as 1 : √2; each next size is half the one before, sides rounded down to mm.
    long = 1000 * 2**0.25
    sides = [int(long / 2 ** (i / 2) + 0.2) for i in range(6)]
    assert (PAPERS["a3"].short, PAPERS["a3"].long) == (sides[4], sides[3]) == (297, 420)
    assert (PAPERS["a4"].short, PAPERS["a4"].long) == (sides[5], sides[4]) == (210, 297)


def test_letter_and_tabloid_are_whole_and_half_inches() -> None:
    # ANSI/ASME Y14.1: A is 8.5 × 11 in, B is 11 × 17 in.
    letter, tabloid = PAPERS["letter"], PAPERS["tabloid"]
    assert np.array([letter.short, letter.long, tabloid.short, tabloid.long]) / 25.4 == pytest.approx([8.5, 11, 11, 17])


def test_an_upright_and_a_lying_sheet_keep_the_margin() -> None:
    printing = Printing(PAPERS["a4"])
    assert printing.upright().printable == (MARGIN, MARGIN, 210 - MARGIN, 297 - MARGIN)
    assert printing.lying().printable == (MARGIN, MARGIN, 297 - MARGIN, 210 - MARGIN)


@given(st.floats(0.9, 1.1), st.floats(0.9, 1.1))
def test_what_is_printable_stays_on_the_paper_of_a_printer_that_scales(short: float, long: float) -> None:
    # The printer shrinks or grows the page about its middle by 1 / correction; a sheet is in mm as they come out.
    sheet = Printing(PAPERS["a4"], short, long).upright()
    across = 210 / 2 + np.array([sheet.printable.left, sheet.printable.right]) - sheet.width / 2
    up = 297 / 2 + np.array([sheet.printable.bottom, sheet.printable.top]) - sheet.height / 2
    assert min(across[0], 210 - across[1], up[0], 297 - up[1]) >= MARGIN - 1e-9


@pytest.mark.parametrize("correction", [0.97, 1.0, 1.03])
def test_a_sheet_cut_to_fit_has_just_the_room_asked_for(correction: float) -> None:
    sheet = Printing(PAPERS["sheet"], correction, correction).around(800, 300)
    assert (sheet.printable.width, sheet.printable.height) == pytest.approx((800, 300))


def test_no_page_is_larger_than_a_pdf_page_may_be() -> None:
    sheet = Printing(PAPERS["sheet"]).around(9000, 300)
    assert sheet.width / 25.4 * 72 == pytest.approx(14400)  # ISO 32000-1, Annex C


def test_a_sheet_says_what_its_print_was_corrected_for() -> None:
    assert Printing(PAPERS["a4"]).told == ""
    assert "98.6 for 100" in Printing(PAPERS["a4"], 100 / 98.6, 100 / 98.6).told
    assert "98.6 × 99.1 for 100" in Printing(PAPERS["a4"], 100 / 98.6, 100 / 99.1).told
