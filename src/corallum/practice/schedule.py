"""When something is due again, from an observer's answers alone.

The published FSRS scheduler keeps for each thing learnt (a genus, or two genera taken for
each other) how stable the memory is. It wants a rating of each answer; nobody is asked for
one: it is worked out from the score and the confidence. Times come in; there is no clock
here and no chance.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cache

from fsrs import Card, Rating, Scheduler

from corallum.errors import Fault, InputError
from corallum.practice.forgetting import power_recall

__all__ = [
    "Answer",
    "Memory",
    "add_answer",
    "due_keys",
    "rating_of",
    "recall_chance",
    "replay",
]

WANTED_RECALL = 0.9
# Something missed comes back in the same session; own choice, no source.
_SOON = timedelta(minutes=10)
_KNOWN, _CLEARLY, _ALL = 0.5, 0.75, 0.95
_SECONDS_A_DAY = 86400.0


@dataclass(frozen=True, slots=True)
class Answer:
    """One practice answer.

    Parameters
    ----------
    key : str
        What was practised: the genus, or the pair of genera.
    at : datetime
        When, with its time zone.
    score : float
        Score of the marking, 0 to 1.
    confidence : float
        Probability that the observer gave the best named genus, 0 to 1.
    """

    key: str
    at: datetime
    score: float
    confidence: float


@dataclass(frozen=True, slots=True)
class Memory:
    """What the scheduler holds of one key.

    Parameters
    ----------
    last, due : datetime
        Last answer, and when it is due again, UTC.
    stability_days : float
        Days until the chance of recall has fallen to nine tenths.
    difficulty : float
        1 easy to 10 hard, as the scheduler sees it.
    answers : int
        Answers so far.
    state : int
        1 learning, 2 review, 3 learning again: the scheduler's own.
    step : int or None
        Its place in the short steps of learning.
    """

    last: datetime
    due: datetime
    stability_days: float
    difficulty: float
    answers: int
    state: int
    step: int | None


def rating_of(score: float, confidence: float) -> int:
    """Return the scheduler's rating of an answer: 1 again, 2 hard, 3 good, 4 easy.

    Parameters
    ----------
    score : float
        Score of the marking, 0 to 1.
    confidence : float
        Probability that the observer gave the best named genus, 0 to 1.

    Returns
    -------
    int
        1 below half the score; 2 below three quarters of it, or less than half sure; 4 at
        .95 of the score with .95 confidence; else 3. Own construction, no source.

    Raises
    ------
    InputError
        If either lies outside 0 to 1.
    """
    faults = [
        Fault("practice answer", name, "0 to 1", f"{value}", "Mark the answer again.")
        for name, value in (("score", score), ("confidence", confidence))
        if not 0 <= value <= 1
    ]
    if faults:
        raise InputError(faults)
    if score < _KNOWN:
        return int(Rating.Again)
    if score < _CLEARLY or confidence < _KNOWN:
        return int(Rating.Hard)
    return int(Rating.Easy if min(score, confidence) >= _ALL else Rating.Good)


def add_answer(memory: Memory | None, answer: Answer) -> Memory:
    """Return what is held after one more answer.

    Parameters
    ----------
    memory : Memory or None
        What was held of this key; None for the first answer.
    answer : Answer
        Not before the last one.

    Returns
    -------
    Memory
        With the new due time.

    Raises
    ------
    InputError
        If the time has no zone or lies before the last answer.
    """
    at = _utc(answer.at)
    if memory is not None and at < memory.last:
        remedy = "Replay the answers in order of time."
        expected, found = f"not before {memory.last.isoformat()}", at.isoformat()
        raise InputError([Fault("practice answer", answer.key, expected, found, remedy)])
    # An id and times are handed in, or the package would read the clock.
    card = Card(card_id=0, due=at)
    if memory is not None:
        card = Card(
            card_id=0,
            state=type(card.state)(memory.state),
            step=memory.step,
            stability=memory.stability_days,
            difficulty=memory.difficulty,
            due=memory.due,
            last_review=memory.last,
        )
    rating = Rating(rating_of(answer.score, answer.confidence))
    card, _ = _scheduler().review_card(card, rating, at)
    count = 1 if memory is None else memory.answers + 1
    return Memory(
        at,
        card.due,
        float(card.stability or 0.0),
        float(card.difficulty or 0.0),
        count,
        int(card.state),
        card.step,
    )


def replay(answers: Iterable[Answer]) -> dict[str, Memory]:
    """Return what is held of every key, from all answers of one observer.

    Parameters
    ----------
    answers : iterable of Answer
        In any order; they are taken in order of time.

    Returns
    -------
    dict of str to Memory
        A function of the answers alone: the same answers give the same due times.

    Raises
    ------
    InputError
        If an answer has no time zone, or a score or confidence outside 0 to 1.
    """
    held: dict[str, Memory] = {}
    for answer in sorted(answers, key=lambda a: _utc(a.at)):
        held[answer.key] = add_answer(held.get(answer.key), answer)
    return held


def recall_chance(memory: Memory, at: datetime) -> float:
    """Return the chance that a key is still known.

    Parameters
    ----------
    memory : Memory
        What is held of it.
    at : datetime
        When, with its time zone; before the last answer counts as then.

    Returns
    -------
    float
        By the power law of the scheduler, in time without steps.
    """
    days = (_utc(at) - memory.last).total_seconds() / _SECONDS_A_DAY
    exponent = _scheduler().parameters[20]
    return float(power_recall(max(days, 0.0), memory.stability_days, exponent))


def due_keys(held: Mapping[str, Memory], at: datetime) -> tuple[str, ...]:
    """Return the keys that are due, the least likely known first.

    Parameters
    ----------
    held : mapping of str to Memory
        From `replay`.
    at : datetime
        Now, with its time zone.

    Returns
    -------
    tuple of str
        Keys whose due time has come.
    """
    now = _utc(at)
    due = [key for key, memory in held.items() if memory.due <= now]
    return tuple(sorted(due, key=lambda key: (recall_chance(held[key], now), key)))


@cache
def _scheduler() -> Scheduler:
    """The scheduler with the package's published default weights, and no chance."""
    return Scheduler(
        desired_retention=WANTED_RECALL,
        learning_steps=(_SOON,),
        relearning_steps=(_SOON,),
        enable_fuzzing=False,
    )


def _utc(at: datetime) -> datetime:
    """A moment in UTC, as the scheduler wants it."""
    if at.tzinfo is None:
        remedy = "Store times with their zone."
        expected = "a time with its zone"
        raise InputError([Fault("practice answer", "time", expected, at.isoformat(), remedy)])
    return at.astimezone(UTC)
