"""Item-response models on the two classical data sets: sections 6 and 7 of the LSAT.

Bock R.D., Lieberman M. 1970, Psychometrika 35:179-197: 1000 persons, five items each.
Printed estimates: Rizopoulos D. 2006, Journal of Statistical Software 17(5); the manual of
the R package mirt for section 7; R package eRm 1.0-2 for the conditional estimates. Where
four decimals are given, girth 0.8.0 or an independent 61-point quadrature agreed.
"""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from corallum.practice.ability import shrunken_difficulty
from corallum.practice.conditional_rasch import fit_conditional_rasch
from corallum.practice.item_response import ItemFit, Model, fit_items

PATTERNS = np.array(list(itertools.product([0, 1], repeat=5)))
# Counts of the patterns 00000, 00001, ... 11111.
LSAT6 = np.array(
    [
        [3, 6, 2, 11, 1, 1, 3, 4, 1, 8, 0, 16, 0, 3, 2, 15],
        [10, 29, 14, 81, 3, 28, 15, 80, 16, 56, 21, 173, 11, 61, 28, 298],
    ]
).ravel()
LSAT7 = np.array(
    [
        [12, 19, 1, 7, 3, 19, 3, 17, 10, 5, 3, 7, 7, 23, 8, 28],
        [7, 39, 11, 34, 14, 51, 15, 90, 6, 25, 7, 35, 18, 136, 32, 308],
    ]
).ravel()


def fit(counts: np.ndarray, model: Model) -> ItemFit:
    """One of the models on one of the sets."""
    found = fit_items(PATTERNS, counts, model)
    assert found.converged
    return found


def test_the_data_are_those_printed() -> None:
    """The item totals are 924 709 553 763 870 and 828 658 772 606 843, of 1000 each."""
    assert (LSAT6 @ PATTERNS).tolist() == [924, 709, 553, 763, 870]
    assert (LSAT7 @ PATTERNS).tolist() == [828, 658, 772, 606, 843]
    assert LSAT6.sum() == LSAT7.sum() == 1000


def test_two_parameters_on_section_6() -> None:
    """Slopes, difficulties and log likelihood are Rizopoulos' (tolerance .003; .001)."""
    found = fit(LSAT6, "2PL")
    np.testing.assert_allclose(found.slope, [0.825, 0.723, 0.890, 0.689, 0.657], atol=0.0015)
    # To four decimals by an independent 61-point quadrature.
    exact = [-3.3588, -1.3701, -0.2797, -1.8664, -3.1259]
    np.testing.assert_allclose(found.difficulty, exact, atol=1.5e-4)
    # As printed in the paper, by a coarser quadrature.
    printed = [-3.3597, -1.3696, -0.2799, -1.8659, -3.1236]
    np.testing.assert_allclose(found.difficulty, printed, atol=0.003)
    assert found.log_likelihood == pytest.approx(-2466.653, abs=0.001)


def test_a_common_slope_on_section_6() -> None:
    """The common slope is .7551, difficulties and log likelihood are those printed, 4 dec."""
    found = fit(LSAT6, "1PL")
    np.testing.assert_allclose(found.slope, 0.7551, atol=1e-4)
    printed = [-3.6153, -1.3224, -0.3176, -1.7301, -2.7802]
    np.testing.assert_allclose(found.difficulty, printed, atol=1e-4)
    assert found.log_likelihood == pytest.approx(-2466.938, abs=0.001)


def test_slope_one_on_section_6() -> None:
    """With slope 1 difficulties and log likelihood are those printed, to four decimals."""
    found = fit(LSAT6, "rasch")
    printed = [-2.8720, -1.0630, -0.2576, -1.3881, -2.2188]
    np.testing.assert_allclose(found.difficulty, printed, atol=1e-4)
    assert found.log_likelihood == pytest.approx(-2473.054, abs=0.001)


def test_standard_errors_on_section_6() -> None:
    """Standard errors are those printed by Rizopoulos 2006 (from memory, four decimals)."""
    rasch, common = fit(LSAT6, "rasch"), fit(LSAT6, "1PL")
    printed = [0.1287, 0.0821, 0.0766, 0.0865, 0.1048]
    np.testing.assert_allclose(rasch.difficulty_error, printed, atol=2e-4)
    printed = [0.3266, 0.1422, 0.0977, 0.1691, 0.2510]
    np.testing.assert_allclose(common.difficulty_error, printed, atol=2e-4)
    np.testing.assert_allclose(common.slope_error, 0.0694, atol=2e-4)


def test_conditional_difficulties_on_section_6() -> None:
    """Conditional difficulties and their errors are those of eRm 1.0-2, four decimals."""
    found = fit_conditional_rasch(PATTERNS, LSAT6)
    assert found.converged
    difficulty = [-1.2561, 0.4749, 1.2360, 0.1684, -0.6232]
    np.testing.assert_allclose(found.difficulty, difficulty, atol=1e-4)
    errors = [0.1044, 0.0699, 0.0688, 0.0726, 0.0859]
    np.testing.assert_allclose(found.difficulty_error, errors, atol=1e-4)


def test_two_parameters_on_section_7() -> None:
    """Slopes, intercepts and log likelihood are those of mirt (three decimals, tolerance .002)."""
    found = fit(LSAT7, "2PL")
    np.testing.assert_allclose(found.slope, [0.988, 1.081, 1.706, 0.765, 0.736], atol=0.002)
    np.testing.assert_allclose(found.intercept, [1.856, 0.808, 1.804, 0.486, 1.855], atol=0.002)
    # To four decimals by an independent 61-point quadrature.
    np.testing.assert_allclose(found.slope, [0.9875, 1.0808, 1.7075, 0.7650, 0.7357], atol=1.5e-4)
    np.testing.assert_allclose(
        found.intercept, [1.8559, 0.8080, 1.8052, 0.4860, 1.8545], atol=1.5e-4
    )
    assert found.log_likelihood == pytest.approx(-2658.805, abs=0.001)


def test_a_common_slope_on_section_7() -> None:
    """The common slope is 1.0113, intercepts and log likelihood by an independent quadrature."""
    found = fit(LSAT7, "1PL")
    np.testing.assert_allclose(found.slope, 1.0113, atol=1e-4)
    np.testing.assert_allclose(found.intercept, [1.868, 0.791, 1.461, 0.5215, 1.993], atol=6e-4)
    assert found.log_likelihood == pytest.approx(-2664.901, abs=0.001)


def test_shrinkage_fades_with_a_wide_prior() -> None:
    """With a prior of 30 logits the shrunken difficulties and errors are the printed plain ones."""
    found = shrunken_difficulty(PATTERNS, LSAT6, spread=30.0)
    printed = [-2.8720, -1.0630, -0.2576, -1.3881, -2.2188]
    np.testing.assert_allclose(found.mean, printed, atol=2e-4)
    np.testing.assert_allclose(found.sd, [0.1287, 0.0821, 0.0766, 0.0865, 0.1048], atol=2e-4)
