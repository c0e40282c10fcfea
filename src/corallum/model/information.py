"""Entropy and expected gain, in bits."""

from __future__ import annotations

import numpy as np

from corallum.model.compiled import Floats

__all__ = ["entropy_bits", "expected_gain_bits"]


def entropy_bits(probability: Floats) -> Floats:
    """Return the entropy along the last axis, in bits; zeros cost nothing.

    Examples
    --------
    >>> float(entropy_bits(np.array([0.5, 0.25, 0.25])))
    1.5
    """
    safe = np.where(probability > 0, probability, 1.0)
    bits: Floats = -(safe * np.log2(safe)).sum(axis=-1)
    return bits


def expected_gain_bits(joint: Floats) -> float:
    """Return how much an outcome is expected to tell about a class (mutual information).

    Parameters
    ----------
    joint : ndarray, shape (outcomes, classes)
        Joint weights of outcome and class; they need not add up to one.

    Returns
    -------
    float
        Entropy of the class less its expected entropy given the outcome, bits.

    References
    ----------
    Quinlan J.R. 1986. Induction of decision trees. Machine Learning 1:81-106.
    """
    total = joint.sum()
    outcome = joint.sum(axis=1)
    shown = outcome > 0
    posterior = joint[shown] / outcome[shown, None]
    after = (outcome[shown] / total) @ entropy_bits(posterior)
    return float(max(entropy_bits(joint.sum(axis=0) / total) - after, 0.0))
