"""Quantiles without a statistics package, against scipy's."""

from __future__ import annotations

import pytest
import scipy

from grading.readings.sampling import chi_square_quantile, student_quantile


@pytest.mark.parametrize("freedom", [1, 2, 3, 4, 5, 9, 30, 500])
@pytest.mark.parametrize("share", [0.9, 0.95, 0.975, 0.99, 0.05])
def test_students_t_is_scipys_within_half_a_percent(freedom, share):
    expected = scipy.stats.t.ppf(share, freedom)
    assert student_quantile(share, freedom) == pytest.approx(expected, rel=1e-9 if freedom < 3 else 5e-3)


@pytest.mark.parametrize("freedom", [5, 6, 10, 40, 800])
@pytest.mark.parametrize("share", [0.5, 0.9, 0.95])
def test_chi_square_is_scipys_within_a_percent(freedom, share):
    assert chi_square_quantile(share, freedom) == pytest.approx(scipy.stats.chi2.ppf(share, freedom), rel=1e-2)
