"""Laws of how many records to have read again, and which."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from corallum.errors import InputError
from corallum.estimate.said_and_true import estimate_said_and_true
from corallum.estimate.second_readings import share_out_readings, size_for_overall_accuracy

seeds = st.integers(0, 2**32 - 1)
records = st.lists(st.integers(0, 500), min_size=1, max_size=30)


@given(seed=seeds, se=st.floats(0.002, 0.1))
def test_shared_out_best_the_number_does_and_otherwise_not(seed: int, se: float) -> None:
    """In proportion to W sqrt(U (1 - U)) so many readings have the error; no other way less.

    Variance of the overall accuracy: sum W^2 U (1 - U) / n (Cochran 1977, section 5.5).
    """
    rng = np.random.default_rng(seed)
    weight, users = rng.dirichlet(np.ones(5)), rng.uniform(0.5, 0.99, 5)
    n = size_for_overall_accuracy(weight, users, se)
    spread = users * (1 - users)
    best = weight * np.sqrt(spread)
    other = rng.dirichlet(np.ones(5))
    errors = [
        np.sqrt((weight**2 * spread / (n * part)).sum()) for part in (best / best.sum(), other)
    ]
    assert errors[0] == pytest.approx(se, rel=1e-9)
    assert errors[1] >= se * (1 - 1e-9)


def test_as_many_readings_bring_the_error_wanted() -> None:
    """Said and true with that many readings, shared out best, has the error asked for, to 1 %."""
    weight, users = np.array([0.5, 0.3, 0.2]), np.array([0.9, 0.8, 0.6])
    n = size_for_overall_accuracy(weight, users, 0.01)
    best = weight * np.sqrt(users * (1 - users))
    each = n * best / best.sum()
    right = each * users
    table = np.diag(right) + np.roll(np.diag(each - right), 1, axis=1)
    found = estimate_said_and_true(table, weight=weight).overall
    assert float(found.se) == pytest.approx(0.01, rel=0.01)


@given(records=records, n=st.integers(0, 3000), more=st.integers(0, 500))
def test_more_readings_take_none_away(records: list[int], n: int, more: int) -> None:
    """With more readings in all no genus has fewer."""
    assert (share_out_readings(records, n + more) >= share_out_readings(records, n)).all()


@given(records=records, n=st.integers(0, 3000))
def test_so_many_are_shared_out(records: list[int], n: int) -> None:
    """All readings are shared out where there are records, with at most one more a genus."""
    found = share_out_readings(records, n)
    floor = np.minimum(records, 10).sum()
    wanted = max(min(n, sum(records)), floor)
    assert wanted <= found.sum() <= wanted + len(records)


def test_by_hand() -> None:
    """120 readings of 400, 100, 20 and 3 records: 10, 10, 10, 3, and 87 in 390 : 90 : 10.

    By hand: 10 + 69.24, 10 + 15.98, 10 + 1.78 and 3, rounded up.
    """
    assert share_out_readings([400, 100, 20, 3], 120).tolist() == [80, 26, 12, 3]


def test_a_genus_never_said_is_not_read() -> None:
    """No records, no readings; a rare genus is read whole."""
    assert share_out_readings([0, 4, 100], 20).tolist()[:2] == [0, 4]


@pytest.mark.parametrize(
    ("call", "places"),
    [
        pytest.param(
            lambda: size_for_overall_accuracy([1, 1], [2, 0.5, 1], 0),
            ["users", "users", "wanted standard error"],
            id="all-at-once",
        ),
        pytest.param(lambda: size_for_overall_accuracy([0], [0.5], 0.1), ["users"], id="weight"),
        pytest.param(lambda: share_out_readings([4, -1], 9), ["records"], id="minus"),
        pytest.param(lambda: share_out_readings([], 9), ["records"], id="none"),
        pytest.param(lambda: share_out_readings([4], np.nan), ["readings"], id="nan"),
        pytest.param(lambda: share_out_readings([4], -9), ["readings"], id="minus-readings"),
    ],
)
def test_what_means_nothing_is_refused(call: Callable[[], object], places: list[str]) -> None:
    """Each is refused by name."""
    with pytest.raises(InputError) as caught:
        call()
    assert [one.place for one in caught.value.faults] == places
