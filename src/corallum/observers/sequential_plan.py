"""Find the bounds of a sequential test that keeps its error rates although it is cut off.

Wald's bounds promise the rates for a test without end; cut off, they no longer hold.
Here the bounds are moved until the cut-off test itself keeps both rates, by its exact
operating curve, and of those plans the one with the fewest items is taken.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache, partial

import numpy as np

from corallum.errors import Fault, InputError
from corallum.observers.fixed_length import Aim, fixed_test, marks_that_keep
from corallum.observers.sequential import OperatingCurve, SequentialPlan, operating_curve
from corallum.observers.wald import wald_test

__all__ = ["bounded_plan", "find_plan"]

# The test may run this much longer than the one of a set length: the longer, the fewer
# items on average, with little left to win beyond.
_LONGER = 1.5
# Steps of bisection: bounds to a hundredth of one answer.
_STEPS = 9
_ROUNDS = 6
_NEVER = 4.0  # times Wald's bound: as good as no bound


@lru_cache(maxsize=64)
def find_plan(aim: Aim, largest: int | None = None) -> SequentialPlan:
    """Return a plan that keeps both error rates with few items.

    Parameters
    ----------
    aim : Aim
        What to tell apart, and the error rates to keep.
    largest : int or None
        Most items that an observer may be shown; None takes half as many again as the test
        of a set length needs.

    Returns
    -------
    SequentialPlan
        Of the bounds that keep both rates, those with the smallest sum of expected items
        at the two accuracies, as far as the search goes.

    Raises
    ------
    InputError
        If so few items cannot keep the rates; says how many can.

    Examples
    --------
    >>> plan = find_plan(Aim())
    >>> curve = operating_curve(plan, [0.80, 0.90])
    >>> bool(curve.pass_chance[0] <= 0.05) and bool(1 - curve.pass_chance[1] <= 0.05)
    True
    """
    n = _largest(aim, largest)
    plans = [_tighten(aim, n, mark) for mark in marks_that_keep(aim, n)]
    return min(plans, key=lambda plan: float(_curve(plan).expected_items.sum()))


def bounded_plan(aim: Aim, largest: int, mark: int, upper: float, lower: float) -> SequentialPlan:
    """Return the plan of two bounds on the log odds of good against poor.

    Parameters
    ----------
    aim : Aim
        The two accuracies.
    largest : int
        N, where the test is cut off.
    mark : int
        Right answers that pass there.
    upper, lower : float
        Bounds on the natural logarithm of the likelihood ratio, good over poor.

    Returns
    -------
    SequentialPlan
        With the obvious added: it stops as soon as the rest cannot change the outcome.
    """
    test = wald_test(aim.poor, aim.good)
    n = np.arange(largest + 1)
    step = test.hit - test.miss
    passing = np.ceil((upper - n * test.miss) / step - 1e-9)
    failing = np.floor((lower - n * test.miss) / step + 1e-9)
    passing = np.where(passing > n, n + 1, passing)
    pass_at = np.minimum(passing, mark)
    fail_at = np.maximum(np.maximum(failing, -1), mark - 1 - (largest - n))
    fail_at = np.minimum(fail_at, pass_at - 1)
    return SequentialPlan(
        aim, largest, tuple(pass_at.astype(int).tolist()), tuple(fail_at.astype(int).tolist())
    )


def _largest(aim: Aim, largest: int | None) -> int:
    """Most items, checked to be enough."""
    shortest = fixed_test(aim).n
    n = math.ceil(_LONGER * shortest) if largest is None else largest
    enough = max(n, shortest)
    while not marks_that_keep(aim, enough):
        enough += 1
    if largest is None or enough == largest:
        return enough
    remedy = f"Allow {enough} items, or more error."
    expected = "enough items to keep both error rates"
    raise InputError([Fault("qualification", "largest", expected, str(largest), remedy)])


def _tighten(aim: Aim, n: int, mark: int) -> SequentialPlan:
    """Draw both bounds in as far as the error rates allow, turn by turn.

    A nearer upper bound passes more, a nearer lower one fails more; so from bounds that
    keep both rates, each turn spends what the turn before it left over.
    """
    test = wald_test(aim.poor, aim.good, aim.poor_passed, aim.good_failed)
    upper, lower = _NEVER * test.upper, _NEVER * test.lower
    for _ in range(_ROUNDS):
        before = (upper, lower)
        upper = _nearest(upper, partial(bounded_plan, aim, n, mark, lower=lower))
        lower = _nearest(lower, partial(bounded_plan, aim, n, mark, upper))
        if (upper, lower) == before:
            break
    return bounded_plan(aim, n, mark, upper, lower)


def _nearest(bound: float, plan_of: Callable[[float], SequentialPlan]) -> float:
    """Bring one bound, which keeps the rates, as near to nought as they allow."""
    keeps, fails = bound, 0.0
    for _ in range(_STEPS):
        middle = (keeps + fails) / 2
        if _keeps(plan_of(middle)):
            keeps = middle
        else:
            fails = middle
    return keeps


def _curve(plan: SequentialPlan) -> OperatingCurve:
    """Operating curve at the two accuracies of the aim."""
    return operating_curve(plan, [plan.aim.poor, plan.aim.good])


def _keeps(plan: SequentialPlan) -> bool:
    """Whether a plan keeps both error rates."""
    passed = _curve(plan).pass_chance
    aim = plan.aim
    return bool(passed[0] <= aim.poor_passed and 1 - passed[1] <= aim.good_failed)
