"""The system of the printed pages against the figures that drawing standards give (from memory)."""

from __future__ import annotations

from itertools import pairwise

import pytest

from grading.drawing.marks import Role
from grading.drawing.styles import style_of
from grading.drawing.system import FOLD, HEIGHTS, MIRROR, NARROW, SIZE_KINDS, WIDE, WIDTHS


def test_heights_are_those_of_iso_3098_each_root_two_of_the_one_before():
    assert HEIGHTS == (2.5, 3.5, 5.0, 7.0)
    assert all(larger / smaller == pytest.approx(2**0.5, rel=0.02) for smaller, larger in pairwise(HEIGHTS))


def test_lines_have_two_widths_one_to_two_and_are_black():
    assert WIDE == 2 * NARROW
    for role in Role:
        style = style_of(role)
        assert style.width in (0, *WIDTHS), role
        assert style.colour == (0, 0, 0), role


@pytest.mark.parametrize("base", [None, 0, 4])
def test_each_size_has_another_kind_of_line_than_the_sizes_beside_it_and_the_base_a_wide_one(base):
    styles = [style_of(Role.SEW_LINE, size, base) for size in range(30)]
    assert all(one.dash != other.dash for one, other in pairwise(styles))
    assert len({style.dash for style in styles[:6]}) == 6
    assert [size for size, style in enumerate(styles) if style.width == WIDE] == ([] if base is None else [base])


def test_no_size_looks_like_a_mirror_line_or_a_fold():
    assert not {MIRROR, FOLD} & set(SIZE_KINDS)
    assert len(set(SIZE_KINDS)) == len(SIZE_KINDS) == 6


def test_no_gap_or_dot_is_too_short_for_an_office_printer():
    # At 600 dots an inch, 0.25 mm is six dots: less is lost when paper and toner spread (common practice).
    for dashes in (*SIZE_KINDS, MIRROR, FOLD):
        assert all(length >= 0.25 for length in dashes)
