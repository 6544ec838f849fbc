"""What counts as a change between two states of a group: what is finer than figures are kept is none."""

from __future__ import annotations

import pandas as pd

from grading.readings.comparison import Comparison


def test_figures_that_differ_by_less_than_a_two_hundredth_of_a_millimetre_are_the_same():
    change = pd.DataFrame({"S": [0.004, -0.004, 0.006, 2.0], "M": [0.0, 0.004, 0.0, 2.004]}, index=list("abcd"))
    comparison = Comparison("Women", change, (), (), (), ())
    assert list(comparison.changed.index) == ["c", "d"]
    assert comparison.everywhere == {"d": 2.0}


def test_a_row_that_changes_by_more_in_one_size_did_not_change_everywhere_alike():
    change = pd.DataFrame({"S": [2.0], "M": [2.006]}, index=["d"])
    assert Comparison("Women", change, (), (), (), ()).everywhere == {}
