"""Laws of the change of corrected cover."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import t as student

from corallum.errors import InputError
from corallum.estimate.corrected_change import change_of_cover
from corallum.estimate.estimate import Estimate, Floats
from corallum.estimate.identification_share import CorrectedCover

DF = 10.0


def cover(value: float, draws: Floats, df: float = DF) -> CorrectedCover:
    """Cover of one genus with draws around it, uncorrected draws twice as far apart."""
    one = np.array([value])
    se = draws.std(axis=0, ddof=1)
    found = Estimate(one, se, one - se, one + se, np.array([df]))
    plain = value + 2 * (draws - value)
    wide = Estimate(one, 2 * se, one - se, one + se, np.array([df]))
    return CorrectedCover(wide, found, np.zeros(1), plain, draws)


def normal(seed: int, value: float, se: float) -> Floats:
    """Draws of one genus."""
    return value + se * np.random.default_rng(seed).standard_normal((50_000, 1))


def test_independent_surveys_add_their_variances() -> None:
    """Errors of .03 and .04 make one of .05, with Welch's degrees of freedom (by hand).

    (9 + 16)^2 / (81 / 10 + 256 / 10) = 18.55. Draws of 50,000 are good to 2 %.
    """
    first, last = cover(0.3, normal(1, 0.3, 0.03)), cover(0.2, normal(2, 0.2, 0.04))
    plain, corrected = change_of_cover(first, last)
    assert corrected.value == pytest.approx([-0.1])
    assert corrected.se == pytest.approx([0.05], rel=0.02)
    assert corrected.df == pytest.approx([18.55], rel=0.02)
    assert plain.se == pytest.approx([0.10], rel=0.02)
    half = student.ppf(0.975, 18.55) * 0.05
    assert corrected.high - corrected.value == pytest.approx([half], rel=0.02)


def test_what_draws_share_cancels() -> None:
    """Draws that move together leave the error of what they do not share."""
    shared, own = normal(1, 0.3, 0.05), normal(2, 0.0, 0.01)
    _, corrected = change_of_cover(cover(0.3, shared), cover(0.3, shared + own))
    assert corrected.se == pytest.approx([0.01], rel=0.02)


def test_a_survey_differs_from_itself_by_nothing() -> None:
    """The change is 0 with an interval of nothing."""
    one = cover(0.3, normal(1, 0.3, 0.05))
    for change in change_of_cover(one, one):
        assert change.low == change.high == change.value == 0


def test_draws_must_match() -> None:
    """Surveys resampled 50,000 and 100 times are refused."""
    one = cover(0.3, normal(1, 0.3, 0.05))
    with pytest.raises(InputError, match=r"draws after"):
        change_of_cover(one, cover(0.3, normal(1, 0.3, 0.05)[:100]))
