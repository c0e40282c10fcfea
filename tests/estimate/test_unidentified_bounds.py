"""Absent, not looked for and not identified, kept apart."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from corallum.errors import InputError
from corallum.estimate.ratio import estimate_ratio
from corallum.estimate.unidentified import estimate_with_unidentified

# Points of three genera and of one group on four transects of 100. Invented.
NAMED = np.array([[10, 0, 5], [20, 4, 0], [5, 6, 5], [15, 0, 0]])
UNNAMED = np.array([[5], [0], [5], [10]])
POINTS = [100.0] * 4


def test_bounds_by_hand() -> None:
    """50, 10 and 10 named of 400 and 20 not: from .125 to .175, and .025 to .075 twice."""
    found = estimate_with_unidentified(NAMED, UNNAMED, POINTS)
    np.testing.assert_allclose(found.named.value, [0.125, 0.025, 0.025])
    np.testing.assert_allclose(found.at_most.value, [0.175, 0.075, 0.075])
    assert found.unidentified_share == pytest.approx(20 / 90)


def test_in_proportion_by_hand() -> None:
    """The 20 are shared out 5 to 1 to 1 and then add up to all coral."""
    found = estimate_with_unidentified(NAMED, UNNAMED, POINTS)
    expected = (np.array([50, 10, 10]) + 20 * np.array([5, 1, 1]) / 7) / 400
    np.testing.assert_allclose(found.in_proportion.value, expected)
    assert found.in_proportion.value.sum() == pytest.approx(float(found.coral.value))


def test_all_coral_needs_no_bound() -> None:
    """Coral of any name or none is 90 of 400, whatever it could be."""
    found = estimate_with_unidentified(NAMED, UNNAMED, POINTS)
    expected = estimate_ratio(NAMED.sum(axis=1) + UNNAMED[:, 0], POINTS)
    assert float(found.coral.value) == pytest.approx(0.225)
    assert float(found.coral.se) == pytest.approx(float(expected.se))


def test_a_group_widens_only_what_it_could_be() -> None:
    """A family of the last two genera leaves the first without a bound to speak of."""
    found = estimate_with_unidentified(NAMED, UNNAMED, POINTS, could_be=[[False, True, True]])
    assert found.named.value[0] == found.at_most.value[0]
    np.testing.assert_allclose(found.at_most.value[1:], [0.075, 0.075])
    np.testing.assert_allclose(found.in_proportion.value, [0.125, 0.05, 0.05])


def test_a_group_of_which_nothing_was_named_is_shared_evenly() -> None:
    """Two genera never named get half each of what could be either."""
    found = estimate_with_unidentified(
        [[9, 0, 0], [9, 0, 0]], [[4], [4]], [50, 50], could_be=[[False, True, True]]
    )
    np.testing.assert_allclose(found.in_proportion.value, [0.18, 0.04, 0.04])


def test_not_looked_for_is_not_absent() -> None:
    """A transect where genus 1 was not looked for is no 0: 10 of 200 points, not of 400."""
    looked = np.ones((4, 3), bool)
    looked[[0, 3], 1] = False
    found = estimate_with_unidentified(NAMED, UNNAMED, POINTS, looked_for=looked)
    assert found.named.value[1] == pytest.approx(10 / 200)
    assert found.n_looked.tolist() == [4, 2, 4]
    assert found.named.df[1] == 1
    np.testing.assert_allclose(found.named.value[[0, 2]], [0.125, 0.025])


def test_looked_for_once_is_no_figure() -> None:
    """A genus looked for on one transect alone has no figure, not a figure of 0."""
    looked = np.ones((4, 3), bool)
    looked[[0, 2, 3], 1] = False
    named = np.where(looked, NAMED, 0)
    found = estimate_with_unidentified(named, UNNAMED, POINTS, looked_for=looked)
    assert np.isnan(found.named.value[1])
    assert np.isnan(found.high[1])
    assert not np.isnan(found.named.value[[0, 2]]).any()


def test_without_unidentified_coral_the_bounds_meet() -> None:
    """If all was named, the three figures are one."""
    found = estimate_with_unidentified(NAMED, np.zeros((4, 1)), POINTS)
    np.testing.assert_array_equal(found.named.value, found.at_most.value)
    np.testing.assert_array_equal(found.named.value, found.in_proportion.value)
    assert found.unidentified_share == 0


def test_a_reef_without_coral() -> None:
    """Where there is no coral, no share of it is unidentified."""
    found = estimate_with_unidentified(np.zeros((2, 2)), np.zeros((2, 1)), [100, 100])
    assert np.isnan(found.unidentified_share)
    assert found.named.value.tolist() == [0, 0]


@given(st.lists(st.integers(0, 30), min_size=12, max_size=12), st.integers(0, 2**12 - 1))
def test_bounds_hold_whatever_it_was(counts: list[int], choice: int) -> None:
    """However the unidentified coral is dealt out, each genus lies within its bounds."""
    named = np.array(counts[:8]).reshape(4, 2)
    unnamed = np.array(counts[8:]).reshape(4, 1)
    first = np.array([[(choice >> (3 * t)) % 8 / 7] for t in range(4)]) * unnamed
    truth = named + np.hstack([first, unnamed - first])
    found = estimate_with_unidentified(named, unnamed, POINTS)
    value = estimate_ratio(truth, POINTS).value
    assert (found.named.value <= value + 1e-12).all()
    assert (value <= found.at_most.value + 1e-12).all()
    assert (found.low <= found.named.value).all()
    assert (found.at_most.value <= found.high).all()


def test_the_wide_interval_holds_the_truth() -> None:
    """Of 200 seeded surveys in which one genus is named half as often, at least 188 hold it.

    Negative control: sharing out in proportion, which assumes that it is not, holds it less
    than half the time.
    """
    rng = np.random.default_rng(11)
    bounds = proportion = 0
    for _ in range(200):
        cover = rng.beta(3, 12, 20)
        first = rng.binomial(100, cover)
        second = rng.binomial(100 - first, 0.2)
        known = np.stack([rng.binomial(first, 0.5), second], axis=1)
        found = estimate_with_unidentified(known, (first - known[:, 0])[:, None], [100.0] * 20)
        bounds += found.low[0] <= 0.2 <= found.high[0]
        middle = found.in_proportion
        proportion += middle.low[0] <= 0.2 <= middle.high[0]
    assert bounds >= 188
    assert proportion < 100


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        pytest.param(
            {"looked_for": np.arange(12).reshape(4, 3) != 4},
            "transect 1, genus 1: expected 0, as it was not looked for, found 4",
            id="met unlooked for",
        ),
        pytest.param({"could_be": [[False] * 3]}, "group 0: expected at least one", id="none"),
        pytest.param({"could_be": [[True] * 2]}, r"could be: expected shape \(1, 3\)", id="shape"),
        pytest.param({"looked_for": [[True] * 3]}, "looked for: expected shape", id="short"),
        pytest.param({"unidentified": [[1], [2]]}, "tables of like rows", id="rows"),
        pytest.param({"searched": [100.0] * 3}, "one for each of 4 transects, found 3", id="few"),
        pytest.param({"unidentified": -UNNAMED}, "unidentified: expected 0 or more", id="below 0"),
    ],
)
def test_tables_that_cannot_be_are_refused(changed: dict[str, object], said: str) -> None:
    """Shapes that do not fit and counts where nobody looked are refused."""
    given_ = {"named": NAMED, "unidentified": UNNAMED, "searched": POINTS, **changed}
    with pytest.raises(InputError, match=said):
        estimate_with_unidentified(**given_)  # type: ignore[arg-type]
