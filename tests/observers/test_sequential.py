"""The sequential test keeps its promises, exactly."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from corallum.errors import InputError
from corallum.observers.fixed_length import Aim, fixed_test, pass_chance
from corallum.observers.sequential import (
    State,
    count_once,
    draw_genera,
    operating_curve,
    state_of,
)
from corallum.observers.sequential_plan import bounded_plan, find_plan

AIMS = [
    pytest.param(Aim(), id="90 and 80"),
    pytest.param(Aim(0.90, 0.70), id="90 and 70"),
    pytest.param(Aim(0.95, 0.90), id="95 and 90"),
    pytest.param(Aim(0.95, 0.85, 0.10, 0.05), id="95 and 85, a good one may fail more often"),
    pytest.param(Aim(0.80, 0.50, 0.20, 0.20), id="80 and 50, one in five"),
]
SMALL = bounded_plan(Aim(0.9, 0.6, 0.2, 0.2), 9, 7, 0.9, -1.2)


@pytest.mark.parametrize("aim", AIMS)
def test_the_cut_off_plan_keeps_both_error_rates(aim: Aim) -> None:
    """At the two accuracies the plan errs no more often than stated, end and all."""
    curve = operating_curve(find_plan(aim), [aim.poor, aim.good])
    assert curve.pass_chance[0] <= aim.poor_passed
    assert 1 - curve.pass_chance[1] <= aim.good_failed


@pytest.mark.parametrize("aim", AIMS)
def test_the_plan_asks_a_third_fewer_items(aim: Aim) -> None:
    """At both accuracies the mean number of items is 35 % below the fixed test or better."""
    accuracies = [aim.poor, (aim.poor + aim.good) / 2, aim.good]
    plan, fixed = find_plan(aim), fixed_test(aim)
    fewer = 1 - operating_curve(plan, accuracies).expected_items / fixed.n
    print(f"\nfixed {fixed.n}, largest {plan.largest}, fewer at poor, middle, good:", fewer)
    assert fewer[0] >= 0.35
    assert fewer[2] >= 0.35
    assert fewer[1] > 0


def test_walds_own_bounds_do_not_keep_the_rates_once_cut_off() -> None:
    """Negative control: Wald's bounds cut off at the fixed length break a stated rate."""
    aim = Aim()
    plan = bounded_plan(aim, 135, 116, 2.944, -2.944)
    curve = operating_curve(plan, [aim.poor, aim.good])
    assert curve.pass_chance[0] > aim.poor_passed or 1 - curve.pass_chance[1] > aim.good_failed


@given(accuracy=st.floats(0, 1))
def test_the_test_always_ends(accuracy: float) -> None:
    """The chances of stopping add up to one, at any accuracy."""
    curve = operating_curve(find_plan(Aim()), [accuracy])
    assert (curve.pass_after + curve.fail_after).sum() == pytest.approx(1, abs=1e-12)
    assert curve.pass_chance[0] == pytest.approx(curve.pass_after.sum(), abs=1e-12)


@given(low=st.floats(0, 1), high=st.floats(0, 1))
def test_the_better_pass_more_often(low: float, high: float) -> None:
    """The chance of passing rises with accuracy."""
    low, high = sorted((low, high))
    chance = operating_curve(find_plan(Aim()), [low, high]).pass_chance
    assert chance[0] <= chance[1] + 1e-12


def test_the_recursion_is_the_sum_over_all_sequences() -> None:
    """On a plan of nine the recursion equals the sum over all 512 sequences of answers."""
    p = 0.73
    passed, items = 0.0, 0.0
    for answers in itertools.product([True, False], repeat=9):
        chance = p ** sum(answers) * (1 - p) ** (9 - sum(answers))
        found = state_of(SMALL, answers)
        passed += chance * (found.state is State.PASSED)
        items += chance * found.n
    curve = operating_curve(SMALL, [p])
    assert curve.pass_chance[0] == pytest.approx(passed, abs=1e-12)
    assert curve.expected_items[0] == pytest.approx(items, abs=1e-12)


def test_without_bounds_it_is_the_fixed_test() -> None:
    """With bounds out of reach, the chance of passing is that of the binomial."""
    plan = bounded_plan(Aim(), 60, 51, 1e6, -1e6)
    curve = operating_curve(plan, [0.7, 0.8, 0.9])
    expected = [pass_chance(60, 51, p) for p in (0.7, 0.8, 0.9)]
    np.testing.assert_allclose(curve.pass_chance, expected, atol=1e-12)


@settings(max_examples=60)
@given(answers=st.lists(st.booleans(), max_size=120))
def test_how_far_it_is_can_be_trusted(answers: list[bool]) -> None:
    """So many right answers more pass, one fewer does not; and as many wrong ones fail."""
    plan = find_plan(Aim())
    found = state_of(plan, answers)
    if found.state is State.GO_ON:
        more = [True] * found.right_to_pass
        assert state_of(plan, answers + more).state is State.PASSED
        assert state_of(plan, answers + more[:-1]).state is State.GO_ON
        fewer = [False] * found.wrong_to_fail
        assert state_of(plan, answers + fewer).state is State.FAILED
        assert state_of(plan, answers + fewer[:-1]).state is State.GO_ON
    else:
        assert (found.right_to_pass, found.wrong_to_fail, found.most_left) == (0, 0, 0)


def test_a_decision_stands() -> None:
    """Answers after the decision change nothing."""
    plan = find_plan(Aim())
    passed = state_of(plan, [True] * plan.largest)
    assert passed.state is State.PASSED
    assert state_of(plan, [True] * passed.n + [False] * 50) == passed


def test_no_plan_of_too_few_items() -> None:
    """Twenty items can't keep the rates; the refusal says how many can."""
    with pytest.raises(InputError) as caught:
        find_plan(Aim(), 20)
    (fault,) = caught.value.faults
    assert fault.found == "20"
    assert "Allow 135 items" in fault.remedy


@pytest.mark.parametrize(
    ("aim", "place"),
    [
        pytest.param((0.8, 0.9), "accuracies", id="the wrong way round"),
        pytest.param((0.9, 0.8, 0.7), "good_failed", id="an error above one half"),
        pytest.param((0.9, 0.8, 0.05, 0.0), "poor_passed", id="no error at all"),
    ],
)
def test_aims_that_mean_nothing_are_refused(aim: tuple[float, ...], place: str) -> None:
    """Accuracies and error rates must make sense."""
    with pytest.raises(InputError) as caught:
        Aim(*aim)
    assert [fault.place for fault in caught.value.faults] == [place]


def test_accuracies_too_close_are_refused() -> None:
    """A test that nobody could sit is refused instead of planned."""
    with pytest.raises(InputError, match="further apart"):
        fixed_test(Aim(0.901, 0.900))


def test_an_item_counts_once() -> None:
    """Only the first answer to an item counts for the test."""
    assert count_once(["a", "b", "a", "c"], [True, False, False, True]) == (True, False, True)


def test_genera_come_in_the_surveys_proportion() -> None:
    """Items drawn in proportion have the shares of the survey, within four standard errors."""
    shares = np.array([0.5, 0.3, 0.2, 0.0])
    drawn = draw_genera(shares, 20_000, np.random.default_rng(11))
    seen = np.bincount(drawn, minlength=4) / 20_000
    assert np.all(np.abs(seen - shares) <= 4 * np.sqrt(shares * (1 - shares) / 20_000))


@pytest.mark.parametrize("shares", [[0.0, 0.0], [1.0, -0.5], [np.nan, 1.0]])
def test_shares_that_mean_nothing_are_refused(shares: list[float]) -> None:
    """Genera can't be drawn from shares that are negative, missing or all zero."""
    with pytest.raises(InputError, match="shares of 0 or more"):
        draw_genera(shares, 3, np.random.default_rng(0))
