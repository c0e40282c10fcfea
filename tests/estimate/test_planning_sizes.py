"""Laws of sample size, power and the parts of a survey's variance."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from corallum.errors import InputError
from corallum.estimate.power import (
    detectable_difference,
    pairs_for,
    power_of_pairs,
    power_of_two,
    size_of_two,
)
from corallum.estimate.sample_size import size_for_share, whole
from corallum.estimate.second_readings import share_out_readings, size_for_overall_accuracy
from corallum.estimate.survey_variance import Effort, Spread, split_variance, transects_for

PILOT = Spread(transects=0.01, points=0.2, observers=0.0002, identification=0.02)
PLAN = Effort(points=200, observers=2, second_readings=100)


@given(effect=st.floats(0.1, 2), power=st.floats(0.5, 0.99))
def test_the_size_has_the_power(effect: float, power: float) -> None:
    """At the size given, the power is the one wanted, unless two units do already."""
    two, pairs = size_of_two(effect, power), pairs_for(effect, power)
    assert two == 2 or power_of_two(effect, two) == pytest.approx(power, abs=1e-6)
    assert pairs == 2 or power_of_pairs(effect, pairs) == pytest.approx(power, abs=1e-6)


def test_without_an_effect_the_power_is_the_false_alarm() -> None:
    """Nothing to see is claimed at alpha."""
    assert power_of_two(0.0, 20) == pytest.approx(0.05, abs=1e-9)
    assert power_of_two(0.0, 20, 0.01) == pytest.approx(0.01, abs=1e-9)


def test_the_detectable_difference_is_the_size_turned_round() -> None:
    """What 63.77 transects a group can show at .8 is half a standard deviation."""
    n = size_of_two(0.5)
    se = 1 / math.sqrt(n)
    assert detectable_difference(se, se, 2 * n - 2) == pytest.approx(0.5, abs=1e-6)


@given(
    parts=st.tuples(*[st.floats(0, 10)] * 4),
    effort=st.tuples(*[st.floats(1, 500)] * 4),
)
def test_parts_add_up(
    parts: tuple[float, float, float, float], effort: tuple[float, float, float, float]
) -> None:
    """The variance is its four parts, each over its effort."""
    found = split_variance(Spread(*parts), Effort(*effort))
    t, p, o, i = parts
    n, m, people, readings = effort
    expected = t / n + p / (n * m) + o / people + i / readings
    assert found.total == pytest.approx(expected, rel=1e-12, abs=1e-15)


def test_as_many_transects_reach_the_wanted_error() -> None:
    """With the number of transects given, the standard error is the one wanted."""
    n = transects_for(0.025, PILOT, PLAN)
    effort = Effort(n, PLAN.points, PLAN.observers, PLAN.second_readings)
    assert split_variance(PILOT, effort).se == pytest.approx(0.025, rel=1e-12)


def test_by_hand_without_observers_and_names() -> None:
    """Variance .01 and .2 a point, 200 points: SE .02 takes (.01 + .001) / .0004 = 27.5."""
    spread = Spread(transects=0.01, points=0.2)
    assert transects_for(0.02, spread, Effort(points=200)) == pytest.approx(27.5, rel=1e-12)


def test_what_transects_cannot_reach_is_refused() -> None:
    """Where observers and names alone are too much, the fault says how much more of them."""
    with pytest.raises(InputError) as caught:
        transects_for(0.015, PILOT, PLAN)
    fault = caught.value.faults[0]
    # By hand: sqrt(.0001 + .0002) = .0173; .02 / (.000225 - .0001) = 160 readings; .0002 /
    # (.000225 - .0002) = 8 observers.
    assert "above 0.0173" in fault.expected
    assert "more than 160 second readings or more than 8 observers" in fault.remedy


@given(share=st.floats(0.01, 0.99), half=st.floats(0.01, 0.3), n=st.floats(10, 1e6))
def test_a_finite_reef_takes_fewer(share: float, half: float, n: float) -> None:
    """With a finite population the size is smaller than it and than without."""
    found = size_for_share(half, share, population=n)
    assert found <= n + 1e-9 or size_for_share(half, share) <= 1
    assert found <= max(size_for_share(half, share), 1) + 1e-9


def test_rounding_errors_cost_no_transect() -> None:
    """A size that is whole but for rounding is not raised."""
    assert whole(400.00000000001) == 400
    assert whole(400.001) == 401


@given(records=st.lists(st.integers(0, 500), min_size=1, max_size=30), n=st.integers(0, 2000))
def test_second_readings_fit_the_records(records: list[int], n: int) -> None:
    """No genus is given more than its records, nor fewer than ten of them or all."""
    found = share_out_readings(records, n)
    for given_, there in zip(found.tolist(), records, strict=True):
        assert min(10, there) <= given_ <= there


def test_readings_for_accuracy_refuse_per_cent() -> None:
    """An accuracy above 1 is refused by name."""
    with pytest.raises(InputError, match="users"):
        size_for_overall_accuracy([1, 1], [90, 80], 0.01)
