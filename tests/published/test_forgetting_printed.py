"""Forgetting curves against printed figures."""

from __future__ import annotations

import numpy as np
import pytest
from fsrs import Scheduler

from corallum.practice.forgetting import (
    ebbinghaus_savings,
    half_life_recall,
    half_life_wait,
    power_factor,
    power_recall,
)

MINUTES = [20, 64, 526, 1440, 2880, 8640, 44640]


def test_ebbinghaus_formula() -> None:
    """His formula gives these savings at his seven times (worked out by hand, one decimal)."""
    expected = [57.0, 46.8, 34.5, 30.4, 28.1, 24.9, 21.2]
    np.testing.assert_allclose(100 * ebbinghaus_savings(MINUTES), expected, atol=0.051)


def test_ebbinghaus_formula_fits_what_he_saw() -> None:
    """The formula lies within three points of his own seven savings (1885, from memory)."""
    seen = [58.2, 44.2, 35.8, 33.7, 27.8, 25.4, 21.1]
    off = np.abs(100 * ebbinghaus_savings(MINUTES) - seen)
    assert off.max() <= 3.4
    assert off.mean() <= 1.6


def test_recall_halves_with_each_half_life() -> None:
    """One half is left after one half-life, a quarter after two (Settles and Meeder 2016)."""
    np.testing.assert_allclose(half_life_recall([0, 1, 2], 1.0), [1, 0.5, 0.25], rtol=1e-15)
    np.testing.assert_allclose(half_life_recall([5, 14], [5, 7]), [0.5, 0.25], rtol=1e-15)


def test_the_wait_until_nine_tenths() -> None:
    """Nine tenths are left after .15200 of a half-life (exact: -log2 .9)."""
    assert half_life_wait(0.9, 1.0) == pytest.approx(0.15200, abs=5.1e-6)


def test_the_factor_of_the_power_law() -> None:
    """For w = .5 the factor is 19/81 exactly (open FSRS 4.5 description)."""
    assert power_factor(0.5) == pytest.approx(19 / 81, rel=1e-14)


def test_the_factor_of_the_package() -> None:
    """For the default w = .1542 of fsrs 6.3.2 the factor is .98035 (five decimals)."""
    assert Scheduler().parameters[20] == 0.1542
    assert power_factor(0.1542) == pytest.approx(0.98035, abs=5.1e-6)


@pytest.mark.parametrize("exponent", [0.1542, 0.5, 1.0])
def test_nine_tenths_after_one_stability(exponent: float) -> None:
    """Recall is .9 after one stability, whatever the exponent (the definition)."""
    found = power_recall([0.0, 1.0, 7.0], [3.0, 1.0, 7.0], exponent)
    np.testing.assert_allclose(found, [1.0, 0.9, 0.9], rtol=1e-13)
