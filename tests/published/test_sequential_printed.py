"""Quizzes and sequential tests against printed and exact figures."""

from __future__ import annotations

import math

import numpy as np
import pytest

from corallum.observers.fixed_length import Aim, fixed_test, pass_chance
from corallum.observers.sequential import operating_curve
from corallum.observers.sequential_plan import bounded_plan
from corallum.observers.wald import wald_test


@pytest.mark.parametrize(
    ("n", "mark", "good", "poor"),
    [
        # Exact binomial, SciPy 1.12.0, run once, three decimals: P(pass) at .90 and .80.
        (20, 17, 0.867, 0.411),
        (20, 18, 0.677, 0.206),
        (30, 26, 0.825, 0.255),
        (30, 27, 0.647, 0.123),
        (40, 34, 0.900, 0.286),
        (50, 43, 0.878, 0.190),
        (60, 51, 0.927, 0.213),
        (60, 54, 0.606, 0.031),
    ],
)
def test_how_often_a_quiz_passes(n: int, mark: int, good: float, poor: float) -> None:
    """A quiz passes an observer of .90, and one of .80, as often as the binomial says."""
    assert pass_chance(n, mark, 0.90) == pytest.approx(good, abs=5.1e-4)
    assert pass_chance(n, mark, 0.80) == pytest.approx(poor, abs=5.1e-4)


def test_twenty_items_pass_an_observer_of_four_in_five() -> None:
    """By hand: at 17 of 20 an observer of .80 passes with the sum of four binomial terms."""
    by_hand = sum(math.comb(20, k) * 0.8**k * 0.2 ** (20 - k) for k in range(17, 21))
    assert pass_chance(20, 17, 0.80) == pytest.approx(by_hand, abs=1e-12)


def test_walds_lines_are_those_of_the_handbook() -> None:
    """For .01 against .10 the lines are -.939 + .0397 n and 1.205 + .0397 n.

    NIST/SEMATECH e-Handbook of Statistical Methods, section 6.2.6 (from memory, three
    decimals); Wald 1947.
    """
    test = wald_test(0.01, 0.10, alpha=0.05, beta=0.10)
    assert -test.accept == pytest.approx(-0.939, abs=5.1e-4)
    assert test.reject == pytest.approx(1.205, abs=5.1e-4)
    # The handbook's slope is cut, not rounded: .03975 by Wald's formula.
    assert test.slope == pytest.approx(0.0397, abs=1e-4)


def test_walds_test_for_an_observer() -> None:
    """.90 against .80 at .05: steps .1178 and -.6931, bounds 2.944, shortest pass 25, means 72, 60.

    By Wald's formulas (1947), worked out by hand.
    """
    test = wald_test(0.80, 0.90)
    assert test.hit == pytest.approx(0.1178, abs=5.1e-5)
    assert test.miss == pytest.approx(-0.6931, abs=5.1e-5)
    assert (test.upper, -test.lower) == pytest.approx((2.944, 2.944), abs=5.1e-4)
    assert math.ceil(test.upper / test.hit) == 25
    assert (test.mean_second, test.mean_first) == pytest.approx((72, 60), abs=0.5)


def test_the_fixed_test_is_the_shortest() -> None:
    """No test of fewer items keeps both rates at any mark; the one found keeps them."""
    aim = Aim()
    found = fixed_test(aim)
    for n in range(1, found.n):
        for mark in range(n + 2):
            poor_passed, good = (pass_chance(n, mark, p) for p in (aim.poor, aim.good))
            assert poor_passed > 0.05 or 1 - good > 0.05
    assert pass_chance(found.n, found.mark, aim.poor) <= 0.05
    assert 1 - pass_chance(found.n, found.mark, aim.good) <= 0.05


def test_far_from_its_end_the_plan_does_what_wald_says() -> None:
    """With Wald's bounds and no near end, neither error adds up beyond what he promises.

    Wald 1947: alpha' <= alpha / (1 - beta), beta' <= beta / (1 - alpha), and the sum of the
    errors stays within the sum of the two stated; his mean leaves out the overshoot, so
    the exact one is longer, by a few answers.
    """
    aim, test = Aim(), wald_test(0.80, 0.90)
    plan = bounded_plan(aim, 1500, 1283, test.upper, test.lower)
    curve = operating_curve(plan, [0.80, 0.90])
    poor_passed, good_failed = curve.pass_chance[0], 1 - curve.pass_chance[1]
    assert poor_passed <= 0.05 / 0.95
    assert good_failed <= 0.05 / 0.95
    assert poor_passed + good_failed <= 0.10
    assert np.all(curve.expected_items - [60, 72] < [6, 6])
