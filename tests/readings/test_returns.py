"""Readings judged together: whose hand leans, and which tolerances the work cannot hold."""

from __future__ import annotations

import numpy as np
import pytest
import scipy
from hypothesis import given
from hypothesis import strategies as st

from grading.findings import Place
from grading.model.returns import CheckSheet, Reading, TargetGiven
from grading.readings.returns import Holding, PairVerdict, Verdict, judge, judged, pairs_by_maker, verdict

TARGET = TargetGiven(100.0, 2.0, 3.0)


def sheet(name: str, lengths: list[float | None], size: str = "W3", measure: str = "palm width") -> CheckSheet:
    readings = tuple(
        Reading(measure, 1 + number // 2, ("left", "right")[number % 2], str(mm), mm, Place(cell=f"F{number}"))
        for number, mm in enumerate(lengths)
    )
    return CheckSheet(Place(), "run", "Women", size, "mm", name, "", "", ((measure, TARGET),), readings)


def together(*sheets: CheckSheet):
    return judge([one for filled in sheets for one in judged(filled, {"palm width": TARGET})])


def work(seed: int, mean: float, spread: float, count: int) -> list[float]:
    return (100 + np.random.default_rng(seed).normal(mean, spread, count)).tolist()


def test_both_bounds_of_a_tolerance_pass_whatever_unit_they_came_from():
    inch = TargetGiven(4.02 * 25.4, 0.08 * 25.4, 0.12 * 25.4)
    assert verdict(3.94 * 25.4, inch) is Verdict.PASS
    assert verdict(4.14 * 25.4, inch) is Verdict.PASS
    assert verdict(3.93 * 25.4, inch) is Verdict.SHORT
    assert verdict(4.15 * 25.4, inch) is Verdict.LONG


@given(st.floats(50.0, 200.0), st.floats(0, 5), st.floats(0, 5))
def test_every_length_comes_to_just_what_its_bounds_say(mm, minus, plus):
    word = verdict(mm, TargetGiven(100, minus, plus))
    if abs(mm - 100 + minus) > 1e-5 and abs(mm - 100 - plus) > 1e-5:
        assert (word is Verdict.SHORT, word is Verdict.LONG) == (mm < 100 - minus, mm > 100 + plus)


def test_mean_and_bounds_of_a_hand_are_those_of_students_t():
    lengths = work(1, -1.0, 1.2, 10)
    sample = together(sheet("Ann", lengths)).makers["Ann", "palm width"]
    low, high = scipy.stats.t.interval(0.95, 9, loc=np.mean(lengths) - 100, scale=scipy.stats.sem(lengths))
    assert (sample.mean - sample.within, sample.mean + sample.within) == pytest.approx((low, high), rel=1e-3)


def test_a_hand_two_millimetres_short_shows_and_an_even_one_does_not():
    judgement = together(sheet("Ann", work(2, -2.0, 0.8, 10)), sheet("Bo", work(3, 0.0, 0.8, 10)))
    assert judgement.makers["Ann", "palm width"].leans == "short"
    assert judgement.makers["Bo", "palm width"].leans == ""


def test_nothing_is_said_of_a_hand_by_a_few_readings_or_less_than_a_tape_shows():
    assert together(sheet("Ann", [97.9, 98.0, 98.1])).makers["Ann", "palm width"].leans == ""
    assert together(sheet("Ann", work(4, 0.3, 0.01, 10))).makers["Ann", "palm width"].leans == ""


def test_one_reading_has_a_mean_without_bounds_and_none_has_neither():
    one = together(sheet("Ann", [101.0])).makers["Ann", "palm width"]
    none = together(sheet("Ann", [None])).makers["Ann", "palm width"]
    assert (one.mean, one.count) == (1.0, 1)
    assert np.isnan([one.within, one.spread, none.mean, none.within]).all()
    assert (none.count, none.to_check) == (0, 1)


@pytest.mark.parametrize(
    ("spread", "count", "holding"),
    [
        (0.6, 40, Holding.HOLDS),  # 4 × 0.6 = 2.4 mm of 5
        (3.0, 40, Holding.FAILS),  # 12 mm of 5
        (3.0, 5, Holding.TOO_FEW),
    ],
)
def test_a_tolerance_is_held_by_work_whose_spread_it_leaves_room_for(spread, count, holding):
    judgement = together(sheet("Ann", work(5, 0.0, spread, count)))
    assert judgement.measures["palm width"][1] is holding


def test_a_tolerance_may_not_hold_where_it_could_still_be_chance():
    lengths = [100 + deviation for deviation in (-1.6, 1.6, -1.4, 1.4, -1.2, 1.2)]
    spread, least = np.std(lengths, ddof=1), np.sqrt(5 / scipy.stats.chi2.ppf(0.95, 5))
    assert 2 * 1.96 * spread > 5 > 2 * 1.96 * spread * least
    assert together(sheet("Ann", lengths)).measures["palm width"][1] is Holding.DOUBTFUL


def test_two_even_hands_of_which_one_is_short_hold_a_tolerance():
    judgement = together(sheet("Ann", work(6, -3.0, 0.6, 20)), sheet("Bo", work(7, 2.0, 0.6, 20)))
    sample, holding = judgement.measures["palm width"]
    assert 4 * sample.spread > 5, "taken together they would not"
    assert holding is Holding.HOLDS


def test_the_room_that_work_takes_is_that_of_95_in_100_by_the_normal_distribution():
    # 2 × 1.96 standard deviations; the two lengths differ from one another by little more than 1 in 100
    lengths = 100 + np.tile([-1.0, 1.0], 200)
    width = scipy.stats.norm.ppf(0.975) - scipy.stats.norm.ppf(0.025)
    for share, holding in ((0.99, Holding.HOLDS), (1.01, Holding.DOUBTFUL)):
        spread = share * 5 / width
        even = (lengths - 100) * spread / np.std(lengths, ddof=1) + 100
        assert together(sheet("Ann", even.tolist())).measures["palm width"][1] is holding


def test_where_tolerances_differ_the_tightest_of_them_has_to_be_held():
    readings = work(5, 0.0, 0.8, 40)  # 4 × 0.8 = 3.2 mm
    wide, tight = TargetGiven(100.0, 3.0, 3.0), TargetGiven(100.0, 1.0, 1.0)
    mixed = [
        one
        for half, target in ((readings[:20], wide), (readings[20:], tight))
        for one in judged(sheet("Ann", half), {"palm width": target})
    ]
    assert judge(mixed).measures["palm width"][1] is Holding.FAILS
    alone = judged(sheet("Ann", readings), {"palm width": wide})
    assert judge(alone).measures["palm width"][1] is Holding.HOLDS


def test_every_hand_costs_the_pooled_spread_one_degree_of_freedom():
    # Six hands of two readings, each 1 mm apart: the squares come to 6 × 0.5, shared out over 12 − 6 of them.
    apart = 5 / (2 * scipy.stats.norm.ppf(0.975)) * np.sqrt(2)
    for share, holding in ((0.99, Holding.HOLDS), (1.01, Holding.DOUBTFUL)):
        hands = [sheet(name, [100.0, 100.0 + share * apart]) for name in "ABCDEF"]
        assert together(*hands).measures["palm width"][1] is holding
    few = [sheet(name, [100.0, 100.1]) for name in "ABCD"]
    assert together(*few).measures["palm width"][1] is Holding.TOO_FEW, "eight readings, and four left"


def test_a_name_is_one_whatever_its_case_and_spaces():
    judgement = together(sheet("Ann  Berg", [100.0]), sheet("ann berg ", [101.0]), sheet("", [99.0]))
    assert [maker for maker, _ in judgement.makers] == ["Ann  Berg", "no name given"]
    assert judgement.makers["Ann  Berg", "palm width"].count == 2


def test_failures_are_counted_by_size():
    judgement = together(sheet("Ann", [97.0, 104.0, 100.0, 10.0]), sheet("Bo", [97.5], size="W4"))
    third, fourth = (judgement.sizes["Women", size, "palm width"] for size in ("W3", "W4"))
    assert (third.passed, third.short, third.long, third.to_check) == (1, 1, 1, 1)
    assert (fourth.short, judgement.failures) == (1, 3)


def test_a_measure_that_nobody_asked_for_is_kept_to_be_checked():
    (one,) = judged(sheet("Ann", [100.0], measure="fringe"), {"palm width": TARGET})
    assert (one.verdict, one.deviation, one.reading.mm) == (Verdict.CHECK, None, 100.0)


@pytest.mark.parametrize(
    ("left", "right", "said", "verdict"),
    [
        (100.0, 100.5, None, PairVerdict.GOOD),
        (101.9, 98.1, None, PairVerdict.NO_PAIR),  # 3.8 apart, and −2 +3 leaves 2.5 where nobody says
        (101.2, 98.7, None, PairVerdict.GOOD),
        (101.2, 98.7, 2.0, PairVerdict.NO_PAIR),
        (101.9, 98.1, 4.0, PairVerdict.GOOD),
        (103.5, 100.0, None, PairVerdict.MEND),
        (100.0, 1000.0, None, PairVerdict.CHECK),
        (100.0, None, None, PairVerdict.CHECK),
    ],
)
def test_a_pair_is_good_to_mend_or_no_pair(left, right, said, verdict):
    target = TargetGiven(100.0, 2.0, 3.0, said)
    judgement = judge(judged(sheet("Ann", [left, right]), {"palm width": target}))
    assert [pair.verdict for pair in judgement.pairs] == [verdict]


def test_pairs_are_counted_by_whoever_sewed_however_the_name_is_spelled():
    makers = pairs_by_maker(together(sheet("Ann", [100, 100, 106, 100]), sheet("ANN", [100, 100])), None)
    assert [(one.name, *one.counts.values(), one.pay) for one in makers] == [("Ann", 2, 1, 0, 0, None)]
