"""Ratios, resampling, sample size and power against printed and recomputed examples."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray

from corallum.estimate.bootstrap import Bootstrap, bootstrap
from corallum.estimate.power import (
    effect_of_shares,
    pairs_for,
    size_of_two,
    trend_is_seen,
    years_for_trend,
)
from corallum.estimate.ratio import (
    estimate_ratio,
    estimate_total_by_mean,
    estimate_total_by_ratio,
)
from corallum.estimate.sample_size import (
    points_for_share,
    size_for_mean,
    size_for_poisson,
    size_for_share,
    standard_error_of_share,
    whole,
)

# Cochran W.G. 1977, Sampling Techniques, table 6.1: inhabitants in thousands of 49 of 196
# cities in 1920 and 1930, as `bigcity` of the R package boot 1.3-28 has them; `city` is the
# first ten.
CITIES_1920 = [
    138, 93, 61, 179, 48, 37, 29, 23, 30, 2, 38, 46, 71, 25, 298, 74, 50, 76, 381, 387, 78, 60,
    507, 50, 77, 64, 40, 136, 243, 256, 94, 36, 45, 67, 120, 172, 66, 46, 121, 44, 64, 56, 40,
    116, 87, 43, 43, 161, 36,
]  # fmt: skip
CITIES_1930 = [
    143, 104, 69, 260, 75, 63, 50, 48, 111, 50, 52, 53, 79, 57, 317, 93, 58, 80, 464, 459, 106,
    57, 634, 64, 89, 77, 60, 139, 291, 288, 85, 46, 53, 67, 115, 183, 86, 65, 113, 58, 63, 142,
    64, 130, 105, 61, 50, 232, 54,
]  # fmt: skip
CITIES, ALL_1920 = 196, 22_919
# Efron B., Tibshirani R.J. 1993, An Introduction to the Bootstrap, table 3.1: law schools.
LSAT = [576, 635, 558, 578, 666, 580, 555, 661, 651, 605, 653, 575, 545, 572, 594]
GPA = [3.39, 3.30, 2.81, 3.03, 3.44, 3.07, 3.00, 3.43, 3.36, 3.13, 3.12, 2.74, 2.76, 2.88, 2.96]


def test_the_table_of_cities_is_whole() -> None:
    """The sums are those that Cochran prints: 5,054 and 6,262."""
    assert (len(CITIES_1920), sum(CITIES_1920)) == (49, 5054)
    assert (len(CITIES_1930), sum(CITIES_1930)) == (49, 6262)


def test_cochrans_ratio() -> None:
    """The ratio of the cities is 1.239 (Cochran 1977, section 6.2), 1.23902 recomputed."""
    found = estimate_ratio(CITIES_1930, CITIES_1920, population=CITIES)
    assert float(found.value) == pytest.approx(1.23902, abs=5.1e-6)


def test_cochrans_totals() -> None:
    """By ratio 28,397 with SE 604, by the mean 25,048 with SE 2,986 (Cochran 1977, ch. 6)."""
    by_ratio = estimate_total_by_ratio(CITIES_1930, CITIES_1920, ALL_1920, CITIES)
    by_mean = estimate_total_by_mean(CITIES_1930, CITIES)
    assert float(by_ratio.value) == pytest.approx(28_397.07, abs=0.051)
    assert float(by_ratio.se) == pytest.approx(604.04, abs=0.0051)
    assert float(by_mean.value) == pytest.approx(25_048, abs=0.51)
    assert float(by_mean.se) == pytest.approx(2985.5, abs=0.051)


def test_unequal_transects() -> None:
    """3, 5, 7 and 3 on 10, 20, 20 and 15 is .27692, SE .03468 (constructed, by hand)."""
    found = estimate_ratio([3, 5, 7, 3], [10, 20, 20, 15])
    assert float(found.value) == pytest.approx(0.27692, abs=5.1e-6)
    assert float(found.se) == pytest.approx(0.03468, abs=5.1e-6)


def test_the_bootstrap_of_ten_cities() -> None:
    """Their ratio is 1.5203 and its bootstrap SE near .216.

    Davison A.C., Hinkley D.V. 1997, Bootstrap Methods, example 2.22, with R's boot, 999 draws;
    tolerance .015, three Monte Carlo errors of 999 draws.
    """
    new, old = np.array(CITIES_1930[:10], float), np.array(CITIES_1920[:10], float)

    def ratio(index: NDArray[np.int64]) -> NDArray[np.float64]:
        return np.asarray(new[index].sum(axis=1) / old[index].sum(axis=1))

    found = bootstrap(ratio, np.zeros(10, int), np.random.default_rng(1), 20_000)
    assert float(found.value) == pytest.approx(1.520313, abs=5.1e-7)
    assert float(found.se) == pytest.approx(0.216, abs=0.015)


@cache
def law_schools() -> Bootstrap:
    """Correlation of the law schools, resampled."""
    one, other = np.array(LSAT, float), np.array(GPA)

    def correlation(index: NDArray[np.int64]) -> NDArray[np.float64]:
        a = one[index] - one[index].mean(axis=1, keepdims=True)
        b = other[index] - other[index].mean(axis=1, keepdims=True)
        below = np.sqrt((a**2).sum(axis=1) * (b**2).sum(axis=1))
        return np.asarray((a * b).sum(axis=1) / below)

    return bootstrap(correlation, np.zeros(15, int), np.random.default_rng(1), 20_000)


def test_the_law_schools_jackknife() -> None:
    """Correlation .776, jackknife SE .1425 (Efron 1979, 1982); bias and acceleration by hand."""
    found = law_schools()
    assert float(found.value) == pytest.approx(0.77637, abs=5.1e-6)
    assert float(found.leave_one_out.se) == pytest.approx(0.14252, abs=5.1e-6)
    assert float(found.leave_one_out.bias) == pytest.approx(-0.00647, abs=5.1e-6)
    assert float(found.leave_one_out.acceleration) == pytest.approx(-0.0757, abs=5.1e-5)


def test_the_law_schools_bootstrap() -> None:
    """Bootstrap SE near .13 (Efron and Tibshirani 1993); intervals of SciPy 1.12.0.

    SciPy: 20,000 draws, seed 1: percentile .455 to .962, BCa .323 to .941, 90 % BCa .431 to
    .926. Tolerance .01, the Monte Carlo error of ends from either.
    """
    found = law_schools()
    assert float(found.se) == pytest.approx(0.1337, abs=0.01)
    assert found.percentile() == pytest.approx((0.455, 0.962), abs=0.01)
    assert found.bca() == pytest.approx((0.323, 0.941), abs=0.01)
    assert found.bca(0.9) == pytest.approx((0.431, 0.926), abs=0.01)


def test_cochrans_sample_size() -> None:
    """Plus or minus .05 at t = 2 takes 400, of 3,200 units 356 (Cochran 1977, section 4.4)."""
    assert size_for_share(0.05) == pytest.approx(400, abs=1e-9)
    assert size_for_share(0.05, population=3200) == pytest.approx(355.65, abs=5.1e-3)
    assert whole(size_for_share(0.05, population=3200)) == 356


def test_quadrats_for_a_mean() -> None:
    """Quadrats 5 9 3 7 6 0 4 6 have mean 5, s2 7.429; SE of 20 % takes 7.43, so 8.

    Constructed, by hand, on the formula of Elliott 1977.
    """
    pilot = np.array([5, 9, 3, 7, 6, 0, 4, 6])
    n = size_for_mean(float(pilot.std(ddof=1)), float(pilot.mean()), 0.2)
    assert n == pytest.approx(7.43, abs=5.1e-3)
    assert whole(n) == 8
    assert size_for_poisson(5.0, 0.2) == pytest.approx(1 / (0.04 * 5), abs=1e-12)


def test_points_for_a_share() -> None:
    """200 independent points at .3 have SE .0324; 323 give plus or minus 5 points (formula)."""
    assert standard_error_of_share(0.3, 200) == pytest.approx(0.0324, abs=5.1e-5)
    assert whole(points_for_share(0.05, 0.3)) == 323


@pytest.mark.parametrize(("d", "n"), [(0.2, 393.4), (0.5, 63.77), (0.8, 25.52)])
def test_cohens_two_groups(d: float, n: float) -> None:
    """At power .8 and alpha .05 Cohen 1988, table 2.4, has 393, 64 and 26 a group.

    Decimals by statsmodels 0.15.0.
    """
    assert size_of_two(d) == pytest.approx(n, abs=0.051 if n > 100 else 0.0051)
    assert {0.2: 393, 0.5: 64, 0.8: 26}[d] in {round(size_of_two(d)), whole(size_of_two(d))}


@pytest.mark.parametrize(("d", "n"), [(0.5, 33.4), (1.0, 9.94)])
def test_pairs(d: float, n: float) -> None:
    """Pairs at power .8 and alpha .05, by statsmodels 0.15.0."""
    assert pairs_for(d) == pytest.approx(n, abs=0.051 if n > 10 else 0.0051)


@pytest.mark.parametrize(("other", "h"), [(0.4, 0.2014), (0.3, 0.4115)])
def test_cohens_h(other: float, h: float) -> None:
    """Effect size of .5 against another share (Cohen 1988, chapter 6), four decimals."""
    assert effect_of_shares(0.5, other) == pytest.approx(h, abs=5.1e-5)


@pytest.mark.parametrize(("rate", "cv", "n"), [(0.05, 0.1, 9), (0.1, 0.1, 6), (0.1, 0.2, 9)])
def test_years_for_a_trend(rate: float, cv: float, n: int) -> None:
    """Fewest years by Gerrodette's inequality (1987, form from memory), by hand."""
    assert years_for_trend(rate, cv) == n
    assert trend_is_seen(rate, cv, n)
    assert not trend_is_seen(rate, cv, n - 1)


def test_normal_theory_of_the_law_schools() -> None:
    """(1 - r^2) / sqrt(n - 3) of our r is .1147 (Efron and Tibshirani print .115)."""
    r = float(law_schools().value)
    assert (1 - r**2) / math.sqrt(12) == pytest.approx(0.1147, abs=5.1e-5)
