"""Power against SciPy's noncentral t, against simulated tests, and its laws."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import nct, norm, ttest_ind, ttest_rel
from scipy.stats import t as student

from corallum.errors import InputError
from corallum.estimate.power import (
    detectable_difference,
    effect_of_shares,
    pairs_for,
    power_of_pairs,
    power_of_two,
    size_of_two,
    trend_is_seen,
    years_for_trend,
)


@pytest.mark.parametrize("alpha", [0.05, 0.01])
@pytest.mark.parametrize("n", [2.5, 3, 6, 11, 40, 501, 50_000])
@pytest.mark.parametrize("shift", [0.0, 0.3, 1.0, 2.5, 4.0])
def test_pairs_follow_the_noncentral_t(shift: float, n: float, alpha: float) -> None:
    """Power is SciPy's, at shifts where SciPy's noncentral t is a number (1.11 to 1.17)."""
    df = n - 1
    bound = student.isf(alpha / 2, df)
    expected = nct.sf(bound, df, shift) + nct.cdf(-bound, df, shift)
    assert math.isfinite(expected)
    assert power_of_pairs(shift / math.sqrt(n), n, alpha) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize(("n", "effect"), [(2, 1.0), (3, 2.0), (8, 0.7), (30, 0.5), (200, 0.2)])
def test_two_groups_follow_the_noncentral_t(n: float, effect: float) -> None:
    """Power is SciPy's with 2 n - 2 degrees of freedom, shift d sqrt(n / 2) (Cohen 1988)."""
    df, shift = 2 * n - 2, effect * math.sqrt(n / 2)
    bound = student.isf(0.025, df)
    expected = nct.sf(bound, df, shift) + nct.cdf(-bound, df, shift)
    assert power_of_two(effect, n) == pytest.approx(expected, abs=1e-9)


def test_power_is_how_often_tests_find_it() -> None:
    """Of 20,000 simulated pairs of surveys, SciPy's t tests find as many as power says."""
    rng = np.random.default_rng(2)
    one, other = rng.normal(0, 1, (6, 20_000)), rng.normal(1.5, 1, (6, 20_000))
    # Four standard errors of a share of 20,000 are .014.
    found = (ttest_ind(one, other).pvalue < 0.05).mean()
    assert power_of_two(1.5, 6) == pytest.approx(found, abs=0.014)
    paired = (ttest_rel(one, other).pvalue < 0.05).mean()
    # Differences have a standard deviation of the root of 2.
    assert power_of_pairs(1.5 / math.sqrt(2), 6) == pytest.approx(paired, abs=0.014)
    assert abs(power_of_two(1.5, 6) - paired) > 0.02


@given(n=st.floats(2, 1e6), effect=st.floats(0, 1e3), more=st.floats(0, 100))
def test_power_is_a_chance_and_grows(n: float, effect: float, more: float) -> None:
    """At any size and effect, however large, power is a chance, and grows with both."""
    for power in (power_of_two, power_of_pairs):
        least = power(effect, n)
        assert 0.05 - 1e-7 <= least <= 1
        assert power(effect + more, n) >= least - 1e-7
        assert power(effect, n + more) >= least - 1e-7
        assert power(-effect, n) == least


@given(
    before=st.floats(0.01, 10),
    after=st.floats(0, 10),
    df=st.floats(1, 1e6),
    power=st.floats(0.06, 0.999),
)
def test_what_can_be_seen_is_seen(before: float, after: float, df: float, power: float) -> None:
    """A difference of the size given, in standard errors, has the power asked for."""
    se = math.hypot(before, after)
    shift = detectable_difference(before, after, df, power) / se
    # Pairs of df + 1 have that power at this shift.
    n = df + 1
    assert power_of_pairs(shift / math.sqrt(n), n) == pytest.approx(power, abs=1e-6)


def test_with_many_transects_it_is_the_normal_rule() -> None:
    """The difference seen at .8 is z.975 + z.8 = 2.80 standard errors, a textbook rule."""
    rule = norm.isf(0.025) + norm.isf(0.2)
    assert detectable_difference(3, 4) == pytest.approx(5 * rule, rel=1e-4)
    assert detectable_difference(3, 4, 5) > 5.2 * rule


@given(factor=st.floats(0.01, 100), df=st.floats(1, 1e4))
def test_the_unit_does_not_matter(factor: float, df: float) -> None:
    """Standard errors in another unit give the difference in it."""
    one, other = detectable_difference(3, 4, df), detectable_difference(3 * factor, 4 * factor, df)
    assert other == pytest.approx(one * factor, rel=1e-9)


@given(one=st.floats(0, 1), other=st.floats(0, 1))
def test_effects_of_shares_are_turned_round(one: float, other: float) -> None:
    """Exchanged, or counted as what is not, shares have the opposite effect."""
    h = effect_of_shares(one, other)
    assert effect_of_shares(other, one) == pytest.approx(-h, abs=1e-12)
    assert effect_of_shares(1 - one, 1 - other) == pytest.approx(-h, abs=1e-6)


@given(rate=st.floats(0.005, 0.5), cv=st.floats(0.02, 1))
def test_no_fewer_years_would_do(rate: float, cv: float) -> None:
    """Years given show the trend, one less does not unless three are given; falls as rises."""
    n = years_for_trend(rate, cv)
    assert trend_is_seen(rate, cv, n)
    assert n == 3 or not trend_is_seen(rate, cv, n - 1)
    assert years_for_trend(-rate, cv) == n


def faults_of(call: Callable[[], object]) -> list[str]:
    """Places of what is refused."""
    with pytest.raises(InputError) as caught:
        call()
    return [one.place for one in caught.value.faults]


def test_what_has_no_power_is_refused() -> None:
    """Faults are named together, and none is a failure of the solver."""
    assert faults_of(lambda: power_of_two(math.nan, 1)) == ["effect", "transects"]
    assert faults_of(lambda: power_of_pairs(1, 5, 5)) == ["alpha"]
    assert faults_of(lambda: size_of_two(0)) == ["effect"]
    assert faults_of(lambda: pairs_for(1e-5)) == ["effect"]
    assert faults_of(lambda: size_of_two(0.5, 80)) == ["power"]
    assert faults_of(lambda: detectable_difference(-1, math.inf, 0, 0.04)) == [
        "standard error before",
        "standard error after",
        "degrees of freedom",
        "power",
    ]
    assert faults_of(lambda: effect_of_shares(30, 0.2)) == ["share"]
    assert faults_of(lambda: years_for_trend(0, 0)) == ["rate", "cv"]
    assert faults_of(lambda: trend_is_seen(0.1, 0.1, 5, 0)) == ["alpha"]
