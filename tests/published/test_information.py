"""Information gain and Bayes' rule against printed examples."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from scipy.stats import norm, qmc

from corallum.model.information import entropy_bits, expected_gain_bits
from corallum.model.posterior import log_likelihood
from corallum.model.sequence import normal_quantile, spread_points

# Quinlan J.R. 1986, Induction of decision trees, Machine Learning 1:81-106, table 1:
# days to play, counts of (yes, no) by value; gains as printed there and in Mitchell 1997,
# which truncates to three figures.
WEATHER = {
    "outlook": ([[2, 3], [4, 0], [3, 2]], 0.246),
    "humidity": ([[3, 4], [6, 1]], 0.151),
    "wind": ([[6, 2], [3, 3]], 0.048),
    "temperature": ([[2, 2], [4, 2], [3, 1]], 0.029),
}


def test_entropy_of_the_days() -> None:
    """Nine yes and five no are .940 bits (Quinlan 1986)."""
    assert entropy_bits(np.array([9 / 14, 5 / 14])) == pytest.approx(0.940, abs=5e-4)


@pytest.mark.parametrize(("counts", "printed"), WEATHER.values(), ids=WEATHER)
def test_gain_of_each_attribute(counts: list[list[int]], printed: float) -> None:
    """The gain of each attribute is that printed (Quinlan 1986), truncated to .001."""
    gain = expected_gain_bits(np.array(counts, dtype=float))
    assert printed <= gain < printed + 0.001


def test_entropy_of_a_half_and_two_quarters() -> None:
    """One half and two quarters are 1.5 bits (textbook value)."""
    assert entropy_bits(np.array([0.5, 0.25, 0.25])) == 1.5


@pytest.mark.parametrize(
    ("prevalence", "hit", "false_alarm", "printed"),
    [
        pytest.param(0.01, 0.80, 0.096, 0.078, id="Gigerenzer and Hoffrage 1995: 7.8 %"),
        pytest.param(0.01, 0.792, 0.096, 0.077, id="Eddy 1982: 7.7 %"),
    ],
)
def test_the_posterior_is_bayes_rule(
    prevalence: float, hit: float, false_alarm: float, printed: float
) -> None:
    """The model's own posterior answers the mammography problem as printed."""
    group = SimpleNamespace(likelihood=np.array([[hit, false_alarm]]))
    log = log_likelihood([group], 1, 2) + np.log([prevalence, 1 - prevalence])  # type: ignore[list-item]
    share = np.exp(log - log.max())
    assert (share / share.sum())[0, 0] == pytest.approx(printed, abs=5e-4)


def test_normal_quantiles_are_those_of_a_statistics_library() -> None:
    """Quantiles agree with SciPy's to 1e-13 relative over the whole range (Wichura 1988)."""
    p = np.concatenate([np.geomspace(1e-12, 0.5, 400), 1 - np.geomspace(1e-12, 0.5, 400)])
    np.testing.assert_allclose(normal_quantile(p), norm.ppf(p), rtol=1e-12, atol=1e-12)


def test_the_sequence_is_spread_more_evenly_than_chance() -> None:
    """In pairs of dimensions the discrepancy is below that of random points (SciPy's measure)."""
    points = spread_points(1000, 12)
    random = np.random.default_rng(0).random((1000, 12))
    for pair in ([0, 1], [2, 7], [5, 11]):
        assert qmc.discrepancy(points[:, pair]) < qmc.discrepancy(random[:, pair])
