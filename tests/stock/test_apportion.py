"""Pairs shared out by the largest remainder: worked examples from outside, and the method's laws."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from grading.stock.apportion import apportioned, quotas

#: The census of 1790 and Hamilton's bill of 1792 for 120 seats, as in M. Balinski and H. P. Young, 'Fair
#: Representation' (1982); figures from memory, and their sum is the 3,615,920 of the census's apportionment.
CENSUS_1790 = {
    "Connecticut": (236_841, 8),
    "Delaware": (55_540, 2),
    "Georgia": (70_835, 2),
    "Kentucky": (68_705, 2),
    "Maryland": (278_514, 9),
    "Massachusetts": (475_327, 16),
    "New Hampshire": (141_822, 5),
    "New Jersey": (179_570, 6),
    "New York": (331_589, 11),
    "North Carolina": (353_523, 12),
    "Pennsylvania": (432_879, 14),
    "Rhode Island": (68_446, 2),
    "South Carolina": (206_236, 7),
    "Vermont": (85_533, 3),
    "Virginia": (630_560, 21),
}

shares = st.lists(st.integers(0, 1000), min_size=1, max_size=16).filter(any)


def test_hamiltons_bill_of_1792_comes_out_seat_by_seat():
    people = [count for count, _ in CENSUS_1790.values()]
    assert sum(people) == 3_615_920
    assert apportioned(people, 120) == [seats for _, seats in CENSUS_1790.values()]


def test_the_encyclopaedias_example_of_ten_seats_by_the_hare_quota():
    # Wikipedia, 'Largest remainders method', from memory: 100,000 votes, 10 seats.
    assert apportioned([47_000, 16_000, 15_800, 12_000, 6_100, 3_100], 10) == [5, 2, 1, 1, 1, 0]


def test_the_method_has_its_known_flaw_the_alabama_paradox():
    # Wikipedia, 'Apportionment paradox', from memory: an eleventh seat costs the smallest state one.
    assert apportioned([6, 6, 2], 10) == [4, 4, 2]
    assert apportioned([6, 6, 2], 11) == [5, 5, 1]


@given(shares, st.integers(0, 500), st.integers(0, 4))
def test_sums_are_exact_and_floors_are_kept(parts, total, least):
    assume(total >= least * len(parts))
    given_out = apportioned(parts, total, least)
    assert sum(given_out) == total
    assert min(given_out) >= least


@given(shares, st.integers(0, 500))
def test_without_floors_nobody_is_off_the_quota_by_one(parts, total):
    for pairs, quota in zip(apportioned(parts, total), quotas(parts, total), strict=True):
        assert abs(pairs - quota) < 1


@given(shares, st.integers(1, 500), st.integers(1, 4))
def test_with_floors_those_above_are_off_the_quota_of_what_is_left_by_less_than_one(parts, total, least):
    assume(total >= least * len(parts))
    given_out = apportioned(parts, total, least)
    free = [number for number, pairs in enumerate(given_out) if pairs > least]
    assume(free and any(parts[number] for number in free))
    left = sum(given_out[number] for number in free)
    at_floor = [number for number in range(len(parts)) if number not in free]
    for number in free:
        # Of those at the floor some came there by their own quota; at most so many pairs are theirs.
        quota = Fraction(parts[number] * left, sum(parts[other] for other in free))
        assert abs(given_out[number] - quota) < 1 + len(at_floor)
    if not any(quota < least for quota in quotas(parts, total)):
        assert given_out == apportioned(parts, total)


def test_of_equal_remainders_the_larger_share_comes_first_then_the_earlier():
    # Quotas of 4 pairs are 1/2, 1/2 and 3, of 2 they are 1/2 and 3/2: one pair more, whoever has the larger share.
    assert apportioned([1, 1, 6], 4) == [1, 0, 3]
    assert apportioned([1, 3], 2) == [0, 2]
    assert apportioned([3, 1], 2) == [2, 0]


@given(shares, st.integers(0, 500))
def test_a_larger_share_never_gets_less(parts, total):
    pairs = sorted(zip(parts, apportioned(parts, total), strict=True))
    assert [got for _, got in sorted(pairs)] == sorted(got for _, got in pairs)


@pytest.mark.parametrize(("parts", "total", "least"), [([1, 1], 1, 1), ([0, 0], 4, 0), ([3, -1], 4, 0)])
def test_what_cannot_be_shared_out_is_refused(parts, total, least):
    with pytest.raises(ValueError):
        apportioned(parts, total, least)
