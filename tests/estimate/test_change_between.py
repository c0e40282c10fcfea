"""Laws of change, and how often it is claimed where there is none."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import ttest_ind, ttest_rel

from corallum.errors import InputError
from corallum.estimate.change import (
    change_in_pairs,
    change_unpaired,
    decline_chance,
    decline_chance_in_pairs,
    impact_contrast,
    impact_contrast_of_sites,
)
from corallum.estimate.estimate import Estimate, t_estimate
from corallum.estimate.ratio import estimate_ratio

BEFORE = np.array([31.0, 28, 40, 35, 22, 37])
AFTER = np.array([24.0, 27, 30, 33, 15, 29, 21])


def of(values: np.ndarray) -> Estimate:
    """Mean of transects of one length."""
    return estimate_ratio(values, np.ones(len(values)))


def test_unpaired_change_is_welchs() -> None:
    """Interval and degrees of freedom are those of SciPy's Welch test."""
    found = change_unpaired(of(BEFORE), of(AFTER))
    expected = ttest_ind(AFTER, BEFORE, equal_var=False)
    interval = expected.confidence_interval(0.95)
    assert float(found.df) == pytest.approx(expected.df, rel=1e-12)
    assert (float(found.low), float(found.high)) == pytest.approx(tuple(interval), rel=1e-10)


def test_paired_change_is_students() -> None:
    """Interval is that of SciPy's paired test."""
    found = change_in_pairs(BEFORE, AFTER[:6])
    interval = ttest_rel(AFTER[:6], BEFORE).confidence_interval(0.95)
    assert (float(found.low), float(found.high)) == pytest.approx(tuple(interval), rel=1e-10)


def test_any_decline_is_the_one_sided_p_value() -> None:
    """With flat priors the chance of no decline is the one-sided p value of Welch's test."""
    expected = ttest_ind(AFTER, BEFORE, equal_var=False, alternative="less").pvalue
    assert 1 - float(decline_chance(of(BEFORE), of(AFTER), 0.0)) == pytest.approx(expected)
    paired = ttest_rel(AFTER[:6], BEFORE, alternative="less").pvalue
    assert 1 - float(decline_chance_in_pairs(BEFORE, AFTER[:6], 0.0)) == pytest.approx(paired)


@given(less=st.floats(0, 0.9), more=st.floats(0, 0.9))
def test_a_larger_decline_is_less_likely(less: float, more: float) -> None:
    """The chance of a decline falls with the threshold."""
    less, more = sorted((less, more))
    chance = [float(decline_chance(of(BEFORE), of(AFTER), share)) for share in (less, more)]
    assert chance[0] >= chance[1] - 1e-12


def test_change_turned_round_is_mirrored() -> None:
    """After and before exchanged, the interval is mirrored."""
    one, other = change_unpaired(of(BEFORE), of(AFTER)), change_unpaired(of(AFTER), of(BEFORE))
    assert (float(one.low), float(one.high)) == pytest.approx(
        (-float(other.high), -float(other.low))
    )


def test_what_changes_everywhere_is_no_impact() -> None:
    """A fall that impact and control share leaves a contrast of 0."""
    pair = (of(BEFORE), of(BEFORE - 7))
    assert float(impact_contrast(pair, pair).value) == pytest.approx(0, abs=1e-12)
    sites = impact_contrast_of_sites((BEFORE, BEFORE - 7), (AFTER, AFTER - 9))
    assert float(sites.value) == pytest.approx(-2, abs=1e-9)


def test_the_contrast_adds_four_variances() -> None:
    """SE of the contrast of SE 3, 4, 12 and 0 is 13 (constructed)."""
    parts = [t_estimate(10.0, se, np.inf) for se in (3.0, 4.0, 12.0, 0.0)]
    found = impact_contrast((parts[0], parts[1]), (parts[2], parts[3]))
    assert float(found.se) == pytest.approx(13.0)


def test_false_change_is_claimed_in_one_of_twenty() -> None:
    """Of 4,000 pairs of surveys of an unchanged reef 5 % exclude 0, six and nine transects."""
    rng = np.random.default_rng(8)
    before = estimate_ratio(rng.normal(100, 4, (6, 4000)), np.ones(6))
    after = estimate_ratio(rng.normal(100, 8, (9, 4000)), np.ones(9))
    found = change_unpaired(before, after)
    # Four standard errors of 4,000 are .014.
    assert float(((found.low > 0) | (found.high < 0)).mean()) == pytest.approx(0.05, abs=0.014)


def test_surveys_of_other_transects_are_no_pairs() -> None:
    """Surveys of different numbers of transects are refused, with what to do."""
    with pytest.raises(InputError, match="compare the surveys unpaired"):
        change_in_pairs(BEFORE, AFTER)
