r"""Sizes judged by eye: an observer's bias and spread of the log error.

Conjugate: the errors are normal around a bias; bias and variance have a
normal-inverse-gamma prior, so means and intervals are exact.

References
----------
Gelman et al. 2013, Bayesian Data Analysis, 3rd edition, section 3.3.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.special import gammaincinv, stdtrit

from corallum.model.compiled import CompiledReference, Floats
from corallum.model.errors import Observer, size_error

__all__ = ["EyePosterior", "EyePrior", "default_eye", "learn_eye"]


@dataclass(frozen=True, slots=True)
class EyePrior:
    """What is taken of an observer before any answer, in natural log units.

    Parameters
    ----------
    bias : float
        Expected bias.
    bias_weight : float
        Judgements that it is worth.
    shape, scale : float
        Of the inverse gamma of the variance.
    """

    bias: float
    bias_weight: float
    shape: float
    scale: float


@dataclass(frozen=True, slots=True)
class EyePosterior:
    """Bias and spread of one observer, as known now; same fields as the prior, plus ``n``."""

    bias: float
    bias_weight: float
    shape: float
    scale: float
    n: float

    @property
    def sd(self) -> float:
        """Root of the mean variance, in natural log units."""
        return math.sqrt(self.scale / (self.shape - 1))

    def bias_interval(self, mass: float = 0.9) -> tuple[float, float]:
        """Return the central interval of the bias."""
        half = float(stdtrit(2 * self.shape, (1 + mass) / 2)) * math.sqrt(
            self.scale / (self.shape * self.bias_weight)
        )
        return self.bias - half, self.bias + half

    def sd_interval(self, mass: float = 0.9) -> tuple[float, float]:
        """Return the central interval of the standard deviation."""
        high, low = gammaincinv(self.shape, [(1 - mass) / 2, (1 + mass) / 2])
        return math.sqrt(self.scale / low), math.sqrt(self.scale / high)

    def density(self, error: Floats) -> Floats:
        """Density of a log error, bias and spread at their means."""
        z = (error - self.bias) / self.sd
        value: Floats = np.exp(-0.5 * z**2) / (self.sd * math.sqrt(2 * math.pi))
        return value


def default_eye(compiled: CompiledReference) -> EyePrior:
    """Return the prior of an observer of whom nothing is known.

    The bias varies between observers by about .15, the spread by about a fifth: guesses
    (memory) until a group has answered.
    """
    variance, bias = size_error(compiled, "eye", 1, Observer.UNKNOWN)
    shape = 8.0
    return EyePrior(bias, variance / 0.15**2, shape, variance * (shape - 1))


def learn_eye(prior: EyePrior, errors: Floats, weights: Floats) -> EyePosterior:
    """Learn bias and spread from log errors.

    Parameters
    ----------
    prior : EyePrior
        Before.
    errors, weights : ndarray, shape (n,)
        Log of the judged over the true size, and what each counts (0 to 1).
    """
    n = float(weights.sum())
    mean = float(weights @ errors / n) if n > 0 else 0.0
    squares = float(weights @ (errors - mean) ** 2) if n > 0 else 0.0
    weight = prior.bias_weight + n
    bias = (prior.bias_weight * prior.bias + n * mean) / weight
    between = prior.bias_weight * n / weight * (mean - prior.bias) ** 2
    shape, scale = prior.shape + n / 2, prior.scale + (squares + between) / 2
    of_bias, of_spread = _not_known(errors - bias, weights, scale / (shape - 1))
    # The means stay; what is not known about the weights widens the intervals.
    wider = prior.shape + max(n - of_spread, 0.0) / 2
    scale *= (wider - 1) / (shape - 1)
    return EyePosterior(bias, prior.bias_weight + max(n - of_bias, 0.0), wider, scale, n)


def _not_known(errors: Floats, weights: Floats, variance: float) -> tuple[float, float]:
    """Judgements' worth that bias and spread lose because the weights are not certain.

    The missing information of Louis 1982 (J R Stat Soc B 44:226-233): the variance,
    over whether a judgement counts, of its score, in units of one judgement.
    """
    doubt = weights * (1 - weights)
    squared = errors**2 / variance
    return float(doubt @ squared), float(doubt @ (squared - 1) ** 2 / 2)
