"""What is worked out in part, so that a whole table need not be judged again and again, against the whole."""

from __future__ import annotations

import numpy as np
import pytest

from grading.audit.ladders import likely_at_most, odds_of
from grading.audit.witnesses import Figures


@pytest.mark.parametrize("seed", range(6))
def test_no_row_is_likelier_than_it_can_be_by_its_own_witnesses(seed):
    chance = np.random.default_rng(seed)
    rows, sizes = chance.integers(1, 9), chance.integers(3, 8)
    steps = chance.uniform(-2, 8, rows)
    values = np.round(chance.uniform(60, 250, rows)[:, None] + steps[:, None] * np.arange(sizes))
    values[chance.integers(rows), chance.integers(sizes)] += chance.choice([-9, 4, 30])
    figures = Figures(values)
    for row in range(rows):
        for told in (figures, figures.exchanged(row, 0), figures.without(row, [1])):
            likely, at_most = odds_of(told).likely[row], likely_at_most(told, row)
            assert likely <= at_most + 1e-9
            assert at_most - likely < 15  # near enough to tell an exchange that is far from likely


def test_the_middle_of_a_row_is_that_of_its_known_figures():
    figures = Figures(np.array([[1.0, 2, 9, 4], [5, 7, 6, 8]])).without(0, [2])
    assert figures.middle.tolist() == [2.0, 6.5]
