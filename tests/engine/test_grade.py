"""The laws of grading: identity at the base, linearity, increments that add up, sizes that do not know each other."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from grading.drafting.scenario import demo_block, demo_sizes
from grading.engine.run import grade
from grading.model.sizes import SizeTable

BLOCK = demo_block()
WOMEN = demo_sizes()[0]

changes = st.lists(
    st.floats(-8, 8, allow_nan=False), min_size=len(WOMEN.measurements), max_size=len(WOMEN.measurements)
).map(np.array)


def sizes_of(*columns: np.ndarray) -> SizeTable:
    """A table whose sizes have these figures."""
    return replace(WOMEN, sizes=tuple(f"s{i}" for i in range(len(columns))), values=np.column_stack(columns))


def points(table: SizeTable) -> np.ndarray:
    return np.concatenate([piece.points for piece in grade(BLOCK, table).pieces.values()], axis=1)


BASE = WOMEN.values[:, 2]


def test_the_block_graded_to_its_own_figures_comes_back_to_the_bit():
    run = grade(BLOCK, WOMEN)
    assert run.sizes[run.base] == "W3"
    for piece in run.pieces.values():
        assert (piece.points[run.base] == piece.shape.points).all()


def test_a_size_that_shares_one_figure_with_the_bases_hand_is_not_the_base_size():
    girth = np.array(WOMEN.measurements) == "fist girth"
    table = sizes_of(BASE + 3.0 * ~girth, BASE + 3.0 * girth)
    assert grade(BLOCK, table).base is None
    assert grade(BLOCK, sizes_of(BASE + 3.0 * ~girth, BASE)).base == 1


@given(changes, changes)
def test_grading_is_linear_in_the_measurements(one, other):
    at = points(sizes_of(BASE, BASE + one, BASE + other, BASE + one + other))
    assert at[3] - at[0] == pytest.approx((at[1] - at[0]) + (at[2] - at[0]), abs=1e-9)


@given(changes)
def test_increments_add_up_along_the_run(step):
    at = points(sizes_of(*(BASE + n * step for n in range(5))))
    assert np.diff(at, axis=0).sum(axis=0) == pytest.approx(at[-1] - at[0], abs=1e-9)
    assert np.diff(at, axis=0) == pytest.approx(np.broadcast_to(at[1] - at[0], (4, *at[0].shape)), abs=1e-9)


@given(st.lists(changes, min_size=1, max_size=7), st.integers(0, 6), st.randoms(use_true_random=False))
def test_a_sizes_points_do_not_depend_on_the_other_sizes_or_their_order(steps, chosen, random):
    chosen %= len(steps)
    order = list(range(len(steps)))
    random.shuffle(order)
    alone = points(sizes_of(BASE + steps[chosen]))[0]
    together = points(sizes_of(*(BASE + steps[i] for i in order)))[order.index(chosen)]
    assert (alone == together).all()


@given(changes)
def test_mirrored_outlines_stay_symmetric_in_every_size(step):
    for piece in grade(BLOCK, sizes_of(BASE + step)).pieces.values():
        handles = piece.boundary[0]
        assert handles[:, :, 1] == pytest.approx(handles[::-1, ::-1, 1], abs=1e-9)
        assert handles[:, :, 0] == pytest.approx(-handles[::-1, ::-1, 0], abs=1e-9)


def test_an_allowance_holds_for_the_run_and_a_tables_own_row_for_its_group(tables, children):
    women, small = (grade(BLOCK, table).drivers["hand ease"] for table in (tables["Women"], children))
    assert (women == 24).all()
    assert (small == 22).all()


def test_an_allowance_used_now_moves_every_size_alike(block, tables):
    values = tuple(replace(value, now=value.now + 6) if value.name == "hand ease" else value for value in block.values)
    before, after = grade(block, tables["Women"]), grade(replace(block, values=values), tables["Women"])
    moved = after.pieces["Trank"].point("knuckle") - before.pieces["Trank"].point("knuckle")
    assert moved == pytest.approx(np.tile([3.0, 0.0], (6, 1)))


def test_a_body_value_that_the_table_lacks_is_named(block, tables):
    table = replace(tables["Women"], measurements=("fist breadth", *tables["Women"].measurements[1:]))
    with pytest.raises(KeyError, match="fist girth"):
        grade(block, table)
