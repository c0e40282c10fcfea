"""Laws of one genus corrected by sensitivity and specificity."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from corallum.errors import InputError
from corallum.estimate.rogan_gladen import Recognition, correct_ends, correct_share

good = st.floats(0.6, 1)
shares = st.floats(0, 1)


@given(one=shares, other=shares, se=good, sp=good)
def test_ends_come_back(one: float, other: float, se: float, sp: float) -> None:
    """Shares carried to what would be said, P Se + (1 - P)(1 - Sp), come back."""
    said = [p * se + (1 - p) * (1 - sp) for p in (one, other)]
    found = correct_ends(said[0], said[1], Recognition(se, sp))
    assert found == pytest.approx((one, other), abs=1e-9)


@given(said=st.integers(0, 200), se=good, sp=good)
def test_the_others_mirror_the_genus(said: int, se: float, sp: float) -> None:
    """All other genera together have 1 less the share, and the same error."""
    one = correct_share(said, 200, Recognition(se, sp, 60, 90))
    other = correct_share(200 - said, 200, Recognition(sp, se, 90, 60))
    assert other.value == pytest.approx(1 - one.value, abs=1e-9)
    assert other.se == pytest.approx(one.se, rel=1e-9, abs=1e-12)
    assert other.low == pytest.approx(1 - one.high, abs=1e-9)


def test_right_names_need_no_correction() -> None:
    """With no errors the share is as said, with the binomial error."""
    found = correct_share(30, 100, Recognition(1.0, 1.0))
    assert found.value == pytest.approx(0.3)
    assert found.se == pytest.approx(math.sqrt(0.3 * 0.7 / 100))


@given(said=st.integers(0, 200), se=good, sp=good)
def test_what_is_shown_is_a_share(said: int, se: float, sp: float) -> None:
    """For show the share is within 0 and 1, and else as it is."""
    found = correct_share(said, 200, Recognition(se, sp))
    assert found.shown == min(max(found.value, 0), 1)


def test_raw_shares_average_to_the_truth_and_clipped_ones_do_not() -> None:
    """Over 4,000 surveys of a genus at 2 % raw shares are unbiased, those for show too high."""
    rng = np.random.default_rng(3)
    recognition = Recognition(0.9, 0.9)
    apparent = 0.02 * 0.9 + 0.98 * 0.1
    found = [correct_share(int(x), 100, recognition) for x in rng.binomial(100, apparent, 4000)]
    raw = np.array([one.value for one in found])
    # Four standard errors of the mean: sqrt(.116 x .884 / 100) / .8 / sqrt(4000) x 4 = .0025.
    assert raw.mean() == pytest.approx(0.02, abs=0.0025)
    assert np.mean([one.shown for one in found]) > 0.0225
    held = np.mean([one.low <= 0.02 <= one.high for one in found])
    # The normal interval of a binomial near its end falls somewhat short: common practice.
    assert held > 0.92


def test_errors_of_the_test_count() -> None:
    """Over 3,000 tests and surveys the mean variance is the true one.

    Without the test's own error, the control, it is less than half of it.
    """
    rng = np.random.default_rng(4)
    se, sp, share, n = 0.85, 0.9, 0.4, 2000
    values, variances, without = [], [], []
    for _ in range(3000):
        one, other = rng.binomial(60, se) / 60, rng.binomial(80, sp) / 80
        said = int(rng.binomial(n, share * se + (1 - share) * (1 - sp)))
        found = correct_share(said, n, Recognition(one, other, 60, 80))
        values.append(found.value)
        variances.append(found.se**2)
        without.append(correct_share(said, n, Recognition(one, other)).se ** 2)
    # Four standard errors of a variance of 3,000 are 10 %; the delta method adds a few.
    assert np.mean(variances) == pytest.approx(np.var(values), rel=0.12)
    assert np.mean(without) < 0.5 * np.var(values)


def test_all_faults_are_told_at_once() -> None:
    """Counts, shares, chance and colonies are named together."""
    with pytest.raises(InputError) as caught:
        correct_share(5, 3, Recognition(-0.2, 0.4, 0, 9))
    assert [one.place for one in caught.value.faults] == [
        "said",
        "sensitivity",
        "sensitivity plus specificity",
        "colonies behind the shares",
    ]


@pytest.mark.parametrize(
    ("call", "text"),
    [
        pytest.param(lambda: correct_share(0, 0, Recognition(0.9, 0.9)), "at least 1", id="none"),
        pytest.param(
            lambda: correct_share(1, 9, Recognition(0.5, 0.5)), "no better than chance", id="chance"
        ),
        pytest.param(
            lambda: correct_ends(0.1, 0.2, Recognition(0.3, 0.6)), "above 1", id="ends-chance"
        ),
        pytest.param(
            lambda: correct_share(1, 9, Recognition(math.nan, 0.9)), "sensitivity", id="nan"
        ),
        pytest.param(lambda: correct_share(1, 9, Recognition(0.9, 0.9), 95), "level", id="level"),
    ],
)
def test_what_means_nothing_is_refused(call: Callable[[], object], text: str) -> None:
    """Each is refused with what was expected."""
    with pytest.raises(InputError, match=text):
        call()
