"""The parts of a survey's variance against a simulated survey, and their laws."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from corallum.errors import InputError
from corallum.estimate.survey_variance import Effort, Spread, split_variance, transects_for

positive = st.floats(0.001, 10)
efforts = st.floats(1, 500)


def test_parts_are_those_of_a_simulated_survey() -> None:
    """8,000 surveys of 6 transects of 20 points, 3 observers and 50 readings have that variance.

    Each part drawn by itself, as it comes about: points within transects, transects shared
    evenly by observers, readings averaged.
    """
    rng = np.random.default_rng(1)
    surveys, n, m, people, readings = 8000, 6, 20, 3, 50
    transect = rng.normal(0, 0.3, (surveys, n))
    point = rng.normal(0, 0.8, (surveys, n, m))
    observer = np.repeat(rng.normal(0, 0.2, (surveys, people)), n // people, axis=1)
    name = rng.normal(0, 1.0, (surveys, readings)).mean(axis=1)
    figure = (transect + point.mean(axis=2) + observer).mean(axis=1) + name
    parts = split_variance(Spread(0.09, 0.64, 0.04, 1.0), Effort(n, m, people, readings))
    # Four standard errors of a variance of 8,000 are 6.3 %.
    assert parts.total == pytest.approx(figure.var(), rel=0.063)
    assert parts.se == pytest.approx(math.sqrt(parts.total))
    # Negative control: with all points counted as independent it would be far smaller.
    assert 0.09 / (n * m) + 0.64 / (n * m) < 0.3 * figure.var()


@given(spread=st.tuples(*[positive] * 4), effort=st.tuples(*[efforts] * 4), factor=positive)
def test_the_unit_does_not_matter(
    spread: tuple[float, float, float, float],
    effort: tuple[float, float, float, float],
    factor: float,
) -> None:
    """In another unit the standard error is in it."""
    one = split_variance(Spread(*spread), Effort(*effort))
    other = split_variance(Spread(*(v * factor**2 for v in spread)), Effort(*effort))
    assert other.se == pytest.approx(one.se * factor, rel=1e-9)


@given(spread=st.tuples(*[positive] * 4), effort=st.tuples(*[efforts] * 4))
def test_more_transects_leave_names_and_observers(
    spread: tuple[float, float, float, float], effort: tuple[float, float, float, float]
) -> None:
    """However many transects, the error stays above that of observers and names."""
    _, points, people, readings = effort
    many = split_variance(Spread(*spread), Effort(1e12, points, people, readings))
    floor = math.sqrt(spread[2] / people + spread[3] / readings)
    assert many.se == pytest.approx(floor, rel=1e-4)
    few = split_variance(Spread(*spread), Effort(*effort))
    assert few.se > floor


@given(spread=st.tuples(*[positive] * 4), effort=st.tuples(*[efforts] * 4), more=st.floats(1.1, 5))
def test_as_many_transects_as_are_needed(
    spread: tuple[float, float, float, float],
    effort: tuple[float, float, float, float],
    more: float,
) -> None:
    """Transects for any error above the floor of observers and names reach it exactly."""
    _, points, people, readings = effort
    se = more * math.sqrt(spread[2] / people + spread[3] / readings)
    n = transects_for(se, Spread(*spread), Effort(*effort))
    reached = split_variance(Spread(*spread), Effort(n, points, people, readings))
    assert reached.se == pytest.approx(se, rel=1e-9)


def test_where_both_are_too_much_more_of_both_is_advised() -> None:
    """Observers and names each beyond the wanted variance: neither alone would help."""
    with pytest.raises(InputError) as caught:
        transects_for(0.01, Spread(0.01, 0.2, 0.001, 0.1), Effort(10, 50, 2, 100))
    assert "Plan more of both" in caught.value.faults[0].remedy


def test_advice_followed_does() -> None:
    """With one second reading more than advised the error can be reached, with one less not."""
    spread = Spread(0.01, 0.2, 0.0002, 0.02)
    # By hand: .02 / (.015^2 - .0002 / 2) = 160 readings.
    assert transects_for(0.015, spread, Effort(1, 200, 2, 161)) > 0
    with pytest.raises(InputError, match="more than 160 second readings"):
        transects_for(0.015, spread, Effort(1, 200, 2, 159))


def test_all_faults_are_told_at_once() -> None:
    """Negative variances, efforts of nothing, and what is no number are named together."""
    with pytest.raises(InputError) as caught:
        split_variance(Spread(-1, math.nan, 0, 0), Effort(0, 1, -2, 1))
    assert [one.place for one in caught.value.faults] == [
        "variance: transects",
        "variance: points",
        "effort: transects",
        "effort: observers",
    ]
    with pytest.raises(InputError, match="wanted standard error"):
        transects_for(0, Spread(1), Effort())
