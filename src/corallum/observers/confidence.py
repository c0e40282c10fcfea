r"""Whether an observer is as sure as they may be: stated confidence against what was right.

One number: the shift d of the log odds, logit P(right) = logit(confidence) + d, with a
normal prior of mean 0. Below 0 the observer is overconfident. The posterior is taken
on a grid, exact to its step.

References
----------
Cox 1958, Two further applications of a model for binary regression, Biometrika 45:562-565
(recalibration by logistic regression; here with its slope fixed at 1).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import expit, logit

from corallum.model.compiled import Floats

__all__ = ["PRIOR_SD", "ConfidencePosterior", "learn_confidence"]

PRIOR_SD = 1.0
_GRID = np.linspace(-8.0, 8.0, 3201)
# A confidence of 0 or 1 is read as nearly so: nobody is infinitely sure.
_NEAREST = 0.01


@dataclass(frozen=True, slots=True)
class ConfidencePosterior:
    """Shift of the log odds that stated confidence needs.

    Attributes
    ----------
    shift, low, high : float
        Mean and 90 % interval, natural log odds; below 0 is overconfident.
    stated, right : float
        Mean stated confidence and share right (0 to 1); nan without answers.
    n : int
        Answers with a confidence.
    """

    shift: float
    low: float
    high: float
    stated: float
    right: float
    n: int

    @property
    def word(self) -> str:
        """Say in one word what the interval allows to say."""
        if self.high < 0:
            return "overconfident"
        return "underconfident" if self.low > 0 else "not shown to be either"

    def chance(self, confidence: float) -> float:
        """Return P(right) for a stated confidence (0 to 1)."""
        bounded = min(max(confidence, _NEAREST), 1 - _NEAREST)
        return float(expit(logit(bounded) + self.shift))


def learn_confidence(confidence: Floats, right: Floats) -> ConfidencePosterior:
    """Learn the shift from answers.

    Parameters
    ----------
    confidence : ndarray, shape (n,)
        As stated, 0 to 1.
    right : ndarray, shape (n,)
        1 where the answer was right, else 0.
    """
    odds = logit(np.clip(confidence, _NEAREST, 1 - _NEAREST))
    logs = -0.5 * (_GRID / PRIOR_SD) ** 2
    for one, is_right in zip(odds.tolist(), right.tolist(), strict=True):
        chance = expit(one + _GRID)
        logs += np.log(chance) if is_right else np.log1p(-chance)
    share = np.exp(logs - logs.max())
    share /= share.sum()
    low, high = np.interp([0.05, 0.95], np.cumsum(share), _GRID)
    n = len(confidence)
    stated = float(confidence.mean()) if n else float("nan")
    hit = float(right.mean()) if n else float("nan")
    return ConfidencePosterior(float(share @ _GRID), float(low), float(high), stated, hit, n)
