"""What was sold, and asked for in vain, updates the shares that a batch is planned from."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from grading.drafting.stock_scenario import demo_stock
from grading.model.stock import Sold
from grading.stock.demand import markets
from grading.stock.fairs import followed


def planned_from(runs, *sold: Sold, **terms):
    table = demo_stock()
    found, _ = markets(replace(table, sold=sold, terms=replace(table.terms, **terms)), list(runs.values()))
    return {market.group: market for market in found}


def test_the_worked_example_of_the_demos_children(runs):
    # Hands count as 20 pairs; last year 3, 5, 6, 4, 2 were sold and 0, 1, 1, 0, 0 asked for in vain: 22 in all.
    market = {m.group: m for m in markets(demo_stock(), list(runs.values()))[0]}["Children"]
    expected = (20 * market.sizes_before + np.array([3, 6, 7, 4, 2])) / 42
    assert market.sizes == pytest.approx(expected)
    assert market.fairs == pytest.approx(22 / 42)
    assert market.shared_by == "hands 48%, past fairs 52%"
    # Only the children's fair is told of: the other groups keep their shares.
    assert market.share == pytest.approx(0.25)


def test_without_fairs_hands_alone_share_out_the_sizes(runs):
    market = planned_from(runs)["Women"]
    assert market.fairs == 0
    assert market.shared_by == "hands"
    assert np.array_equal(market.sizes, market.sizes_before)


def test_who_asked_in_vain_counts_like_who_bought(runs):
    bought = planned_from(runs, Sold("Women", "W2", 9))["Women"]
    in_vain = planned_from(runs, Sold("Women", "W2", 4, 5))["Women"]
    assert np.array_equal(bought.sizes, in_vain.sizes)
    assert bought.sizes[1] > bought.sizes_before[1]


def test_the_more_was_asked_for_the_more_past_fairs_weigh(runs):
    few, many = (planned_from(runs, Sold("Women", "W2", pairs))["Women"].fairs for pairs in (5, 500))
    assert 0 < few < 0.5 < many < 1
    assert planned_from(runs, Sold("Women", "W2", 5), hands_count=0)["Women"].fairs == 1


def test_groups_follow_the_customers_too_where_a_fair_tells_of_several(runs):
    found = planned_from(runs, Sold("Women", "W3", 10), Sold("Men", "M3", 30))
    # Women and Men have three quarters together, two to one by hands that count as 20 pairs, with 10 and 30 sold.
    assert found["Women"].share == pytest.approx(0.75 * (20 * 2 / 3 + 10) / 60)
    assert found["Men"].share == pytest.approx(0.75 * (20 / 3 + 30) / 60)
    assert found["Children"].share == pytest.approx(0.25)


def test_fairs_add_up(runs):
    once = planned_from(runs, Sold("Women", "W2", 9, fair="both"))
    twice = planned_from(runs, Sold("Women", "W2", 4, fair="first"), Sold("Women", "W2", 5, fair="second"))
    assert np.array_equal(once["Women"].sizes, twice["Women"].sizes)


counts = st.lists(st.integers(0, 40), min_size=3, max_size=3)


@given(counts, counts, st.integers(1, 100), st.booleans())
def test_shares_stay_shares_and_lie_between_hands_and_fairs(one, other, count, known):
    hands = [np.array([0.2, 0.5, 0.3]), np.array([0.6, 0.3, 0.1])]
    asked = [np.array(one, dtype=float), np.array(other, dtype=float)]
    found = followed([0.7, 0.3], hands, [True, known], asked, count)
    assert sum(group.share for group in found) == pytest.approx(1)
    for group, by_hands, pairs in zip(found, hands, asked, strict=True):
        assert group.sizes.sum() == pytest.approx(1)
        if pairs.sum():
            by_fairs = pairs / pairs.sum()
            assert group.sizes == pytest.approx((1 - group.weight) * by_hands + group.weight * by_fairs)
        else:
            assert (group.weight, group.sizes.tolist()) == (0, by_hands.tolist())
