"""Change of figures between surveys: pairs cancel, strangers add up."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm
from scipy.stats import t as student

from corallum.errors import InputError
from corallum.estimate.resampled_cover import Resampling
from corallum.estimate.survey_change import Draws, Moved, change_of_figures
from corallum.estimate.survey_figures import ByReadings, NoCorrection, Wanted, figures_of
from corallum.estimate.survey_table import SurveyTable, group_labels
from invented_tables import invent_table


def draws(seed: int, value: list[float], se: list[float], degrees: float = 10.0) -> Draws:
    """Figures whose resamples have exactly these standard errors."""
    noise = np.random.default_rng(seed).normal(size=(500, len(value)))
    noise = (noise - noise.mean(axis=0)) / noise.std(axis=0, ddof=1)
    return Draws(np.array(value), np.array(value) + noise * np.array(se), degrees)


def of_table(table: SurveyTable, *, correct: bool = False) -> Draws:
    """Figures of a survey with its resamples."""
    groups = group_labels(table.labels, table.is_coral, {})
    correction = ByReadings(table, 3) if correct else NoCorrection()
    wanted = Wanted(("survey",), Resampling(300))
    (found,) = figures_of(table, groups, correction, np.random.default_rng(5), wanted)
    resamples = found.draws if correct else found.uncorrected_draws
    assert resamples is not None
    value = (found.corrected or found.uncorrected).value
    return Draws(value, resamples, float(len(table.transects) - len(table.strata)))


@pytest.mark.parametrize("correct", [False, True])
def test_a_copy_of_a_survey_has_not_changed(*, correct: bool) -> None:
    """Paired with itself a survey moved by nothing, without any doubt.

    The chance of a fall by a fifth is then that of a cover below 0: by hand, Student's t.
    """
    one = of_table(invent_table(), correct=correct)
    moved = change_of_figures(one, one, paired=True)
    assert moved.difference.value == pytest.approx(0.0)
    assert moved.difference.se == pytest.approx(0.0)
    there = one.value > 0
    t = one.value[there] / one.draws.std(axis=0, ddof=1)[there]
    assert moved.decline_chance[there] == pytest.approx(student.cdf(-t, one.degrees))
    assert moved.decline_chance[there].max() < 0.01


def test_a_shifted_copy_moved_by_the_shift() -> None:
    """Pairs that all rose by 3 points rose by exactly 3, with no error at all."""
    one = of_table(invent_table(2))
    moved = change_of_figures(
        one, Draws(one.value + 0.03, one.draws + 0.03, one.degrees), paired=True
    )
    assert moved.difference.value == pytest.approx(0.03)
    assert moved.difference.se == pytest.approx(0.0, abs=1e-12)
    assert moved.difference.low == pytest.approx(0.03)


def test_errors_of_strangers_add_up() -> None:
    """Errors of .03 and .04 make one of .05, with degrees by Welch and Satterthwaite."""
    before, after = draws(1, [0.5], [0.03], 8), draws(2, [0.3], [0.04], 12)
    moved = change_of_figures(before, after, paired=False)
    assert moved.difference.se == pytest.approx(0.05)
    df = 0.05**4 / (0.03**4 / 8 + 0.04**4 / 12)
    assert moved.difference.df == pytest.approx(df)
    half = student.ppf(0.975, df) * 0.05
    assert moved.difference.low == pytest.approx(-0.2 - half)
    assert moved.difference.high == pytest.approx(-0.2 + half)


def test_the_chance_of_a_decline_is_that_of_after_less_a_share_of_before() -> None:
    """By hand: P(after - .8 before < 0), normal for many degrees."""
    before, after = draws(1, [0.5], [0.03], 1e9), draws(2, [0.35], [0.04], 1e9)
    moved = change_of_figures(before, after, paired=False, fall=0.2)
    z = (0.35 - 0.8 * 0.5) / np.hypot(0.04, 0.8 * 0.03)
    assert moved.decline_chance[0] == pytest.approx(norm.cdf(-z), rel=1e-6)


def test_a_larger_fall_is_less_likely() -> None:
    """The chance of a fall by half is less than of one by a fifth, and of any."""
    before, after = draws(1, [0.5], [0.05]), draws(2, [0.35], [0.05])

    def chance(fall: float) -> float:
        found: Moved = change_of_figures(before, after, paired=False, fall=fall)
        return float(found.decline_chance[0])

    assert chance(0.0) > chance(0.2) > chance(0.5)


def test_there_and_back_is_the_other_sign() -> None:
    """Swapped, a change is the same with the other sign."""
    before, after = draws(1, [0.5, 0.1], [0.05, 0.02]), draws(2, [0.35, 0.2], [0.04, 0.03])
    forth = change_of_figures(before, after, paired=False).difference
    back = change_of_figures(after, before, paired=False).difference
    assert back.value == pytest.approx(-forth.value)
    assert back.low == pytest.approx(-forth.high)


def test_what_never_was_there_has_no_chance_to_fall() -> None:
    """Absent in both, a genus has a change of 0 and no chance of a decline."""
    nothing = Draws(np.zeros(1), np.zeros((500, 1)), 10.0)
    moved = change_of_figures(nothing, nothing, paired=False)
    assert moved.difference.value[0] == 0.0
    assert np.isnan(moved.decline_chance[0])


@pytest.mark.parametrize("fall", [-0.1, 1.0, float("nan")])
def test_a_fall_is_a_share(fall: float) -> None:
    """A fall below 0, by all or by no number is refused."""
    one = draws(1, [0.5], [0.05])
    with pytest.raises(InputError, match="fall"):
        change_of_figures(one, one, paired=False, fall=fall)


def test_surveys_that_do_not_match_are_refused() -> None:
    """Other groups, or pairs resampled otherwise, are told."""
    one, two = draws(1, [0.5], [0.05]), draws(2, [0.5, 0.1], [0.05, 0.01])
    with pytest.raises(InputError, match="1 figures"):
        change_of_figures(one, two, paired=False)
    fewer = Draws(one.value, one.draws[:100], 10.0)
    with pytest.raises(InputError, match="draws"):
        change_of_figures(one, fewer, paired=True)
    assert change_of_figures(one, fewer, paired=False).difference.value[0] == 0.0
