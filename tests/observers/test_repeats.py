"""The same observer read again."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from corallum.errors import InputError
from corallum.observers.intervals import wilson_interval
from corallum.observers.repeats import chance_corrected, compare_repeats

LABELS = st.sampled_from(["Acropora", "Porites", "Favites", None])


def test_cohens_own_table() -> None:
    """Cohen 1960's table of 200 has kappa .492; statsmodels 0.15.0 gives .49153, error .0510."""
    table = np.array([[0.44, 0.07, 0.09], [0.05, 0.20, 0.05], [0.01, 0.03, 0.06]]) * 200
    found = chance_corrected(table)
    assert found is not None
    assert found == pytest.approx((0.49153, 0.0510), abs=5.1e-5)


def test_the_large_sample_error_of_1969() -> None:
    """Fleiss, Cohen and Everitt 1969: kappa .429, variance .00288 (as psych 2.2.9 prints)."""
    found = chance_corrected([[106, 10, 4], [22, 28, 10], [2, 12, 6]])
    assert found is not None
    assert found[0] == pytest.approx(0.4286, abs=5.1e-5)
    assert found[1] ** 2 == pytest.approx(0.002885, abs=5.1e-7)


def test_what_is_read_again_at_once_does_not_count() -> None:
    """Pairs less than a day apart are left out and counted."""
    found = compare_repeats(["a", "b", "a"], ["a", "a", "a"], [0.2, 3, 9])
    assert (found.n, found.same, found.too_soon) == (2, 1, 1)
    assert found.share == 0.5
    assert found.share_range == wilson_interval(1, 2)


def test_one_label_throughout_can_not_be_corrected() -> None:
    """Where every answer is one label the share is 1 and the corrected figure unknown."""
    found = compare_repeats(["a"] * 5, ["a"] * 5, [7] * 5)
    assert found.share == 1
    assert found.corrected is None
    assert found.corrected_range is None


def test_nothing_read_again() -> None:
    """Without a pair there is no figure."""
    found = compare_repeats([], [], [])
    assert (found.n, found.share, found.corrected) == (0, None, None)


@given(st.lists(st.tuples(LABELS, LABELS), min_size=1, max_size=40))
def test_which_reading_came_first_is_no_matter(pairs: list[tuple[str | None, str | None]]) -> None:
    """Both figures stay the same when the readings change places."""
    first, second = [p[0] for p in pairs], [p[1] for p in pairs]
    one = compare_repeats(first, second, [5] * len(pairs))
    other = compare_repeats(second, first, [5] * len(pairs))
    assert one.same == other.same
    assert (one.corrected is None) == (other.corrected is None)
    if one.corrected is not None and one.corrected_range is not None:
        assert one.corrected == pytest.approx(other.corrected, abs=1e-9)
        assert one.corrected_range.low <= one.corrected <= one.corrected_range.high


@pytest.mark.parametrize(
    ("second", "days", "expected"),
    [
        pytest.param(["a"], [2, 2], "three the same", id="a reading missing"),
        pytest.param(["a", "b"], [2, -1], "0 or more", id="days backwards"),
        pytest.param(["a", "b"], [2, np.nan], "0 or more", id="days missing"),
    ],
)
def test_readings_that_do_not_pair_are_refused(
    second: list[str], days: list[float], expected: str
) -> None:
    """Readings must pair up, days must not be negative or missing."""
    with pytest.raises(InputError, match=expected):
        compare_repeats(["a", "b"], second, days)
