"""Bias and spread of sizes judged by eye, against the textbook and a slow integration."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.stats import invgamma, norm
from scipy.stats import t as student

from corallum.observers.eye import EyePrior, default_eye, learn_eye
from support import compiled

PRIOR = EyePrior(bias=0.075, bias_weight=5.0, shape=8.0, scale=0.8)
ERRORS = np.random.default_rng(2).normal(0.3, 0.2, 23)
ONES = np.ones(23)


def test_the_posterior_is_the_textbook_one() -> None:
    """Gelman et al. 2013, section 3.3: mean, its weight, degrees of freedom and scale."""
    found = learn_eye(PRIOR, ERRORS, ONES)
    n, mean, s2 = 23, ERRORS.mean(), ERRORS.var(ddof=1)
    k0, nu0, sigma0 = PRIOR.bias_weight, 2 * PRIOR.shape, PRIOR.scale / PRIOR.shape
    nu, k = nu0 + n, k0 + n
    sigma = (nu0 * sigma0 + (n - 1) * s2 + k0 * n / k * (mean - PRIOR.bias) ** 2) / nu
    assert found.bias == pytest.approx((k0 * PRIOR.bias + n * mean) / k, rel=1e-12)
    assert found.bias_weight == pytest.approx(k, rel=1e-12)
    assert 2 * found.shape == pytest.approx(nu, rel=1e-12)
    assert found.scale / found.shape == pytest.approx(sigma, rel=1e-12)
    assert found.n == n


def grid() -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Bias, spread and the joint posterior over both by brute force."""
    bias, sd = np.linspace(-0.3, 0.8, 901), np.geomspace(0.08, 0.8, 900)
    b, s = bias[:, None], sd[None, :]
    logs = norm.logpdf(b, PRIOR.bias, s / np.sqrt(PRIOR.bias_weight))
    # The grid is even in log sd, so the density of the variance takes a factor s^2.
    logs = logs + invgamma.logpdf(s**2, PRIOR.shape, scale=PRIOR.scale) + 2 * np.log(s)
    for error in ERRORS.tolist():
        logs = logs + norm.logpdf(error, b, s)
    share = np.exp(logs - logs.max())
    return bias, sd, share / share.sum()


def test_the_posterior_is_that_of_a_slow_integration() -> None:
    """Means and 90 % intervals of bias and spread agree with a fine grid."""
    found = learn_eye(PRIOR, ERRORS, ONES)
    bias, sd, share = grid()
    of_bias, of_sd = share.sum(axis=1), share.sum(axis=0)
    assert found.bias == pytest.approx(float(of_bias @ bias), abs=1e-4)
    assert found.sd**2 == pytest.approx(float(of_sd @ sd**2), rel=1e-3)
    for ends, values, weight in (
        (found.bias_interval(), bias, of_bias),
        (found.sd_interval(), sd, of_sd),
    ):
        expected = np.interp([0.05, 0.95], np.cumsum(weight), values)
        np.testing.assert_allclose(ends, expected, rtol=0, atol=2e-3)


def test_intervals_are_those_of_the_marginal_laws() -> None:
    """The bias has a Student t, the variance an inverse gamma, as SciPy has them."""
    found = learn_eye(PRIOR, ERRORS, ONES)
    wide = np.sqrt(found.scale / (found.shape * found.bias_weight))
    expected = student.ppf([0.1, 0.9], 2 * found.shape, found.bias, wide)
    np.testing.assert_allclose(found.bias_interval(0.8), expected, rtol=1e-9)
    spread = np.sqrt(invgamma.ppf([0.1, 0.9], found.shape, scale=found.scale))
    np.testing.assert_allclose(found.sd_interval(0.8), spread, rtol=1e-9)


def test_without_judgements_the_prior_stays() -> None:
    """Nobody's errors leave bias, spread and their worth as they were."""
    found = learn_eye(PRIOR, np.zeros(0), np.zeros(0))
    kept = (found.bias, found.bias_weight, found.shape, found.scale)
    assert kept == pytest.approx((PRIOR.bias, PRIOR.bias_weight, PRIOR.shape, PRIOR.scale))
    assert found.n == 0


def test_a_weight_of_nothing_leaves_a_judgement_out() -> None:
    """Judgements that surely belong to a misread group count for nothing."""
    some = np.where(np.arange(23) < 9, 1.0, 0.0)
    found, short = learn_eye(PRIOR, ERRORS, some), learn_eye(PRIOR, ERRORS[:9], ONES[:9])
    one, other = ((x.bias, x.bias_weight, x.shape, x.scale, x.n) for x in (found, short))
    assert one == pytest.approx(other, rel=1e-12)


def test_doubt_widens_intervals_and_moves_no_mean() -> None:
    """Uncertain weights keep the means of as many certain judgements, with wider intervals."""
    doubtful = learn_eye(PRIOR, ERRORS, np.full(23, 0.5))
    n, mean = 11.5, ERRORS.mean()
    k = PRIOR.bias_weight + n
    bias = (PRIOR.bias_weight * PRIOR.bias + n * mean) / k
    between = PRIOR.bias_weight * n / k * (mean - PRIOR.bias) ** 2
    scale = PRIOR.scale + (0.5 * ((ERRORS - mean) ** 2).sum() + between) / 2
    shape = PRIOR.shape + n / 2
    assert doubtful.bias == pytest.approx(bias, rel=1e-12)
    assert doubtful.sd**2 == pytest.approx(scale / (shape - 1), rel=1e-12)
    plain = student.interval(0.9, 2 * shape, bias, np.sqrt(scale / (shape * k)))
    low, high = doubtful.bias_interval()
    assert low < plain[0] < plain[1] < high
    spread = np.sqrt(invgamma.ppf([0.05, 0.95], shape, scale=scale))
    low, high = doubtful.sd_interval()
    assert high - low > spread[1] - spread[0]


def test_the_default_is_that_of_an_unknown_observer() -> None:
    """Before any answer, bias and spread by eye are the means of a trained and a new one's."""
    prior, eye = default_eye(compiled()), compiled().methods["eye"]
    assert prior.bias == pytest.approx(sum(eye.bias) / 2, rel=1e-12)
    variance = (sum(eye.observer_sd) / 2) ** 2 + eye.each_sd**2
    assert prior.scale / (prior.shape - 1) == pytest.approx(variance, rel=1e-12)


def test_the_density_is_normal() -> None:
    """Errors are weighed by the normal law at the means."""
    found = learn_eye(PRIOR, ERRORS, ONES)
    at = np.array([-1.0, 0.0, 0.4])
    np.testing.assert_allclose(found.density(at), norm.pdf(at, found.bias, found.sd), rtol=1e-12)
