"""Corrections for misnaming against printed and recomputed examples."""

from __future__ import annotations

import numpy as np
import pytest

from corallum.estimate.bayes_correction import SamplingPlan, correct_by_errors, said_counts
from corallum.estimate.double_sampling import estimate_by_double_sampling
from corallum.estimate.matrix_correction import correct_by_matrix
from corallum.estimate.rogan_gladen import Recognition, correct_ends, correct_share
from corallum.estimate.said_and_true import SaidAndTrue, estimate_said_and_true
from corallum.estimate.second_readings import size_for_overall_accuracy
from corallum.estimate.strata_said_and_true import SecondReadings, estimate_in_strata
from corallum.observers.intervals import wilson_interval

Z = 1.959964
# Olofsson P. et al. 2014, Remote Sensing of Environment 148:42-57, table 8: pixels of 900 m2.
FORESTS = [[66, 0, 5, 4], [0, 55, 8, 12], [1, 0, 153, 11], [2, 1, 9, 313]]
FORESTS_HA = np.array([200_000, 150_000, 3_200_000, 6_450_000]) * 0.09
# Stehman S.V. 2014, International Journal of Remote Sensing 35:4923-4939: 10 points a stratum.
STEHMAN_SAID = "AAAAAAABBB" + "ABBBBBBBBB" + "BBCCCCCCBB" + "DDDDDDDDDD"
STEHMAN_TRUE = "AAAAACBABC" + "ABBBBBAABB" + "CCCCCDDBBA" + "DDDDDDDCCB"
STEHMAN_SIZES = [40_000, 30_000, 20_000, 10_000]


def forests() -> SaidAndTrue:
    """The example of Olofsson et al. 2014."""
    return estimate_said_and_true(FORESTS, sizes=FORESTS_HA)


def test_rogan_and_gladen_with_known_accuracy() -> None:
    """23 of 150 at Se .96 and Sp .89 is .05098, SE .03461 (epiR 2.0.57 and by hand)."""
    found = correct_share(23, 150, Recognition(0.96, 0.89))
    assert found.apparent == pytest.approx(0.1533, abs=5e-5)
    assert found.value == pytest.approx(0.05098, abs=5e-6)
    assert found.se == pytest.approx(0.03461, abs=5e-6)


def test_wilsons_interval_carried_over() -> None:
    """Its Wilson interval is -.0066 to .1289, not clipped (epiR 2.0.57)."""
    said = wilson_interval(23, 150)
    found = correct_ends(said.low, said.high, Recognition(0.96, 0.89))
    assert found == pytest.approx((-0.0066, 0.1289), abs=5.1e-5)


def test_rogan_and_gladen_with_estimated_accuracy() -> None:
    """50 of 3,330 at Se 103/122 and Sp 399/401 is .01195, SE .00487.

    Data of Gelman and Carpenter 2020, Journal of the Royal Statistical Society C 69:1269-1283;
    estimate and delta method by hand, five decimals.
    """
    found = correct_share(50, 3330, Recognition(103 / 122, 399 / 401, 122, 401))
    assert found.apparent == pytest.approx(0.01502, abs=5.1e-6)
    assert found.value == pytest.approx(0.01195, abs=5.1e-6)
    assert found.se == pytest.approx(0.00487, abs=5.1e-6)


def test_the_sampled_posterior_of_the_same_data() -> None:
    """With uniform priors its median is .0105, 95 % are .0012 to .0189, 95 % below .0176.

    Quantiles of the posterior on a grid, run once by hand. Tolerance: four Monte Carlo errors
    of 1,500 effective draws of standard deviation .0045.
    """
    rows = np.array([[[400.0, 3.0], [20.0, 104.0]]])
    plan = SamplingPlan(sweeps=20_000, most=20_000, flat=True)
    found = correct_by_errors(said_counts([[3280, 50]]), rows, np.random.default_rng(4), plan)
    share = found.draws[:, 1]
    assert found.diagnostics.size.min() > 1500
    assert np.median(share) == pytest.approx(0.0105, abs=6e-4)
    assert np.quantile(share, [0.025, 0.975]) == pytest.approx([0.0012, 0.0189], abs=9e-4)
    assert np.quantile(share, 0.95) == pytest.approx(0.0176, abs=9e-4)


def test_the_matrix_form_gives_the_shares_back() -> None:
    """Shares .315 .269 .416 said through a known matrix come from .3 .2 .5; condition 1.407.

    Constructed, exact arithmetic; the condition number by NumPy 1.26.4.
    """
    rows = [[0.9, 0.08, 0.02], [0.1, 0.85, 0.05], [0.05, 0.15, 0.8]]
    found = correct_by_matrix([315, 269, 416], rows)
    assert found.corrected.value == pytest.approx([0.3, 0.2, 0.5], abs=1e-12)
    assert found.condition == pytest.approx(1.407, abs=5e-4)


def test_tenenbeins_double_sample() -> None:
    """Validated (89, 19) and (47, 37), 100 more of each: p .4710, K .0955, SE .0351.

    Constructed on the counts of a self-report study; Tenenbein's formula by hand, four decimals.
    """
    found = estimate_by_double_sampling([[89, 47], [19, 37]], [100, 100])
    assert found.shares.value[1] == pytest.approx(0.4710, abs=5.1e-5)
    assert found.shares.se[1] == pytest.approx(0.0351, abs=5.1e-5)
    assert found.worth == pytest.approx([0.0955, 0.0955], abs=5.1e-5)
    assert found.said_given_true[0, 1] == pytest.approx(0.2552, abs=5.1e-5)
    assert found.said_given_true[1, 0] == pytest.approx(0.4417, abs=5.1e-5)


def test_olofsson_2014_areas() -> None:
    """Areas in hectares and half their 95 % intervals as printed on page 54, whole numbers.

    The paper multiplies by 1.96, which is taken here too.
    """
    totals = forests().totals
    assert totals is not None
    assert totals.value == pytest.approx([21_158, 11_686, 285_770, 581_386], abs=0.51)
    assert 1.96 * totals.se == pytest.approx([6_158, 3_756, 15_510, 16_282], abs=0.51)


def test_olofsson_2014_shares_and_cells() -> None:
    """Shares, their errors and the cells as recomputed by hand to the printed digits."""
    found = forests()
    assert found.shares.value == pytest.approx([0.0235, 0.0130, 0.3175, 0.6460], abs=5.1e-5)
    assert found.shares.se == pytest.approx([0.00349, 0.00213, 0.00879, 0.00923], abs=5.1e-6)
    cells = [
        [0.0176, 0.0, 0.0013, 0.0011],
        [0.0, 0.0110, 0.0016, 0.0024],
        [0.0019, 0.0, 0.2967, 0.0213],
        [0.0040, 0.0020, 0.0179, 0.6212],
    ]
    assert found.cells == pytest.approx(np.array(cells), abs=5.1e-5)


def test_olofsson_2014_accuracies() -> None:
    """User's, producer's and overall accuracy as printed, two decimals.

    The half width of the second producer's accuracy is left out: .23 is remembered as
    printed, the formula gives .25.
    """
    found = forests()
    assert found.users.value == pytest.approx([0.88, 0.73, 0.93, 0.96], abs=5.1e-3)
    assert Z * found.users.se == pytest.approx([0.07, 0.10, 0.04, 0.02], abs=5.1e-3)
    assert found.producers.value == pytest.approx([0.75, 0.85, 0.93, 0.96], abs=5.1e-3)
    halves = Z * found.producers.se
    assert halves[[0, 2, 3]] == pytest.approx([0.21, 0.03, 0.02], abs=5.1e-3)
    assert float(found.overall.value) == pytest.approx(0.95, abs=5.1e-3)
    assert float(Z * found.overall.se) == pytest.approx(0.02, abs=5.1e-3)


def test_olofsson_2014_sample_size() -> None:
    """User's accuracies .70 .60 .90 .95 and a standard error of .01 take 641 readings."""
    n = size_for_overall_accuracy([0.02, 0.015, 0.32, 0.645], [0.7, 0.6, 0.9, 0.95], 0.01)
    assert n == pytest.approx(640.54, abs=5.1e-3)


def test_olofsson_2013_first_example() -> None:
    """Olofsson et al. 2013, Remote Sensing of Environment 129:122-131, example 1."""
    found = estimate_said_and_true(
        [[97, 0, 3], [3, 279, 18], [2, 1, 97]], sizes=[22_353, 1_122_543, 610_228]
    )
    totals = found.totals
    assert totals is not None
    assert totals.value[0] == pytest.approx(45_112, abs=0.51)
    assert totals.se[0] == pytest.approx(10_751, abs=0.51)
    assert totals.value[0] - 1.96 * totals.se[0] == pytest.approx(24_040, abs=0.51)
    assert totals.value[0] + 1.96 * totals.se[0] == pytest.approx(66_185, abs=0.51)
    assert found.shares.value == pytest.approx([0.0257, 0.5983, 0.3760], abs=5.1e-5)
    assert float(found.overall.value) == pytest.approx(0.944, abs=5.1e-4)
    assert float(Z * found.overall.se) == pytest.approx(0.022, abs=5.1e-4)
    assert found.users.value == pytest.approx([0.97, 0.93, 0.97], abs=5.1e-3)
    assert Z * found.users.se == pytest.approx([0.034, 0.029, 0.034], abs=5.1e-4)
    assert found.producers.value == pytest.approx([0.481, 0.994, 0.897], abs=5.1e-4)
    assert Z * found.producers.se == pytest.approx([0.225, 0.011, 0.041], abs=5.1e-4)


def test_olofsson_2013_second_example() -> None:
    """Olofsson et al. 2013, example 2, weights to three decimals.

    Said weights are printed to three decimals: tolerance .003 on what hangs on .007. The half
    width of the first user's accuracy is left out: .063 is 1.96 times an error rounded to .032
    first, the formula gives .0625.
    """
    found = estimate_said_and_true(
        [[127, 66, 54], [2, 322, 17], [0, 15, 540]], weight=[0.007, 0.295, 0.698]
    )
    assert float(found.overall.value) == pytest.approx(0.961, abs=5.1e-4)
    assert float(Z * found.overall.se) == pytest.approx(0.012, abs=5.1e-4)
    assert found.users.value == pytest.approx([0.514, 0.944, 0.973], abs=5.1e-4)
    assert (Z * found.users.se)[1:] == pytest.approx([0.024, 0.014], abs=5.1e-4)
    assert found.producers.value == pytest.approx([0.675, 0.931, 0.977], abs=3e-3)
    assert Z * found.producers.se == pytest.approx([0.305, 0.029, 0.010], abs=3e-3)


def test_stehman_2014() -> None:
    """Strata that are not what was said: Stehman's shares, accuracies and a cell.

    Printed to two and three decimals, recomputed by hand to five.
    """
    letters = "ABCD"
    readings = SecondReadings(
        np.repeat(np.arange(4), 10),
        np.array([letters.index(one) for one in STEHMAN_SAID]),
        np.array([letters.index(one) for one in STEHMAN_TRUE]),
    )
    found = estimate_in_strata(readings, STEHMAN_SIZES, 4)
    assert found.shares.value[[0, 2]] == pytest.approx([0.35, 0.20], abs=1e-9)
    assert found.shares.se[[0, 2]] == pytest.approx([0.08225, 0.06428], abs=5.1e-6)
    assert float(found.overall.value) == pytest.approx(0.63, abs=1e-9)
    assert float(found.overall.se) == pytest.approx(0.08464, abs=5.1e-6)
    assert found.users.value[1] == pytest.approx(0.5745, abs=5.1e-5)
    assert found.users.se[1] == pytest.approx(0.12478, abs=5.1e-6)
    assert found.producers.value[1] == pytest.approx(0.7941, abs=5.1e-5)
    assert found.producers.se[1] == pytest.approx(0.11655, abs=5.1e-6)
    assert found.cells.value[1, 2] == pytest.approx(0.08, abs=1e-9)
