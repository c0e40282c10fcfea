"""Intervals of a share against printed ones, and their coverage by exact sum."""

from __future__ import annotations

import pytest

from corallum.observers.intervals import (
    Interval,
    clopper_pearson_interval,
    coverage,
    jeffreys_interval,
    lower_bound,
    wald_interval,
    wilson_interval,
)

# Newcombe R.G. 1998, Statistics in Medicine 17:857-872, table I, 95 %, four decimals:
# (right, n), then Wald, Wilson (method 3) and Clopper-Pearson (method 5) as printed.
NEWCOMBE = [
    pytest.param(81, 263, (0.2522, 0.3638), (0.2553, 0.3662), (0.2527, 0.3676), id="81 of 263"),
    pytest.param(15, 148, (0.0527, 0.1500), (0.0624, 0.1605), (0.0578, 0.1617), id="15 of 148"),
    pytest.param(0, 20, None, (0.0, 0.1611), (0.0, 0.1684), id="0 of 20"),
    pytest.param(1, 29, None, (0.0061, 0.1718), (0.0009, 0.1776), id="1 of 29"),
]


def near(found: Interval, printed: tuple[float, float]) -> bool:
    """Whether an interval is the printed one to four decimals."""
    return (found.low, found.high) == pytest.approx(printed, abs=5.1e-5)


@pytest.mark.parametrize(("right", "n", "wald", "wilson", "exact"), NEWCOMBE)
def test_the_intervals_are_newcombes(
    right: int,
    n: int,
    wald: tuple[float, float] | None,
    wilson: tuple[float, float],
    exact: tuple[float, float],
) -> None:
    """Wald's, Wilson's and the exact interval are those of Newcombe 1998, table I."""
    assert near(wilson_interval(right, n), wilson)
    assert near(clopper_pearson_interval(right, n), exact)
    if wald is not None:
        assert near(wald_interval(right, n), wald)


@pytest.mark.parametrize(
    ("right", "n", "expected"),
    [
        # statsmodels 0.15.0, proportion_confint(method="jeffreys"), run once, four decimals.
        pytest.param(81, 263, (0.2545, 0.3656), id="81 of 263"),
        pytest.param(15, 148, (0.0604, 0.1576), id="15 of 148"),
        pytest.param(1, 29, (0.0037, 0.1501), id="1 of 29"),
    ],
)
def test_jeffreys_before_its_ends_are_mended(
    right: int, n: int, expected: tuple[float, float]
) -> None:
    """Jeffreys' interval is that of statsmodels 0.15.0."""
    assert near(jeffreys_interval(right, n, modified=False), expected)


@pytest.mark.parametrize(
    ("right", "low", "high"),
    [(0, 0.0, 0.292), (1, 0.016, 0.501), (2, 0.065, 0.648), (3, 0.139, 0.765)],
)
def test_jeffreys_of_seven(right: int, low: float, high: float) -> None:
    """Of seven, Jeffreys' interval is the quantiles of the beta distribution (SciPy, 3 dec.)."""
    found = jeffreys_interval(right, 7, modified=False)
    assert (found.low, found.high) == pytest.approx((low, high), abs=5.1e-4)


@pytest.mark.parametrize(("n", "high"), [(7, 0.410), (10, 0.308), (20, 0.168), (30, 0.116)])
def test_mended_ends_with_none_right(n: int, high: float) -> None:
    """With none right the mended end is 1 - .025^(1/n) (Brown and others 2001, table 5)."""
    found = jeffreys_interval(0, n)
    assert found.low == 0.0
    assert found.high == pytest.approx(high, abs=5.1e-4)


@pytest.mark.parametrize("n", [7, 30])
def test_one_right_or_one_wrong_reaches_the_end(n: int) -> None:
    """With one right the mended interval begins at 0 (Brown and others 2001, from memory)."""
    assert jeffreys_interval(1, n).low == 0.0
    assert jeffreys_interval(n - 1, n).high == 1.0


@pytest.mark.parametrize(
    ("share", "n", "printed"),
    [
        # Brown L.D., Cai T.T., DasGupta A. 2001, Statistical Science 16:101-133: section 2 for
        # the first two, table 1 for the others; three decimals.
        pytest.param(0.2, 30, 0.946, id="p .2, n 30"),
        pytest.param(0.2, 98, 0.928, id="p .2, n 98: more answers, less coverage"),
        pytest.param(0.5, 17, 0.951, id="p .5, n 17"),
        pytest.param(0.5, 40, 0.919, id="p .5, n 40"),
    ],
)
def test_walds_coverage_is_as_bad_as_printed(share: float, n: int, printed: float) -> None:
    """Wald's nominal 95 % covers what Brown and others 2001 print, luck and unluck of n."""
    assert coverage(wald_interval, n, share) == pytest.approx(printed, abs=5.1e-4)


@pytest.mark.parametrize(
    ("n", "wilson", "jeffreys"),
    # Exact sums with statsmodels 0.15.0 intervals, run once, four decimals.
    [(30, 0.9639, 0.9302), (98, 0.9576, 0.9422)],
)
def test_coverage_of_the_others(n: int, wilson: float, jeffreys: float) -> None:
    """At p = .2 Wilson's and Jeffreys' coverage are those summed with statsmodels 0.15.0."""
    assert coverage(wilson_interval, n, 0.2) == pytest.approx(wilson, abs=5.1e-5)
    assert coverage(jeffreys_interval, n, 0.2) == pytest.approx(jeffreys, abs=5.1e-5)


@pytest.mark.parametrize(("n", "bound"), [(59, 0.95), (29, 0.90)])
def test_all_right_of_fifty_nine(n: int, bound: float) -> None:
    """All of 59 (29) right shows an accuracy of .95 (.90), one fewer does not: .05^(1/n)."""
    assert lower_bound(n, n) >= bound
    assert lower_bound(n - 1, n - 1) < bound
    assert lower_bound(n, n) == pytest.approx(0.05 ** (1 / n), abs=1e-12)
