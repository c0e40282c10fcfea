"""Ability and difficulty from few answers."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.special import expit
from scipy.stats import norm

from corallum.errors import InputError
from corallum.practice.ability import (
    Ability,
    ability_of,
    chance_right,
    shrunken_difficulty,
)

ANSWERS = st.lists(st.sampled_from([0.0, 1.0, np.nan]), min_size=1, max_size=30)


def test_without_answers_the_prior_stands() -> None:
    """Nobody's answers leave ability at mean 0 and standard deviation 1."""
    assert ability_of([], []) == Ability(0.0, 1.0, 0)
    found = ability_of([np.nan, np.nan], [0.0, 2.0])
    assert (found.mean, found.sd) == pytest.approx((0, 1), abs=1e-9)
    assert found.n == 0


def test_the_posterior_is_that_of_adaptive_quadrature() -> None:
    """Mean and deviation agree with SciPy's adaptive integration to 1e-7."""
    answers, b, a = [1, 1, 0, 1], np.array([-1, 0.5, 0, 2.0]), np.array([1.2, 0.8, 1, 1.5])

    def weight(t: float) -> float:
        p = expit(a * (t - b))
        return float(norm.pdf(t) * np.prod(np.where(answers, p, 1 - p)))

    total, first, second = (
        quad(lambda t, k=k: t**k * weight(t), -9, 9, epsabs=1e-13)[0] for k in range(3)
    )
    found = ability_of(answers, b, a)
    assert found.mean == pytest.approx(first / total, abs=1e-7)
    assert found.sd == pytest.approx(np.sqrt(second / total - (first / total) ** 2), abs=1e-7)


@given(ANSWERS)
def test_a_right_answer_raises_the_ability(answers: list[float]) -> None:
    """One more right answer raises the mean, one more wrong one lowers it, both narrow it."""
    difficulty = np.linspace(-2, 2, len(answers) + 1)
    before = ability_of(answers, difficulty[:-1])
    up = ability_of([*answers, 1.0], difficulty)
    down = ability_of([*answers, 0.0], difficulty)
    assert down.mean < before.mean < up.mean
    assert max(up.sd, down.sd) < before.sd + 1e-9


def test_a_doubtful_item_counts_less() -> None:
    """A right answer to an item of doubtful difficulty raises the ability less."""
    assert ability_of([1], [0.0], sd=2.0).mean < ability_of([1], [0.0]).mean


@given(st.floats(-3, 3), st.floats(0, 2), st.floats(0, 2))
def test_doubt_draws_the_chance_to_one_half(mean: float, sd: float, more: float) -> None:
    """The chance of a right answer lies nearer one half the less is known."""
    sure = chance_right(Ability(mean, sd, 0), [0.0])[0]
    unsure = chance_right(Ability(mean, sd, 0), [0.0], [more])[0]
    assert abs(unsure - 0.5) <= abs(sure - 0.5) + 1e-12


def test_five_observers_and_forty_items() -> None:
    """Five observers give finite difficulties; a quarter or more of their spread is found.

    Against each other, for the level can't be told from the observers' own.
    """
    rng = np.random.default_rng(3)
    errors, flat = [], []
    for _ in range(20):
        truth = rng.normal(-1, 1, 40)
        ability = rng.normal(size=(5, 1))
        right = (rng.random((5, 40)) < expit(ability - truth)).astype(float)
        found = shrunken_difficulty(right)
        assert found.converged
        assert np.isfinite(found.mean).all()
        relative = truth - truth.mean()
        errors.append(np.mean((found.mean - found.mean.mean() - relative) ** 2))
        flat.append(np.mean(relative**2))
    assert np.mean(errors) < 0.75 * np.mean(flat)


def test_the_stated_error_is_the_true_one() -> None:
    """Over repeats, errors of difficulties about the observers' mean fit the stated sd."""
    rng = np.random.default_rng(8)
    scaled = []
    for _ in range(150):
        truth = rng.normal(-1, 1, 25)
        right = (rng.random((12, 25)) < expit(rng.normal(size=(12, 1)) - truth)).astype(float)
        found = shrunken_difficulty(right)
        scaled.extend((found.mean - truth) / found.sd)
    # A standard deviation of one; 3750 values, but those of one round hang together.
    assert np.std(scaled) == pytest.approx(1, abs=0.1)
    assert np.mean(np.abs(scaled) <= 1.96) == pytest.approx(0.95, abs=0.025)


def test_an_item_nobody_answered_has_the_common_mean() -> None:
    """An item without answers has the common mean and a spread of at least the prior's."""
    found = shrunken_difficulty([[1, 0, np.nan], [0, 0, np.nan], [1, 1, np.nan]])
    assert found.mean[2] == pytest.approx(found.centre, abs=1e-6)
    assert found.sd[2] >= 1
    assert found.sd[2] > found.sd[:2].max()


def test_more_answers_draw_less() -> None:
    """Ten of ten wrong lies further from the mean than two of two wrong."""
    few = np.array([[0, 1.0, 1, 1]] * 2)
    many = np.array([[0, 1.0, 1, 1]] * 10)
    assert (shrunken_difficulty(many).mean[0] - shrunken_difficulty(many).centre) > (
        shrunken_difficulty(few).mean[0] - shrunken_difficulty(few).centre
    )


@pytest.mark.parametrize("spread", [0.0, -1.0, np.nan])
def test_no_spread_is_refused(spread: float) -> None:
    """The spread of difficulties must be above 0."""
    with pytest.raises(InputError, match="spread"):
        shrunken_difficulty([[1, 0]], spread=spread)


def test_answers_must_fit_the_items() -> None:
    """Answers and items differ in number only by mistake."""
    with pytest.raises(InputError, match="expected 3 answers, found 2 answers"):
        ability_of([1, 0], [0.0, 0.0, 0.0])


def test_without_any_answer_the_priors_stand() -> None:
    """Nobody asked: difficulty 0, its variance the prior's own and that of the mean, 1 + 2^2."""
    found = shrunken_difficulty([[np.nan, np.nan]])
    np.testing.assert_allclose(found.mean, 0, atol=1e-12)
    np.testing.assert_allclose(found.sd, np.sqrt(5), rtol=1e-9)
