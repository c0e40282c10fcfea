"""Laws of shares and accuracies where strata are not what was said."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from corallum.errors import InputError
from corallum.estimate.strata_said_and_true import (
    SecondReadings,
    StrataSaidAndTrue,
    estimate_in_strata,
)

seeds = st.integers(0, 2**32 - 1)
SIZES = np.array([40, 25, 60])
FIGURES = ("shares", "cells", "users", "producers", "overall")


def readings(seed: int, each: tuple[int, ...] = (8, 6, 10)) -> SecondReadings:
    """Second readings of three genera, right in two of three on average."""
    rng = np.random.default_rng(seed)
    stratum = np.repeat(np.arange(len(each)), each)
    true = (stratum + rng.integers(0, 2, len(stratum))) % 3
    said = np.where(rng.random(len(true)) < 0.6, true, rng.integers(0, 3, len(true)))
    return SecondReadings(stratum, said, true)


def same(one: StrataSaidAndTrue, other: StrataSaidAndTrue) -> bool:
    """Whether all figures and errors are the same."""
    return all(
        np.allclose(getattr(getattr(one, name), part), getattr(getattr(other, name), part),
                    rtol=1e-9, atol=1e-12, equal_nan=True)
        for name in FIGURES
        for part in ("value", "se")
    )  # fmt: skip


@given(seed=seeds)
def test_against_plain_loops(seed: int) -> None:
    """Every ratio and error is what loops over strata and readings make of the formula."""
    one = readings(seed)
    found = estimate_in_strata(one, SIZES, 3)

    def ratio(y: np.ndarray, x: np.ndarray) -> tuple[float, float]:
        above = below = variance = 0.0
        for h, size in enumerate(SIZES):
            own = one.stratum == h
            above += size * y[own].sum() / own.sum()
            below += size * x[own].sum() / own.sum()
        if below == 0:
            return np.nan, np.nan
        r = above / below
        for h, size in enumerate(SIZES):
            own = one.stratum == h
            n = own.sum()
            cov = np.cov(y[own], x[own])
            spread = cov[0, 0] + r**2 * cov[1, 1] - 2 * r * cov[0, 1]
            variance += size**2 * (1 - n / size) * spread / n
        return r, np.sqrt(max(variance, 0)) / below

    ones = np.ones(len(one.said))
    for g in range(3):
        said, true = (one.said == g).astype(float), (one.true == g).astype(float)
        for name, y, x in (
            ("shares", true, ones),
            ("users", said * true, said),
            ("producers", said * true, true),
        ):
            expected = ratio(y, x)
            got = getattr(found, name)
            assert got.value[g] == pytest.approx(expected[0], rel=1e-9, nan_ok=True)
            assert got.se[g] == pytest.approx(expected[1], rel=1e-6, abs=1e-8, nan_ok=True)


@given(seed=seeds)
def test_order_of_records_does_not_matter(seed: int) -> None:
    """Records listed otherwise give the same figures."""
    one = readings(seed)
    order = np.random.default_rng(seed).permutation(len(one.said))
    other = SecondReadings(one.stratum[order], one.said[order], one.true[order])
    assert same(estimate_in_strata(one, SIZES, 3), estimate_in_strata(other, SIZES, 3))


@given(seed=seeds)
def test_order_of_strata_does_not_matter(seed: int) -> None:
    """Strata numbered otherwise give the same figures."""
    one = readings(seed)
    order = np.array([2, 0, 1])
    other = SecondReadings(order[one.stratum], one.said, one.true)
    sizes = np.zeros(3)
    sizes[order] = SIZES
    assert same(estimate_in_strata(one, SIZES, 3), estimate_in_strata(other, sizes, 3))


@given(seed=seeds)
def test_figures_hang_together(seed: int) -> None:
    """Cells add up to shares by column, to 1 in all, and their diagonal to the overall."""
    found = estimate_in_strata(readings(seed), SIZES, 3)
    assert found.cells.value.sum(axis=0) == pytest.approx(found.shares.value, abs=1e-12)
    assert found.cells.value.sum() == pytest.approx(1)
    assert np.trace(found.cells.value) == pytest.approx(float(found.overall.value))


def test_one_stratum_is_a_simple_sample() -> None:
    """6 of 20 of 100 records is .3 with sqrt(.8 x .3 x .7 / 19) (Cochran 1977, section 3.2)."""
    true = np.array([0] * 6 + [1] * 14)
    one = SecondReadings(np.zeros(20, int), np.zeros(20, int), true)
    found = estimate_in_strata(one, [100], 2).shares
    assert found.value[0] == pytest.approx(0.3)
    assert found.se[0] == pytest.approx(np.sqrt(0.8 * 0.3 * 0.7 / 19))


def test_what_was_all_read_again_is_known() -> None:
    """With all records read again the figures are counts, without error."""
    one = readings(3)
    found = estimate_in_strata(one, [8, 6, 10], 3)
    assert found.shares.value == pytest.approx(np.bincount(one.true, minlength=3) / 24)
    assert found.shares.se == pytest.approx([0, 0, 0], abs=1e-12)
    assert float(found.overall.value) == pytest.approx((one.said == one.true).mean())


def test_a_genus_never_said_has_no_accuracy() -> None:
    """Where nothing was said of a genus its user's accuracy is not a number, others are."""
    one = readings(3)
    never = SecondReadings(one.stratum, np.minimum(one.said, 1), one.true)
    users = estimate_in_strata(never, SIZES, 3).users
    assert np.isnan([users.value[2], users.se[2], users.low[2]]).all()
    assert np.isfinite(users.value[:2]).all()


def test_errors_are_those_of_repeated_draws() -> None:
    """Over 1,000 draws from one reef the mean variance of the overall accuracy is the true one.

    Ignoring the strata, the control, is 6 points off: the stratum read most is the worst.
    """
    rng = np.random.default_rng(7)
    sizes, each, right = np.array([300, 100]), (15, 45), (0.9, 0.6)
    reef = [np.arange(n) < p * n for n, p in zip(sizes, right, strict=True)]
    truth = sum(one.sum() for one in reef) / sizes.sum()
    stratum = np.repeat([0, 1], each)
    values, variances, plain = [], [], []
    for _ in range(1000):
        good = np.concatenate(
            [rng.choice(one, n, replace=False) for one, n in zip(reef, each, strict=True)]
        )
        drawn = SecondReadings(stratum, np.where(good, 0, 1), np.zeros(60, int))
        found = estimate_in_strata(drawn, sizes, 2).overall
        values.append(float(found.value))
        variances.append(float(found.se) ** 2)
        plain.append(good.mean())
    # Four standard errors: of a mean .008, of a variance of 1,000 18 %.
    assert np.mean(values) == pytest.approx(truth, abs=0.008)
    assert np.mean(variances) == pytest.approx(np.var(values), rel=0.18)
    assert abs(np.mean(plain) - truth) > 0.06


def test_every_lacking_stratum_is_named() -> None:
    """Strata with too few or too many second readings are named together."""
    with pytest.raises(InputError) as caught:
        estimate_in_strata(readings(3, (1, 6, 10)), [9, 5, 60, 7], 3)
    assert [one.place for one in caught.value.faults] == ["stratum 0", "stratum 3", "stratum 1"]


def test_one_record_that_was_read_is_enough() -> None:
    """A stratum of one record needs no second reading."""
    found = estimate_in_strata(readings(3, (1, 6, 10)), [1, 25, 60], 3)
    assert np.isfinite(found.shares.se).all()


@pytest.mark.parametrize(
    ("call", "text"),
    [
        pytest.param(lambda: estimate_in_strata(readings(3), [40, 25], 3), "0 to 1", id="strata"),
        pytest.param(lambda: estimate_in_strata(readings(3), [], 3), "at least one", id="empty"),
        pytest.param(lambda: estimate_in_strata(readings(3), SIZES, 2), "0 to 1", id="genera"),
        pytest.param(
            lambda: estimate_in_strata(
                SecondReadings(np.zeros(4, int), np.zeros(3, int), np.zeros(4, int)), [9], 1
            ),
            "one for each of 4",
            id="lengths",
        ),
    ],
)
def test_what_means_nothing_is_refused(call: Callable[[], object], text: str) -> None:
    """Each is refused with what was expected."""
    with pytest.raises(InputError, match=text):
        call()
