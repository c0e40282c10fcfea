"""Laws of forgetting curves."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from corallum.practice.forgetting import (
    ebbinghaus_savings,
    half_life_recall,
    half_life_wait,
    power_recall,
)

CURVES = [
    pytest.param(ebbinghaus_savings, id="Ebbinghaus"),
    pytest.param(lambda t: half_life_recall(t, 30.0), id="half-life"),
    pytest.param(lambda t: power_recall(t, 30.0), id="power law"),
]


@pytest.mark.parametrize("curve", CURVES)
@given(times=st.lists(st.floats(0, 1e5), min_size=2, max_size=20))
def test_nobody_remembers_more_with_time(curve, times: list[float]) -> None:  # type: ignore[no-untyped-def]  # noqa: ANN001
    """Each curve begins at 1, only falls, and never below 0."""
    left = curve(np.sort([0.0, *times]))
    assert left[0] == 1
    assert np.all(np.diff(left) <= 0)
    assert np.all(left >= 0)


@given(st.floats(0.01, 1), st.floats(0.1, 1000))
def test_waiting_undoes_recall(chance: float, half_life: float) -> None:
    """After the wait for a chance, that chance is left."""
    assert half_life_recall(half_life_wait(chance, half_life), half_life) == pytest.approx(chance)
