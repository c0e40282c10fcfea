"""Laws of resampling."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from corallum.errors import InputError
from corallum.estimate.bootstrap import bootstrap, jackknife, resample_transects
from corallum.estimate.estimate import Floats
from corallum.estimate.stratified import estimate_stratified

VALUES = np.array([3.0, 8.0, 5.0, 9.0, 1.0, 4.0, 7.0])
STRATUM = np.array([0, 0, 0, 0, 1, 1, 1])
WEIGHT = np.array([0.4, 0.6])


def mean_of_strata(index: NDArray[np.int64]) -> NDArray[np.float64]:
    """Weighted mean over strata of any resample."""
    found = np.zeros(len(index))
    for i, weight in enumerate(WEIGHT):
        own = STRATUM[index] == i
        found += weight * np.where(own, VALUES[index], 0).sum(axis=1) / own.sum(axis=1)
    return found


def test_the_jackknife_of_a_mean_is_its_formula() -> None:
    """For a mean over strata the jackknife's error is the stratified one, its bias 0."""
    found = jackknife(mean_of_strata, STRATUM)
    expected = estimate_stratified(VALUES, STRATUM, WEIGHT).survey
    assert float(found.se) == pytest.approx(float(expected.se), rel=1e-12)
    assert float(found.bias) == pytest.approx(0, abs=1e-12)


def test_strata_keep_their_transects() -> None:
    """Every resample has as many of each stratum as there are, or one fewer."""
    rng = np.random.default_rng(1)
    for fewer in (0, 1):
        index = resample_transects(STRATUM, 50, rng, fewer=fewer)
        assert set((STRATUM[index] == 0).sum(axis=1).tolist()) == {4 - fewer}
        assert set((STRATUM[index] == 1).sum(axis=1).tolist()) == {3 - fewer}


def test_one_fewer_makes_the_variance_right() -> None:
    """Resampling one fewer has the formula's error, resampling as many has too small a one."""
    rng = np.random.default_rng(2)
    expected = float(estimate_stratified(VALUES, STRATUM, WEIGHT).survey.se)
    right = mean_of_strata(resample_transects(STRATUM, 40_000, rng, fewer=1)).std()
    small = mean_of_strata(resample_transects(STRATUM, 40_000, rng)).std()
    # Four Monte Carlo errors of 40,000 draws are 1.4 %.
    assert right == pytest.approx(expected, rel=0.014)
    assert small < 0.9 * expected


def test_without_skew_bca_is_the_percentile_interval() -> None:
    """Values alike on both sides give the same interval, to Monte Carlo error."""
    even = np.arange(-10.0, 11.0)

    def mean(index: NDArray[np.int64]) -> NDArray[np.float64]:
        return np.asarray(even[index].mean(axis=1))

    found = bootstrap(mean, np.zeros(21, int), np.random.default_rng(3), 20_000)
    assert float(found.leave_one_out.acceleration) == pytest.approx(0, abs=1e-12)
    assert found.bca() == pytest.approx(found.percentile(), abs=0.1)


def test_the_same_seed_gives_the_same_draws() -> None:
    """Nothing but the generator decides, and progress ends at 1."""
    told: list[float] = []
    one = bootstrap(mean_of_strata, STRATUM, np.random.default_rng(9), 100, told.append)
    other = bootstrap(mean_of_strata, STRATUM, np.random.default_rng(9), 100)
    assert np.array_equal(one.draws, other.draws)
    assert told[-1] == 1.0


def test_a_stratum_of_one_is_refused() -> None:
    """One transect cannot be resampled, and its stratum is named."""
    with pytest.raises(InputError) as caught:
        jackknife(mean_of_strata, np.array([0, 0, 1]))
    assert [fault.place for fault in caught.value.faults] == ["stratum 1"]


@settings(max_examples=20, deadline=None)
@given(seed=st.integers(0, 2**32 - 1))
def test_columns_are_what_they_are_alone(seed: int) -> None:
    """A statistic of two columns has the draws and intervals of each by itself."""
    table = np.random.default_rng(seed).gamma(1, 1, (7, 2))

    def both(index: NDArray[np.int64]) -> NDArray[np.float64]:
        return np.asarray(table[index].mean(axis=1))

    together = bootstrap(both, STRATUM, np.random.default_rng(1), 200)
    for i in range(2):
        alone = bootstrap(
            lambda index, i=i: np.asarray(both(index)[:, i]), STRATUM, np.random.default_rng(1), 200
        )
        assert [end[i] for end in together.bca()] == pytest.approx(
            [float(end) for end in alone.bca()]
        )
        assert together.se[i] == pytest.approx(float(alone.se))


@settings(max_examples=20, deadline=None)
@given(factor=st.floats(0.01, 100), shift=st.floats(-100, 100))
def test_the_unit_does_not_matter(factor: float, shift: float) -> None:
    """In another unit, from another zero, both intervals are the same ones."""
    one = bootstrap(mean_of_strata, STRATUM, np.random.default_rng(1), 400)
    other = bootstrap(
        lambda index: factor * mean_of_strata(index) + shift, STRATUM, np.random.default_rng(1), 400
    )
    for name in ("percentile", "bca"):
        ends, moved = getattr(one, name)(), getattr(other, name)()
        assert moved == pytest.approx([factor * end + shift for end in ends], rel=1e-6, abs=1e-6)


def test_all_resamples_of_three_are_met_alike() -> None:
    """Of three transects the 27 resamples are each drawn as often, to Monte Carlo error."""
    index = resample_transects(np.zeros(3, int), 54_000, np.random.default_rng(4))
    counts = np.bincount(index @ [9, 3, 1], minlength=27)
    # Chi-squared of 26 degrees of freedom is below 54 in 999 of 1,000.
    assert ((counts - 2000) ** 2 / 2000).sum() < 54


def test_skewed_figures_need_the_acceleration() -> None:
    """For a variance of 20 normal values BCa intervals hold more often than percentile ones.

    Efron and Tibshirani 1993, chapter 14, on a variance (from memory); 200 seeded samples.
    """
    rng = np.random.default_rng(5)
    held = np.zeros(2)
    for _ in range(200):
        sample = rng.standard_normal(20)

        def variance(index: NDArray[np.int64], sample: NDArray[np.float64] = sample) -> Floats:
            return np.asarray(sample[index].var(axis=1))

        found = bootstrap(variance, np.zeros(20, int), rng, 400)
        for i, (low, high) in enumerate((found.percentile(0.9), found.bca(0.9))):
            held[i] += low <= 1 <= high
    assert held[1] > held[0] + 6


def test_a_figure_without_spread_has_an_interval_of_nothing() -> None:
    """Where all transects are alike both intervals are the figure itself."""

    def mean(index: NDArray[np.int64]) -> NDArray[np.float64]:
        return np.asarray(np.full(7, 3.0)[index].mean(axis=1))

    found = bootstrap(mean, STRATUM, np.random.default_rng(1), 100)
    assert (found.percentile(), found.bca()) == ((3.0, 3.0), (3.0, 3.0))


def test_what_cannot_be_resampled_is_refused() -> None:
    """No transects, a level in per cent, and all strata of one by name."""
    with pytest.raises(InputError, match="at least 2, found 0"):
        jackknife(mean_of_strata, np.array([], int))
    found = bootstrap(mean_of_strata, STRATUM, np.random.default_rng(1), 50)
    for interval in (found.percentile, found.bca):
        with pytest.raises(InputError, match="level"):
            interval(95)
    with pytest.raises(InputError) as caught:
        bootstrap(mean_of_strata, np.array([0, 1, 2, 2]), np.random.default_rng(1))
    assert [fault.place for fault in caught.value.faults] == ["stratum 0", "stratum 1"]
