"""Laws of ratios and of means over strata."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from corallum.errors import InputError
from corallum.estimate.ratio import estimate_ratio
from corallum.estimate.stratified import estimate_stratified

seeds = st.integers(0, 2**32 - 1)


def survey(seed: int, n: int = 12) -> tuple[np.ndarray, np.ndarray]:
    """What three genera covered of transects of unequal length, and the lengths."""
    rng = np.random.default_rng(seed)
    length = rng.uniform(5, 30, n)
    return rng.uniform(0, 0.3, (n, 3)) * length[:, None], length


@given(seed=seeds, factor=st.floats(0.01, 100))
def test_the_unit_of_length_does_not_matter(seed: int, factor: float) -> None:
    """Both measured in another unit, the ratio and its error stay."""
    met, length = survey(seed)
    one, other = estimate_ratio(met, length), estimate_ratio(met * factor, length * factor)
    assert other.value == pytest.approx(one.value, rel=1e-9)
    assert other.se == pytest.approx(one.se, rel=1e-6)


@given(seed=seeds, share=st.floats(0.01, 0.9))
def test_a_constant_ratio_has_no_error(seed: int, share: float) -> None:
    """Where every transect has the same share, that is the ratio, with error 0."""
    _, length = survey(seed)
    found = estimate_ratio(share * length, length)
    assert float(found.value) == pytest.approx(share, rel=1e-12)
    assert float(found.se) == pytest.approx(0, abs=1e-12)


@given(seed=seeds)
def test_genera_side_by_side_are_genera_apart(seed: int) -> None:
    """A table of genera gives what each column gives alone."""
    met, length = survey(seed)
    together = estimate_ratio(met, length)
    apart = [estimate_ratio(column, length) for column in met.T]
    assert together.low == pytest.approx([float(one.low) for one in apart], rel=1e-9)


@given(seed=seeds, shift=st.integers(1, 11))
def test_order_of_transects_does_not_matter(seed: int, shift: int) -> None:
    """Transects in another order give the same survey."""
    met, length = survey(seed)
    stratum = np.arange(12) % 3
    one = estimate_stratified(met, stratum, [1, 2, 3], searched=length).survey
    turned = [np.roll(part, shift, axis=0) for part in (met, stratum, length)]
    other = estimate_stratified(turned[0], turned[1], [1, 2, 3], searched=turned[2]).survey
    assert other.value == pytest.approx(one.value, rel=1e-9)
    assert other.df == pytest.approx(one.df, rel=1e-6)


@given(seed=seeds)
def test_one_stratum_is_the_ratio(seed: int) -> None:
    """With one stratum the survey is the ratio estimator, degrees of freedom and all."""
    met, length = survey(seed)
    one = estimate_ratio(met, length)
    found = estimate_stratified(met, np.zeros(12), [7.0], searched=length).survey
    assert found.value == pytest.approx(one.value, rel=1e-9)
    assert found.se == pytest.approx(one.se, rel=1e-9)
    assert found.df == pytest.approx(one.df, rel=1e-9)


def test_two_strata_by_hand() -> None:
    """Strata 1 3 and 4 8 weighing 3 to 1 have mean 3, SE .9014, 1.72 degrees of freedom.

    By hand: means 2 and 6; variances of the means 1 and 4; v = .5625 + .25 = .8125;
    df = .8125^2 / (.5625^2 + .25^2) = 1.742.
    """
    found = estimate_stratified([1, 3, 4, 8], [0, 0, 1, 1], [3, 1]).survey
    assert float(found.value) == pytest.approx(3.0)
    assert float(found.se) == pytest.approx(0.8125**0.5)
    assert float(found.df) == pytest.approx(0.8125**2 / (0.5625**2 + 0.25**2))


def test_a_stratum_wholly_searched_adds_no_error() -> None:
    """Where all transects that could be laid were laid, that stratum's error is 0."""
    found = estimate_stratified([1, 3, 4, 8], [0, 0, 1, 1], [1, 1], population=[2, 10])
    assert float(found.strata.se[0]) == 0
    assert float(found.survey.se) == pytest.approx((0.25 * (1 - 2 / 10) * 4) ** 0.5)


def test_t_intervals_cover_and_the_normal_ones_do_not() -> None:
    """Of 4,000 surveys of five transects t holds the mean in 95 %, the normal in under 90 %."""
    rng = np.random.default_rng(5)
    met = rng.normal(10, 2, (5, 4000))
    found = estimate_ratio(met, np.ones(5))
    held = float(((found.low <= 10) & (found.high >= 10)).mean())
    normal = float((np.abs(found.value - 10) <= 1.96 * found.se).mean())
    # Four standard errors of 4,000 surveys are .014.
    assert held == pytest.approx(0.95, abs=0.014)
    assert normal < 0.9


@pytest.mark.parametrize(
    ("met", "length", "place"),
    [
        pytest.param([1.0], [10.0], "transects", id="one transect"),
        pytest.param([1.0, 2.0], [10.0, 0.0], "searched", id="no length"),
        pytest.param([1.0, -2.0], [10.0, 5.0], "met", id="a negative intercept"),
        pytest.param([1.0, float("nan")], [10.0, 5.0], "met", id="not a number"),
        pytest.param([1.0, 2.0, 3.0], [10.0, 5.0], "searched", id="a length missing"),
    ],
)
def test_what_is_no_survey_is_refused(met: list[float], length: list[float], place: str) -> None:
    """The fault names what is wrong."""
    with pytest.raises(InputError) as caught:
        estimate_ratio(met, length)
    assert place in [fault.place for fault in caught.value.faults]


def test_every_thin_stratum_is_named() -> None:
    """A stratum with one transect and one with none are both named, one without weight is not."""
    with pytest.raises(InputError) as caught:
        estimate_stratified([1, 2, 3], [0, 0, 1], [1, 1, 1, 0])
    assert [fault.place for fault in caught.value.faults] == ["stratum 1", "stratum 2"]
