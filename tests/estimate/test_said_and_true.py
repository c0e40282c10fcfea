"""Laws of shares whose strata are what was said."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from corallum.errors import InputError
from corallum.estimate.said_and_true import estimate_said_and_true
from corallum.estimate.strata_said_and_true import SecondReadings, estimate_in_strata
from corallum.estimate.stratified import estimate_stratified

seeds = st.integers(0, 2**32 - 1)
# Invented: what 100 records of each of three genera truly are.
TRUE_GIVEN_SAID = np.array([[0.8, 0.15, 0.05], [0.1, 0.9, 0.0], [0.05, 0.25, 0.7]])
SAID = np.array([0.5, 0.3, 0.2])


def survey(seed: int, size: int = 4) -> tuple[np.ndarray, np.ndarray]:
    """A table of second readings, three or more a row, and weights."""
    rng = np.random.default_rng(seed)
    table = rng.integers(0, 12, (size, size)) + 3 * np.eye(size, dtype=int)
    return table, rng.uniform(0.05, 1, size)


def listed(table: np.ndarray) -> SecondReadings:
    """The readings of a table one by one, said genera being the strata."""
    said, true = np.nonzero(table)
    times = table[said, true]
    said, true = np.repeat(said, times), np.repeat(true, times)
    return SecondReadings(said, said, true)


@given(seed=seeds)
def test_shares_are_means_over_strata(seed: int) -> None:
    """Shares and errors are those of a stratified mean of noughts and ones."""
    table, weight = survey(seed)
    found = estimate_said_and_true(table, weight=weight)
    one = listed(table)
    is_true = (one.true[:, None] == np.arange(4)).astype(float)
    expected = estimate_stratified(is_true, one.stratum, weight / weight.sum()).survey
    assert found.shares.value == pytest.approx(expected.value, rel=1e-9)
    assert found.shares.se == pytest.approx(expected.se, rel=1e-9, abs=1e-12)


@given(seed=seeds)
def test_accuracies_are_ratios_over_strata(seed: int) -> None:
    """Users', producers' and overall accuracy agree with the ratios of Stehman 2014.

    With said genera as strata and so many records that what was read is next to none of them.
    """
    table, weight = survey(seed)
    found = estimate_said_and_true(table, weight=weight)
    other = estimate_in_strata(listed(table), weight * 1e12, 4)
    for name in ("shares", "users", "producers", "overall"):
        one, two = getattr(found, name), getattr(other, name)
        assert one.value == pytest.approx(two.value, rel=1e-9, nan_ok=True)
        assert one.se == pytest.approx(two.se, rel=1e-6, abs=1e-9, nan_ok=True)
    assert found.cells == pytest.approx(other.cells.value, rel=1e-9)


@given(seed=seeds, factor=st.floats(1e-3, 1e3))
def test_the_unit_of_weights_does_not_matter(seed: int, factor: float) -> None:
    """Weights count as shares of their sum."""
    table, weight = survey(seed)
    one = estimate_said_and_true(table, weight=weight)
    other = estimate_said_and_true(table, weight=weight * factor)
    assert other.shares.low == pytest.approx(one.shares.low, rel=1e-9)


@given(seed=seeds)
def test_order_of_genera_does_not_matter(seed: int) -> None:
    """Genera listed otherwise have the same figures, listed otherwise."""
    table, weight = survey(seed)
    order = np.random.default_rng(seed).permutation(4)
    one = estimate_said_and_true(table, weight=weight)
    other = estimate_said_and_true(table[np.ix_(order, order)], weight=weight[order])
    assert other.shares.se == pytest.approx(one.shares.se[order], rel=1e-9, abs=1e-12)
    assert other.producers.se == pytest.approx(one.producers.se[order], nan_ok=True)


@given(seed=seeds)
def test_shares_add_up_to_one(seed: int) -> None:
    """Whatever was read, shares and cells add up to 1."""
    table, weight = survey(seed)
    found = estimate_said_and_true(table, weight=weight)
    assert found.shares.value.sum() == pytest.approx(1, rel=1e-12)
    assert found.cells.sum() == pytest.approx(1, rel=1e-12)


def test_right_names_need_no_correction() -> None:
    """Where every second reading bears the first out, shares stay as said, without error."""
    found = estimate_said_and_true(np.diag([5, 9, 30]), weight=SAID)
    assert found.shares.value == pytest.approx(SAID, rel=1e-12)
    assert found.shares.se == pytest.approx([0, 0, 0], abs=1e-15)
    assert float(found.overall.value) == pytest.approx(1)


def test_what_was_all_read_again_is_known() -> None:
    """With every record read again the finite form has no error, the other form has."""
    table = np.array([[8, 2], [1, 9]])
    sizes = table.sum(axis=1)
    known = estimate_said_and_true(table, sizes=sizes, finite=True)
    assert known.totals is not None
    assert known.totals.value == pytest.approx([9, 11])
    assert known.shares.se == pytest.approx([0, 0], abs=1e-15)
    assert estimate_said_and_true(table, sizes=sizes).shares.se.min() > 0.05


def test_half_read_again_halves_the_variance() -> None:
    """With half of the records read the finite variance is half the infinite one."""
    table = np.array([[8, 2], [1, 9]])
    finite = estimate_said_and_true(table, sizes=[20, 20], finite=True)
    infinite = estimate_said_and_true(table, sizes=[20, 20])
    assert finite.shares.se**2 == pytest.approx(infinite.shares.se**2 / 2, rel=1e-12)


def test_a_genus_that_nobody_said_is_found() -> None:
    """A true genus without a row has a share, no user's accuracy, and a producer's of 0."""
    found = estimate_said_and_true([[30, 10], [0, 0]], weight=[1, 0])
    assert found.shares.value == pytest.approx([0.75, 0.25])
    assert np.isnan(found.users.value[1])
    assert found.producers.value[1] == 0


def test_intervals_hold_the_truth_and_said_shares_do_not() -> None:
    """Of 600 surveys with 60 second readings a genus, 95 % intervals hold 92 % or more.

    Said shares, the control, are 9 points off for the second genus, beyond every interval's
    half width; four standard errors of 95 % of 600 are 3.6 points.
    """
    rng = np.random.default_rng(5)
    truth = SAID @ TRUE_GIVEN_SAID
    held, said_held, sum_ = np.zeros(3), np.zeros(3), np.zeros(3)
    for _ in range(600):
        table = np.array([rng.multinomial(60, row) for row in TRUE_GIVEN_SAID])
        shares = estimate_said_and_true(table, weight=SAID).shares
        held += (shares.low <= truth) & (truth <= shares.high)
        said_held += (shares.low <= SAID) & (shares.high >= SAID)
        sum_ += shares.value
    assert (held / 600).min() >= 0.914
    assert (said_held / 600)[1] < 0.5
    # Four standard errors of the mean of 600, each of some .025, are .0041.
    assert sum_ / 600 == pytest.approx(truth, abs=0.0041)


def test_each_said_genus_without_second_readings_is_named() -> None:
    """All said genera that lack second readings are named at once, those without weight not."""
    with pytest.raises(InputError) as caught:
        estimate_said_and_true(
            [[1, 0, 0, 0], [0, 0, 0, 0], [0, 0, 9, 0], [0, 0, 0, 0]], weight=[1, 1, 1, 0]
        )
    assert [(one.place, one.found) for one in caught.value.faults] == [
        ("said 0", "1"),
        ("said 1", "0"),
    ]
    assert all("read again" in one.remedy for one in caught.value.faults)


TABLE = [[4, 1], [1, 4]]


@pytest.mark.parametrize(
    ("call", "text"),
    [
        pytest.param(lambda: estimate_said_and_true(TABLE), "either weights or sizes", id="none"),
        pytest.param(
            lambda: estimate_said_and_true(TABLE, weight=[1, 1], sizes=[9, 9]),
            "either weights or sizes",
            id="both",
        ),
        pytest.param(
            lambda: estimate_said_and_true([[4, 1]], weight=[1]), "as many rows", id="not-square"
        ),
        pytest.param(
            lambda: estimate_said_and_true(TABLE, weight=[0, 0]), "some above 0", id="no-weight"
        ),
        pytest.param(
            lambda: estimate_said_and_true(TABLE, weight=[1, 1], finite=True),
            "records of each genus",
            id="finite-weights",
        ),
        pytest.param(
            lambda: estimate_said_and_true(TABLE, sizes=[4, 9], finite=True),
            "at most 4 readings",
            id="too-many",
        ),
        pytest.param(lambda: estimate_said_and_true(TABLE, weight=[1, np.nan]), "finite", id="nan"),
        pytest.param(
            lambda: estimate_said_and_true([[4, -1], [1, 4]], weight=[1, 1]),
            "0 or more",
            id="minus",
        ),
        pytest.param(
            lambda: estimate_said_and_true(TABLE, weight=[1, 1], level=95), "level", id="level"
        ),
    ],
)
def test_what_means_nothing_is_refused(call: Callable[[], object], text: str) -> None:
    """Each is refused with what was expected."""
    with pytest.raises(InputError, match=text):
        call()
