"""Simulated learners, to measure what an order of practice saves.

They forget by published curves that the scheduler does not use: halving with every
half-life, or Ebbinghaus' curve of 1885 stretched so that half is left after one half-life.
How a half-life grows with an answer is our own construction, no source. The study says
what the choosing does if people are like this; it is no measurement of people.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit, logit

from corallum.practice.forgetting import ebbinghaus_savings, half_life_recall

__all__ = ["KINDS", "Course", "Kind", "Learner", "draw_learner", "reef_shares"]

Floats = NDArray[np.float64]
Curve = Literal["half-life", "Ebbinghaus 1885"]

MINUTES_A_DAY = 1440.0
# Minutes after which Ebbinghaus' formula gives one half: 10^(1.84^(1 / 1.25)).
_EBBINGHAUS_HALF = 10 ** (1.84**0.8)


@dataclass(frozen=True, slots=True)
class Course:
    """What is learnt, and when.

    Parameters
    ----------
    shares : ndarray, (G,)
        Share of each genus in the survey; they add up to one.
    items_each : int
        Items of each genus.
    answers_a_day : int
        Answers of a session; one session a day.
    minutes_each : float
        Minutes that an answer takes.
    """

    shares: Floats
    items_each: int = 5
    answers_a_day: int = 20
    minutes_each: float = 0.5

    def minute(self, answer: int) -> float:
        """Minute since the beginning at which an answer is given."""
        day, place = divmod(answer, self.answers_a_day)
        return day * MINUTES_A_DAY + place * self.minutes_each


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of learner.

    Parameters
    ----------
    name : str
        In a few words.
    curve : str
        ``half-life`` or ``Ebbinghaus 1885``.
    first_days : float
        Half-life after a first look with the answer told, days.
    speed : float
        How much a right answer lengthens it.
    known : float
        Share of genera known well from the start, 0 to 1.
    muddled : float
        Part of the right answers lost to a confusion of the two commonest genera at the
        start, 0 to 1; each answer to either takes away a fifth of it.
    """

    name: str
    curve: Curve
    first_days: float
    speed: float
    known: float = 0.0
    muddled: float = 0.0


KINDS = (
    Kind("fast", "half-life", 3.0, 3.0),
    Kind("slow", "half-life", 1.5, 1.5),
    Kind("slow, Ebbinghaus", "Ebbinghaus 1885", 20.0, 1.5),
    Kind("forgetful", "half-life", 0.6, 1.5),
    Kind("already good", "half-life", 2.0, 2.0, known=0.7),
    Kind("confused on one pair", "half-life", 3.0, 2.0, known=0.4, muddled=0.6),
)

_GUESS, _CEILING = 0.05, 0.98
_KNOWN_DAYS = 120.0
_MASSED = 0.15  # what a right answer adds although nothing was forgotten yet
_WRONG_KEEPS = 0.8
_UNMUDDLED = 0.8
_ITEM_SPREAD = 0.6


class Learner:
    """One simulated learner, who answers, is told the truth, and forgets.

    Parameters
    ----------
    kind : Kind
        What kind of learner.
    course : Course
        What is learnt.
    half_life : ndarray, (G,)
        At the start, days; 0 where the genus was never met.
    difficulty : ndarray, (G, items)
        Of each item, logits against the genus.
    """

    def __init__(self, kind: Kind, course: Course, half_life: Floats, difficulty: Floats) -> None:
        self.kind, self.course, self.difficulty = kind, course, difficulty
        self.half_life = half_life.copy()
        self.last = np.zeros(len(half_life))
        self.muddled = kind.muddled

    def recall(self, minute: float) -> Floats:
        """Return the chance that each genus is still known, (G,)."""
        met = self.half_life > 0
        ratio = (minute - self.last) / MINUTES_A_DAY / np.where(met, self.half_life, 1.0)
        if self.kind.curve == "half-life":
            left = half_life_recall(ratio, 1.0)
        else:
            left = ebbinghaus_savings(ratio * _EBBINGHAUS_HALF)
        return np.where(met, left, 0.0)

    def chance_right(self, minute: float) -> Floats:
        """Return the chance of naming each item right, (G, items)."""
        chance = _GUESS + (_CEILING - _GUESS) * self.recall(minute)
        chance[:2] *= 1 - self.muddled
        each: Floats = expit(logit(np.clip(chance, 0.01, 0.99))[:, None] - self.difficulty)
        return each

    def accuracy(self, minute: float) -> float:
        """Return the true share of the survey's colonies that would be named right."""
        return float(self.course.shares @ self.chance_right(minute).mean(axis=1))

    def answer(self, genus: int, item: int, minute: float, chance: float) -> bool:
        """Answer one item and learn from being told; `chance` is drawn from 0 to 1."""
        known = float(self.recall(minute)[genus])
        right = chance < float(self.chance_right(minute)[genus, item])
        before = float(self.half_life[genus])
        if right:
            grown = before * (1 + self.kind.speed * (1 - known + _MASSED))
        else:
            grown = _WRONG_KEEPS * before
        self.half_life[genus] = max(grown, self.kind.first_days)
        self.last[genus] = minute
        if genus < 2:
            self.muddled *= _UNMUDDLED
        return right


def draw_learner(kind: Kind, course: Course, rng: np.random.Generator) -> Learner:
    """Draw one learner of a kind, each genus with a strength of its own.

    Parameters
    ----------
    kind : Kind
        What kind of learner.
    course : Course
        What is learnt.
    rng : numpy.random.Generator
        Source of chance.

    Returns
    -------
    Learner
        Who has not practised yet.
    """
    n = len(course.shares)
    known = rng.random(n) < kind.known
    strength = np.exp(rng.normal(0, 0.5, n))
    half_life = np.where(known, _KNOWN_DAYS * strength, 0.0)
    difficulty = rng.normal(0, _ITEM_SPREAD, (n, course.items_each))
    return Learner(kind, course, half_life, difficulty)


def reef_shares(genera: int, steepness: float = 1.0) -> Floats:
    """Return shares of genera as of a survey: few common, many rare.

    Parameters
    ----------
    genera : int
        G, number of genera.
    steepness : float
        Shares fall as 1 / rank^steepness (Zipf); 0 makes all equal. Invented.

    Returns
    -------
    ndarray, (G,)
        Commonest first, adding up to one.
    """
    weight = np.arange(1, genera + 1) ** -float(steepness)
    shares: Floats = weight / weight.sum()
    return shares
