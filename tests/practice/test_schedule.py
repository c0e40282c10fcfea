"""What is due when, as a function of the answers alone."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from itertools import pairwise

import pytest
from fsrs import Card, Scheduler, State
from hypothesis import given
from hypothesis import strategies as st

from corallum.errors import InputError
from corallum.practice.schedule import (
    Answer,
    add_answer,
    due_keys,
    rating_of,
    recall_chance,
    replay,
)

START = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
SHARE = st.floats(0, 1)
ANSWERS = st.lists(
    st.builds(
        lambda key, hours, score, sure: Answer(key, START + timedelta(hours=hours), score, sure),
        st.sampled_from(["Favites", "Porites", "Acropora"]),
        st.floats(0, 2000),
        SHARE,
        SHARE,
    ),
    max_size=25,
    unique_by=lambda a: a.at,
)


def given_at(days: float, score: float = 0.9, confidence: float = 0.8) -> Answer:
    """An answer about Favites so many days on."""
    return Answer("Favites", START + timedelta(days=days), score, confidence)


@pytest.mark.parametrize(
    ("score", "confidence", "rating"),
    [
        pytest.param(0.0, 1.0, 1, id="wrong and sure"),
        pytest.param(0.49, 0.2, 1, id="less than half the score"),
        pytest.param(0.5, 0.9, 2, id="half right"),
        pytest.param(0.9, 0.4, 2, id="right but unsure"),
        pytest.param(0.8, 0.8, 3, id="right"),
        pytest.param(1.0, 0.94, 3, id="right, not quite sure"),
        pytest.param(0.95, 0.95, 4, id="right and sure"),
    ],
)
def test_the_rating_is_worked_out(score: float, confidence: float, rating: int) -> None:
    """Score and confidence make the rating as documented."""
    assert rating_of(score, confidence) == rating


@given(SHARE, SHARE, SHARE)
def test_a_better_score_is_never_rated_lower(one: float, other: float, confidence: float) -> None:
    """With the same confidence a higher score has no lower rating."""
    low, high = sorted((one, other))
    assert rating_of(low, confidence) <= rating_of(high, confidence)


@pytest.mark.parametrize(("score", "confidence"), [(-0.1, 0.5), (0.5, 1.1), (float("nan"), 0.5)])
def test_ratings_need_shares(score: float, confidence: float) -> None:
    """A score or confidence outside 0 to 1 is refused."""
    with pytest.raises(InputError, match="0 to 1"):
        rating_of(score, confidence)


@given(ANSWERS)
def test_only_the_answers_count(answers: list[Answer]) -> None:
    """The same answers in any order give the same due times, without clock or chance."""
    assert replay(answers) == replay(list(reversed(answers)))


@given(ANSWERS)
def test_replaying_is_adding_one_by_one(answers: list[Answer]) -> None:
    """What is held after a replay is what is held after the answers one by one."""
    held: dict[str, object] = {}
    for answer in sorted(answers, key=lambda a: a.at):
        held[answer.key] = add_answer(held.get(answer.key), answer)  # type: ignore[arg-type]
    assert replay(answers) == held


@given(ANSWERS)
def test_keys_do_not_touch_each_other(answers: list[Answer]) -> None:
    """What is due of one genus hangs on its own answers alone."""
    own = [a for a in answers if a.key == "Porites"]
    assert replay(answers).get("Porites") == replay(own).get("Porites")


def test_right_answers_wait_longer_each_time() -> None:
    """Answered right when due, the wait grows each time."""
    memory = add_answer(None, given_at(0))
    waits = [memory.due - memory.last]
    for _ in range(5):
        memory = add_answer(memory, replace(given_at(0), at=memory.due))
        waits.append(memory.due - memory.last)
    assert all(b > a for a, b in pairwise(waits))


def test_a_miss_comes_back_in_the_session() -> None:
    """What was missed is due again in ten minutes, also when it was known before."""
    first = add_answer(None, given_at(0, score=0))
    assert first.due - first.last == timedelta(minutes=10)
    memory = add_answer(add_answer(None, given_at(0)), given_at(2))
    missed = add_answer(memory, given_at(9, score=0.1))
    assert missed.due - missed.last == timedelta(minutes=10)
    assert missed.stability_days < memory.stability_days


def test_it_is_due_when_nine_tenths_are_left() -> None:
    """At one stability recall is .9; the due time is that, in whole days."""
    memory = add_answer(add_answer(None, given_at(0)), given_at(3))
    at = memory.last + timedelta(days=memory.stability_days)
    assert recall_chance(memory, at) == pytest.approx(0.9, abs=1e-9)
    assert abs(memory.due - at) <= timedelta(days=0.5)


def test_recall_is_the_packages_own() -> None:
    """On whole days recall is what the fsrs package itself says of the same card."""
    memory = add_answer(None, given_at(0))
    card = Card(
        card_id=1,
        state=State.Review,
        stability=memory.stability_days,
        difficulty=memory.difficulty,
        due=memory.due,
        last_review=memory.last,
    )
    for days in (1, 5, 40):
        at = memory.last + timedelta(days=days)
        expected = Scheduler().get_card_retrievability(card, at)
        assert recall_chance(memory, at) == pytest.approx(expected, abs=1e-12)


def test_what_is_most_forgotten_comes_first() -> None:
    """Due keys come by the chance of recall, lowest first; the others are left out."""
    held = replay(
        [
            Answer("old", START, 0.9, 0.8),
            Answer("older", START - timedelta(days=30), 0.9, 0.8),
            Answer("fresh", START + timedelta(days=19), 0.9, 0.8),
        ]
    )
    assert due_keys(held, START + timedelta(days=20)) == ("older", "old")


def test_zones_are_moments() -> None:
    """The same moment in another zone is the same answer; a time without zone is refused."""
    there = timezone(timedelta(hours=3))
    answer = given_at(1)
    assert add_answer(None, replace(answer, at=answer.at.astimezone(there))) == add_answer(
        None, answer
    )
    with pytest.raises(InputError, match="with its zone"):
        add_answer(None, replace(answer, at=answer.at.replace(tzinfo=None)))


def test_time_does_not_run_backwards() -> None:
    """An answer before the last one is refused; a replay puts them in order."""
    memory = add_answer(None, given_at(5))
    with pytest.raises(InputError, match="in order of time"):
        add_answer(memory, given_at(4))
    assert replay([given_at(5), given_at(4)])["Favites"].answers == 2
