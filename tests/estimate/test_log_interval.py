"""Laws of intervals that are symmetric in the logarithm."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import binom
from scipy.stats import t as student

from corallum.errors import InputError
from corallum.estimate.log_interval import Spread, log_estimate, spread_of

SAMPLES, TRANSECTS = 1000, 60


def test_the_variance_is_that_of_a_sum_in_strata() -> None:
    """Of z = 1, 2, 6 and 2, 4 it is 3 x 7 + 2 x 2 = 25 (by hand: variances 7 and 2)."""
    found = spread_of([np.array([[1.0], [2.0], [6.0]]), np.array([[2.0], [4.0]])])
    assert found.variance == pytest.approx([25.0])


def test_normal_data_have_the_degrees_they_are_known_to_have() -> None:
    """Of 4,000 normal values the degrees of freedom are 3,999, to a tenth."""
    z = np.random.default_rng(1).standard_normal((4000, 1))
    assert spread_of([z]).degrees == pytest.approx([3999], rel=0.1)


def test_a_genus_on_one_transect_alone_has_two_degrees() -> None:
    """One value among a thousand noughts: V = a^2, var(V) = a^4, two degrees (by hand)."""
    z = np.zeros((1000, 1))
    z[7] = 3.0
    assert spread_of([z]).degrees == pytest.approx([2.0], rel=0.01)


def test_parts_that_are_independent_add_up() -> None:
    """Variances and their doubts are sums; equal parts of n degrees have twice as many."""
    one = Spread(np.array([4.0]), np.array([2.0]))
    both = one + one
    assert one.degrees == pytest.approx([16.0])
    assert both.variance == pytest.approx([8.0])
    assert both.degrees == pytest.approx([32.0])


def test_no_spread_has_no_end_of_degrees() -> None:
    """Where nothing varies the interval is the value, and 0 stays 0."""
    found = log_estimate(np.array([0.2, 0.0]), Spread(np.zeros(2), np.zeros(2)))
    assert found.low.tolist() == found.high.tolist() == [0.2, 0.0]
    assert np.isinf(found.df).all()


@settings(max_examples=50, deadline=None)
@given(value=st.floats(1e-4, 1), se=st.floats(1e-6, 0.3), level=st.floats(0.5, 0.99))
def test_ends_are_as_many_times_above_as_below(value: float, se: float, level: float) -> None:
    """Low times high is the square of the value; a small error gives the interval of t."""
    found = log_estimate(np.array([value]), Spread(np.array([se**2]), np.array([se**4 / 5])), level)
    assert found.df == pytest.approx([10.0])
    assert found.low * found.high == pytest.approx(value**2)
    half = student.ppf((1 + level) / 2, 10) * se
    if half < value / 100:
        assert found.high - found.low == pytest.approx(2 * half, rel=0.01)


def test_skewed_cover_is_held_where_the_interval_of_t_fails() -> None:
    """Of 95 % intervals of a patchy genus 93 % hold its mean but for chance; of t they do not.

    A thousand samples of 60 transects, cover gamma of shape .2, as variable as genera of 2 to
    5 % of the corals are between transects of Palau and Yap (BCO-DMO data set 737508).
    """
    rng = np.random.default_rng(2)
    cover = rng.gamma(0.2, 1 / 0.2, (TRANSECTS, SAMPLES))
    value, spread = cover.mean(axis=0), spread_of([cover / TRANSECTS])
    found = log_estimate(value, spread)
    half = student.ppf(0.975, TRANSECTS - 1) * found.se
    fewest = binom.ppf(0.005, SAMPLES, 0.93)
    held = int(((found.low <= 1) & (found.high >= 1)).sum())
    plain = int(((value - half <= 1) & (value + half >= 1)).sum())
    print(f"\n{held} of {SAMPLES}, by t {plain}")
    assert held >= fewest
    assert plain < fewest


def test_a_level_is_a_share() -> None:
    """A level of 95 is refused."""
    with pytest.raises(InputError):
        log_estimate(np.ones(1), Spread(np.ones(1), np.ones(1)), 95)
