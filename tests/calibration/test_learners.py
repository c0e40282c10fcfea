"""Simulated learners: what the order of practice saves; a small part of the full study.

The learners forget by curves that the scheduler does not use. Every figure is of learners
of our own construction, not of people.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from corallum.practice.courses import ORDERS, Order, answers_needed
from corallum.practice.learners import KINDS, Course, Kind, draw_learner, reef_shares

pytestmark = pytest.mark.calibration

LEARNERS = 60
COURSE = Course(reef_shares(20))
RANDOM, PROPORTION, ROUND, OURS = ORDERS
NAMES = {kind.name: kind for kind in KINDS}


@cache
def needed(name: str, order: Order) -> np.ndarray:
    """Answers that each learner of a kind needs."""
    return answers_needed(NAMES[name], COURSE, order, np.arange(LEARNERS))


@pytest.mark.parametrize("name", NAMES)
def test_due_then_most_to_gain_saves_answers(name: str) -> None:
    """To a share-weighted accuracy of .85 it takes 30 % fewer answers than random, or better."""
    saved = 1 - needed(name, OURS).mean() / needed(name, RANDOM).mean()
    print(f"\n{name}: {needed(name, OURS).mean():.0f} answers, random "
          f"{needed(name, RANDOM).mean():.0f}, saves {saved:.0%}")  # fmt: skip
    assert saved >= 0.30


@pytest.mark.parametrize("name", NAMES)
def test_it_needs_no_more_than_a_fixed_round(name: str) -> None:
    """It takes fewer answers on average than showing every genus in turn."""
    print(f"\n{name}: {needed(name, OURS).mean():.0f}, round {needed(name, ROUND).mean():.0f}")
    assert needed(name, OURS).mean() < needed(name, ROUND).mean()


def test_an_order_that_knows_nothing_saves_nothing() -> None:
    """Negative control: another random order, of other seeds, saves nothing near 30 %."""
    other = answers_needed(NAMES["slow"], COURSE, RANDOM, np.arange(1000, 1000 + LEARNERS))
    assert abs(1 - other.mean() / needed("slow", RANDOM).mean()) < 0.15


def test_where_all_genera_are_as_common_little_is_saved_on_a_round() -> None:
    """Negative control: with equal shares it saves less than a tenth against a fixed round."""
    course = Course(reef_shares(20, 0.0))
    ours, in_turn = (
        answers_needed(NAMES["slow"], course, order, np.arange(LEARNERS)).mean()
        for order in (OURS, ROUND)
    )
    print(f"\nequal shares: {ours:.0f}, round {in_turn:.0f}")
    assert abs(1 - ours / in_turn) < 0.10


def test_a_seed_is_a_learner() -> None:
    """The same seeds give the same figures."""
    seeds = np.arange(5)
    one = answers_needed(NAMES["fast"], COURSE, OURS, seeds)
    np.testing.assert_array_equal(one, answers_needed(NAMES["fast"], COURSE, OURS, seeds))


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_learners_forget_and_learn(kind: Kind) -> None:
    """Accuracy rises when told the answer, and falls with time without practice."""
    learner = draw_learner(kind, COURSE, np.random.default_rng(2))
    before = learner.accuracy(0.0)
    for genus in range(20):
        for _ in range(3):
            learner.answer(genus, 0, 0.0, 0.5)
    soon, late = learner.accuracy(1.0), learner.accuracy(200 * 1440.0)
    assert before < soon
    assert late < soon
