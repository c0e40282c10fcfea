"""Qualify an observer by Wald's sequential test, cut off at a largest number of items.

After each answer the test passes, fails or goes on. What counts as right is decided by
the caller: an answer is right or not, there is no part credit. Items are drawn anew for
each question in the survey's own proportions of genera (`draw_genera`); only so does the
share of right answers stand for the survey, and only so are answers independent. An item
shown again is not counted again (`count_once`): it serves the repeat measure.

Everything is exact: the recursion runs over the number of answers and of right ones.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray

from corallum.errors import Fault, InputError
from corallum.observers.fixed_length import Aim

__all__ = [
    "OperatingCurve",
    "SequentialPlan",
    "Standing",
    "State",
    "count_once",
    "draw_genera",
    "operating_curve",
    "state_of",
]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class SequentialPlan:
    """When to stop, for every number of answers.

    Parameters
    ----------
    aim : Aim
        What the plan tells apart, and the error rates that it keeps.
    largest : int
        N, items after which it is decided in any case.
    pass_at : tuple of int
        For 0 to N answers, the right ones that pass; more than the answers where none do.
    fail_at : tuple of int
        For 0 to N answers, the right ones at or below which it fails; -1 where none do.
    """

    aim: Aim
    largest: int
    pass_at: tuple[int, ...]
    fail_at: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class OperatingCurve:
    """What a plan does at P true accuracies.

    Parameters
    ----------
    accuracies : ndarray, (P,)
        True accuracies, 0 to 1.
    pass_chance : ndarray, (P,)
        Chance of passing.
    expected_items : ndarray, (P,)
        Mean number of items.
    pass_after, fail_after : ndarray, (P, N + 1)
        Chance of stopping after exactly so many items, by passing and by failing; over
        both and all numbers they add up to one.
    """

    accuracies: Floats
    pass_chance: Floats
    expected_items: Floats
    pass_after: Floats
    fail_after: Floats


class State(StrEnum):
    """How a qualification stands."""

    GO_ON = "go on"
    PASSED = "passed"
    FAILED = "failed"


@dataclass(frozen=True, slots=True)
class Standing:
    """How far an observer is in a sequential test.

    Parameters
    ----------
    state : State
        Go on, passed or failed.
    n, right : int
        Answers counted, and right ones; answers after the decision do not count.
    right_to_pass : int
        Right answers in a row that would pass from here; 0 once passed.
    wrong_to_fail : int
        Wrong answers in a row that would fail from here; 0 once failed.
    most_left : int
        Items that are left at the most; 0 once decided.
    """

    state: State
    n: int
    right: int
    right_to_pass: int
    wrong_to_fail: int
    most_left: int


def state_of(plan: SequentialPlan, answers: Sequence[bool]) -> Standing:
    """Return how a qualification stands after some answers.

    Parameters
    ----------
    plan : SequentialPlan
        When to stop.
    answers : sequence of bool
        Right or not, in the order given; items counted once.

    Returns
    -------
    Standing
        The decision at the first answer that brought one, or how far it is.
    """
    right = n = 0
    state = State.GO_ON
    for n, answer in enumerate(answers, start=1):
        right += bool(answer)
        state = _decision(plan, n, right)
        if state is not State.GO_ON:
            break
    if state is not State.GO_ON:
        return Standing(state, n, right, 0, 0, 0)
    left = range(1, plan.largest - n + 1)
    to_pass = next(k for k in left if _decision(plan, n + k, right + k) is State.PASSED)
    to_fail = next(k for k in left if _decision(plan, n + k, right) is State.FAILED)
    return Standing(state, n, right, to_pass, to_fail, plan.largest - n)


def operating_curve(plan: SequentialPlan, accuracies: ArrayLike) -> OperatingCurve:
    """Return the chance of passing and the number of items at any true accuracy, exactly.

    Parameters
    ----------
    plan : SequentialPlan
        When to stop.
    accuracies : array_like, (P,)
        True accuracies, 0 to 1.

    Returns
    -------
    OperatingCurve
        By recursion over answers and right answers; no sampling.

    Notes
    -----
    With Q(n, k) the chance of still going on with k right of n, Q(n, k) = (1-p) Q(n-1, k)
    + p Q(n-1, k-1); what falls at or beyond a bound is taken out there.
    """
    p = np.atleast_1d(np.asarray(accuracies, dtype=float))
    passed, failed = np.zeros((2, len(p), plan.largest + 1))
    going = np.ones((len(p), 1))
    lowest = 0  # right answers that the first column stands for
    for n in range(1, plan.largest + 1):
        nxt = np.zeros((len(p), going.shape[1] + 1))
        nxt[:, :-1] = going * (1 - p)[:, None]
        nxt[:, 1:] += going * p[:, None]
        low = max(plan.fail_at[n] + 1 - lowest, 0)
        high = min(max(plan.pass_at[n] - lowest, low), nxt.shape[1])
        failed[:, n] = nxt[:, :low].sum(axis=1)
        passed[:, n] = nxt[:, high:].sum(axis=1)
        going, lowest = nxt[:, low:high], lowest + low
    items = np.arange(plan.largest + 1)
    return OperatingCurve(p, passed.sum(axis=1), (passed + failed) @ items, passed, failed)


def draw_genera(shares: ArrayLike, n: int, rng: np.random.Generator) -> NDArray[np.int64]:
    """Draw the genera of items in the survey's own proportions, each anew.

    Parameters
    ----------
    shares : array_like, (G,)
        Share, or count, of each genus in the survey; not negative, not all zero.
    n : int
        Items to draw.
    rng : numpy.random.Generator
        Source of chance.

    Returns
    -------
    ndarray of int, (n,)
        Indices of genera.

    Raises
    ------
    InputError
        If a share is negative or none is above zero.
    """
    weight = np.asarray(shares, dtype=float)
    if not np.isfinite(weight).all() or (weight < 0).any() or weight.sum() <= 0:
        remedy = "Give each genus its share of the survey's colonies."
        expected = "shares of 0 or more, some above 0"
        raise InputError([Fault("qualification", "shares", expected, str(shares), remedy)])
    return rng.choice(len(weight), size=n, p=weight / weight.sum())


def count_once(items: Sequence[Hashable], right: Sequence[bool]) -> tuple[bool, ...]:
    """Return the first answer to each item, in order; repeats are left out.

    Parameters
    ----------
    items : sequence
        Item of each answer.
    right : sequence of bool
        Whether it was right.

    Returns
    -------
    tuple of bool
        First answers, as `state_of` takes them.
    """
    seen: set[Hashable] = set()
    first = []
    for item, answer in zip(items, right, strict=True):
        if item not in seen:
            seen.add(item)
            first.append(bool(answer))
    return tuple(first)


def _decision(plan: SequentialPlan, n: int, right: int) -> State:
    """What the plan says after n answers."""
    if right >= plan.pass_at[n]:
        return State.PASSED
    return State.FAILED if right <= plan.fail_at[n] else State.GO_ON
