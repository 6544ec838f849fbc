"""Published glove sizes: the figures against their sources, and which is nearest to a hand."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from grading.readings.glove_sizes import FRENCH_INCH, PUBLISHED, nearest_by_girth, nearest_by_length


def test_the_published_sizes_grow_by_the_steps_of_en_420():
    # EN 420:2003+A1:2009, table of hand sizes 6 to 11, carried into EN ISO 21420:2020.
    assert [size.number for size in PUBLISHED] == [6, 7, 8, 9, 10, 11]
    assert np.diff([size.girth for size in PUBLISHED]).tolist() == [26, 25, 26, 25, 25]
    assert np.diff([size.length for size in PUBLISHED]).tolist() == [11, 11, 10, 12, 11]
    assert (PUBLISHED[0].girth, PUBLISHED[0].length) == (152, 160)


def test_a_published_size_is_the_girth_in_inches():
    # The numbering of EN 420 is that of inches of 25.4 mm (NIST SP 811), rounded to whole millimetres.
    assert [size.girth for size in PUBLISHED] == [round(25.4 * size.number) for size in PUBLISHED]


def test_a_french_inch_is_twelve_lines_of_which_a_metre_has_443_296():
    # Law of 19 frimaire an VIII (10 December 1799): the metre is 443.296 lignes; 12 lignes are a pouce.
    assert abs(FRENCH_INCH - 1000 * 12 / 443.296) < 0.005


def test_a_hand_of_a_published_size_is_nearest_to_that_size():
    girths, lengths = (np.array(figures) for figures in zip(*((s.girth, s.length) for s in PUBLISHED), strict=True))
    assert [str(nearest) for nearest in nearest_by_girth(girths)] == ["6", "7", "8", "9", "10", "11"]
    assert [str(nearest) for nearest in nearest_by_length(lengths)] == ["6", "7", "8", "9", "10", "11"]


@given(st.floats(139, 291.5, exclude_max=True))
def test_no_other_published_size_is_nearer(girth):
    (nearest,) = nearest_by_girth(np.array([girth]))
    assert nearest.beyond == 0
    assert abs(nearest.size.girth - girth) == min(abs(size.girth - girth) for size in PUBLISHED)


@pytest.mark.parametrize(
    ("girth", "named"),
    [(138.9, "under 6"), (139.0, "6"), (165.0, "7"), (164.9, "6"), (291.4, "11"), (291.5, "over 11"), (80, "under 6")],
)
def test_half_way_goes_to_the_larger_and_half_a_step_beyond_the_ends_is_outside(girth, named):
    assert str(nearest_by_girth(np.array([girth]))[0]) == named
