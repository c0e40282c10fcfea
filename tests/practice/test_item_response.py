"""Items from answers: gaps, weights, refusals."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import check_grad

from corallum.errors import InputError
from corallum.practice.conditional_rasch import elementary_symmetric, fit_conditional_rasch
from corallum.practice.item_response import (
    Answers,
    expected_counts,
    fit_items,
    normal_quadrature,
    read_answers,
)


def invented(n: int = 400, items: int = 6, seed: int = 5) -> np.ndarray:
    """Answers of invented observers, some items not asked."""
    rng = np.random.default_rng(seed)
    ability = rng.normal(size=(n, 1))
    difficulty = np.linspace(-1.5, 1.0, items)
    right = (rng.random((n, items)) < 1 / (1 + np.exp(difficulty - ability))).astype(float)
    right[rng.random((n, items)) < 0.2] = np.nan
    return right


def test_counting_a_pattern_is_repeating_its_row() -> None:
    """A row with a count of three is the row written three times."""
    table = invented(60)
    counts = np.arange(60) % 3 + 1
    counted = fit_items(table, counts, "rasch")
    written = fit_items(np.repeat(table, counts, axis=0), model="rasch")
    np.testing.assert_allclose(counted.difficulty, written.difficulty, atol=1e-8)
    assert counted.log_likelihood == pytest.approx(written.log_likelihood, abs=1e-8)


def test_what_was_not_asked_says_nothing() -> None:
    """An observer who was asked nothing changes no figure."""
    table = invented(80)
    nobody = np.vstack([table, np.full(table.shape[1], np.nan)])
    np.testing.assert_allclose(
        fit_items(nobody, model="1PL").difficulty,
        fit_items(table, model="1PL").difficulty,
        atol=1e-8,
    )


def test_the_richer_model_fits_no_worse() -> None:
    """The log likelihood rises from slope one to a common slope to slopes of their own."""
    table = invented()
    logs = [fit_items(table, model=m).log_likelihood for m in ("rasch", "1PL", "2PL")]
    assert logs[0] <= logs[1] + 1e-6
    assert logs[1] <= logs[2] + 1e-6


def test_the_maximum_is_one() -> None:
    """At the estimates the marginal log likelihood, differentiated numerically, is flat."""
    table = invented()
    found = fit_items(table, model="2PL")
    data, grid = read_answers(table), normal_quadrature()
    n = table.shape[1]

    def log_likelihood(x: np.ndarray) -> float:
        return expected_counts(data, grid, x[:n], x[n:])[2]

    def flat(x: np.ndarray) -> np.ndarray:
        return np.zeros_like(x)

    at = np.concatenate([found.slope, found.intercept])
    assert check_grad(log_likelihood, flat, at) < 0.01
    assert check_grad(log_likelihood, flat, at + 0.1) > 1


def test_one_step_is_not_called_converged() -> None:
    """A search cut short says so."""
    assert not fit_items(invented(), model="2PL", most_steps=1).converged


@pytest.mark.parametrize(
    ("table", "counts", "place"),
    [
        pytest.param([[1, 2], [0, 1]], None, "row 1, column 2", id="neither right nor wrong"),
        pytest.param([1, 0, 1], None, "table", id="one row as a list"),
        pytest.param([[1, 0], [0, 1]], [1, -1], "counts", id="a negative count"),
        pytest.param([[1, 0], [1, 1]], None, "column 1", id="all right"),
        pytest.param([[1, np.nan], [0, np.nan]], None, "column 2", id="nobody asked"),
    ],
)
def test_tables_that_can_not_be_fitted_are_refused(
    table: list[list[float]], counts: list[int] | None, place: str
) -> None:
    """What can't be read or has no finite answer is refused with its place."""
    with pytest.raises(InputError) as caught:
        fit_items(table, counts)
    assert caught.value.faults[0].place == place


def test_answers_given_are_not_changed() -> None:
    """Reading leaves the table as it was and marks right, wrong and not asked apart."""
    table = np.array([[1.0, np.nan], [0.0, 1.0]])
    before = table.copy()
    data = read_answers(table)
    assert isinstance(data, Answers)
    np.testing.assert_array_equal(table, before)
    assert data.right.tolist() == [[1, 0], [0, 1]]
    assert data.wrong.tolist() == [[0, 0], [1, 0]]


@given(st.lists(st.floats(0.1, 3), min_size=1, max_size=7))
def test_elementary_symmetric_functions(ease: list[float]) -> None:
    """Each is the sum over subsets of the products, as the definition says."""
    found = elementary_symmetric(ease)
    for order in range(len(ease) + 1):
        subsets = itertools.combinations(ease, order)
        assert found[order] == pytest.approx(sum(np.prod(s) for s in subsets), rel=1e-9)


def test_conditional_estimates_need_every_answer() -> None:
    """The conditional method refuses gaps and items without a finite difficulty."""
    with pytest.raises(InputError, match="no gaps"):
        fit_conditional_rasch([[1, np.nan], [0, 1]])
    with pytest.raises(InputError, match="column 1"):
        fit_conditional_rasch([[1, 0, 1], [1, 1, 0], [1, 0, 0]])


def test_two_items_by_hand() -> None:
    """With two items the difference of difficulties is the log of the ratio of one-right scores."""
    found = fit_conditional_rasch([[1, 0], [0, 1]], [30, 10])
    np.testing.assert_allclose(found.difficulty, [-np.log(3) / 2, np.log(3) / 2], atol=1e-9)
    # The variance of log(30/10) is 1/30 + 1/10; half of the difference has half the error.
    np.testing.assert_allclose(found.difficulty_error, np.sqrt(1 / 30 + 1 / 10) / 2, atol=1e-9)
