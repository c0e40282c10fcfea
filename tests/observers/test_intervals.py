"""Laws of the intervals of a share."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from corallum.errors import InputError
from corallum.observers.intervals import (
    Interval,
    clopper_pearson_interval,
    coverage,
    jeffreys_interval,
    lower_bound,
    wald_interval,
    wilson_interval,
)

HONEST = [
    pytest.param(wilson_interval, id="Wilson"),
    pytest.param(clopper_pearson_interval, id="Clopper-Pearson"),
    pytest.param(jeffreys_interval, id="Jeffreys"),
]
Method = Callable[[int, int, float], Interval]


@pytest.mark.parametrize("method", HONEST)
@given(data=st.data(), n=st.integers(1, 400), level=st.floats(0.5, 0.999))
def test_the_share_lies_within(method: Method, data: st.DataObject, n: int, level: float) -> None:
    """The share seen lies within its interval, and the interval within 0 to 1."""
    right = data.draw(st.integers(0, n))
    found = method(right, n, level)
    assert 0 <= found.low <= right / n + 1e-12
    assert right / n - 1e-12 <= found.high <= 1


@pytest.mark.parametrize("method", HONEST)
@given(data=st.data(), n=st.integers(1, 200))
def test_right_and_wrong_are_mirrored(method: Method, data: st.DataObject, n: int) -> None:
    """The interval of the wrong answers is that of the right ones, mirrored."""
    right = data.draw(st.integers(0, n))
    one, other = method(right, n, 0.95), method(n - right, n, 0.95)
    assert (1 - other.high, 1 - other.low) == pytest.approx((one.low, one.high), abs=1e-9)


@given(n=st.integers(1, 60), share=st.floats(0.001, 0.999))
def test_the_exact_interval_never_covers_less(n: int, share: float) -> None:
    """Clopper and Pearson's 95 % covers at least 95 %, whatever the share."""
    assert coverage(clopper_pearson_interval, n, share) >= 0.95 - 1e-9


def test_walds_interval_does_cover_less() -> None:
    """Negative control: at .98 and 30 answers Wald's 95 % covers less than half."""
    assert coverage(wald_interval, 30, 0.98) < 0.5


@given(data=st.data(), n=st.integers(2, 200))
def test_one_more_right_raises_the_bound(data: st.DataObject, n: int) -> None:
    """The accuracy shown with confidence rises with every right answer."""
    right = data.draw(st.integers(0, n - 1))
    assert lower_bound(right, n) < lower_bound(right + 1, n)


@pytest.mark.parametrize(
    ("right", "n", "level", "place"),
    [
        pytest.param(0, 0, 0.95, "answers", id="no answer"),
        pytest.param(5, 4, 0.95, "right answers", id="more right than answers"),
        pytest.param(-1, 4, 0.95, "right answers", id="fewer than none"),
        pytest.param(1, 4, 95.0, "level", id="a level in per cent"),
    ],
)
def test_counts_that_mean_nothing_are_refused(right: int, n: int, level: float, place: str) -> None:
    """What cannot be a count or a level is refused by name."""
    with pytest.raises(InputError) as caught:
        wilson_interval(right, n, level)
    assert [fault.place for fault in caught.value.faults] == [place]
