"""Put simulated learners through a course in several orders, and count the answers.

Each order sees only answers, as a person running the practice does. The count stops where
the learner's true share-weighted accuracy, one day on without practice, reaches the goal.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Literal, Protocol

import numpy as np
from numpy.typing import NDArray

from corallum.practice.choose import Candidates, choose_next, grasp_of
from corallum.practice.learners import MINUTES_A_DAY, Course, Kind, draw_learner
from corallum.practice.schedule import Answer, Memory, add_answer, recall_chance

__all__ = ["ORDERS", "Order", "answers_needed", "take_course"]

Order = Literal["random", "in the survey's proportion", "fixed round", "due, then most to gain"]
ORDERS: tuple[Order, ...] = (
    "random",
    "in the survey's proportion",
    "fixed round",
    "due, then most to gain",
)
_START = datetime(2000, 1, 1, tzinfo=UTC)  # any day does


class _Chooser(Protocol):
    """Something that picks the next item and hears how it went."""

    def pick(self, answer: int) -> tuple[int, int]: ...

    def hear(self, answer: int, genus: int, right: bool) -> None: ...  # noqa: FBT001 - a fact


def answers_needed(
    kind: Kind,
    course: Course,
    order: Order,
    seeds: NDArray[np.int64],
    goal: float = 0.85,
    most: int = 1500,
) -> NDArray[np.int64]:
    """Return how many answers learners of a kind need in an order of practice.

    Parameters
    ----------
    kind : Kind
        What kind of learner.
    course : Course
        What is learnt.
    order : str
        One of `ORDERS`.
    seeds : ndarray of int, (L,)
        One seed a learner; the same seed is the same learner in every order.
    goal : float
        True share-weighted accuracy to reach, 0 to 1.
    most : int
        Answers after which a learner is given up, counted as this many.

    Returns
    -------
    ndarray of int, (L,)
        Answers needed.
    """
    return np.array([take_course(kind, course, order, int(s), goal, most) for s in seeds])


def take_course(kind: Kind, course: Course, order: Order, seed: int, goal: float, most: int) -> int:
    """Put one learner through; return the answers needed, or the most."""
    who, luck, choosing = np.random.default_rng(seed).spawn(3)
    learner = draw_learner(kind, course, who)
    chooser = _chooser(order, course, choosing, learner.difficulty)
    for n in range(most):
        if learner.accuracy(course.minute(n) + MINUTES_A_DAY) >= goal:
            return n
        genus, item = chooser.pick(n)
        right = learner.answer(genus, item, course.minute(n), luck.random())
        chooser.hear(n, genus, right)
    return most


class _Drawn:
    """Genera drawn by weights, items of a genus alike."""

    def __init__(self, weights: NDArray[np.float64], items: int, rng: np.random.Generator) -> None:
        self.weights, self.items, self.rng = weights, items, rng

    def pick(self, answer: int) -> tuple[int, int]:  # noqa: ARG002
        genus = int(self.rng.choice(len(self.weights), p=self.weights))
        return genus, int(self.rng.integers(self.items))

    def hear(self, answer: int, genus: int, right: bool) -> None:  # noqa: FBT001
        """Nothing is learnt from answers."""


class _Round:
    """Every genus in turn, an item further each round, in an order drawn once."""

    def __init__(self, genera: int, items: int, rng: np.random.Generator) -> None:
        self.order, self.items = rng.permutation(genera), items

    def pick(self, answer: int) -> tuple[int, int]:
        turn, place = divmod(answer, len(self.order))
        return int(self.order[place]), turn % self.items

    def hear(self, answer: int, genus: int, right: bool) -> None:  # noqa: FBT001
        """Nothing is learnt from answers."""


class _Chosen:
    """What is due, then what has most to gain; difficulties as a bank of items knows them."""

    def __init__(self, course: Course, difficulty: NDArray[np.float64]) -> None:
        self.course, self.difficulty = course, difficulty.ravel()
        self.genus = np.repeat(np.arange(len(course.shares)), course.items_each)
        self.shown = np.zeros(len(self.genus), dtype=np.int64)
        self.held: dict[int, Memory] = {}
        self.genera: list[int] = []
        self.right: list[float] = []

    def pick(self, answer: int) -> tuple[int, int]:
        now = _START + timedelta(minutes=self.course.minute(answer))
        n = len(self.course.shares)
        retention, due = np.full(n, np.nan), np.zeros(n, dtype=np.bool_)
        for g, memory in self.held.items():
            retention[g], due[g] = recall_chance(memory, now), memory.due <= now
        grasp = grasp_of(self.genera, self.right, self.course.shares)
        # Of each genus the item shown least often, so that none is learnt by heart.
        fewest = self.shown.reshape(n, -1).argmin(axis=1) + np.arange(n) * self.course.items_each
        items = Candidates(np.arange(n), self.difficulty[fewest], retention, due)
        last = self.genera[-1] if self.genera else None
        chosen = int(fewest[choose_next(items, grasp, last, 1)[0].item])
        self.shown[chosen] += 1
        return divmod(chosen, self.course.items_each)

    def hear(self, answer: int, genus: int, right: bool) -> None:  # noqa: FBT001
        at = _START + timedelta(minutes=self.course.minute(answer))
        self.genera.append(genus)
        self.right.append(float(right))
        said = Answer(str(genus), at, float(right), 0.8)
        self.held[genus] = add_answer(self.held.get(genus), said)


def _chooser(
    order: Order, course: Course, rng: np.random.Generator, difficulty: NDArray[np.float64]
) -> _Chooser:
    """The order of practice by its name."""
    genera = len(course.shares)
    if order == "random":
        return _Drawn(np.full(genera, 1 / genera), course.items_each, rng)
    if order == "in the survey's proportion":
        return _Drawn(course.shares, course.items_each, rng)
    if order == "fixed round":
        return _Round(genera, course.items_each, rng)
    return _Chosen(course, difficulty)
