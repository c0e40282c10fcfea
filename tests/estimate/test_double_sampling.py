"""Laws of double sampling."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from corallum.errors import InputError
from corallum.estimate.double_sampling import estimate_by_double_sampling

seeds = st.integers(0, 2**32 - 1)


def sample(seed: int, size: int = 3) -> tuple[np.ndarray, np.ndarray]:
    """Records named surely, some of every pair, and others by what was said."""
    rng = np.random.default_rng(seed)
    return rng.integers(1, 40, (size, size)), rng.integers(0, 500, size)


@settings(max_examples=40, deadline=None)
@given(seed=seeds)
def test_shares_are_of_greatest_likelihood(seed: int) -> None:
    """Expectation and maximisation over what others truly are end at the same shares."""
    validated, further = sample(seed)
    joint = np.full((3, 3), 1 / 9)
    for _ in range(4000):
        filled = validated + further[:, None] * joint / joint.sum(axis=1, keepdims=True)
        joint = filled / filled.sum()
    found = estimate_by_double_sampling(validated, further)
    assert found.shares.value == pytest.approx(joint.sum(axis=0), rel=1e-6)


@given(seed=seeds)
def test_two_names_have_tenenbeins_variance(seed: int) -> None:
    """K is p q (1 - theta - phi)^2 / (pi (1 - pi)), as Tenenbein 1970 has it (from memory)."""
    validated, further = sample(seed, 2)
    found = estimate_by_double_sampling(validated, further)
    p = found.shares.value[1]
    wrongly, missed = found.said_given_true[0, 1], found.said_given_true[1, 0]
    apparent = found.said[1]
    worth = p * (1 - p) * (1 - wrongly - missed) ** 2 / (apparent * (1 - apparent))
    n, total = validated.sum(), validated.sum() + further.sum()
    variance = p * (1 - p) * ((1 - worth) / n + worth / total)
    assert found.worth == pytest.approx([worth, worth], rel=1e-6, abs=1e-12)
    assert found.shares.se == pytest.approx([variance**0.5] * 2, rel=1e-9)


@given(seed=seeds)
def test_order_of_names_and_genera_does_not_matter(seed: int) -> None:
    """Names and genera listed otherwise have the same figures, listed otherwise."""
    validated, further = sample(seed)
    rng = np.random.default_rng(seed)
    names, genera = rng.permutation(3), rng.permutation(3)
    one = estimate_by_double_sampling(validated, further)
    other = estimate_by_double_sampling(validated[np.ix_(names, genera)], further[names])
    assert other.shares.value == pytest.approx(one.shares.value[genera], rel=1e-9)
    assert other.shares.se == pytest.approx(one.shares.se[genera], rel=1e-9)
    assert other.said == pytest.approx(one.said[names])


@given(seed=seeds)
def test_shares_add_up_to_one(seed: int) -> None:
    """Shares, and each row of chances, add up to 1, and K is from 0 to 1."""
    found = estimate_by_double_sampling(*sample(seed))
    assert found.shares.value.sum() == pytest.approx(1)
    assert found.said_given_true.sum(axis=1) == pytest.approx(1)
    assert ((found.worth > -1e-12) & (found.worth < 1 + 1e-12)).all()


def test_right_names_are_as_good_as_sure_ones() -> None:
    """Names always right have K 1 and the error of all 1,000 records."""
    found = estimate_by_double_sampling([[30, 0], [0, 70]], [270, 630])
    assert found.worth == pytest.approx([1, 1])
    assert found.shares.se == pytest.approx([np.sqrt(0.3 * 0.7 / 1000)] * 2)


def test_names_by_lot_add_nothing() -> None:
    """Names that tell nothing have K 0 and the error of the 100 sure records alone."""
    found = estimate_by_double_sampling([[15, 35], [15, 35]], [800, 100])
    assert found.worth == pytest.approx([0, 0], abs=1e-12)
    assert found.shares.se == pytest.approx([np.sqrt(0.3 * 0.7 / 100)] * 2)


def test_intervals_hold_the_truth_and_said_shares_do_not() -> None:
    """Of 1,000 surveys 95 % intervals hold 92 % or more; shares said, the control, are off.

    Four standard errors of 95 % of 1,000 are 2.8 points.
    """
    rng = np.random.default_rng(11)
    joint = np.array([[0.35, 0.10, 0.0], [0.02, 0.28, 0.05], [0.0, 0.02, 0.18]])
    truth, said = joint.sum(axis=0), joint.sum(axis=1)
    held, control = np.zeros(3), np.zeros(3)
    for _ in range(1000):
        validated = rng.multinomial(200, joint.ravel()).reshape(3, 3)
        shares = estimate_by_double_sampling(validated, rng.multinomial(2000, said)).shares
        held += (shares.low <= truth) & (truth <= shares.high)
        control += (shares.low <= said) & (said <= shares.high)
    assert (held / 1000).min() >= 0.92
    assert (control / 1000)[0] < 0.5


def test_all_names_that_nobody_checked_are_named() -> None:
    """Every name that was used but not checked is named at once, unused ones are not."""
    with pytest.raises(InputError) as caught:
        estimate_by_double_sampling([[0, 0], [4, 4], [0, 0], [0, 0]], [5, 5, 0, 1])
    assert [one.place for one in caught.value.faults] == ["said 0", "said 3"]


@pytest.mark.parametrize(
    ("call", "text"),
    [
        pytest.param(
            lambda: estimate_by_double_sampling([[4, 1], [1, 4]], [3]), "2 numbers", id="lengths"
        ),
        pytest.param(
            lambda: estimate_by_double_sampling([[0, 0], [0, 0]], [0, 0]), "random part", id="none"
        ),
        pytest.param(
            lambda: estimate_by_double_sampling([[4, 1], [1, 4]], [3, -1]), "0 or more", id="minus"
        ),
        pytest.param(
            lambda: estimate_by_double_sampling([[4, 1], [1, 4]], [3, 1], 1.5), "level", id="level"
        ),
        pytest.param(lambda: estimate_by_double_sampling([4, 1], [3, 1]), "numbers", id="flat"),
    ],
)
def test_what_means_nothing_is_refused(call: Callable[[], object], text: str) -> None:
    """Each is refused with what was expected."""
    with pytest.raises(InputError, match=text):
        call()
