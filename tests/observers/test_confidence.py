"""Stated confidence against what was right, against a second, slow integration."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad

from corallum.observers.confidence import learn_confidence

CASES = [
    pytest.param([0.9] * 12, [1, 0] * 6, id="too sure"),
    pytest.param([0.55] * 20, [1] * 19 + [0], id="not sure enough"),
    pytest.param([0.2, 0.5, 0.8, 0.99, 1.0, 0.0], [0, 1, 1, 1, 0, 0], id="mixed"),
    pytest.param([0.7], [1], id="one answer"),
]


def posterior(shift: float, confidence: list[float], right: list[int]) -> float:
    """Standard normal prior times the chance of what was right, in plain arithmetic."""
    value = math.exp(-0.5 * shift * shift)
    for stated, hit in zip(confidence, right, strict=True):
        # Nobody is infinitely sure: 0 and 1 are read as .01 and .99.
        bounded = min(max(stated, 0.01), 0.99)
        odds = bounded / (1 - bounded) * math.exp(shift)
        value *= odds / (1 + odds) if hit else 1 / (1 + odds)
    return value


@pytest.mark.parametrize(("confidence", "right"), CASES)
def test_the_shift_is_that_of_a_slow_integration(confidence: list[float], right: list[int]) -> None:
    """Mean and 90 % interval agree with adaptive quadrature of prior times likelihood."""
    found = learn_confidence(np.array(confidence), np.array(right, dtype=float))
    about = (confidence, right)
    whole = quad(posterior, -8, 8, about, limit=200)[0]
    mean = quad(lambda d: d * posterior(d, *about), -8, 8, limit=200)[0] / whole
    assert found.shift == pytest.approx(mean, abs=1e-3)
    for end, mass in ((found.low, 0.05), (found.high, 0.95)):
        assert quad(posterior, -8, end, about, limit=200)[0] / whole == pytest.approx(
            mass, abs=3e-3
        )


def test_without_answers_the_prior_stays() -> None:
    """Before any answer the shift is 0, give or take 1.645, and nothing is said."""
    found = learn_confidence(np.zeros(0), np.zeros(0))
    assert found.shift == pytest.approx(0, abs=1e-9)
    # Quantile of the standard normal, from any printed table.
    assert (found.low, found.high) == pytest.approx((-1.645, 1.645), abs=5e-3)
    assert math.isnan(found.stated)
    assert math.isnan(found.right)
    assert found.word == "not shown to be either"


@pytest.mark.parametrize(
    ("stated", "share", "word"),
    [
        (0.95, 0.5, "overconfident"),
        (0.5, 0.95, "underconfident"),
        (0.8, 0.8, "not shown to be either"),
    ],
)
def test_one_word_says_what_the_interval_allows(stated: float, share: float, word: str) -> None:
    """Forty answers, half right at .95 or nearly all right at .5, show one of the two."""
    right = np.array([1.0] * round(40 * share) + [0.0] * round(40 * (1 - share)))
    found = learn_confidence(np.full(40, stated), right)
    assert found.word == word
    assert found.n == 40
    assert found.stated == pytest.approx(stated)
    assert found.right == pytest.approx(share)


def test_the_chance_of_being_right_is_shifted() -> None:
    """After many answers at .9, half of them right, .9 stands for about one half."""
    right = np.tile([1.0, 0.0], 400)
    found = learn_confidence(np.full(800, 0.9), right)
    assert found.chance(0.9) == pytest.approx(0.5, abs=0.02)
    assert found.chance(0.5) < 0.2
    assert 0 < found.chance(0.0) < found.chance(1.0) < 1


def test_the_order_of_answers_of_confidence_is_irrelevant() -> None:
    """Answers in another order give the same shift."""
    rng = np.random.default_rng(1)
    confidence, right = rng.random(30), (rng.random(30) < 0.6).astype(float)
    order = rng.permutation(30)
    one, other = (
        learn_confidence(confidence, right),
        learn_confidence(confidence[order], right[order]),
    )
    assert one.shift == pytest.approx(other.shift, abs=1e-12)
