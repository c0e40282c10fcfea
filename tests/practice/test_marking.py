"""Marks: the score is Brier's up to what the truth fixes, and honesty pays best."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from sklearn.metrics import brier_score_loss  # type: ignore[import-untyped]  # ships no types

from corallum.model.prior import genus_prior
from corallum.practice.item import Item, PracticeAnswer
from corallum.practice.marking import (
    Mark,
    as_distribution,
    best_distribution,
    mark_answer,
    quadratic_score,
)
from support import compiled

GRID = np.linspace(0, 1, 101).tolist()


@cache
def prior() -> NDArray[np.float64]:
    """P(genus) of the region."""
    found: NDArray[np.float64] = genus_prior(compiled(), "red_sea")
    return found


def item(genus: str = "Favites", **best: float) -> Item:
    """An item and the best that can be said of it."""
    return Item("described", genus, "", "red_sea", 1, best=best)


def mark(what: Item, genera: tuple[str, ...], confidence: float) -> Mark:
    """How good an answer is."""
    return mark_answer(compiled(), what, PracticeAnswer(genera, confidence), prior())


@st.composite
def distributions(draw: st.DrawFn, size: int = 6) -> NDArray[np.float64]:
    """Any distribution over a few genera."""
    weight = np.array(draw(st.lists(st.floats(0, 1), min_size=size, max_size=size)))
    found: NDArray[np.float64] = (weight + 1e-9) / (weight + 1e-9).sum()
    return found


def expected_brier(q: NDArray[np.float64], p: NDArray[np.float64]) -> float:
    """Mean over the truth of Brier's score, the sum of squared errors, one truth at a time."""
    total = 0.0
    for truth, chance in enumerate(p.tolist()):
        errors = [said - (g == truth) for g, said in enumerate(q.tolist())]
        total += chance * sum(error * error for error in errors)
    return total


@given(distributions(), distributions())
def test_the_score_is_the_expected_brier_score(
    q: NDArray[np.float64], p: NDArray[np.float64]
) -> None:
    """Half the expected Brier score (Brier 1950), less what p alone fixes, is taken off 1."""
    own = expected_brier(p, p)
    assert quadratic_score(q, p) == pytest.approx(1 - (expected_brier(q, p) - own) / 2, abs=1e-9)


@given(st.floats(0, 1), st.floats(0, 1))
def test_of_two_genera_it_is_the_published_score(q: float, p: float) -> None:
    """With two genera the excess over the best is that of scikit-learn's Brier score."""
    weight = [p, 1 - p]
    said = brier_score_loss([1, 0], [q, q], sample_weight=weight, labels=[0, 1])
    best = brier_score_loss([1, 0], [p, p], sample_weight=weight, labels=[0, 1])
    score = quadratic_score(np.array([q, 1 - q]), np.array([p, 1 - p]))
    assert score == pytest.approx(1 - (said - best), abs=1e-9)


@given(distributions(), distributions())
def test_nothing_beats_the_best_posterior(q: NDArray[np.float64], p: NDArray[np.float64]) -> None:
    """No distribution scores above p itself, and none below nothing."""
    assert quadratic_score(p, p) == 1
    assert -1e-12 <= quadratic_score(q, p) <= 1
    assert expected_brier(q, p) >= expected_brier(p, p) - 1e-12


def test_certain_of_different_genera_is_nothing() -> None:
    """Being sure of one genus where it surely is another scores 0, of the same 1."""
    sure = item(Favites=1.0)
    assert mark(sure, ("Goniastrea",), 1.0).score == 0
    assert mark(sure, ("Favites",), 1.0).score == 1


def test_an_honest_set_scores_best_where_the_water_cannot_settle() -> None:
    """Of two equally probable genera, both with certainty beat either at any confidence."""
    open_ = item(Favites=0.5, Goniastrea=0.5)
    both = mark(open_, ("Favites", "Goniastrea"), 1.0).score
    alone = [mark(open_, ("Favites",), confidence).score for confidence in GRID]
    assert both == pytest.approx(1, abs=1e-12)
    assert max(alone) < both - 0.1
    guess = max(alone)
    assert guess > mark(open_, ("Favites",), 1.0).score


@pytest.mark.parametrize("chance", [0.3, 0.6, 0.9])
def test_a_confidence_as_high_as_is_warranted_scores_best(chance: float) -> None:
    """Where one genus has chance A and the rest is as in the region, A is the best confidence."""
    rest = prior()[:-1].copy()
    rest[compiled().genera.index("Favites")] = 0
    rest *= (1 - chance) / (rest.sum() + prior()[-1])
    best = dict(zip(compiled().genera, rest.tolist(), strict=True)) | {"Favites": chance}
    scores = [mark(item(**best), ("Favites",), confidence).score for confidence in GRID]
    assert GRID[int(np.argmax(scores))] == pytest.approx(chance)


@pytest.mark.parametrize(
    ("genera", "right"),
    [
        pytest.param(("Favites",), True, id="the truth"),
        pytest.param(("Favites", "Goniastrea"), True, id="the honest set"),
        pytest.param(("Goniastrea",), False, id="the other"),
        pytest.param(("Favites", "Porites"), False, id="the truth and one ruled out"),
        pytest.param(("Favites", "Goniastrea", "Porites"), False, id="the set and one ruled out"),
        pytest.param((), False, id="not in the reference"),
    ],
)
def test_right_is_the_truth_and_nothing_ruled_out(genera: tuple[str, ...], right: bool) -> None:
    """An answer is right with the truth in it and no genus outside the honest set."""
    found = mark(item(Favites=0.5, Goniastrea=0.45, Porites=0.05), genera, 0.8)
    assert found.right is right
    assert found.honest_set == ("Favites", "Goniastrea")


def test_the_truth_is_right_even_where_a_full_look_misleads() -> None:
    """A colony that looks like another genus may still be named as what it is."""
    odd = item("Favites", Goniastrea=0.97, Favites=0.03)
    assert mark(odd, ("Favites",), 0.5).right
    assert mark(odd, ("Favites", "Goniastrea"), 0.9).right
    assert not mark(odd, ("Goniastrea",), 0.9).right


@given(distributions(8))
def test_the_honest_set_is_the_smallest(p: NDArray[np.float64]) -> None:
    """It holds nine tenths, and does not without its least probable genus."""
    genera = compiled().genera[:8]
    best = dict(zip(genera, p.tolist(), strict=True))
    found = mark(item(genera[0], **best), (genera[0],), 0.5).honest_set
    held = [best[genus] for genus in found]
    assert held == sorted(held, reverse=True)
    assert sum(held) >= 0.9 - 1e-9
    assert sum(held[:-1]) < 0.9 + 1e-9
    assert min(held) >= max([best[genus] for genus in genera if genus not in found], default=0)


@settings(max_examples=50)
@given(st.sets(st.sampled_from(compiled().genera), max_size=10), st.floats(0, 1))
def test_an_answer_is_a_distribution(genera: set[str], confidence: float) -> None:
    """It adds up to one, the genera named share the confidence evenly, the rest is as met."""
    answer = PracticeAnswer(tuple(sorted(genera)), confidence)
    q = as_distribution(compiled(), answer, prior())
    assert q.min() >= 0
    assert q.sum() == pytest.approx(1, abs=1e-12)
    named = [compiled().genera.index(genus) for genus in genera] or [len(compiled().genera)]
    np.testing.assert_allclose(q[named], confidence / len(named), rtol=0, atol=1e-12)
    other = np.setdiff1d(np.arange(len(q)), named)
    ratio = q[other] / prior()[other]
    np.testing.assert_allclose(ratio, ratio[0], rtol=1e-9)


def test_not_in_the_reference_is_an_answer() -> None:
    """Naming nothing with confidence agrees with a posterior that is on something else."""
    assert mark(item(Favites=0.1), (), 0.9).score > 0.98
    assert mark(item(Favites=0.9), (), 0.9).score < 0.3


def test_a_genus_that_was_taken_out_since_counts_no_more() -> None:
    """What the reference no longer holds lies on something else."""
    p = best_distribution(compiled(), {"Favites": 0.6, "Coralia": 0.4})
    assert p[compiled().genera.index("Favites")] == pytest.approx(0.6)
    assert p[-1] == pytest.approx(0.4)
