"""Whom a size fits: half a step either side of its girth, as far as the ease leaves room to move."""

from __future__ import annotations

from dataclasses import replace
from math import pi

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from grading.drafting.second_scenario import second_block, second_sizes
from grading.drafting.stock_scenario import demo_stock
from grading.engine.run import grade
from grading.stock.fits import fits, length_fits

TERMS = demo_stock().terms
#: What the demo's pile (1.8 mm pressed) and leather (1.0 mm) take of the round: TRADE, common practice.
TAKES = 2 * pi * 1.8 + pi * 1.0


def with_ease(block, ease: float):
    values = (replace(value, now=ease) if value.name == "hand ease" else value for value in block.values)
    return replace(block, values=tuple(values))


def ends(run, **terms):
    found = fits(run, replace(TERMS, **terms))
    return np.array([(fit.least, fit.own, fit.most) for fit in found.sizes])


def test_with_room_enough_a_size_ends_half_way_to_the_next(runs):
    # Adults: 24 mm of ease leave 9.5 beside what the material takes, and half a step is 6 or 6.5 mm.
    for group, step in (("Women", 12.0), ("Men", 13.0)):
        least, girth, most = ends(runs[group]).T
        assert most == pytest.approx(girth + step / 2)
        assert least == pytest.approx(girth - step / 2)


@pytest.mark.parametrize(
    ("ease", "beyond"), [(30.0, 5.5), (22.0, 22 - TAKES - 3), (18.0, 18 - TAKES - 3), (17.0, 0.0), (15.0, 0.0)]
)
def test_a_childrens_size_ends_where_its_ease_leaves_no_room_and_at_its_own_girth_at_the_least(
    blocks, tables, ease, beyond
):
    run = grade(with_ease(blocks["Children"], ease), tables["Children"])
    _, girth, most = ends(run).T
    assert most == pytest.approx(girth + beyond)
    assert fits(run, TERMS).by_ease is (beyond < 5.5)


@given(st.floats(12, 40), st.floats(0, 12), st.sampled_from(["Women", "Men", "Children"]))
def test_ranges_meet_without_gap_or_overlap_and_each_holds_its_own_girth(blocks, tables, ease, room, group):
    run = grade(with_ease(blocks[group], ease), tables[group])
    least, girth, most = ends(run, room_to_move=room).T
    assert np.array_equal(most[:-1], least[1:])
    assert np.all(least < girth)
    assert np.all(girth <= most)
    # Nobody is promised a size that leaves less than the room to move, but at its own girth.
    assert np.all(ease - (most - girth) >= np.minimum(TAKES + room, ease) - 1e-6)


def test_a_table_without_the_row_that_fists_are_told_by_fits_nobody(runs):
    assert fits(runs["Women"], replace(TERMS, fist_row="paw girth")) is None


def test_a_group_of_one_size_fits_as_far_as_the_girth_tolerance(block, tables):
    table = tables["Women"]
    run = grade(block, replace(table, sizes=("W3",), values=table.values[:, [2]], places={}))
    ((least, girth, most),) = ends(run, girth_tolerance=5.0)
    assert (girth - least, most - girth) == (5.0, 5.0)


def test_what_is_closed_over_the_finger_tips_fits_hand_lengths_half_a_step_either_side(runs):
    table = second_sizes()
    found = length_fits(grade(second_block(), table), TERMS)
    length = table.row("hand length")
    step = length[1] - length[0]
    assert found.by == "hand length"
    assert [fit.most for fit in found.sizes] == pytest.approx(length + step / 2)
    assert [fit.least for fit in found.sizes] == pytest.approx(length - step / 2)
    assert not found.by_ease
    assert all(length_fits(run, TERMS) is None for run in runs.values())
