"""Laws of correction by an error matrix."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from corallum.errors import InputError
from corallum.estimate.matrix_correction import correct_by_matrix
from corallum.estimate.rogan_gladen import Recognition, correct_share

seeds = st.integers(0, 2**32 - 1)
ROWS = np.array([[0.9, 0.08, 0.02], [0.1, 0.85, 0.05], [0.05, 0.15, 0.8]])


def case(seed: int, size: int = 4) -> tuple[np.ndarray, np.ndarray]:
    """True shares, and rows that are right in 7 of 10 or more."""
    rng = np.random.default_rng(seed)
    right = rng.uniform(0.7, 1, size)
    rows = rng.dirichlet(np.ones(size), size) * (1 - right)[:, None] + np.diag(right)
    return rng.dirichlet(np.ones(size)), rows


@given(seed=seeds)
def test_shares_come_back(seed: int) -> None:
    """What is said through any matrix that is mostly right gives the true shares back."""
    truth, rows = case(seed)
    found = correct_by_matrix(1000 * truth @ rows, rows)
    assert found.corrected.value == pytest.approx(truth, abs=1e-9)
    assert found.corrected.value.sum() == pytest.approx(1)


@given(seed=seeds)
def test_the_covariance_is_that_of_small_steps(seed: int) -> None:
    """The covariance agrees with the delta method on derivatives taken by small steps."""
    truth, rows = case(seed, 3)
    counts, behind = 500 * truth @ rows, np.array([40.0, 70.0, 90.0])
    found = correct_by_matrix(counts, rows, validated=behind)

    def solve(q: np.ndarray, p: np.ndarray) -> np.ndarray:
        return np.linalg.solve(p.T, q)

    step, q = 1e-6, counts / counts.sum()
    unit = np.eye(3) * step
    by_said = np.array([(solve(q + e, rows) - solve(q - e, rows)) / (2 * step) for e in unit]).T
    expected = by_said @ (np.diag(q) - np.outer(q, q)) @ by_said.T / counts.sum()
    for i in range(3):
        moved = []
        for e in unit:
            at = np.zeros((3, 3))
            at[i] = e
            moved.append((solve(q, rows + at) - solve(q, rows - at)) / (2 * step))
        slope, p = np.array(moved).T, rows[i]
        expected += slope @ (np.diag(p) - np.outer(p, p)) @ slope.T / behind[i]
    assert found.covariance == pytest.approx(expected, rel=1e-4, abs=1e-9)


@given(said=st.integers(0, 400), se=st.floats(0.7, 0.99), sp=st.floats(0.7, 0.99))
def test_two_genera_are_rogan_and_gladens(said: int, se: float, sp: float) -> None:
    """With one genus against all others, share and error are those of Rogan and Gladen 1978."""
    rows = [[sp, 1 - sp], [1 - se, se]]
    found = correct_by_matrix([400 - said, said], rows, validated=[401, 122])
    expected = correct_share(said, 400, Recognition(se, sp, 122, 401))
    assert found.corrected.value[1] == pytest.approx(expected.value, abs=1e-9)
    assert found.corrected.se == pytest.approx([expected.se, expected.se], rel=1e-6, abs=1e-9)


@given(seed=seeds)
def test_order_of_genera_does_not_matter(seed: int) -> None:
    """Genera listed otherwise have the same figures, listed otherwise."""
    truth, rows = case(seed)
    order = np.random.default_rng(seed).permutation(4)
    counts = 300 * truth @ rows
    one = correct_by_matrix(counts, rows, validated=[9, 8, 7, 6])
    other = correct_by_matrix(
        counts[order], rows[np.ix_(order, order)], validated=np.array([9, 8, 7, 6])[order]
    )
    assert other.corrected.se == pytest.approx(one.corrected.se[order], rel=1e-6, abs=1e-9)
    assert other.condition == pytest.approx(one.condition)


def test_right_names_need_no_correction() -> None:
    """With no errors the shares stay as said, with the multinomial error, at condition 1."""
    found = correct_by_matrix([30, 50, 20], np.eye(3))
    assert found.corrected.value == pytest.approx([0.3, 0.5, 0.2])
    assert found.corrected.se == pytest.approx(np.sqrt([0.0021, 0.0025, 0.0016]))
    assert found.condition == pytest.approx(1)


def test_more_test_colonies_make_it_surer() -> None:
    """The error falls with the colonies behind the rows, to that of known rows."""
    known = correct_by_matrix([315, 269, 416], ROWS).corrected.se
    many = correct_by_matrix([315, 269, 416], ROWS, validated=[1e9] * 3).corrected.se
    few = correct_by_matrix([315, 269, 416], ROWS, validated=[50] * 3).corrected.se
    assert many == pytest.approx(known, rel=1e-5)
    assert (few > 1.2 * known).all()


def test_a_share_below_nought_is_kept_and_clipped_for_show() -> None:
    """Too few records of a genus that is often named wrongly give less than 0, shown as 0."""
    found = correct_by_matrix([950, 30, 20], ROWS)
    assert found.corrected.value.min() < 0
    assert found.shown.min() == 0
    assert found.shown.sum() == pytest.approx(1)


def test_genera_named_alike_are_refused_by_number() -> None:
    """A matrix that would blow errors up is refused, with the two genera most alike."""
    rows = [[0.5, 0.1, 0.4], [0.0, 1.0, 0.0], [0.45, 0.1, 0.45]]
    with pytest.raises(InputError) as caught:
        correct_by_matrix([10, 10, 10], rows)
    assert "Genera 0 and 2 are named most alike" in caught.value.faults[0].remedy
    assert correct_by_matrix([10, 10, 10], rows, most_condition=1e3).condition > 10


def test_a_matrix_without_a_solution_is_refused() -> None:
    """Two genera named exactly alike are refused as such, however much is allowed."""
    with pytest.raises(InputError, match="condition number"):
        correct_by_matrix([10, 10], [[0.5, 0.5], [0.5, 0.5]], most_condition=1e12)


def test_every_row_that_does_not_add_up_is_named() -> None:
    """Rows that do not add up to 1 are named at once."""
    with pytest.raises(InputError) as caught:
        correct_by_matrix([1, 1, 1], [[0.9, 0, 0], [0, 1, 0], [0.2, 0, 1]])
    assert [one.place for one in caught.value.faults] == ["row 0", "row 2"]


@pytest.mark.parametrize(
    ("call", "text"),
    [
        pytest.param(lambda: correct_by_matrix([1, 1], ROWS), "2 by 2", id="shape"),
        pytest.param(lambda: correct_by_matrix([0, 0, 0], ROWS), "some records", id="none"),
        pytest.param(
            lambda: correct_by_matrix([1, 1, 1], ROWS, validated=[5, 0, 5]),
            "above 0",
            id="untested",
        ),
        pytest.param(
            lambda: correct_by_matrix([1, 1, 1], ROWS, validated=[5, 5]), "each genus", id="short"
        ),
        pytest.param(lambda: correct_by_matrix([1, -1, 1], ROWS), "0 or more", id="minus"),
        pytest.param(lambda: correct_by_matrix([1, 1, 1], ROWS, level=0), "level", id="level"),
    ],
)
def test_what_means_nothing_is_refused(call: Callable[[], object], text: str) -> None:
    """Each is refused with what was expected."""
    with pytest.raises(InputError, match=text):
        call()
